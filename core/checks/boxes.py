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
    """Return rotation (k, 3, 3), shift (k, 3) from box frames pairs[:, 1] to pairs[:, 0]."""
    from_a, from_b = (placed.world_from_box.take(of, axis=0) for of in pairs.T)
    back = from_a[:, :3, :3].transpose(0, 2, 1)
    shift = back @ (from_b[:, :3, 3] - from_a[:, :3, 3])[:, :, None]
    return back @ from_b[:, :3, :3], shift[:, :, 0]


def box_gaps(rotation: Floats, shift: Floats, half_a: Floats, half_b: Floats) -> Floats:
    """Return a lower bound of the distance of two boxes, below 0 when they overlap; vectorised.

    rotation (k, 3, 3), shift (k, 3) : carry b's frame to a's; half_a, half_b : (k, 3) half sizes
    Returns: (k,) mm. The separating-axis test of two boxes (three axes of each and their nine
    products; Gottschalk, Lin, Manocha 1996), with the gap measured in true length.
    """
    return np.maximum(
        _face_gaps(rotation, shift, half_a, half_b), _edge_gaps(rotation, shift, half_a, half_b)
    )


def _face_gaps(rotation: Floats, shift: Floats, half_a: Floats, half_b: Floats) -> Floats:
    """Return the bound (k,) that the three axes of each box give."""
    size = np.abs(rotation)
    gaps = np.empty((2, len(shift), 3))
    gaps[0] = np.abs(shift) - half_a - (size @ half_b[:, :, None])[:, :, 0]
    gaps[1] = np.abs(shift[:, None, :] @ rotation)[:, 0, :]
    gaps[1] -= half_b + (half_a[:, None, :] @ size)[:, 0, :]
    signed: Floats = gaps.max(axis=(0, 2))
    apart = (signed > 0.0).nonzero()[0]
    aside = np.maximum(gaps[:, apart], 0.0)
    signed[apart] = np.sqrt(np.einsum("skj,skj->sk", aside, aside).max(axis=0))
    return signed


def _edge_gaps(rotation: Floats, shift: Floats, half_a: Floats, half_b: Floats) -> Floats:
    """Return the bound (k,) that the products of their axes give."""
    size, next_a, next_b = np.abs(rotation), rotation[:, _N1], rotation[:, _N2]
    across = np.abs(shift[:, _N2, None] * next_a - shift[:, _N1, None] * next_b)
    across -= half_a[:, _N1, None] * np.abs(next_b) + half_a[:, _N2, None] * np.abs(next_a)
    across -= half_b[:, None, _N1] * size[:, :, _N2] + half_b[:, None, _N2] * size[:, :, _N1]
    sine = np.sqrt(np.maximum(1.0 - rotation * rotation, 1e-12))
    # Parallel edges give no axis of their own; the face axes then decide.
    gaps: Floats = np.where(sine > 1e-4, across / sine, -np.inf).max(axis=(1, 2))
    return gaps


def close_boxes(
    placed: PlacedPlates, pairs: Ints, limit: float, few: int = 0
) -> tuple[Floats, Ints, Floats, Floats]:
    """Return how far apart the boxes of each pair are at least, and which are not beyond a limit.

    Spheres round the boxes first, then the boxes' own axes, then the products of these: most pairs
    that are far apart are told by the first. Where no more than `few` are left for the products,
    these are not tried.
    Returns: a lower bound (k,) of the distance, below 0 where boxes overlap; the rows (m,) in which
    it is at most `limit` mm; rotation (m, 3, 3) and shift (m, 3) of these, see `relative`.
    """
    reach = np.sqrt(np.einsum("ij,ij->i", placed.half, placed.half))[placed.which]
    centre = placed.world_from_box[:, :3, 3]
    apart = centre.take(pairs[:, 0], axis=0) - centre.take(pairs[:, 1], axis=0)
    bound = np.sqrt(np.einsum("ij,ij->i", apart, apart))
    bound -= reach[pairs[:, 0]] + reach[pairs[:, 1]]
    rows = (bound <= limit).nonzero()[0]
    some = pairs[rows]
    rotation, shift = relative(placed, some)
    half = placed.half[placed.which[some]]
    for gaps in (_face_gaps, _edge_gaps):
        if gaps is _edge_gaps and len(rows) <= few:
            break
        bound[rows] = np.maximum(bound[rows], gaps(rotation, shift, half[:, 0], half[:, 1]))
        near = bound[rows] <= limit
        if not near.all():
            rows, rotation, shift, half = rows[near], rotation[near], shift[near], half[near]
    return bound, rows, rotation, shift


def lower_bounds(placed: PlacedPlates, pairs: npt.ArrayLike) -> Floats:
    """Return a lower bound (k,) of the distance of each pair, mm, from the plates' boxes alone."""
    pairs = np.asarray(pairs, dtype=np.intp).reshape(-1, 2)
    return np.maximum(close_boxes(placed, pairs, np.inf)[0], 0.0)


def near_pairs(placed: PlacedPlates, gap: float) -> Ints:
    """Return the pairs of plates whose boxes come within `gap` (mm): sort and sweep, then boxes.

    Returns: (k, 2) int, i < j, ascending. No pair that is nearer than `gap` is missing.
    """
    centre = placed.world_from_box[:, :3, 3]
    size = np.abs(placed.world_from_box[:, :3, :3])
    reach = np.einsum("nij,nj->ni", size, placed.half[placed.which]) + gap / 2
    low, high = (centre - reach).T.copy(), (centre + reach).T.copy()
    axis = int(np.argmax(np.ptp(centre, axis=0))) if len(centre) else 0
    order = np.argsort(low[axis], kind="stable")
    low, high = low[:, order], high[:, order]
    after = np.arange(len(order)) + 1
    last = np.searchsorted(low[axis], high[axis], side="right")
    i, j = spread(after, np.maximum(last - after, 0))
    for other in ((axis + 1) % 3, (axis + 2) % 3):
        meet = (low[other][i] <= high[other][j]) & (low[other][j] <= high[other][i])
        i, j = i[meet], j[meet]
    pairs = np.stack([order[i], order[j]], axis=1)
    # Rounding must not lose boxes that just touch.
    pairs = pairs[close_boxes(placed, pairs, gap + 1e-9)[1]]
    pairs.sort(axis=1)
    near: Ints = pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
    return near
