# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The section lines of one plate: where the planes of all others cut its own, and what lies there.

They show where a strip may run: along a line there is the plate's own stretch, and stretches that
other plates take; a joint can stand only on such a line, a square one only on a marked one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from .plates.planes import cut_line, section_line, to_plane
from .rough import Rough

__all__ = ["HAIR", "SectionMap", "section_map"]

Floats = npt.NDArray[np.float64]
HAIR = 0.02  # mm
_SQUARE = 0.01  # deg; what is nearer to 90 is called square
_SAME = 0.01  # mm, and thousandths of a radian: two lines are one


@dataclass(frozen=True, slots=True, eq=False)
class SectionMap:
    """Segments in the plane of a plate, mm in its plane coordinates, each (n, 2, 2).

    lines : the section lines, as long as the sculpture is wide; square : (n,) bool, the planes
        cross at a right angle; plates : (n,) how many plates stand in planes that cut here
    own : where a line runs inside the plate itself; taken : where it runs inside another plate
    own_square, taken_square : (k,) bool, on a line with right angles
    reach : radius of what is shown, about the plane's origin, mm
    """

    lines: Floats
    square: npt.NDArray[np.bool_]
    plates: npt.NDArray[np.intp]
    own: Floats
    own_square: npt.NDArray[np.bool_]
    taken: Floats
    taken_square: npt.NDArray[np.bool_]
    reach: float


def section_map(found: Rough, motif: str, element: int = 0) -> SectionMap:
    """Return the section lines of the plate that `element` makes of a motif.

    Bodies are the uncut ones. Plates in the same or in parallel planes cut no line.

    Raises
    ------
    KeyError : there is no such plate.
    """
    places = found.places()
    # A strip ends on the section line of its tab: a hair more, so that it reaches it.
    bodies = {name: body.buffer(HAIR, join_style="mitre") for name, body in found.bodies().items()}
    plane = places[motif, element]
    reach = _reach(found)
    half = float(np.sqrt(max(reach**2 - float(plane[:3, 2] @ plane[:3, 3]) ** 2, 0.0)))
    lines: list[tuple[Floats, Floats, bool]] = []
    counts: list[int] = []
    taken: list[tuple[int, Floats]] = []
    for (name, _), other in places.items():
        line = section_line(
            plane[:3, 2],
            float(plane[:3, 2] @ plane[:3, 3]),
            other[:3, 2],
            float(other[:3, 2] @ other[:3, 3]),
        )
        if line is None:
            continue
        point = to_plane(plane, line.point)
        way = plane[:3, :2].T @ line.direction
        if float(np.linalg.norm(point)) >= half:
            continue
        number = _known(lines, point, way)
        if number is None:
            number = len(lines)
            lines.append((point, way, abs(line.angle_deg - 90.0) < _SQUARE))
            counts.append(0)
        counts[number] += 1
        there = to_plane(other, line.point)
        other_way = other[:3, :2].T @ line.direction
        for low, high in _inside(bodies[name], there, other_way):
            taken.append((number, np.array([point + low * way, point + high * way])))
    own = [
        (number, np.array([point + low * way, point + high * way]))
        for number, (point, way, _) in enumerate(lines)
        for low, high in _inside(bodies[motif], point, way)
    ]
    square = np.array([line[2] for line in lines], dtype=bool)
    long = [_clipped(point, way, half) for point, way, _ in lines]
    return SectionMap(
        _stacked(long),
        square,
        np.array(counts, dtype=np.intp),
        _stacked([segment for _, segment in own]),
        square[[number for number, _ in own]],
        _stacked([segment for _, segment in taken]),
        square[[number for number, _ in taken]],
        half,
    )


def _reach(found: Rough) -> float:
    """Return the radius of the sphere about the centre that holds all bodies, mm."""
    far = 0.0
    for m, motif in enumerate(found.motifs):
        first = found.orbits.transforms[int(np.flatnonzero(found.orbits.motif == m)[0])]
        ring = shapely.get_coordinates(motif.body.exterior) @ first[:3, :2].T + first[:3, 3]
        far = max(far, float(np.linalg.norm(ring, axis=1).max()))
    return far


def _known(lines: list[tuple[Floats, Floats, bool]], point: Floats, way: Floats) -> int | None:
    """Return the number of a line that is there already; its direction may be the other one.

    Points are those nearest to the origin, so lines through the origin differ in direction alone.
    """
    for number, (other, along, _) in enumerate(lines):
        if np.abs(point - other).max() < _SAME and abs(abs(way @ along) - 1.0) < 1e-9:
            return number
    return None


def _inside(body: Polygon, point: Floats, way: Floats) -> Floats:
    """Return the intervals (k, 2) of a line that lie inside a body, mm from `point`."""
    way = way / np.linalg.norm(way)
    rings = (body.exterior, *body.interiors)
    cuts = [cut_line(shapely.get_coordinates(ring)[:-1], point, way) for ring in rings]
    return np.sort(np.concatenate(cuts)).reshape(-1, 2)


def _clipped(point: Floats, way: Floats, radius: float) -> Floats:
    """Return the chord (2, 2) of a line in a circle about the origin."""
    middle = -float(point @ way)
    half = float(np.sqrt(max(radius**2 - float(point @ point) + middle**2, 0.0)))
    return np.array([point + (middle - half) * way, point + (middle + half) * way])


def _stacked(segments: list[Floats]) -> Floats:
    return np.array(segments) if segments else np.zeros((0, 2, 2))
