# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which plates run into each other, by how much and where; exact, for many pairs at once.

First the boxes, then the intervals that the two bands show of their outlines (section.py); only
pairs that share a stretch of the common line get the exact volume: the sum over pairs of trapezoids
of the integral of max(0, min(upper) - max(lower)) over what they share of the plane square to the
line. With four edges that integrand is a sum of four terms max(0, y1 - y2):
    |[l, u] n [l', u']| = p(u - l') - p(u - u') - p(l - l') + p(l - u'),  p(d) = max(0, d).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..tolerance import TOLERANCES, Tolerances
from .ragged import batches, counts_of, join, least
from .section import TOUCH, Side, shared_stretch, sides
from .solids import PlacedPlates, box_gaps, relative
from .trapezoids import Trapezoids, clip, integrate_positive, trapezoids

__all__ = ["Overlaps", "pair_overlaps"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

# Rows of the largest intermediate table; a few MB, so that it stays in the processor's cache.
_BUDGET = 60_000


@dataclass(frozen=True, slots=True, eq=False)
class Overlaps:
    """What k pairs of plates share.

    volume : (k,) mm3, 0 where they are apart or only touch
    clash : (k,) bool, volume above Tolerances.clash_volume
    point : (k, 3) mm, world: inside the largest convex piece of the clash; nan where volume is 0
    extent : (k,) mm, length along the common line of the two planes on which the clash lies
    """

    volume: Floats
    clash: Bools
    point: Floats
    extent: Floats


def pair_overlaps(
    placed: PlacedPlates, pairs: npt.ArrayLike, tolerances: Tolerances = TOLERANCES
) -> Overlaps:
    """Return the exact volume that each pair of plates shares.

    pairs : (k, 2) int, numbers of plates. With symmetry: representatives against their copies.
    """
    pairs = np.asarray(pairs, dtype=np.intp).reshape(-1, 2)
    k = len(pairs)
    volume, extent, point = np.zeros(k), np.zeros(k), np.full((k, 3), np.nan)
    rotation, shift = relative(placed, pairs)
    half = placed.half[placed.which[pairs]]
    near = np.flatnonzero(box_gaps(rotation, shift, half[:, 0], half[:, 1]) < -TOUCH)
    for part in batches(placed.count[placed.which[pairs[near]]].sum(axis=1), _BUDGET):
        rows = near[part]
        a, b = sides(placed, pairs[rows], rotation[rows], shift[rows])
        length, low, high = shared_stretch(placed, a, b)
        hit = np.flatnonzero(length > TOUCH)
        if len(hit):
            rows = rows[hit]
            found = _volumes(placed, a.of(hit), b.of(hit), shift[rows], low[hit], high[hit])
            volume[rows], extent[rows], point[rows] = found
    return Overlaps(volume, volume > tolerances.clash_volume, point, extent)


def _volumes(
    placed: PlacedPlates, a: Side, b: Side, shift: Floats, low: Floats, high: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return volume (k,), extent (k,) and world point (k, 3) of pairs that share low ... high."""
    k = len(a.plates)
    parts_a = _between(trapezoids(placed, a), low, high)
    parts_b = _between(trapezoids(placed, b), low, high)
    pieces = _Pieces(placed, a, b, shift)
    volume, best_volume = np.zeros(k), np.zeros(k)
    best = np.full((k, 2), -1, dtype=np.intp)
    bottom, top = np.full(k, np.inf), np.full(k, -np.inf)
    count_b = counts_of(parts_b.owner, k)[1]
    for part in batches(count_b[parts_a.owner], _BUDGET):
        first = part.start
        i, j = join(parts_a.owner[part], parts_b.owner, k)
        i += first
        meet = pieces.may_meet(parts_a, parts_b, i, j)
        i, j = i[meet], j[meet]
        if len(i) == 0:
            continue
        size = pieces.integrals(parts_a.of(i), parts_b.of(j), moments=False)[:, 0]
        full = size > 0.0
        i, j, size = i[full], j[full], size[full]
        owner = parts_a.owner[i]
        volume += np.bincount(owner, weights=size, minlength=k)
        largest, row = least(-size, owner, k)
        better = np.flatnonzero(-largest > best_volume)
        best_volume[better] = -largest[better]
        best[better] = np.stack([i[row[better]], j[row[better]]], axis=1)
        np.minimum.at(bottom, owner, _lowest(parts_a, parts_b, i, j))
        np.maximum.at(top, owner, _highest(parts_a, parts_b, i, j))
    point = np.full((k, 3), np.nan)
    found = np.flatnonzero(best[:, 0] >= 0)
    if len(found):
        pick = parts_a.of(best[found, 0]), parts_b.of(best[found, 1])
        point[found] = pieces.centroids(*pick, found)
    return volume, np.where(volume > 0.0, top - bottom, 0.0), point


def _between(parts: Trapezoids, low: Floats, high: Floats) -> Trapezoids:
    """Keep the trapezoids that reach into low ... high of their owner."""
    above = parts.upper.max(axis=1) > low[parts.owner]
    below = parts.lower.min(axis=1) < high[parts.owner]
    return parts.of(above & below)


def _lowest(a: Trapezoids, b: Trapezoids, i: Ints, j: Ints) -> Floats:
    """Return a lower bound of y of what trapezoids i of a and j of b share."""
    return np.maximum(a.lower[i].min(axis=1), b.lower[j].min(axis=1))


def _highest(a: Trapezoids, b: Trapezoids, i: Ints, j: Ints) -> Floats:
    """Return an upper bound of y of what trapezoids i of a and j of b share."""
    return np.minimum(a.upper[i].max(axis=1), b.upper[j].max(axis=1))


class _Pieces:
    """Trapezoid times thickness against trapezoid times thickness, in A's coordinates (x, a, y)."""

    def __init__(self, placed: PlacedPlates, a: Side, b: Side, shift: Floats) -> None:
        self.half_a = placed.half[placed.which[a.plates], 2]
        self.half_b = placed.half[placed.which[b.plates], 2]
        self.sine = a.slope
        # cosine from f' = c f - s nA is lost in b's frame; the band gives |c|, the planes its sign
        self.cosine = _cosine(placed, a, b)
        self.a, self.lift = a, a.lift
        self.offset = self.cosine * np.sum(a.f * shift[:, :2], axis=1) - self.sine * shift[:, 2]
        self.world = placed.world_from_box[a.plates]

    def may_meet(self, a: Trapezoids, b: Trapezoids, i: Ints, j: Ints) -> Bools:
        """Return False for pairs of trapezoids (rows i of a, j of b) whose boxes are apart."""
        owner = a.owner[i]
        ends = a.x[i] * self.cosine[owner, None] - self.offset[owner, None]
        reach = self.sine[owner] * self.half_a[owner]
        along = (ends.min(axis=1) - reach < b.x[j, 1]) & (ends.max(axis=1) + reach > b.x[j, 0])
        return along & (_lowest(a, b, i, j) < _highest(a, b, i, j))

    def integrals(self, a: Trapezoids, b: Trapezoids, moments: bool) -> Floats:
        """Return volume, and the first moments of x, a, y when asked: (n, 1) or (n, 4)."""
        at = a.owner
        half_a, half_b = self.half_a[at, None], self.half_b[at, None]
        sine, cosine, lift = self.sine[at, None], self.cosine[at, None], self.lift[at, None]
        x = a.x[:, [0, 1, 1, 0]]
        polygon = np.stack([x, np.concatenate([-half_a, -half_a, half_a, half_a], axis=1)], axis=2)
        for sign in (1.0, -1.0):
            height = sine * polygon[:, :, 0] + cosine * polygon[:, :, 1] + lift
            polygon = clip(polygon, half_b + sign * height)
        for sign, end in ((1.0, b.x[:, :1]), (-1.0, b.x[:, 1:])):
            other = self._other_x(polygon, at)
            polygon = clip(polygon, sign * (other - end))
        other = self._other_x(polygon, at)
        la, ua = _line(a.x, a.lower, polygon[:, :, 0]), _line(a.x, a.upper, polygon[:, :, 0])
        lb, ub = _line(b.x, b.lower, other), _line(b.x, b.upper, other)
        ones = np.ones(la.shape)
        total = np.zeros((len(at), 4 if moments else 1))
        for sign, u, v in ((1, ua, lb), (-1, ua, ub), (-1, la, lb), (1, la, ub)):
            columns = [ones]
            if moments:
                columns += [polygon[:, :, 0], polygon[:, :, 1], (u + v) / 2]
            total += sign * integrate_positive(polygon, u - v, np.stack(columns, axis=2))
        return total

    def centroids(self, a: Trapezoids, b: Trapezoids, owner: Ints) -> Floats:
        """Return the world points (n, 3) of the centroids of the pieces."""
        moment = self.integrals(a, b, moments=True)
        x, height, y = (moment[:, 1:] / moment[:, :1]).T
        local = x[:, None] * self.a.f[owner] + y[:, None] * self.a.e[owner]
        world = self.world[owner]
        point = np.append(local, height[:, None], axis=1)
        moved: Floats = (world[:, :3, :3] @ point[:, :, None])[:, :, 0] + world[:, :3, 3]
        return moved

    def _other_x(self, polygon: Floats, at: Ints) -> Floats:
        """Return B's coordinate x' of corners (n, v, 2) that are given as (x, a)."""
        turned = polygon[:, :, 0] * self.cosine[at, None] - polygon[:, :, 1] * self.sine[at, None]
        return turned - self.offset[at, None]


def _cosine(placed: PlacedPlates, a: Side, b: Side) -> Floats:
    """Return nA . nB, (k,)."""
    normal_a = placed.world_from_box[a.plates, :3, 2]
    normal_b = placed.world_from_box[b.plates, :3, 2]
    return np.sum(normal_a * normal_b, axis=1)


def _line(x: Floats, y: Floats, at: Floats) -> Floats:
    """Return y at places `at` (n, v) of straight lines through (x, y), each (n, 2)."""
    rate = (y[:, 1:] - y[:, :1]) / (x[:, 1:] - x[:, :1])
    return y[:, :1] + (at - x[:, :1]) * rate
