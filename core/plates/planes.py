# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Planes in space: their own axes, and the section line in which two of them cross."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..errors import DesignError

__all__ = ["SectionLine", "cut_line", "default_x_axis", "section_line", "to_plane", "world_from_plane"]

Floats = npt.NDArray[np.float64]


def default_x_axis(normal: npt.ArrayLike) -> Floats:
    """Unit vector in the plane, square to the world's z axis (to its x axis for level planes).

    normal : (3,) unit vector
    """
    n = np.asarray(normal, dtype=float)
    helper = np.array([0.0, 0.0, 1.0]) if abs(n[2]) < 0.999 else np.array([0.0, 1.0, 0.0])
    axis = np.cross(helper, n)
    return axis / np.linalg.norm(axis)


def world_from_plane(
    normal: npt.ArrayLike, offset: float, x_axis: npt.ArrayLike | None = None
) -> Floats:
    """Return the (4, 4) proper rigid transform from plane coordinates to the world.

    The plane is normal . x = offset (mm); its origin is the foot of the world's origin, its x axis
    is `x_axis` laid into the plane, its z axis the normal.
    Raises DesignError when `x_axis` is parallel to the normal.
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
    """Return plane coordinates (..., 2) of world points (..., 3); plane : world_from_plane."""
    return (np.asarray(points, dtype=float) - plane[:3, 3]) @ plane[:3, :2]


@dataclass(frozen=True, slots=True)
class SectionLine:
    """The common line of two planes.

    point : its point nearest to the origin, (3,) mm; direction : (3,) unit vector, along
    (first normal) x (second normal); angle_deg : between the planes, 0 < angle <= 90;
    cosine : of the angle between the two normals, with its sign
    """

    point: Floats
    direction: Floats
    angle_deg: float
    cosine: float


def section_line(n: Floats, h: float, m: Floats, k: float) -> SectionLine | None:
    """Return where the planes n . x = h and m . x = k cross; None when they are parallel.

    n, m : (3,) unit vectors; h, k : mm. The nearest point to the origin is a n + b m with a and b
    from the two plane equations.
    """
    cosine = float(n @ m)
    cross = np.cross(n, m)
    sine = float(np.linalg.norm(cross))
    if sine < 1e-9:
        return None
    a = (h - k * cosine) / sine**2
    b = (k - h * cosine) / sine**2
    angle = float(np.degrees(np.arctan2(sine, abs(cosine))))
    return SectionLine(a * n + b * m, cross / sine, angle, cosine)


def cut_line(ring: Floats, point: Floats, direction: Floats) -> Floats:
    """Return where a closed ring (n, 2) crosses a line, as sorted places along it.

    point, direction : (2,), direction a unit vector; places in mm from `point`.
    """
    side = (ring - point) @ np.array([-direction[1], direction[0]])
    along = (ring - point) @ direction
    nxt = np.roll(np.arange(len(ring)), -1)
    crosses = (side > 0) != (side[nxt] > 0)
    share = side[crosses] / (side[crosses] - side[nxt][crosses])
    return np.sort(along[crosses] + share * (along[nxt][crosses] - along[crosses]))
