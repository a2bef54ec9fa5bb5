# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How far apart plates stand, with the two nearest points; exact, for many pairs at once.

Of two plates that share no volume, at least one nearest point lies on a side wall. So the distance
is the least of: walls against walls (edges and corners, features.py), and corners of one over the
inside of the other's face. Few walls need to be looked at: those that come as near to the other
plate's box as some pair of points already found.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from .features import Walls, segment_gap, wall_gap
from .overlap import Overlaps, pair_overlaps
from .ragged import batches, counts_of, join, least
from .solids import PlacedPlates, box_gaps, relative

__all__ = ["Distances", "least_distance", "lower_bounds", "pair_distances"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_BUDGET = 60_000  # rows of the largest intermediate table
_SLACK = 1e-9  # mm; keeps rounding from culling the nearest feature itself


@dataclass(frozen=True, slots=True, eq=False)
class Distances:
    """Distances of k pairs of plates.

    distance : (k,) mm; 0 where the plates share volume
    at_least : (k,) bool: the pair is farther apart than the limit, `distance` is a lower bound only
    point_a, point_b : (k, 3) mm, world, nearest points; nan where `at_least`; where the plates
        share volume both are one point inside it
    """

    distance: Floats
    at_least: npt.NDArray[np.bool_]
    point_a: Floats
    point_b: Floats


def lower_bounds(placed: PlacedPlates, pairs: npt.ArrayLike) -> Floats:
    """Return a lower bound (k,) of the distance of each pair, mm, from the plates' boxes alone."""
    pairs = np.asarray(pairs, dtype=np.intp).reshape(-1, 2)
    half = placed.half[placed.which[pairs]]
    gaps = box_gaps(*relative(placed, pairs), half[:, 0], half[:, 1])
    return np.maximum(gaps, 0.0)


def pair_distances(
    placed: PlacedPlates,
    pairs: npt.ArrayLike,
    limit: float = np.inf,
    overlaps: Overlaps | None = None,
) -> Distances:
    """Return the exact least distance of each pair of plates, right to 1e-6 mm.

    pairs : (k, 2) int
    limit : mm; what is farther apart is only said to be `at_least` some lower bound
    overlaps : of the same pairs, when already known
    """
    pairs = np.asarray(pairs, dtype=np.intp).reshape(-1, 2)
    distance = lower_bounds(placed, pairs)
    at_least = distance > limit
    on_a, on_b = np.full((len(pairs), 3), np.nan), np.full((len(pairs), 3), np.nan)
    near = np.flatnonzero(~at_least)
    if overlaps is None:
        shared = pair_overlaps(placed, pairs[near], exact=False)
        volume, inside = shared.volume, shared.point
    else:
        volume, inside = overlaps.volume[near], overlaps.point[near]
    clash = volume > 0.0
    distance[near[clash]] = 0.0
    on_a[near[clash]] = on_b[near[clash]] = inside[clash]
    near = near[~clash]
    for part in batches(placed.count[placed.which[pairs[near]]].sum(axis=1), _BUDGET):
        rows = near[part]
        search = _Search(placed, pairs[rows], limit)
        known = np.isfinite(search.best)
        distance[rows] = np.where(known, search.best, np.maximum(distance[rows], limit))
        at_least[rows] = ~known
        on_a[rows], on_b[rows] = search.world_points()
    return Distances(distance, at_least, on_a, on_b)


def least_distance(
    placed: PlacedPlates, pairs: npt.ArrayLike, limit: float = np.inf
) -> tuple[float, int, Floats]:
    """Return the least distance of all pairs, the pair's row, and its nearest points (2, 3).

    Pairs are taken in the order of their boxes' distance, and no more than needed.
    limit : mm; (limit, -1, nan) when all are farther apart than that, or there are no pairs
    """
    pairs = np.asarray(pairs, dtype=np.intp).reshape(-1, 2)
    bounds = lower_bounds(placed, pairs)
    order = np.argsort(bounds, kind="stable")
    best, row, points = float(limit), -1, np.full((2, 3), np.nan)
    start, size = 0, 8
    while start < len(order) and best > 0.0 and bounds[order[start]] < best:
        rows = order[start : start + size]
        rows = rows[bounds[rows] < best]
        found = pair_distances(placed, pairs[rows], best)
        exact = np.where(found.at_least, np.inf, found.distance)
        nearest = int(exact.argmin())
        if exact[nearest] < best or (row < 0 and exact[nearest] <= best):
            best, row = float(exact[nearest]), int(rows[nearest])
            points = np.stack([found.point_a[nearest], found.point_b[nearest]])
        start, size = start + size, size * 4
    return best, row, points


class _Seen:
    """The side walls of one plate of each pair, in the box frame of the other, as a flat list."""

    def __init__(
        self, placed: PlacedPlates, plates: Ints, rotation: Floats, shift: Floats, other: Floats
    ) -> None:
        self.owner, self.xy, self.after = placed.corners(plates)
        self.half = placed.half[placed.which[plates], 2]
        turn = rotation[self.owner]
        self.start: Floats = np.einsum("ij,ikj->ik", self.xy, turn[:, :, :2]) + shift[self.owner]
        self.normal = rotation[:, :, 2]
        room = other + np.abs(self.normal) * self.half[:, None]
        ahead = self.start[self.after]
        room = room[self.owner]
        apart = np.maximum(np.minimum(self.start, ahead), -np.maximum(self.start, ahead)) - room
        apart = np.maximum(apart, 0.0)
        self.gap = np.sqrt(np.einsum("ij,ij->i", apart, apart))  # of the wall to the other's box

    def corners_of(self, rows: Ints) -> Floats:
        """Return the corners (n, 2, 3) at the start of walls, on both faces."""
        rise = (self.normal * self.half[:, None])[self.owner[rows]]
        return np.stack([self.start[rows] + rise, self.start[rows] - rise], axis=1)


class _Search:
    """Least distance of k pairs that share no volume; all numbers in B's box frame.

    best (k,) : inf where nothing is nearer than the limit; on_a, on_b (k, 3)
    cap (k,) : no pair of points farther apart than this is of interest any more
    """

    def __init__(self, placed: PlacedPlates, pairs: Ints, limit: float) -> None:
        k = len(pairs)
        self.placed, self.pairs = placed, pairs
        self.best = np.full(k, np.inf)
        self.on_a, self.on_b = np.full((k, 3), np.nan), np.full((k, 3), np.nan)
        self.turn, self.shift = relative(placed, pairs[:, ::-1])  # a's frame to b's
        self.back = self.turn.transpose(0, 2, 1)
        back_shift = -(self.back @ self.shift[:, :, None])[:, :, 0]
        half = placed.half[placed.which[pairs]]
        self.a = _Seen(placed, pairs[:, 0], self.turn, self.shift, half[:, 1])
        self.b = _Seen(placed, pairs[:, 1], self.back, back_shift, half[:, 0])
        self.cap = np.minimum(_some_distance(self.a, self.b), _some_distance(self.b, self.a))
        self.cap = np.minimum(self.cap, limit) + _SLACK
        self._corners_over_faces(self.a, pairs[:, 1], flip=False)
        self._corners_over_faces(self.b, pairs[:, 0], flip=True)
        rows_a = np.flatnonzero(self.a.gap <= self.cap[self.a.owner])
        rows_b = np.flatnonzero(self.b.gap <= self.cap[self.b.owner])
        self._walls(rows_a, rows_b)
        far = self.best > limit
        self.best[far], self.on_a[far], self.on_b[far] = np.inf, np.nan, np.nan

    def world_points(self) -> tuple[Floats, Floats]:
        """Return the nearest points (k, 3), (k, 3) in the world."""
        world = self.placed.world_from_box[self.pairs[:, 1]]
        a, b = (
            (world[:, :3, :3] @ on[:, :, None])[:, :, 0] + world[:, :3, 3]
            for on in (self.on_a, self.on_b)
        )
        return a, b

    def _keep(self, owner: Ints, gap: Floats, on_a: Floats, on_b: Floats) -> None:
        """Take over what is nearer than the best so far; owner ascending."""
        nearest, row = least(gap, owner, len(self.best))
        better = np.flatnonzero(nearest < self.best)
        self.best[better] = nearest[better]
        self.on_a[better], self.on_b[better] = on_a[row[better]], on_b[row[better]]
        self.cap = np.minimum(self.cap, self.best + _SLACK)

    def _corners_over_faces(self, seen: _Seen, others: Ints, flip: bool) -> None:
        """Corners of one plate that stand over (or under) the inside of the other's outline."""
        rows = np.flatnonzero(seen.gap <= self.cap[seen.owner])
        corner = seen.corners_of(rows).reshape(-1, 3)
        owner = np.repeat(seen.owner[rows], 2)
        half = self.placed.half[self.placed.which[others]][owner]
        rise = np.abs(corner[:, 2]) - half[:, 2]
        over = np.all(np.abs(corner[:, :2]) <= half[:, :2], axis=1)
        over = np.flatnonzero(over & (rise <= self.cap[owner]))
        owner, corner, rise, half = owner[over], corner[over], rise[over], half[over]
        solid = self.placed.which[others][owner]
        inside = np.zeros(len(owner), dtype=bool)
        for number in np.unique(solid):
            of = solid == number
            outline = self.placed.solids[number].boxed
            inside[of] = shapely.contains_xy(outline, corner[of, 0], corner[of, 1])
        owner, corner, rise, half = owner[inside], corner[inside], rise[inside], half[inside]
        foot = corner.copy()
        foot[:, 2] = np.clip(corner[:, 2], -half[:, 2], half[:, 2])
        if flip:  # both points from a's frame to b's, where the plates change places
            corner, foot = self._to_b(owner, foot), self._to_b(owner, corner)
        self._keep(owner, np.maximum(rise, 0.0), corner, foot)

    def _to_b(self, owner: Ints, points: Floats) -> Floats:
        moved: Floats = (self.turn[owner] @ points[:, :, None])[:, :, 0] + self.shift[owner]
        return moved

    def _walls(self, rows_a: Ints, rows_b: Ints) -> None:
        """Walls of A (rows_a of self.a) against walls of B: bounds first, then all features."""
        k, a, b = len(self.best), self.a, self.b
        half = a.half + b.half
        centre_a, long_a = _middles(a.start, a.after, rows_a)
        centre_b, long_b = _middles(b.xy, b.after, rows_b)
        owner_b = b.owner[rows_b]
        owner_a = a.owner[rows_a]
        count_b = counts_of(owner_b, k)[1]
        for part in batches(count_b[owner_a], _BUDGET):
            i, j = join(owner_a[part], owner_b, k)
            i += part.start
            owner = owner_a[i]
            apart = centre_a[i] - centre_b[j]
            apart = np.sqrt(np.einsum("ij,ij->i", apart, apart))
            self.cap = np.minimum(self.cap, least(apart, owner, k)[0] + _SLACK)
            near = apart - long_a[i] - long_b[j] - half[owner] <= self.cap[owner]
            i, j, owner = i[near], j[near], owner[near]
            row_a, row_b = rows_a[i], rows_b[j]
            p, u = a.start[row_a], a.start[a.after[row_a]] - a.start[row_a]
            q, v = _flat(b.xy[row_b]), _flat(b.xy[b.after[row_b]] - b.xy[row_b])
            apart, _, _ = segment_gap(p, u, q, v)
            self.cap = np.minimum(self.cap, least(apart, owner, k)[0] + _SLACK)
            near = apart - half[owner] <= self.cap[owner]
            owner = owner[near]
            up = np.broadcast_to([0.0, 0.0, 1.0], (len(owner), 3))
            wall_a = Walls(p[near], u[near], a.normal[owner], a.half[owner])
            wall_b = Walls(q[near], v[near], up, b.half[owner])
            self._keep(owner, *wall_gap(wall_a, wall_b))


def _flat(xy: Floats) -> Floats:
    """Return (n, 3) from (n, 2), z = 0."""
    return np.append(xy, np.zeros((len(xy), 1)), axis=1)


def _middles(points: Floats, after: Ints, rows: Ints) -> tuple[Floats, Floats]:
    """Return middles (n, 3) and half lengths (n,) of the edges that start at `rows`."""
    start, end = points[rows], points[after[rows]]
    middle, run = (start + end) / 2, end - start
    if middle.shape[1] == 2:
        middle = _flat(middle)
    return middle, np.sqrt(np.einsum("ij,ij->i", run, run)) / 2


def _some_distance(seen: _Seen, other: _Seen) -> Floats:
    """Return an upper bound (k,): from one promising corner of each plate to the other's outline.

    The corner is a start of the wall that comes nearest to the other's box.
    """
    k = len(seen.half)
    _, row = least(seen.gap, seen.owner, k)
    point = seen.start[row]
    at = point[other.owner, :2] - other.xy
    run = other.xy[other.after] - other.xy
    share = np.einsum("ij,ij->i", at, run) / np.einsum("ij,ij->i", run, run)
    at -= np.clip(share, 0.0, 1.0)[:, None] * run
    aside, _ = least(np.einsum("ij,ij->i", at, at), other.owner, k)
    rise = np.maximum(np.abs(point[:, 2]) - other.half, 0.0)
    bound: Floats = np.sqrt(aside + rise**2)
    return bound
