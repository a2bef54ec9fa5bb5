# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A quick look that throws out hopeless ways: those on which a thread would cut a plate.

Each plate is a picture of its outline in square cells; a segment that crosses its plane in a full
cell goes through it, to half a cell. What this lets through is then proved exactly or not at all,
so a cell too many costs a way, never a false proof.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..checks.ragged import spread
from .bodies import Body
from .nested import Layout
from .passing import Standing

__all__ = ["Screens", "skeleton"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

_CELL = 4.0  # mm
_TABLE = 2_000_000
_GOLDEN = 0.6180339887
_FIRST, _MORE = 3, 4  # segments of a set that are looked at first; so many times more, and so on


class Screens:
    """The plates of a sculpture as pictures in their planes."""

    def __init__(self, standing: Standing) -> None:
        """Take the plates; their pictures are made when they are first asked for."""
        self.standing = standing
        self.layouts: dict[int, Layout] = {}  # of bodies by their id, how their boxes are gathered
        count = len(standing.bodies)
        middle = standing.balls.mean(axis=0)
        away = np.linalg.norm(standing.balls - middle, axis=1)
        self.reach = float((away + standing.radii).max())  # of all plates from their middle, mm
        self.known: dict[int, int] = {}  # of a body by its id: a plate whose picture is its own
        self.corner, self.size = np.zeros((count, 2)), np.zeros((count, 2), dtype=np.intp)
        self.first = np.full(count, -1, dtype=np.intp)
        self.cells = np.zeros(0, dtype=bool)

    def _draw(self, plates: Ints) -> None:
        """Make the pictures of plates that have none."""
        drawn = [self.cells]
        end = len(self.cells)
        for plate in plates[self.first[plates] < 0].tolist():
            body = self.standing.bodies[plate]
            twin = self.known.setdefault(id(body), plate)
            if twin == plate:
                self.corner[plate], cells = _picture(body)
                self.size[plate], self.first[plate] = cells.shape, end
                drawn.append(cells.ravel())
                end += cells.size
            self.corner[plate], self.size[plate] = self.corner[twin], self.size[twin]
            self.first[plate] = self.first[twin]
        self.cells = np.concatenate(drawn)

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
        # Few segments show for most sets that they are cut; only the rest is worth all of them.
        order = np.argsort(np.arange(each) * _GOLDEN % 1.0, kind="stable")  # spread over the body
        done, batch = 0, _FIRST
        left = np.arange(count)
        while done < each and len(left):
            chosen = order[done : done + batch]
            rows = max(1, _TABLE // (len(chosen) * len(which)))
            for begin in range(0, len(left), rows):
                some = left[begin : begin + rows]
                at = np.ix_(some, chosen)
                found[some] = self._cut(starts[at], ends[at], which, open_at)
            left = left[found[left] < 0]
            done, batch = done + batch, batch * _MORE
        return found

    def _cut(
        self,
        one: Floats,
        two: Floats,
        which: Ints,
        open_at: Sequence[tuple[int, Floats, float]],
    ) -> Ints:
        """Return for each set of segments (n, k, 3), from one to two, a plate it cuts, or -1."""
        found = np.full(len(one), -1, dtype=np.intp)
        normal = self.standing.turns[which][:, :, 2]
        offset = np.einsum("pi,pi->p", normal, self.standing.shifts[which])
        # Single precision is good to a thousandth of a cell, and the tables are large.
        across, level = normal.T.astype(np.float32), offset.astype(np.float32)
        before = one.reshape(-1, 3).astype(np.float32) @ across < level
        after = two.reshape(-1, 3).astype(np.float32) @ across < level
        crossed = (before != after).reshape(*one.shape[:2], -1)
        crossed &= self._near(one, two, which)[:, None]
        row, p = np.divmod(np.flatnonzero(crossed), len(which))
        n, k = np.divmod(row, one.shape[1])
        start, end = one[n, k], two[n, k]
        low = np.einsum("ni,ni->n", start, normal[p]) - offset[p]
        high = np.einsum("ni,ni->n", end, normal[p]) - offset[p]
        share = low / np.where(low == high, 1.0, low - high)
        point = start + share[:, None] * (end - start)
        away = point - self.standing.balls[which[p]]
        close = np.einsum("ni,ni->n", away, away) < self.standing.radii[which[p]] ** 2
        n, p, point = n[close], p[close], point[close]
        hit = self._full(which[p], point)
        for plate, centre, radius in open_at:
            hit &= (which[p] != plate) | (((point - centre) ** 2).sum(axis=1) > radius**2)
        found[n[hit]] = which[p[hit]]
        return found

    def _near(self, one: Floats, two: Floats, which: Ints) -> Bools:
        """Tell for sets of segments (n, k, 3) which plates their common ball meets; (n, p)."""
        start, end = one.mean(axis=1), two.mean(axis=1)
        apart = np.maximum(
            ((one - start[:, None]) ** 2).sum(axis=2), ((two - end[:, None]) ** 2).sum(axis=2)
        )
        reach = np.sqrt(apart.max(axis=1))[:, None] + self.standing.radii[which]
        way = end - start
        away = self.standing.balls[which] - start[:, None]
        share = (
            np.einsum("npi,ni->np", away, way) / np.maximum((way * way).sum(axis=1), 1e-9)[:, None]
        )
        away -= np.clip(share, 0.0, 1.0)[:, :, None] * way[:, None]
        near: Bools = np.einsum("npi,npi->np", away, away) < reach * reach
        return near

    def _full(self, plates: Ints, points: Floats) -> Bools:
        """Tell which points (n, 3) in the planes of plates (n,) lie on sheet."""
        self._draw(np.unique(plates))
        away = points - self.standing.shifts[plates]
        flat = np.einsum("ni,nik->nk", away, self.standing.turns[plates][:, :, :2])
        at = np.floor((flat - self.corner[plates]) / _CELL).astype(np.intp)
        hit: Bools = ((at >= 0) & (at < self.size[plates])).all(axis=1)
        rows = np.flatnonzero(hit)
        cell = at[rows, 0] * self.size[plates[rows], 1] + at[rows, 1]
        hit[rows] = self.cells[self.first[plates[rows]] + cell]
        return hit


def _picture(body: Body) -> tuple[Floats, Bools]:
    """Return the corner (2,) of a body's picture and its cells, full if the middle is on sheet."""
    flat = body.triangles[:, :, :2]
    low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
    size = np.ceil((high - low) / _CELL).astype(np.intp) + 1
    cells = np.zeros(size, dtype=bool)
    # Each triangle is tried against the middles in the rectangle round it.
    first = np.maximum(np.floor((flat.min(axis=1) - low) / _CELL - 0.5).astype(np.intp), 0)
    last = np.minimum(np.ceil((flat.max(axis=1) - low) / _CELL - 0.5).astype(np.intp), size - 1)
    across = last - first + 1
    owner, number = spread(np.zeros(len(flat), dtype=np.intp), across.prod(axis=1))
    at = first[owner] + np.column_stack(np.divmod(number, across[owner, 1]))
    middle = low + (at + 0.5) * _CELL
    signed = np.zeros((3, len(owner)))
    for k in range(3):
        corner, side = flat[owner, k], flat[owner, (k + 1) % 3] - flat[owner, k]
        signed[k] = side[:, 0] * (middle[:, 1] - corner[:, 1]) - side[:, 1] * (
            middle[:, 0] - corner[:, 0]
        )
    inside = (signed >= 0.0).all(axis=0) | (signed <= 0.0).all(axis=0)
    cells[at[inside, 0], at[inside, 1]] = True
    return low, cells


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
