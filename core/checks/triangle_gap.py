# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The least distance of two sets of triangles, and where it is: a sculpture and what is round it.

Two triangles are nearest at a corner of one or between two edges, unless an edge of one runs
through the other. All pairs of corners with triangles and of edges with edges are worked out at
once; boxes round blocks of neighbouring triangles leave out what cannot be nearer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from .features import segment_gap

__all__ = ["Nearest", "nearest"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
_BLOCK = 24  # triangles in one box
_BATCH = 8192  # pairs of triangles worked out at once


@dataclass(frozen=True, slots=True, eq=False)
class Nearest:
    """The least distance; 0 where the sets touch or cut each other.

    a, b : (3,) the points of the two sets between which it is
    """

    distance: float
    a: Floats
    b: Floats


def nearest(a: Floats, b: Floats, bound: float = np.inf) -> Nearest | None:
    """Return the least distance of two sets of triangles (n, 3, 3) and (m, 3, 3), in their unit.

    bound : None is returned when all is farther apart than this, or one of the sets is empty.
    """
    if not len(a) or not len(b):
        return None
    boxes_a, boxes_b = _Blocks.of(a), _Blocks.of(b)
    # Corners that are near give a first bound.
    gaps, index = cKDTree(b.reshape(-1, 3)).query(a.reshape(-1, 3))
    first = int(gaps.argmin())
    best = Nearest(float(gaps[first]), a.reshape(-1, 3)[first], b.reshape(-1, 3)[index[first]])
    limit = min(best.distance, bound)
    i, j, least = _near_boxes(boxes_a, boxes_b, limit)
    order = np.argsort(least)
    done = 0
    step = max(1, _BATCH // _BLOCK**2)
    while done < len(order):
        some = order[done : done + step]
        if least[some[0]] > min(best.distance, bound):
            break
        done += step
        pairs = _pairs(boxes_a, boxes_b, i[some], j[some])
        low = _apart(
            boxes_a.low[pairs[:, 0]], boxes_a.high[pairs[:, 0]],
            boxes_b.low[pairs[:, 1]], boxes_b.high[pairs[:, 1]],
        )  # fmt: skip
        pairs = pairs[low <= min(best.distance, bound)]
        if not len(pairs):
            continue
        found = _closest(a[pairs[:, 0]], b[pairs[:, 1]])
        if found.distance < best.distance:
            best = found
        if best.distance == 0.0:
            break
    return best if best.distance <= bound else None


# ---------------------------------------------------------------- boxes


@dataclass(frozen=True, slots=True, eq=False)
class _Blocks:
    """Triangles in blocks of neighbours.

    order : (n,) triangles, block after block; low, high : (n, 3) of each triangle's box, as given;
    block_low, block_high : (k, 3) of each block's
    """

    order: Ints
    low: Floats
    high: Floats
    block_low: Floats
    block_high: Floats

    @classmethod
    def of(cls, triangles: Floats) -> _Blocks:
        low, high = triangles.min(axis=1), triangles.max(axis=1)
        middle = triangles.mean(axis=1)
        order = _by_halves(middle)
        starts = np.arange(0, len(order), _BLOCK)
        return cls(
            order,
            low,
            high,
            np.minimum.reduceat(low[order], starts),
            np.maximum.reduceat(high[order], starts),
        )


def _by_halves(points: Floats) -> Ints:
    """Return the order in which neighbours stand together: along a curve through a fine grid."""
    size = np.maximum(np.ptp(points, axis=0), 1e-12)
    cells = np.minimum((points - points.min(axis=0)) / size.max() * 1023, 1023).astype(np.int64)
    code = np.zeros(len(points), dtype=np.int64)
    for bit in range(10):  # Morton's order: the bits of the three numbers in turn
        for axis in range(3):
            code |= (cells[:, axis] >> bit & 1) << (3 * bit + axis)
    return np.argsort(code, kind="stable").astype(np.intp)


def _apart(low_a: Floats, high_a: Floats, low_b: Floats, high_b: Floats) -> Floats:
    """Return the distances of boxes."""
    gap = np.maximum(0.0, np.maximum(low_b - high_a, low_a - high_b))
    found: Floats = np.sqrt((gap**2).sum(axis=-1))
    return found


def _near_boxes(a: _Blocks, b: _Blocks, limit: float) -> tuple[Ints, Ints, Floats]:
    """Return pairs of blocks that are no farther apart than `limit`, and how far they are."""
    rows, columns, least = [], [], []
    for i in range(len(a.block_low)):
        gaps = _apart(a.block_low[i], a.block_high[i], b.block_low, b.block_high)
        near = np.flatnonzero(gaps <= limit)
        rows.append(np.full(len(near), i, dtype=np.intp))
        columns.append(near)
        least.append(gaps[near])
    return np.concatenate(rows), np.concatenate(columns), np.concatenate(least)


def _pairs(a: _Blocks, b: _Blocks, i: Ints, j: Ints) -> Ints:
    """Return all pairs (k, 2) of triangles of some pairs of blocks."""
    inside = np.arange(_BLOCK)
    rows = (i[:, None] * _BLOCK + inside)[:, :, None] + np.zeros((1, 1, _BLOCK), dtype=np.intp)
    columns = (j[:, None] * _BLOCK + inside)[:, None, :] + np.zeros((1, _BLOCK, 1), dtype=np.intp)
    real = (rows < len(a.order)) & (columns < len(b.order))
    return np.column_stack((a.order[rows[real]], b.order[columns[real]]))


# ---------------------------------------------------------------- triangles


def _closest(a: Floats, b: Floats) -> Nearest:
    """Return the nearest points of pairs of triangles, (k, 3, 3) each."""
    best: Nearest | None = None
    after = (1, 2, 0)
    for u in range(3):
        for v in range(3):
            p0, q0 = a[:, u], b[:, v]
            _, p, q = segment_gap(p0, a[:, after[u]] - p0, q0, b[:, after[v]] - q0)
            best = _better(best, p, q)
    for corner in range(3):
        best = _better(best, a[:, corner], _onto(a[:, corner], b))
        best = _better(best, _onto(b[:, corner], a), b[:, corner])
        for one, other in ((a, b), (b, a)):
            hit, where = _through(one[:, corner], one[:, after[corner]], other)
            if hit.any():
                point = where[int(np.flatnonzero(hit)[0])]
                return Nearest(0.0, point, point)
    assert best is not None
    return best


def _better(best: Nearest | None, p: Floats, q: Floats) -> Nearest:
    square = np.einsum("ij,ij->i", p - q, p - q)
    k = int(square.argmin())
    distance = float(np.sqrt(square[k]))
    if best is None or distance < best.distance:
        return Nearest(distance, p[k], q[k])
    return best


def _dot(u: Floats, v: Floats) -> Floats:
    found: Floats = np.einsum("ij,ij->i", u, v)
    return found


def _onto(points: Floats, triangles: Floats) -> Floats:
    """Return the feet (k, 3) of points on the planes of triangles where they lie inside.

    A point whose foot lies outside is nearest to an edge, which `segment_gap` finds: a corner of
    its triangle stands in for its foot.
    """
    origin = triangles[:, 0]
    u, v, w = triangles[:, 1] - origin, triangles[:, 2] - origin, points - origin
    uu, uv, vv = _dot(u, u), _dot(u, v), _dot(v, v)
    wu, wv = _dot(w, u), _dot(w, v)
    area = np.maximum(uu * vv - uv * uv, 1e-300)
    s, t = (wu * vv - wv * uv) / area, (wv * uu - wu * uv) / area
    inside = (s >= 0) & (t >= 0) & (s + t <= 1)
    foot: Floats = origin + np.where(inside, s, 0.0)[:, None] * u
    return foot + np.where(inside, t, 0.0)[:, None] * v


def _through(p: Floats, q: Floats, triangles: Floats) -> tuple[npt.NDArray[np.bool_], Floats]:
    """Tell which segments run through their triangles, and where."""
    origin = triangles[:, 0]
    normal = np.cross(triangles[:, 1] - origin, triangles[:, 2] - origin)
    above, below = _dot(p - origin, normal), _dot(q - origin, normal)
    crosses = above * below < 0
    share = above / np.where(crosses, above - below, 1.0)
    where = p + share[:, None] * (q - p)
    feet = _onto(where, triangles)
    inside = crosses & (
        _dot(feet - where, feet - where) < 1e-18 * np.maximum(_dot(q - p, q - p), 1)
    )
    return inside, where
