# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether a body that shifts and turns keeps clear of what stands: proved for the whole leg.

Both are sets of boxes (bodies.py); the gap of two boxes has a lower bound (separating axes). Where
the least bound at one moment is g, nothing touches as long as no point of the body has moved by g
since, and on a leg no point moves faster than its shift plus its turn times the body's reach. So
each look at one pose clears a stretch of the leg, and what is left between is looked at again
(conservative advancement; Mirtich, Impulse-based dynamic simulation, 1996, from memory).
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from ..checks.boxes import box_gaps
from ..checks.ragged import spread
from .nested import Boxes, Cover, prism_gaps

__all__ = ["NARROWEST", "Room"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

#: mm. A gap below this ends a leg: hands do not steer finer.
NARROWEST = 0.5
_CLOSE = 6.0  # mm; large boxes nearer than this are looked into
_EXACT = 1.5  # mm; small boxes nearer than this are looked into
_PRISMS = 4096
_HOME = 40.0  # mm; so near its place a body is looked at to its triangles
_CLOSEST = 4  # pairs of boxes that are looked into first
_LOOKED = 20.0  # mm; wider gaps are not measured
_LOOKS = 160  # poses of one leg, at most
_TABLE = 400_000  # rows of the largest intermediate table


class Room:
    """One body among plates that stand, and what it may touch."""

    def __init__(
        self,
        covers: tuple[Cover, Cover | None],
        pivot: Floats,
        sprung: Mapping[tuple[int, int], tuple[int, int]],
    ) -> None:
        """Take the boxes of the body and of what stands (None: nothing does).

        sprung : (mover, standing plate): bits of the zones on the mover and on the standing plate
            of the joints between them that are sprung; those boxes may pass each other
        """
        self.pivot = pivot
        self.body, self.still = covers
        large = self.body.large
        self.arm = float((np.linalg.norm(large.centre - pivot, axis=1) + large.reach).max())
        self.pass_body, self.pass_still = self._passing(sprung)

    def _passing(
        self, sprung: Mapping[tuple[int, int], tuple[int, int]]
    ) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
        """Return a bit for each sprung pair: boxes of the body, boxes that stand."""
        ours_all = self.body.small
        body = np.zeros(len(ours_all.reach), dtype=np.int64)
        count = 0 if self.still is None else len(self.still.small.reach)
        still = np.zeros(count, dtype=np.int64)
        for k, ((mover, other), (ours, theirs)) in enumerate(sprung.items()):
            body[(ours_all.plate == mover) & ((ours_all.zones & ours) != 0)] |= 1 << (k % 62)
            if self.still is not None:
                all_still = self.still.small
                hit = (all_still.plate == other) & ((all_still.zones & theirs) != 0)
                still[hit] |= 1 << (k % 62)
        return body, still

    def gaps(self, shifts: Floats, turns: Floats) -> tuple[Floats, Ints]:
        """Return lower bounds of the gap at poses (n,), and the nearest standing plate (n,).

        shifts : (n, 3) of the pivot; turns : (n, 4) quaternions. Gaps above some 20 mm, and where
        nothing stands, come out as that; then the plate is -1. What is below `NARROWEST` need
        not be the least.
        """
        rotation = Rotation.from_quat(turns).as_matrix()
        best = np.full(len(shifts), _LOOKED)
        nearest = np.full(len(shifts), -1, dtype=np.intp)
        if self.still is None or not len(shifts):
            return best, nearest
        large = self.still.large
        from_pivot = large.centre - self.pivot
        rows = max(1, _TABLE // (len(large.reach) + 1))
        for start in range(0, len(shifts), rows):
            part = slice(start, min(start + rows, len(shifts)))
            away = np.linalg.norm(from_pivot[None] - shifts[part][:, None], axis=2)
            pose, box = np.nonzero(away < self.arm + large.reach + _LOOKED)
            if len(pose):
                found = self._least(shifts[part], rotation[part], pose, box)
                best[part], nearest[part] = found
        return best, nearest

    def _least(
        self, shifts: Floats, rotation: Floats, pose: Ints, box: Ints
    ) -> tuple[Floats, Ints]:
        """Return the least gaps of some poses, of pairs (pose, large standing box), and where."""
        assert self.still is not None
        body, still = self.body.large, self.still.large
        centre = (body.centre - self.pivot) @ rotation.transpose(0, 2, 1)
        centre += (shifts + self.pivot)[:, None]
        rows = max(1, _TABLE // len(body.reach))
        found: list[tuple[Ints, Ints, Ints]] = []
        for start in range(0, len(pose), rows):
            p, b = pose[start : start + rows], box[start : start + rows]
            away = centre[p] - still.centre[b][:, None]
            square = np.einsum("nmi,nmi->nm", away, away)
            reach = body.reach[None] + still.reach[b][:, None] + _LOOKED
            row, mover = np.nonzero(square < reach**2)
            found.append((p[row], mover, b[row]))
        p, m, b = (np.concatenate([one[k] for one in found]) for k in range(3))
        gap = self._gap(body, still, m, b, rotation[p], shifts[p])
        near = gap < _CLOSE
        best = np.full(len(shifts), _LOOKED)
        nearest = np.full(len(shifts), -1, dtype=np.intp)
        _lowest(best, nearest, p[~near], gap[~near], still.plate[b[~near]])
        # Where large boxes come close the small ones inside tell. Those that come closest are
        # looked at first: where they show that it is too narrow, the others need no look.
        p, m, b, rank = p[near], m[near], b[near], _rank(p[near], gap[near])
        centres = (self.body.small.centre - self.pivot) @ rotation.transpose(0, 2, 1)
        centres += (shifts + self.pivot)[:, None]
        np.minimum.at(best, np.unique(p), _CLOSE)
        for some in (rank < _CLOSEST, rank >= _CLOSEST):
            some &= best[p] >= NARROWEST
            self._inside(best, nearest, p[some], m[some], b[some], rotation, shifts, centres)
        return best, nearest

    def _inside(
        self,
        best: Floats,
        nearest: Ints,
        p: Ints,
        m: Ints,
        b: Ints,
        rotation: Floats,
        shifts: Floats,
        centres: Floats,
    ) -> None:
        """Look at the small boxes in large boxes m and b at poses p; centres : of the body's."""
        if not len(p):
            return
        assert self.still is not None
        first_m, first_b = self.body.first, self.still.first
        row, m, b = _inside_of(first_m, first_b, m, b)
        p = p[row]
        small, other = self.body.small, self.still.small
        away = centres[p, m] - other.centre[b]
        reach = small.reach[m] + other.reach[b] + _CLOSE
        kept = np.einsum("ni,ni->n", away, away) < reach * reach
        kept &= (self.pass_body[m] & self.pass_still[b]) == 0
        p, m, b = p[kept], m[kept], b[kept]
        if not len(p):
            return
        gap = self._gap(small, other, m, b, rotation[p], shifts[p])
        home = np.linalg.norm(shifts, axis=1) < _HOME
        last = (gap >= _EXACT) | ~home[p]
        _lowest(best, nearest, p[last], gap[last], other.plate[b[last]])
        p, m, b, rank = p[~last], m[~last], b[~last], _rank(p[~last], gap[~last])
        np.minimum.at(best, p, _EXACT)
        for some in (rank < _CLOSEST, rank >= _CLOSEST):
            some &= best[p] >= NARROWEST
            self._triangles(best, nearest, p[some], m[some], b[some], rotation, shifts)

    def _triangles(
        self,
        best: Floats,
        nearest: Ints,
        p: Ints,
        m: Ints,
        b: Ints,
        rotation: Floats,
        shifts: Floats,
    ) -> None:
        """Look at the triangles in small boxes m and b at poses p."""
        assert self.still is not None
        body, still = self.body, self.still
        plate = still.small.plate[b]
        row, m, b = _inside_of(body.cut, still.cut, m, b)
        p, plate = p[row], plate[row]
        for start in range(0, len(p), _PRISMS):
            k = slice(start, start + _PRISMS)
            turn = rotation[p[k]]
            ours = (body.triangles[m[k]] - self.pivot) @ turn.transpose(0, 2, 1)
            ours += (shifts[p[k]] + self.pivot)[:, None]
            rise = (turn @ body.rises[m[k]][:, :, None])[:, :, 0]
            gap = prism_gaps(ours, rise, still.triangles[b[k]], still.rises[b[k]], _EXACT)
            _lowest(best, nearest, p[k], gap, plate[k])

    def _gap(
        self, body: Boxes, still: Boxes, m: Ints, b: Ints, rotation: Floats, shifts: Floats
    ) -> Floats:
        """Return lower bounds of the gaps of boxes m, turned and shifted, and standing boxes b."""
        axes = body.axes[m] @ rotation.transpose(0, 2, 1)  # rows, turned
        centre = (rotation @ (body.centre[m] - self.pivot)[:, :, None])[:, :, 0]
        centre += shifts + self.pivot
        turn = axes @ still.axes[b].transpose(0, 2, 1)
        shift = (axes @ (still.centre[b] - centre)[:, :, None])[:, :, 0]
        gap: Floats = box_gaps(turn, shift, body.half[m], still.half[b])
        return gap

    def clear(self, starts: Floats, ends: Floats) -> tuple[Bools, Ints]:
        """Tell which legs are clear, (n,), and a plate in the way of each that is not, or -1.

        starts, ends : (n, 7) poses: shift x, y, z, then quaternion x, y, z, w
        """
        count = len(starts)
        free = np.ones(count, dtype=bool)
        blocker = np.full(count, -1, dtype=np.intp)
        run = self.run(starts, ends)
        looks = np.zeros(count, dtype=np.intp)
        edge = np.arange(count)
        low, high = np.zeros(count), np.ones(count)
        while len(edge):
            middle = (low + high) / 2
            gap, plate = self.gaps(*_between(starts[edge], ends[edge], middle))
            np.add.at(looks, edge, 1)
            bad = (gap < NARROWEST) | (looks[edge] > _LOOKS)
            free[edge[bad]] = False
            blocker[edge[bad]] = plate[bad]
            reach = gap / np.maximum(run[edge], 1e-9)
            pieces = [(edge, low, middle - reach), (edge, middle + reach, high)]
            edge, low, high = (np.concatenate([one[k] for one in pieces]) for k in range(3))
            kept = (high > low) & free[edge]
            edge, low, high = edge[kept], low[kept], high[kept]
        return free, blocker

    def run(self, starts: Floats, ends: Floats) -> Floats:
        """Return how far a point of the body moves at most on each leg, (n,) mm."""
        angle = 2.0 * np.arccos(np.clip(np.abs((starts[:, 3:] * ends[:, 3:]).sum(axis=1)), 0, 1))
        run: Floats = np.linalg.norm(ends[:, :3] - starts[:, :3], axis=1) + angle * self.arm
        return run


def _inside_of(ours: Ints, theirs: Ints, m: Ints, b: Ints) -> tuple[Ints, Ints, Ints]:
    """Return all pairs of what pairs of boxes hold: the row of the boxes, and the numbers of both.

    ours, theirs : where what each box holds begins
    """
    row, m = spread(ours[m], ours[m + 1] - ours[m])
    b = b[row]
    again, b = spread(theirs[b], theirs[b + 1] - theirs[b])
    return row[again], m[again], b


def _rank(pose: Ints, gap: Floats) -> Ints:
    """Return for each row which place its gap takes among those of its pose, from 0."""
    order = np.lexsort((gap, pose))
    place = np.arange(len(order))
    first = np.concatenate([[True], np.diff(pose[order]) > 0])[: len(order)]
    rank = np.empty(len(order), dtype=np.intp)
    rank[order] = place - np.maximum.accumulate(np.where(first, place, 0))
    return rank


def _lowest(best: Floats, nearest: Ints, pose: Ints, gap: Floats, plate: Ints) -> None:
    """Write the least gap of each pose, and whose it is, where it is below what is known."""
    order = np.lexsort((gap, pose))
    first = np.concatenate([[True], np.diff(pose[order]) > 0])[: len(order)]
    chosen = order[first]
    chosen = chosen[gap[chosen] < best[pose[chosen]]]
    best[pose[chosen]] = gap[chosen]
    nearest[pose[chosen]] = plate[chosen]


def _between(starts: Floats, ends: Floats, shares: Floats) -> tuple[Floats, Floats]:
    """Return shifts and quaternions a share of the way along legs (n, 7), the short way round."""
    shift = starts[:, :3] + shares[:, None] * (ends[:, :3] - starts[:, :3])
    one, two = starts[:, 3:], ends[:, 3:]
    dot = (one * two).sum(axis=1)
    two = np.where(dot[:, None] < 0.0, -two, two)
    angle = np.arccos(np.clip(np.abs(dot), 0.0, 1.0))
    sine = np.sin(angle)
    small = sine < 1e-9
    safe = np.where(small, 1.0, sine)
    a = np.where(small, 1.0 - shares, np.sin((1.0 - shares) * angle) / safe)
    b = np.where(small, shares, np.sin(shares * angle) / safe)
    turn = a[:, None] * one + b[:, None] * two
    return shift, turn / np.linalg.norm(turn, axis=1, keepdims=True)
