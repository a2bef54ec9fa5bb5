# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Planes in space: their own axes, and the section line in which two of them cross."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..errors import DesignError

__all__ = [
    "SectionLine",
    "cut_line",
    "default_x_axis",
    "section_line",
    "to_plane",
    "world_from_plane",
]

Floats = npt.NDArray[np.float64]


def default_x_axis(normal: npt.ArrayLike) -> Floats:
    """Return the level unit vector (3,) in a plane; in a nearly level plane that square to world y.

    normal : (3,) unit vector
    """
    n = np.asarray(normal, dtype=float)
    helper = np.array([0.0, 0.0, 1.0]) if abs(n[2]) < 0.999 else np.array([0.0, 1.0, 0.0])
    axis = np.cross(helper, n)
    unit: Floats = axis / np.linalg.norm(axis)
    return unit


def world_from_plane(
    normal: npt.ArrayLike, offset: float, x_axis: npt.ArrayLike | None = None
) -> Floats:
    """Return the (4, 4) proper rigid transform from plane coordinates to the world.

    The plane is normal . x = offset; its origin is the foot of the world's origin, its x axis is
    `x_axis` laid into the plane, its z axis the normal.

    Parameters
    ----------
    normal : (3,), any length but 0
    offset : mm
    x_axis : (3,), any length; None: `default_x_axis`

    Raises
    ------
    DesignError : `x_axis` is parallel to the normal.
    """
    n = np.asarray(normal, dtype=float)
    n = n / np.linalg.norm(n)
    u = default_x_axis(n) if x_axis is None else np.asarray(x_axis, dtype=float)
    u = u - n * (u @ n)
    length = np.linalg.norm(u)
    if length < 1e-9:
        raise DesignError(
            "motifs.x_axis", x_axis, "a direction that is not parallel to the plane's normal"
        )
    u = u / length
    transform = np.eye(4)
    transform[:3, 0] = u
    transform[:3, 1] = np.cross(n, u)
    transform[:3, 2] = n
    transform[:3, 3] = n * offset
    return transform


def to_plane(plane: Floats, points: npt.ArrayLike) -> Floats:
    """Return plane coordinates (..., 2) of world points (..., 3), mm.

    plane : its `world_from_plane` (4, 4); what points stand off the plane is dropped
    """
    flat: Floats = (np.asarray(points, dtype=float) - plane[:3, 3]) @ plane[:3, :2]
    return flat


@dataclass(frozen=True, slots=True, eq=False)
class SectionLine:
    """The common line of two planes.

    point : its point nearest to the origin, (3,) mm
    direction : (3,) unit vector, along (first normal) x (second normal)
    angle_deg : between the planes, 0 < angle <= 90
    """

    point: Floats
    direction: Floats
    angle_deg: float


def section_line(n: Floats, h: float, m: Floats, k: float) -> SectionLine | None:
    """Return where the planes n . x = h and m . x = k cross; None when they are parallel.

    n, m : (3,) unit vectors; h, k : mm. The point nearest to the origin lies in the span of the
    normals: it is a n + b m, with a and b from the two plane equations.
    """
    cosine = float(n @ m)
    cross = np.cross(n, m)
    sine = float(np.linalg.norm(cross))
    if sine < 1e-9:
        return None
    a = (h - k * cosine) / sine**2
    b = (k - h * cosine) / sine**2
    angle = float(np.degrees(np.arctan2(sine, abs(cosine))))
    return SectionLine(a * n + b * m, cross / sine, angle)


def cut_line(ring: Floats, point: Floats, direction: Floats) -> Floats:
    """Return where a ring crosses a line, as sorted places (k,) along it, mm from `point`.

    ring : (n, 2), closed by itself (the first point is not repeated)
    point, direction : (2,), direction a unit vector

    The count k is even: between the 1st and 2nd place the line runs inside, between the 2nd and
    3rd outside, and so on. Corners on the line count as lying on its right.
    """
    side = (ring - point) @ np.array([-direction[1], direction[0]])
    along = (ring - point) @ direction
    side_after, along_after = np.roll(side, -1), np.roll(along, -1)
    crosses = (side > 0) != (side_after > 0)
    share = side[crosses] / (side[crosses] - side_after[crosses])
    return np.sort(along[crosses] + share * (along_after[crosses] - along[crosses]))
