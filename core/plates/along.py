# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A curve in space, laid into the plane that suits it best: the way from a drawing to a strip.

The plane goes through the points' mean and holds their two directions of greatest spread (total
least squares, by the singular values of the points). A straight curve lies in many planes: it gets
the one that holds the centre too, so that its strip stands on edge as seen from there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..errors import DesignError
from ..tolerance import TOLERANCES
from .planes import to_plane, world_from_plane

__all__ = ["FlatCurve", "flat_curve"]

Floats = npt.NDArray[np.float64]

_STRAIGHT = 1e-3  # share of its length that a curve may leave its chord by to count as straight


@dataclass(frozen=True, slots=True, eq=False)
class FlatCurve:
    """A curve in its plane.

    normal : (3,) unit vector; offset : of the plane, mm
    path : (n, 2) plane coordinates, mm; off : how far the farthest point stood off the plane, mm
    """

    normal: Floats
    offset: float
    path: Floats
    off: float


def flat_curve(points: npt.ArrayLike, field: str = "curve") -> FlatCurve:
    """Lay a curve into the plane that suits it best.

    points : (n, 3) mm, n >= 2; of points that fall on each other one is kept

    Raises
    ------
    DesignError : fewer than two different points, or a curve that comes back to its start.
    """
    curve = np.asarray(points, dtype=float).reshape(-1, 3)
    steps = np.linalg.norm(np.diff(curve, axis=0), axis=1)
    curve = curve[np.concatenate([[True], steps > TOLERANCES.point])]
    if len(curve) < 2:
        raise DesignError(field, f"{len(curve)} different points", "at least 2 points", "")
    length = float(np.linalg.norm(np.diff(curve, axis=0), axis=1).sum())
    if np.linalg.norm(curve[0] - curve[-1]) < TOLERANCES.same_part:
        raise DesignError(
            field,
            "a closed curve",
            "an open curve: a strip has two ends",
            "Open it, or draw the plate as an outline with a hole.",
        )
    centre = curve.mean(axis=0)
    _, spread, ways = np.linalg.svd(curve - centre, full_matrices=True)
    spread = np.concatenate([spread, np.zeros(3)])[:3]
    straight = spread[1] < _STRAIGHT * length
    normal = _on_edge(ways[0], centre) if straight else ways[2]
    # Of the two senses that which looks away from the middle; through it, the one that points up.
    offset = float(normal @ centre)
    if offset < -TOLERANCES.point or (abs(offset) <= TOLERANCES.point and _down(normal)):
        normal, offset = -normal, -offset
    offset = 0.0 if abs(offset) <= TOLERANCES.point else offset
    off = float(np.abs((curve - centre) @ normal).max())
    return FlatCurve(normal, offset, to_plane(world_from_plane(normal, offset), curve), off)


def _on_edge(way: Floats, centre: Floats) -> Floats:
    """Return the normal of the plane through a line and the origin; a level one if they meet."""
    normal = np.cross(way, centre)
    if np.linalg.norm(normal) < 1e-6 * max(float(np.linalg.norm(centre)), 1.0):
        normal = np.cross(way, [0.0, 0.0, 1.0] if abs(way[2]) < 0.999 else [0.0, 1.0, 0.0])
    unit: Floats = normal / np.linalg.norm(normal)
    return unit


def _down(normal: Floats) -> bool:
    """Tell whether the last number of a vector that is not zero is negative."""
    return bool(normal[np.flatnonzero(np.abs(normal) > 1e-9)[-1]] < 0)
