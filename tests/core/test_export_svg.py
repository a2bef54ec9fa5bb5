# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""SVG files, parsed by the standard library and measured by hand formulas.

The W3C recommendation SVG 1.1 (second edition), chapter 7: with width and height in mm and a
viewBox of the same numbers one user unit is one millimetre; y points down; `title` and `desc`
are not drawn (chapter 5).
"""

from __future__ import annotations

import re
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from shapely import Polygon, box

from pinwright.core.design.model import Sheet
from pinwright.core.export.drawing import part_drawing
from pinwright.core.export.svg import part_svg
from pinwright.core.results import Part
from tests.builders import circle_ring, small_build
from tests.outlines import plates_with_holes, shoelace

SVG = "{http://www.w3.org/2000/svg}"


def _parsed(outline: Polygon, sheet: Sheet, kerf: bool = False) -> ElementTree.Element:
    part = Part("A", outline, sheet.thickness, 3, 0.1)
    return ElementTree.fromstring(part_svg(part_drawing(part, sheet, kerf)))


def _group(root: ElementTree.Element, role: str) -> ElementTree.Element:
    (group,) = (item for item in root.iter(f"{SVG}g") if item.get("id") == role)
    return group


def _rings(root: ElementTree.Element, role: str) -> list[np.ndarray]:
    rings = []
    for path in _group(root, role).iter(f"{SVG}path"):
        text = path.get("d", "")
        assert re.fullmatch(r"M[-\d.]+,[-\d.]+( L[-\d.]+,[-\d.]+)+( Z)?", text)
        assert text.endswith("Z") == role.startswith("CUT")
        rings.append(np.array(re.findall(r"([-\d.]+),([-\d.]+)", text), dtype=float))
    return rings


def _area(root: ElementTree.Element) -> float:
    total = {}
    for role in ("CUT_OUTER", "CUT_INNER"):
        total[role] = sum(abs(shoelace(ring)) for ring in _rings(root, role)) + sum(
            np.pi * float(circle.get("r", "")) ** 2
            for circle in _group(root, role).iter(f"{SVG}circle")
        )
    return total["CUT_OUTER"] - total["CUT_INNER"]


@given(plates_with_holes())
def test_one_unit_is_one_millimetre_and_nothing_is_lost(outline: Polygon) -> None:
    root = _parsed(outline, Sheet(3.0))
    width, height = root.get("width", ""), root.get("height", "")
    assert root.get("viewBox") == f"0 0 {width.removesuffix('mm')} {height.removesuffix('mm')}"
    (ring,) = _rings(root, "CUT_OUTER")
    x0, y0, x1, y1 = outline.bounds
    assert np.ptp(ring, axis=0) == pytest.approx((x1 - x0, y1 - y0), abs=2e-4)
    # The part lies wholly on the page.
    assert ring.min() >= 0.0
    assert (ring.max(axis=0) <= [float(width[:-2]), float(height[:-2])]).all()
    round_holes = sum(
        np.pi * np.hypot(*(ring[0] - ring.mean(axis=0))) ** 2 - abs(shoelace(ring))
        for ring in (np.asarray(hole.coords)[:-1] for hole in outline.interiors)
        if len(ring) == 64
    )
    assert _area(root) == pytest.approx(outline.area - round_holes, rel=1e-4)


def test_y_is_turned_and_the_part_is_not_mirrored() -> None:
    # A right angle at the lower left: on the page (y down) it must stay lower left.
    (ring,) = _rings(_parsed(Polygon([(0, 0), (60, 0), (0, 40)]), Sheet(3.0)), "CUT_OUTER")
    assert ring.tolist() == [[2.0, 42.0], [62.0, 42.0], [2.0, 2.0]]


def test_holes_turn_with_the_outline() -> None:
    outline = Polygon(box(0, 0, 60, 40).exterior, [circle_ring(10, 8, 6.0)])
    (circle,) = _group(_parsed(outline, Sheet(3.0)), "CUT_INNER").iter(f"{SVG}circle")
    place = [float(circle.get(name, "")) for name in ("cx", "cy", "r")]
    assert place == pytest.approx([12.0, 34.0, 3.0], abs=1e-4)


def test_kerf_by_hand() -> None:
    outline = box(0, 0, 60, 40).difference(box(10, 10, 30, 13))
    root = _parsed(outline, Sheet(3.0, kerf=0.2), kerf=True)
    assert np.ptp(_rings(root, "CUT_OUTER")[0], axis=0) == pytest.approx((60.2, 40.2), abs=1e-4)
    assert np.ptp(_rings(root, "CUT_INNER")[0], axis=0) == pytest.approx((19.8, 2.8), abs=1e-4)
    assert _area(root) == pytest.approx(60.2 * 40.2 - 19.8 * 2.8, rel=1e-6)


def test_title_and_description_say_what_it_is() -> None:
    sheet = Sheet(3.0, material="birch <b> & 'ply'\x07", kerf=0.2)
    root = _parsed(box(0, 0, 60, 40), sheet)
    title, desc = root.findtext(f"{SVG}title", ""), root.findtext(f"{SVG}desc", "")
    assert title == "Part A, cut 3, birch <b> & 'ply' 3 mm"
    assert "Kerf: NOT included" in desc
    compensated = _parsed(box(0, 0, 60, 40), sheet, kerf=True).findtext(f"{SVG}desc", "")
    assert "Kerf: 0.2 mm IS included" in compensated


def test_cut_lines_are_hairlines_and_layers_differ() -> None:
    root = _parsed(box(0, 0, 60, 40), Sheet(3.0))
    groups = [_group(root, role) for role in ("MARK", "CUT_INNER", "CUT_OUTER")]
    assert len({group.get("stroke") for group in groups}) == 3
    for group in groups:
        assert group.get("fill") == "none"
        # 0.001 inch, what laser drivers take for a line to cut: common practice, no source.
        assert 0.0 < float(group.get("stroke-width", "")) <= 0.0254
    assert not list(root.iter(f"{SVG}text"))


def test_the_mark_is_drawn_inside_the_part() -> None:
    build = small_build()
    for part in build.parts:
        root = ElementTree.fromstring(part_svg(part_drawing(part, build.design.sheet)))
        (outer,) = _rings(root, "CUT_OUTER")
        marks = _rings(root, "MARK")
        assert marks
        assert all(Polygon(outer).contains(Polygon(box(*_bounds(mark)))) for mark in marks)


def _bounds(points: np.ndarray) -> tuple[float, float, float, float]:
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return x0 - 0.5, y0 - 0.5, x1 + 0.5, y1 + 0.5
