# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The boxes of placed plates: which pairs come near each other at all, and by how much at least."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from .ragged import spread
from .solids import PlacedPlates

__all__ = ["box_gaps", "close_boxes", "lower_bounds", "near_pairs", "relative"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_N1, _N2 = np.array([1, 2, 0]), np.array([2, 0, 1])


def relative(placed: PlacedPlates, pairs: Ints) -> tuple[Floats, Floats]:
    """Return rotation (3, 3, k), shift (3, k) from box frames pairs[:, 1] to pairs[:, 0].

    Pairs stand along the last axis here and below: numpy is several times slower along short rows.
    """
    a, b = (placed.columns.take(of, axis=2) for of in pairs.T)
    b[:, 3] -= a[:, 3]
    both = a[0, :3, None] * b[0]
    both += a[1, :3, None] * b[1]
    both += a[2, :3, None] * b[2]
    return both[:, :3], both[:, 3]


def box_gaps(rotation: Floats, shift: Floats, half_a: Floats, half_b: Floats) -> Floats:
    """Return a lower bound of the distance of two boxes, below 0 when they overlap; vectorised.

    rotation (k, 3, 3), shift (k, 3) : carry b's frame to a's; half_a, half_b : (k, 3) half sizes
    Returns: (k,) mm. The separating-axis test of two boxes (three axes of each and their nine
    products; Gottschalk, Lin, Manocha 1996), with the gap measured in true length.
    """
    boxes = (rotation.transpose(1, 2, 0).copy(), shift.T.copy(), half_a.T.copy(), half_b.T.copy())
    return np.maximum(_face_gaps(*boxes), _edge_gaps(*boxes))


def _face_gaps(rotation: Floats, shift: Floats, half_a: Floats, half_b: Floats) -> Floats:
    """Return the bound (k,) that the three axes of each box give; halves (3, k)."""
    size = np.abs(rotation)
    gaps = np.empty((2, *shift.shape))
    gaps[0] = np.abs(shift) - half_a - _summed(size.swapaxes(0, 1), half_b)
    gaps[1] = np.abs(_summed(rotation, shift)) - half_b - _summed(size, half_a)
    signed: Floats = gaps.max(axis=(0, 1))
    apart = (signed > 0.0).nonzero()[0]
    if len(apart):
        aside = np.maximum(gaps.take(apart, axis=2), 0.0)
        signed[apart] = np.sqrt((aside * aside).sum(axis=1).max(axis=0))
    return signed


def _summed(matrix: Floats, vector: Floats) -> Floats:
    """Return the sum over i of matrix[i, j] vector[i], (3, k)."""
    total: Floats = matrix[0] * vector[0]
    total += matrix[1] * vector[1]
    total += matrix[2] * vector[2]
    return total


def _edge_gaps(rotation: Floats, shift: Floats, half_a: Floats, half_b: Floats) -> Floats:
    """Return the bound (k,) that the products of their axes give; halves (3, k)."""
    size, next_a, next_b = np.abs(rotation), rotation[_N1], rotation[_N2]
    across = np.abs(shift[_N2, None] * next_a - shift[_N1, None] * next_b)
    across -= half_a[_N1, None] * size[_N2] + half_a[_N2, None] * size[_N1]
    across -= half_b[_N1] * size[:, _N2] + half_b[_N2] * size[:, _N1]
    sine = np.sqrt(np.maximum(1.0 - rotation * rotation, 1e-12))
    # Parallel edges give no axis of their own; the face axes then decide.
    gaps: Floats = np.where(sine > 1e-4, across / sine, -np.inf).max(axis=(0, 1))
    return gaps


def close_boxes(
    placed: PlacedPlates, pairs: Ints, limit: float, few: int = 0
) -> tuple[Floats, Ints, Floats, Floats]:
    """Return how far apart the boxes of each pair are at least, and which are not beyond a limit.

    Spheres round the boxes first, then the boxes' own axes, then the products of these: most pairs
    that are far apart are told by the first. Where no more than `few` are left for the products,
    these are not tried.
    Returns: a lower bound (k,) of the distance, below 0 where boxes overlap; the rows (m,) in which
    it is at most `limit` mm; rotation (3, 3, m) and shift (3, m) of these, see `relative`.
    """
    one, two = pairs.T
    half = placed.half[placed.which].T
    reach = np.sqrt((half * half).sum(axis=0))
    centre = placed.columns[:, 3]
    apart = centre.take(one, axis=1) - centre.take(two, axis=1)
    bound = np.sqrt((apart * apart).sum(axis=0))
    bound -= reach[one] + reach[two]
    rows = (bound <= limit).nonzero()[0]
    rotation, shift = relative(placed, pairs[rows])
    half_a, half_b = half.take(one[rows], axis=1), half.take(two[rows], axis=1)
    for gaps in (_face_gaps, _edge_gaps):
        if gaps is _edge_gaps and len(rows) <= few:
            break
        bound[rows] = now = np.maximum(bound[rows], gaps(rotation, shift, half_a, half_b))
        near = (now <= limit).nonzero()[0]
        if len(near) < len(rows):
            rows, rotation, shift = (
                rows[near],
                rotation.take(near, axis=2),
                shift.take(near, axis=1),
            )
            half_a, half_b = half_a.take(near, axis=1), half_b.take(near, axis=1)
    return bound, rows, rotation, shift


def lower_bounds(placed: PlacedPlates, pairs: npt.ArrayLike) -> Floats:
    """Return a lower bound (k,) of the distance of each pair, mm, from the plates' boxes alone."""
    pairs = np.asarray(pairs, dtype=np.intp).reshape(-1, 2)
    return np.maximum(close_boxes(placed, pairs, np.inf)[0], 0.0)


def near_pairs(placed: PlacedPlates, gap: float) -> Ints:
    """Return the pairs of plates whose boxes come within `gap` (mm): sort and sweep, then boxes.

    Returns: (k, 2) int, i < j, ascending. No pair that is nearer than `gap` is missing.
    """
    columns = placed.columns
    centre = columns[:, 3]
    reach = _summed(np.abs(columns[:, :3]).swapaxes(0, 1), placed.half[placed.which].T) + gap / 2
    low, high = centre - reach, centre + reach
    axis = int(np.argmax(np.ptp(centre, axis=1))) if centre.size else 0
    order = np.argsort(low[axis], kind="stable")
    low, high = low[:, order], high[:, order]
    after = np.arange(len(order)) + 1
    last = np.searchsorted(low[axis], high[axis], side="right")
    i, j = spread(after, np.maximum(last - after, 0))
    for other in ((axis + 1) % 3, (axis + 2) % 3):
        floor, roof = low[other], high[other]
        meet = floor.take(i) <= roof.take(j)
        meet &= floor.take(j) <= roof.take(i)
        i, j = i[meet], j[meet]
    pairs = order.take(np.stack([i, j], axis=1))
    pairs.sort(axis=1)
    # Rounding must not lose boxes that just touch.
    pairs = pairs[close_boxes(placed, pairs, gap + 1e-9)[1]]
    near: Ints = pairs[(pairs[:, 0] * len(order) + pairs[:, 1]).argsort()]
    return near
