# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Nearest points of edges, walls and rectangles: closed formulas, vectorised over rows."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["Walls", "nearest_on_walls", "segment_gap", "wall_gap"]

Floats = npt.NDArray[np.float64]
_TINY = 1e-300  # in place of the squared length of a single point


class Walls:
    """Side walls of plates, one for each outline edge: a rectangle edge x thickness.

    start (n, 3) : start of the edge in the plate's middle plane; along (n, 3) : the edge's vector
    normal (n, 3) : the plate's unit normal; half (n,) : half its thickness
    """

    __slots__ = ("along", "half", "normal", "start")

    def __init__(self, start: Floats, along: Floats, normal: Floats, half: Floats) -> None:
        self.start, self.along, self.normal, self.half = start, along, normal, half

    def edges(self) -> tuple[Floats, Floats]:
        """Return starts and vectors (n, 3, 3) of three edges: on both faces, and the upright one.

        The upright edge is the one at the wall's start; the next wall of the ring has the other.
        """
        rise = self.normal * self.half[:, None]
        start = np.stack([self.start + rise, self.start - rise, self.start - rise], axis=1)
        return start, np.stack([self.along, self.along, 2.0 * rise], axis=1)


def segment_gap(p: Floats, u: Floats, q: Floats, v: Floats) -> tuple[Floats, Floats, Floats]:
    """Return distance and nearest points of the segments p ... p + u and q ... q + v.

    p, u, q, v : (..., 3) float; a segment may be a single point
    Returns: distance (...,), points (..., 3) on the first and on the second.
    The formula is the usual one: solve for both lines, clamp, solve again (Ericson, Real-Time
    Collision Detection, 2005, section 5.1.9; from memory).
    """
    r = p - q
    uu, vv, uv = np.maximum(_dot(u, u), _TINY), np.maximum(_dot(v, v), _TINY), _dot(u, v)
    ur, vr = _dot(u, r), _dot(v, r)
    spread = uu * vv - uv * uv
    flat = spread <= 1e-14 * uu * vv
    s = np.clip(np.where(flat, 0.0, uv * vr - ur * vv) / np.where(flat, 1.0, spread), 0.0, 1.0)
    t = np.clip((uv * s + vr) / vv, 0.0, 1.0)
    s = np.clip((uv * t - ur) / uu, 0.0, 1.0)
    on_p, on_q = p + s[..., None] * u, q + t[..., None] * v
    return np.sqrt(_dot(on_p - on_q, on_p - on_q)), on_p, on_q


def nearest_on_walls(points: Floats, walls: Walls) -> Floats:
    """Return the points (n, m, 3) of each of n walls that are nearest to its m `points`."""
    along, normal = walls.along[:, None, :], walls.normal[:, None, :]
    r = points - walls.start[:, None, :]
    s = np.clip(_dot(r, along) / _dot(along, along), 0.0, 1.0)
    h = np.clip(_dot(r, normal), -walls.half[:, None], walls.half[:, None])
    on: Floats = walls.start[:, None, :] + s[..., None] * along + h[..., None] * normal
    return on


def wall_gap(a: Walls, b: Walls) -> tuple[Floats, Floats, Floats]:
    """Return distance (n,) and nearest points (n, 3) of the rims of walls a and b, row by row.

    All edges of one against all of the other, and the corners at each wall's start against the
    other's whole rectangle. (The other two corners come with the next wall of the ring; a wall
    that pierces another is no case here, as solids that share volume are told apart before.)
    """
    pa, ua = a.edges()
    pb, ub = b.edges()
    gap, on_a, on_b = segment_gap(
        pa[:, :, None, :], ua[:, :, None, :], pb[:, None, :, :], ub[:, None, :, :]
    )
    n = len(gap)
    corner_a, corner_b = pa[:, :2], pb[:, :2]
    touch_b, touch_a = nearest_on_walls(corner_a, b), nearest_on_walls(corner_b, a)
    on_a = np.concatenate([on_a.reshape(n, 9, 3), corner_a, touch_a], axis=1)
    on_b = np.concatenate([on_b.reshape(n, 9, 3), touch_b, corner_b], axis=1)
    rest = np.sqrt(_dot(on_a[:, 9:] - on_b[:, 9:], on_a[:, 9:] - on_b[:, 9:]))
    gaps = np.concatenate([gap.reshape(n, 9), rest], axis=1)
    best = gaps.argmin(axis=1)
    rows = np.arange(n)
    return gaps[rows, best], on_a[rows, best], on_b[rows, best]


def _dot(a: Floats, b: Floats) -> Floats:
    product: Floats = np.einsum("...i,...i->...", a, b)
    return product
