# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Kerf compensation: the beam's middle runs half a kerf beside the edge, on the waste's side.

Offsets are mitred, so that square corners stay square; a circle stays an exact circle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from ..errors import OutputError
from ..tolerance import TOLERANCES

__all__ = ["Circle", "circle_of", "compensated"]

Floats = npt.NDArray[np.float64]

# Corners down to 2 asin(1/24) = 4.8 degrees keep their point when they are offset; GEOS cuts
# sharper ones off square.
_MITRE_LIMIT = 24.0
# A polygon may stand for a circle if it strays no more than this from it (mm): twice the chord
# tolerance, as others may have rounded their count of vertices down.
_CIRCLE_GAP = 2.0 * TOLERANCES.chord


@dataclass(frozen=True, slots=True)
class Circle:
    """Centre and radius, mm."""

    x: float
    y: float
    radius: float


def circle_of(ring: Floats) -> Circle | None:
    """Return the circle that a closed ring stands for, or None.

    The vertices (n, 2), first not repeated, must lie evenly spaced on it to `Tolerances.point`, and
    so densely that nobody could have meant the polygon.
    """
    if len(ring) < 8:
        return None
    centre = ring.mean(axis=0)
    radii = np.hypot(*(ring - centre).T)
    radius = float(radii.mean())
    chords = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    even = max(float(np.ptp(radii)), float(np.ptp(chords))) <= TOLERANCES.point
    gap = radius * (1.0 - np.cos(np.pi / len(ring)))
    return (
        Circle(float(centre[0]), float(centre[1]), radius) if even and gap <= _CIRCLE_GAP else None
    )


def compensated(outline: Polygon, kerf: float, name: str) -> Polygon:
    """Return the path of the beam's middle for an outline of true size.

    Parameters
    ----------
    outline : valid polygon, mm
    kerf : width of the cut, mm; 0 gives the outline back
    name : of the part, for the message

    Raises
    ------
    OutputError : a hole, a slot or a notch is narrower than the cut and would be lost
    """
    if kerf == 0.0:
        return outline
    holes = [_shrunk(_ring(hole.coords), kerf / 2.0, name) for hole in outline.interiors]
    return Polygon(_grown(_ring(outline.exterior.coords), kerf / 2.0, name), holes)


def _grown(ring: Floats, distance: float, name: str) -> Floats:
    circle = circle_of(ring)
    if circle is not None:
        return _scaled(ring, circle, circle.radius + distance)
    before = Polygon(ring)
    after = _offset(before, distance)
    if not isinstance(after, Polygon) or after.interiors:
        raise _too_narrow(name, "an open slot", distance)
    if _matters(_offset(after, -distance).difference(before)):
        raise _too_narrow(name, "a notch or open slot", distance)
    return _ring(after.exterior.coords)


def _shrunk(ring: Floats, distance: float, name: str) -> Floats:
    circle = circle_of(ring)
    if circle is not None:
        if circle.radius <= distance:
            raise _too_narrow(name, f"a hole of {2 * circle.radius:g} mm", distance)
        return _scaled(ring, circle, circle.radius - distance)
    before = Polygon(ring)
    after = _offset(before, -distance)
    if not isinstance(after, Polygon) or after.is_empty:
        raise _too_narrow(name, "a hole or part of one", distance)
    if _matters(before.difference(_offset(after, distance))):
        raise _too_narrow(name, "part of a hole", distance)
    return _ring(after.exterior.coords)


def _offset(polygon: Polygon, distance: float) -> BaseGeometry:
    moved: BaseGeometry = polygon.buffer(distance, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    return moved


def _scaled(ring: Floats, circle: Circle, radius: float) -> Floats:
    centre = np.array([circle.x, circle.y])
    points: Floats = centre + (ring - centre) * (radius / circle.radius)
    return points


def _matters(lost: BaseGeometry) -> bool:
    """Tell whether something thicker than `Tolerances.same_part` was lost."""
    return not lost.buffer(-TOLERANCES.same_part / 2.0).is_empty


def _ring(coordinates: npt.ArrayLike) -> Floats:
    return np.asarray(coordinates, dtype=np.float64)[:-1]


def _too_narrow(name: str, what: str, distance: float) -> OutputError:
    return OutputError(
        f"Part {name}: {what} is narrower than the cut (kerf {2 * distance:g} mm) and would be "
        "lost. Widen it, set a smaller sheet.kerf, or write the files at true size (without kerf)."
    )
