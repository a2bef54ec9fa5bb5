# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A quick look that throws out hopeless ways: those on which a thread would cut a plate.

Each plate is a picture of its outline in square cells; a segment that crosses its plane in a full
cell goes through it, to half a cell. What this lets through is then proved exactly or not at all,
so a cell too many costs a way, never a false proof.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely

from .bodies import Body
from .passing import Standing

__all__ = ["Screens", "skeleton"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

_CELL = 4.0  # mm
_TABLE = 2_000_000


class Screens:
    """The plates of a sculpture as pictures in their planes."""

    def __init__(self, standing: Standing) -> None:
        """Take the plates; their pictures are made when they are first asked for."""
        self.standing = standing
        self.pictures: dict[int, tuple[Floats, Bools]] = {}

    def picture(self, plate: int) -> tuple[Floats, Bools]:
        """Return the corner (2,) of a plate's picture in its part's plane, and its cells."""
        body = self.standing.bodies[plate]
        if id(body) not in self.pictures:
            self.pictures[id(body)] = _picture(body)
        return self.pictures[id(body)]

    def cut(
        self,
        starts: Floats,
        ends: Floats,
        plates: Sequence[int],
        open_at: Sequence[tuple[int, Floats, float]] = (),
    ) -> Ints:
        """Return for each set of segments a plate that they cut, (n,), -1: none.

        starts, ends : (n, k, 3) mm, world; plates : those that stand
        open_at : (plate, centre, radius): crossings of a plate in that ball do not count
        """
        count, each = starts.shape[:2]
        found = np.full(count, -1, dtype=np.intp)
        which = np.array(plates, dtype=np.intp)
        if not count or not len(which):
            return found
        normal = self.standing.turns[which][:, :, 2]
        offset = np.einsum("pi,pi->p", normal, self.standing.shifts[which])
        rows = max(1, _TABLE // (each * len(which)))
        for begin in range(0, count, rows):
            part = slice(begin, begin + rows)
            one, two = starts[part], ends[part]
            before = one @ normal.T - offset
            after = two @ normal.T - offset
            n, k, p = np.nonzero(before * after < 0.0)
            low, high = before[n, k, p], after[n, k, p]
            share = (low / (low - high))[:, None]
            point = one[n, k] + share * (two[n, k] - one[n, k])
            near = ((point - self.standing.balls[which[p]]) ** 2).sum(axis=1)
            close = near < self.standing.radii[which[p]] ** 2
            n, p, point = n[close], p[close], point[close]
            hit = self._full(which[p], point)
            for plate, centre, radius in open_at:
                hit &= (which[p] != plate) | (((point - centre) ** 2).sum(axis=1) > radius**2)
            found[begin + n[hit]] = which[p[hit]]
        return found

    def _full(self, plates: Ints, points: Floats) -> Bools:
        """Tell which points (n, 3) in the planes of plates (n,) lie on sheet."""
        hit = np.zeros(len(plates), dtype=bool)
        order = np.argsort(plates, kind="stable")
        bounds = np.flatnonzero(np.diff(plates[order], prepend=-1, append=-1))
        for low, high in pairwise(bounds.tolist()):
            rows = order[low:high]
            plate = int(plates[rows[0]])
            corner, cells = self.picture(plate)
            turn, shift = self.standing.turns[plate], self.standing.shifts[plate]
            flat = (points[rows] - shift) @ turn[:, :2]
            at = np.floor((flat - corner) / _CELL).astype(np.intp)
            inside = ((at >= 0) & (at < cells.shape)).all(axis=1)
            at[~inside] = 0
            hit[rows] = inside & cells[at[:, 0], at[:, 1]]
        return hit


def _picture(body: Body) -> tuple[Floats, Bools]:
    flat = body.triangles[:, :, :2]
    low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
    size = np.ceil((high - low) / _CELL).astype(int) + 1
    rings = np.concatenate([flat, flat[:, :1]], axis=1)
    sheet = shapely.union_all(shapely.polygons(rings))
    shapely.prepare(sheet)
    x = low[0] + (np.arange(size[0]) + 0.5) * _CELL
    y = low[1] + (np.arange(size[1]) + 0.5) * _CELL
    return low, shapely.contains_xy(sheet, x[:, None], y[None])


def skeleton(standing: Standing, plates: Sequence[int], most: int = 60) -> Floats:
    """Return segments (n, 2, 3) that lie in plates at their places, the longest ones."""
    found = []
    for p in plates:
        halves = standing.halves[p]
        length = np.linalg.norm(halves, axis=2)
        longer = halves[np.arange(len(halves)), length.argmax(axis=1)]
        chosen = np.argsort(-length.max(axis=1), kind="stable")[: max(10, most // len(plates))]
        centre, half = standing.centres[p][chosen], longer[chosen]
        found.append(np.stack([centre - half, centre + half], axis=1))
    return np.concatenate(found)
