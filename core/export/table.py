# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Lists for spreadsheets: parts to order, plates to tick off, joints to close (RFC 4180, UTF-8)."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from io import StringIO

import numpy as np
from shapely import Polygon

from ..results import Build, Joint
from .names import cut_names

__all__ = ["joints_csv", "parts_csv", "plates_csv"]

_PARTS = (
    "mark",
    "quantity",
    "material",
    "thickness (mm)",
    "width (mm)",
    "height (mm)",
    "area (mm2)",
    "cut length (mm)",
    "mass each (kg)",
    "mass all (kg)",
    "DXF file",
    "SVG file",
)
_PLATES = ("plate", "part", "flipped", "motif", "module")
_JOINTS = ("joint", "kind", "first plate", "second plate", "angle (deg)", "pin (mm)")


def parts_csv(build: Build) -> bytes:
    """Return one row for each part; width and height are those of the least box, longer side first.

    Area, lengths and masses are of the true outline, without kerf.
    """
    names = cut_names(part.mark for part in build.parts)
    return _table(
        _PARTS,
        (
            (
                part.mark,
                part.quantity,
                build.design.sheet.material,
                f"{part.thickness:g}",
                *(f"{side:.2f}" for side in _box(part.outline)),
                f"{part.outline.area:.2f}",
                f"{part.outline.length:.2f}",
                f"{part.mass:.6f}",
                f"{part.mass * part.quantity:.6f}",
                f"cut/{name}.dxf",
                f"cut/{name}.svg",
            )
            for part, name in zip(build.parts, names, strict=True)
        ),
    )


def plates_csv(build: Build) -> bytes:
    """Return one row for each plate of the sculpture."""
    return _table(
        _PLATES,
        (
            (
                plate.id,
                build.parts[plate.part].mark,
                "yes" if plate.flipped else "no",
                plate.motif,
                build.modules[plate.module].id,
            )
            for plate in build.plates
        ),
    )


def joints_csv(build: Build) -> bytes:
    """Return one row for each joint; a tenon's first plate has the tab, its second the slot."""
    return _table(
        _JOINTS,
        (
            (
                joint.id,
                joint.kind.value,
                *(build.plates[index].id for index in joint.plates),
                f"{joint.angle:.3f}",
                _held(joint),
            )
            for joint in build.joints
        ),
    )


def _held(joint: Joint) -> str:
    """Return the size of a joint's pins, and what else holds it."""
    words = [fastener.kind for fastener in joint.fasteners]
    if joint.pin is not None:
        count = f"{len(joint.pins)} of " if joint.more_pins else ""
        words.insert(0, f"{count}{joint.pin.diameter:g} x {joint.pin.length:g}")
    return ", ".join(words)


def _box(outline: Polygon) -> tuple[float, float]:
    corners = np.asarray(outline.minimum_rotated_rectangle.exterior.coords)
    sides = np.hypot(*np.diff(corners[:3], axis=0).T)
    return float(sides.max()), float(sides.min())


def _table(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    stream = StringIO(newline="")
    writer = csv.writer(stream)  # its own default: commas, doubled quotes, CR LF
    writer.writerow(header)
    writer.writerows(rows)
    return stream.getvalue().encode("utf-8")
