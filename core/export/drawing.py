# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What goes to the cutter, before any file format: closed rings and open strokes, mm, by role."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt
from shapely import orient_polygons

from ..design.model import Sheet
from ..results import Part
from .engraving import EDGE_DISTANCE, engraved
from .kerf import Circle, circle_of, compensated
from .marks import PartMarks, placed_labels

__all__ = ["Drawing", "Ring", "Role", "part_drawing"]

Floats = npt.NDArray[np.float64]


class Role(StrEnum):
    """What the tool does along a line; also the name of the layer.

    Listed in the order of work: engrave while the piece is held, cut it free last (common practice
    of laser and router shops, no published source).
    """

    MARK = "MARK"
    CUT_INNER = "CUT_INNER"
    CUT_OUTER = "CUT_OUTER"


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A closed contour.

    points : (n, 2) float, first not repeated, mm; the outer one anticlockwise, inner ones clockwise
    circle : the circle that the points stand for, or None
    """

    role: Role
    points: Floats
    circle: Circle | None


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """One part, ready for a writer; coordinates are the part's own.

    kerf : the width of cut that the rings make up for, mm; 0.0 means that they are true size
    strokes : open polylines (n, 2) of the engraved mark and of folds, mm
    warnings : what the reader should know, e.g. that the mark found no room
    """

    mark: str
    quantity: int
    material: str
    thickness: float
    kerf: float
    rings: tuple[Ring, ...]
    strokes: tuple[Floats, ...]
    warnings: tuple[str, ...] = ()

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest x and y, largest x and y of the outer ring, mm (circles in full)."""
        outer = next(ring for ring in self.rings if ring.role is Role.CUT_OUTER)
        if outer.circle is not None:
            x, y, r = outer.circle.x, outer.circle.y, outer.circle.radius
            return x - r, y - r, x + r, y + r
        (x0, y0), (x1, y1) = outer.points.min(axis=0), outer.points.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    @property
    def title(self) -> str:
        """Name, number, sheet: ``Part A, cut 4, aluminium-5052 3 mm``."""
        return f"Part {self.mark}, cut {self.quantity}, {self.material} {self.thickness:g} mm"

    @property
    def kerf_note(self) -> str:
        """Whether the lines make up for the width of the cut, in words."""
        if self.kerf == 0.0:
            return (
                "Kerf: NOT included. Lines are true size; let the cutting software offset them "
                "(outer contours outwards, holes inwards, by half the kerf)."
            )
        return (
            f"Kerf: {self.kerf:g} mm IS included. Outer contours lie {self.kerf / 2:g} mm "
            "outwards, holes as much inwards; do not offset again."
        )


def part_drawing(
    part: Part,
    sheet: Sheet,
    kerf: bool = False,
    engrave: bool = True,
    marks: PartMarks | None = None,
) -> Drawing:
    """Draw one part.

    Parameters
    ----------
    part, sheet : as in a `Build`
    kerf : make up for `sheet.kerf`: outer contour outwards, holes inwards by half of it
    engrave : draw the part's mark where it keeps clear of every edge
    marks : engraved beside it, where there is room

    Raises
    ------
    OutputError : a feature is narrower than the kerf (only with `kerf`)
    """
    width = sheet.kerf if kerf else 0.0
    path = orient_polygons(compensated(part.outline, width, part.mark))
    inner = tuple(_ring(Role.CUT_INNER, hole.coords) for hole in path.interiors)
    strokes, warnings = _engraved(part, marks) if engrave else ((), ())
    strokes += tuple(_fold(flap) for flap in part.flaps)
    return Drawing(
        part.mark,
        part.quantity,
        sheet.material,
        part.thickness,
        width,
        (*inner, _ring(Role.CUT_OUTER, path.exterior.coords)),
        strokes,
        warnings,
    )


def _engraved(part: Part, marks: PartMarks | None) -> tuple[tuple[Floats, ...], tuple[str, ...]]:
    """Return the strokes of a part's mark and of what stands beside it, and warnings."""
    if marks is None:
        return engraved(part.mark, part.outline)
    strokes, warnings = engraved(f"{part.mark} {marks.side}".strip(), part.outline)
    if marks.side and not strokes:
        strokes, warnings = engraved(part.mark, part.outline)
        warnings += (f"Part {part.mark}: no room to engrave {marks.side}, its side's mark.",)
    more, notes = placed_labels(marks.labels, part.outline, strokes, part.mark)
    return strokes + more, warnings + notes


def _fold(flap: Floats) -> Floats:
    """Return the line to bend along, short of the edges like every stroke."""
    ends = flap[:2]
    way = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    line: Floats = ends + EDGE_DISTANCE * np.array([way, -way])
    line.flags.writeable = False
    return line


def _ring(role: Role, coordinates: npt.ArrayLike) -> Ring:
    points = np.array(coordinates, dtype=np.float64)[:-1, :2]
    points.flags.writeable = False
    return Ring(role, points, circle_of(points))
