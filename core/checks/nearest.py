# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The nearest points of plates that share no volume: bounds first, then few edges and corners.

A run of edges (solids.py) is told by the line along its middle: it comes within its half width of
each place on that line. So the least distance of two such lines bounds that of the runs from above
and from below, and only what may be nearer than the least bound from above is looked at edge by
edge. Where v is the unit vector between the nearest points of two segments, all points of these are
at least so far apart along v; what is swept from them along a vector w comes nearer by |v . w| at
most.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from .features import Walls, segment_gap, wall_gap
from .ragged import batches, counts_of, join, least
from .solids import PlacedPlates

__all__ = ["Nearest"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
_Lines = tuple[Floats, Floats]  # starts and vectors, (n, 3) each

_BUDGET = 60_000  # pairs of edges handled at a time
_SLACK = 1e-9  # mm; keeps rounding from culling the nearest feature itself
_LOOSE = 1e-4  # mm; the same where a bound hangs on the direction between almost parallel edges


class _Runs(NamedTuple):
    """Runs as the other plate sees them: views ascending, distance of its box, height over it."""

    view: Ints
    run: Ints
    gap: Floats
    top: Floats


class Nearest:
    """Least distance of k pairs that share no volume; all numbers in B's box frame.

    best (k,) : mm, inf where nothing is nearer than the limit; on_a, on_b (k, 3) : where
    cap (k,) : no pair of points farther apart than this is of interest any more

    A view is one plate seen in the other's box frame: view i < k is the first plate of pair i, view
    k + i its second one. x, y, normal (2 k, 3) : the plate's axes there, shift (2 k, 3) its centre.
    """

    def __init__(
        self, placed: PlacedPlates, pairs: Ints, rotation: Floats, shift: Floats, limit: float
    ) -> None:
        """Search; rotation (k, 3, 3), shift (k, 3) : b's box frame to a's, see `relative`."""
        k = len(pairs)
        self.placed, self.pairs = placed, pairs
        self.best, self.cap = np.full(k, np.inf), np.full(k, limit + _SLACK)
        self.on_a, self.on_b = np.full((k, 3), np.nan), np.full((k, 3), np.nan)
        self.x, self.y, self.normal = np.concatenate(
            [rotation.transpose(1, 0, 2), rotation.transpose(2, 0, 1)], axis=1
        )
        self.shift = np.concatenate([-(shift[:, None, :] @ rotation)[:, 0], shift])
        self.plate = pairs.T.reshape(-1)
        self.half = placed.half[placed.which[self.plate]]
        seen = self._near_runs()
        self._walls(seen)
        self._corners_over_faces(seen)
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

    # ---------------------------------------------------------------- bounds

    def _turned(self, view: Ints, xy: Floats) -> Floats:
        """Return vectors (n, 2) of the views' plates as the other plates see them, (n, 3)."""
        seen: Floats = self.x[view] * xy[:, :1] + self.y[view] * xy[:, 1:]
        return seen

    def _near_runs(self) -> _Runs:
        """Return the runs that come near the other plate's box."""
        k = len(self.best)
        view, run = self.placed.runs_of(self.plate)
        box = self.placed.runs.box[run]
        centre = self._turned(view, box[:, :2]) + self.shift[view]
        other = np.concatenate([self.half[k:], self.half[:k]])
        reach = np.abs(self.normal * self.half[:, 2:])[view]
        reach += np.abs(self._turned(view, box[:, 2:4])) + np.abs(self._turned(view, box[:, 4:]))
        size = np.abs(centre) - other[view]
        apart = np.maximum(size - reach, 0.0)
        gap = np.sqrt(np.einsum("ij,ij->i", apart, apart))
        near = np.flatnonzero(gap <= self.cap[view % k])
        return _Runs(view[near], run[near], gap[near], (size + reach)[near, 2])

    def _bounded(self, owner: Ints, one: _Lines, two: _Lines, *aside: Floats) -> Floats:
        """Return the least distance of what is swept from lines of A and of B.

        Takes over the bounds from above. owner : (n,) ascending; aside : (n, 3), half-axes of runs
        across their middle lines
        """
        k = len(self.best)
        apart, on_one, on_two = segment_gap(*one, *two)
        v = on_one - on_two
        v /= np.where(apart > 0.0, apart, 1.0)[:, None]
        above, below = apart.copy(), apart
        for way in aside:
            above += np.sqrt(np.einsum("ij,ij->i", way, way))
            below = below - np.abs(np.einsum("ij,ij->i", way, v))
        normal = self.normal[:k] * self.half[:k, 2:]
        below = below - np.abs(np.einsum("ij,ij->i", normal[owner], v))
        below -= np.abs(v[:, 2]) * self.half[k:, 2][owner]
        self.cap = np.minimum(self.cap, least(above, owner, k)[0] + _SLACK)
        bounded: Floats = below
        return bounded

    def _left(self, owner: Ints, bound: Floats) -> Ints:
        """Return the rows that may still hold the nearest points."""
        return np.flatnonzero(bound <= self.cap[owner] + _LOOSE)

    # ---------------------------------------------------------------- walls

    def _walls(self, seen: _Runs) -> None:
        """Walls of A against walls of B: runs, then edges and runs, then edges, then walls."""
        k = len(self.best)
        first = int(np.searchsorted(seen.view, k))
        owner_a, owner_b = seen.view[:first], seen.view[first:] - k
        count_b = counts_of(owner_b, k)[1]
        for part in batches(count_b[owner_a], _BUDGET):
            i, j = join(owner_a[part], owner_b, k)
            self._run_pairs(owner_a[part][i], seen.run[part][i], seen.run[first + j])

    def _run_pairs(self, owner: Ints, run_a: Ints, run_b: Ints) -> None:
        """Search pairs of runs of A and B, owner ascending."""
        placed = self.placed
        box_a, box_b = placed.runs.box[run_a], placed.runs.box[run_b]
        centre_a = self._turned(owner, box_a[:, :2]) + self.shift[owner]
        line_a = _line(centre_a, self._turned(owner, box_a[:, 2:4]))
        line_b = _line(_flat(box_b[:, :2]), _flat(box_b[:, 2:4]))
        aside_a, aside_b = self._turned(owner, box_a[:, 4:]), _flat(box_b[:, 4:])
        bound = self._bounded(owner, line_a, line_b, aside_a, aside_b)
        near = self._left(owner, bound)
        sizes = placed.runs.size[run_a[near]] * placed.runs.size[run_b[near]]
        for part in batches(sizes, _BUDGET):
            rows = near[part]
            of_a, edge_a = placed.edges_of(run_a[rows])
            of_b, edge_b = placed.edges_of(run_b[rows])
            at_a, at_b = rows[of_a], rows[of_b]
            one, two = self._edges_a(owner[at_a], edge_a), self._edges_b(edge_b)
            bound_a = self._bounded(owner[at_a], one, _of(line_b, at_a), aside_b[at_a])
            bound_b = self._bounded(owner[at_b], _of(line_a, at_b), two, aside_a[at_b])
            left_a, left_b = self._left(owner[at_a], bound_a), self._left(owner[at_b], bound_b)
            i, j = join(of_a[left_a], of_b[left_b], len(rows))
            i, j = left_a[i], left_b[j]
            self._edges(owner[at_a[i]], _of(one, i), _of(two, j))

    def _edges_a(self, owner: Ints, edge: Ints) -> _Lines:
        ends = self.placed.ends[edge]
        start = self._turned(owner, ends[:, :2]) + self.shift[owner]
        return start, self._turned(owner, ends[:, 2:] - ends[:, :2])

    def _edges_b(self, edge: Ints) -> _Lines:
        ends = self.placed.ends[edge]
        return _flat(ends[:, :2]), _flat(ends[:, 2:] - ends[:, :2])

    def _edges(self, owner: Ints, one: _Lines, two: _Lines) -> None:
        """Edges of A against edges of B, pair by pair; owner ascending."""
        k = len(self.best)
        bound = self._bounded(owner, one, two)
        near = self._left(owner, bound)
        # The most promising one first: what it gives rules most others out.
        row = least(bound[near], owner[near], k)[1]
        first = near[row[row >= 0]]
        for rows in (first, near):
            rows = rows[self._left(owner[rows], bound[rows])]
            of = owner[rows]
            up = np.broadcast_to([0.0, 0.0, 1.0], (len(of), 3))
            wall_a = Walls(*_of(one, rows), self.normal[of], self.half[of, 2])
            wall_b = Walls(*_of(two, rows), up, self.half[k + of, 2])
            self._keep(of, *wall_gap(wall_a, wall_b))

    def _keep(self, owner: Ints, gap: Floats, on_a: Floats, on_b: Floats) -> None:
        """Take over what is nearer than the best so far; owner ascending."""
        nearest, row = least(gap, owner, len(self.best))
        better = np.flatnonzero(nearest < self.best)
        self.best[better] = nearest[better]
        self.on_a[better], self.on_b[better] = on_a[row[better]], on_b[row[better]]
        self.cap = np.minimum(self.cap, self.best + _SLACK)

    # ---------------------------------------------------------------- corners

    def _corners_over_faces(self, seen: _Runs) -> None:
        """Corners of one plate that stand over (or under) the inside of the other's outline."""
        k, placed = len(self.best), self.placed
        bar = np.where(np.isfinite(self.best), self.best - 10 * _SLACK, self.cap)
        near = (seen.gap <= bar[seen.view % k]) & (seen.top >= -_LOOSE)
        of, edge = placed.edges_of(seen.run[near])
        view = seen.view[near][of]
        middle = self._turned(view, placed.ends[edge, :2]) + self.shift[view]
        rise = self.normal[view] * self.half[view, 2:]
        corner = np.stack([middle + rise, middle - rise], axis=1).reshape(-1, 3)
        view = np.repeat(view, 2)
        other = (view + k) % (2 * k)
        half = self.half[other]
        rise = np.abs(corner[:, 2]) - half[:, 2]
        # A corner that has sunk into the plate would share volume with it: it stands in a hole.
        over = (rise <= bar[view % k]) & (rise >= -_LOOSE)
        over = np.flatnonzero(over & np.all(np.abs(corner[:, :2]) <= half[:, :2], axis=1))
        inside = over[_inside(placed, self.plate[other[over]], corner[over])]
        view, corner, rise, half = view[inside], corner[inside], rise[inside], half[inside]
        foot = corner.copy()
        foot[:, 2] = np.clip(corner[:, 2], -half[:, 2], half[:, 2])
        rise = np.maximum(rise, 0.0)
        first = int(np.searchsorted(view, k))
        self._keep(view[:first], rise[:first], corner[:first], foot[:first])
        owner = view[first:] - k  # these are in a's frame, where the plates change places
        self._keep(owner, rise[first:], *(self._to_b(owner, p[first:]) for p in (foot, corner)))

    def _to_b(self, owner: Ints, points: Floats) -> Floats:
        """Return points (n, 3) of a's frame in b's."""
        moved: Floats = self._turned(owner, points[:, :2]) + self.normal[owner] * points[:, 2:]
        moved += self.shift[owner]
        return moved


def _inside(placed: PlacedPlates, plates: Ints, points: Floats) -> npt.NDArray[np.bool_]:
    """Tell which points (n, 3) lie over the inside of the outlines of plates (n,), in their boxes.

    A ray to the right crosses the edges an odd number of times.
    """
    owner, run = placed.runs_of(plates)
    box, size = placed.runs.box[run], np.abs(placed.runs.box[run])
    x, y = points[owner, 0], points[owner, 1]
    ahead = np.abs(box[:, 1] - y) <= size[:, 3] + size[:, 5] + _SLACK
    ahead = np.flatnonzero(ahead & (box[:, 0] + size[:, 2] + size[:, 4] + _SLACK >= x))
    of, edge = placed.edges_of(run[ahead])
    owner = owner[ahead][of]
    x, y = points[owner, 0], points[owner, 1]
    x0, y0, x1, y1 = placed.ends[edge].T
    across = np.flatnonzero((y0 > y) != (y1 > y))
    owner, x, y = owner[across], x[across], y[across]
    x0, y0, x1, y1 = x0[across], y0[across], x1[across], y1[across]
    right = x < x0 + (y - y0) / (y1 - y0) * (x1 - x0)
    odd: npt.NDArray[np.bool_] = np.bincount(owner[right], minlength=len(plates)) % 2 == 1
    return odd


def _flat(xy: Floats) -> Floats:
    """Return (n, 3) from (n, 2), z = 0."""
    return np.append(xy, np.zeros((len(xy), 1)), axis=1)


def _line(centre: Floats, half_axis: Floats) -> _Lines:
    return centre - half_axis, 2.0 * half_axis


def _of(lines: _Lines, rows: Ints) -> _Lines:
    return lines[0][rows], lines[1][rows]
