# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A test coupon, cut before all else: a comb of slots from tight to loose, and a tab to try.

Sheet, cutter and coating decide together how a tab goes in; the slot that feels right names the
clearance for the design. Each slot is that of a tenon at 90 degrees with its own clearance, and is
marked with it in hundredths of a millimetre.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil
from textwrap import fill
from typing import Final

import numpy as np
import numpy.typing as npt
from shapely import Polygon, box

from ..design.materials import material
from ..design.model import Lock, Sheet
from ..fit.sizes import Sizes
from ..fit.tenon import TenonSizes, tenon_sizes
from ..outlines.corners import circle
from ..results import Part
from .cautions import CUTTING
from .drawing import Drawing, part_drawing
from .dxf import part_dxf
from .stroke_font import text_strokes, text_width
from .svg import part_svg

__all__ = ["Coupon", "coupon_files", "coupon_of"]

Floats = npt.NDArray[np.float64]

_STEP: Final = 5  # hundredths of a millimetre from slot to slot
_TIGHTEST: Final = -5  # narrower than the sheet: some cutters burn more away than they say
_LOOSEST: Final = 30
_THIN: Final = 1.0  # mm; thinner sheet gets no slot that is narrower than itself
_BEYOND: Final = 15  # past the design's own clearance
_LETTER: Final = 4.0  # mm, height of the marks
_MARGIN: Final = 2.0  # mm between a mark and any edge
_HANDLE: Final = 30.0  # mm, to hold the tab by


@dataclass(frozen=True, slots=True, eq=False)
class Coupon:
    """The two pieces in their own frames, mm, true size.

    comb : plate with slots side by side along x; tab : a handle with one tab that points along y
    clearances : mm, of each slot, on each side of the tab, from left to right
    marks, places : what is engraved above each slot, and (n, 2) where its middle lies, mm
    """

    comb: Polygon
    tab: Polygon
    clearances: tuple[float, ...]
    marks: tuple[str, ...]
    places: Floats


def coupon_of(sizes: Sizes) -> Coupon:
    """Draw the coupon for a design's sheet, tab and pin.

    sizes : of its joints; whatever locks them, the coupon's tab takes a pin
    """
    own = sizes.clearance
    most = max(_LOOSEST, _STEP * ceil((own * 100 + _BEYOND) / _STEP - 1e-9))
    marks = range(_TIGHTEST if sizes.thickness >= _THIN else 0, most + 1, _STEP)
    pinned = replace(sizes, lock=Lock.PIN)
    tenons = [
        tenon_sizes(replace(pinned, clearance=mark / 100), 90.0, sizes.tab_width, "coupon")
        for mark in marks
    ]
    texts = tuple(str(mark) for mark in marks)
    comb, places = _comb(tenons, texts, sizes.web)
    return Coupon(comb, _tab(tenons[0], sizes), tuple(mark / 100 for mark in marks), texts, places)


def _comb(tenons: list[TenonSizes], texts: tuple[str, ...], web: float) -> tuple[Polygon, Floats]:
    """Return the plate with its slots, and the middles of the marks above them."""
    room = max(text_width(text) for text in texts) * _LETTER + _MARGIN
    pitch = max(room, max(tenon.slot_width for tenon in tenons) + 2 * web)
    tall = max(tenon.slot_length for tenon in tenons)
    foot = max(2 * web, _MARGIN)
    slots, places = [], []
    for k, tenon in enumerate(tenons):
        x, half = (k + 0.5) * pitch, (tenon.slot_width / 2, tenon.slot_length / 2)
        y = foot + tall / 2
        slots.append(box(x - half[0], y - half[1], x + half[0], y + half[1]))
        places.append((x, foot + tall + foot + _LETTER / 2))
    plate = box(0.0, 0.0, pitch * len(tenons), foot + tall + foot + _LETTER + _MARGIN)
    return Polygon(plate.exterior, [slot.exterior for slot in slots]), np.array(places)


def _tab(tenon: TenonSizes, sizes: Sizes) -> Polygon:
    """Return the handle with a tab; the line where it crosses the comb's middle lies at y = 0."""
    half, shoulder = tenon.tab_width / 2, -tenon.shoulder
    wide = half + max(2 * sizes.web, 5.0)
    ring = [
        (-wide, shoulder - _HANDLE),
        (wide, shoulder - _HANDLE),
        (wide, shoulder),
        (half, shoulder),
        (half, tenon.tab_end),
        (-half, tenon.tab_end),
        (-half, shoulder),
        (-wide, shoulder),
    ]
    hole = circle(np.array([0.0, tenon.pin_centre]), tenon.hole_diameter / 2)
    return Polygon(ring, [hole])


def coupon_files(sheet: Sheet, sizes: Sizes, kerf: bool = False) -> dict[str, bytes]:
    """Return the coupon's files by name: a DXF and an SVG of each piece, and how to use them.

    kerf : make up for `sheet.kerf`, as the parts will be cut

    Raises
    ------
    OutputError : a slot is narrower than the kerf.
    """
    coupon = coupon_of(sizes)
    comb = _drawing("coupon-comb", coupon.comb, sheet, kerf)
    strokes = [
        stroke + place
        for text, place in zip(coupon.marks, coupon.places, strict=True)
        for stroke in text_strokes(text, _LETTER)
    ]
    drawings = {
        "coupon-comb": replace(comb, strokes=tuple(strokes)),
        "coupon-tab": _drawing("coupon-tab", coupon.tab, sheet, kerf),
    }
    files: dict[str, bytes] = {}
    for name, drawing in drawings.items():
        files[f"{name}.dxf"] = part_dxf(drawing)
        files[f"{name}.svg"] = part_svg(drawing)
    files["coupon.txt"] = _words(coupon, sheet, drawings["coupon-comb"]).encode("utf-8")
    return files


def _drawing(mark: str, outline: Polygon, sheet: Sheet, kerf: bool) -> Drawing:
    mass = outline.area * sheet.thickness * material(sheet.material).density * 1e-9
    part = Part(mark, outline, sheet.thickness, 1, mass)
    return part_drawing(part, sheet, kerf, engrave=False)


def _words(coupon: Coupon, sheet: Sheet, drawing: Drawing) -> str:
    shown = ", ".join(f"{clearance:g}" for clearance in coupon.clearances)
    return (
        f"TEST COUPON for {sheet.material}, {sheet.thickness:g} mm\n\n"
        "Cut coupon-comb and coupon-tab once each, on the machine and with the settings that the\n"
        "parts will be cut with. Coat them if the parts will be coated.\n\n"
        "The marks above the slots are clearances in hundredths of a millimetre, on each side of\n"
        f"the tab: {shown} mm from left to right.\n\n"
        "Push the tab through each slot up to its shoulders, and a pin through its hole. The\n"
        "tightest slot that it goes into by hand names the clearance: write it to the design\n"
        f"file, [sheet] clearance. The design has {sheet.clearance:g} mm now.\n\n"
        f"{drawing.kerf_note}\nUnits: mm.\n\n{fill(CUTTING, 98)}\n"
    )
