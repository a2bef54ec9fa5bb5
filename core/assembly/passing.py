# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether plates that move in a straight line sweep through plates that stand.

Plates are cut into convex pieces (bodies.py). A convex piece that moves along a segment sweeps the
sum (of Minkowski) of itself and that segment, which is convex too. Two convex bodies are apart if
and only if some plane parts them, and for sums of triangles and segments the few planes that need
to be tried are spanned by two of their edges (separating axes). So the verdict is exact, for any
direction, but for `DEPTH`: what sinks in by less passes for touching. Boxes round groups of
triangles are tried first in the same way.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ..checks.ragged import spread
from .bodies import RUN, Body

__all__ = ["DEPTH", "Standing", "overlapping"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

#: mm. Congruent outlines are cut as one part if they agree to 0.01 mm, so a shoulder may stand that
#: deep in the plate that it touches, on either side.
DEPTH = 0.02
_BATCH = 8192
_FIRST = 12  # pairs of boxes that are tried first
_FIRST_TRIANGLES = 64  # of the triangles in them


def overlapping(
    points_a: Floats, edges_a: Floats, points_b: Floats, edges_b: Floats, way: Floats
) -> Bools:
    """Return where body a, somewhere on its way, shares room with body b; (n,) bool.

    points_a : (n, p, 3) corners whose hull, summed with the segments from -e to e of
        edges_a (n, e, 3), is body a; points_b, edges_b : the same of b (the counts may differ)
    way : (n, 3), the vector that a moves by, mm
    """
    hit = np.zeros(len(way), dtype=bool)
    for start in range(0, len(way), _BATCH):
        stop = min(start + _BATCH, len(way))
        rows = np.arange(start, stop)
        # A few likely axes part nearly all pairs; only the rest are worth all of them.
        few = np.stack([edges_a[rows, -1], edges_b[rows, -1], way[rows]], axis=1)
        axes = np.concatenate([few, _products(few)], axis=1)
        rows = rows[~_parted(axes, points_a, edges_a, points_b, edges_b, way, rows)]
        if len(rows):
            spans = [edges_a[rows], edges_b[rows], way[rows][:, None]]
            for points in (points_a[rows], points_b[rows]):
                if points.shape[1] > 1:
                    spans.append(np.roll(points, -1, axis=1) - points)
            axes = _products(np.concatenate(spans, axis=1))
            hit[rows] = ~_parted(axes, points_a, edges_a, points_b, edges_b, way, rows)
    return hit


def _products(spans: Floats) -> Floats:
    """Return the cross products (n, k (k - 1) / 2, 3) of every two of k vectors (n, k, 3)."""
    first, second = np.array(list(combinations(range(spans.shape[1]), 2))).T
    length = np.linalg.norm(spans, axis=2, keepdims=True)
    spans = spans / np.maximum(length, 1e-12)
    x, y, z = (spans[:, :, k] for k in range(3))
    return np.stack(
        [
            y[:, first] * z[:, second] - z[:, first] * y[:, second],
            z[:, first] * x[:, second] - x[:, first] * z[:, second],
            x[:, first] * y[:, second] - y[:, first] * x[:, second],
        ],
        axis=2,
    )


def _parted(
    axes: Floats,
    points_a: Floats,
    edges_a: Floats,
    points_b: Floats,
    edges_b: Floats,
    way: Floats,
    rows: Ints,
) -> Bools:
    """Return (n,) where the bodies in `rows` are apart along one of their axes (n, k, 3)."""
    size = np.sqrt(np.einsum("nki,nki->nk", axes, axes))
    known = size > 1e-7
    turned = (axes / np.where(known, size, 1.0)[:, :, None]).transpose(0, 2, 1)
    reach = np.abs(edges_a[rows] @ turned).sum(axis=1) + np.abs(edges_b[rows] @ turned).sum(axis=1)
    of_a, of_b = points_a[rows] @ turned, points_b[rows] @ turned
    run = (way[rows][:, None, :] @ turned)[:, 0]
    low = of_a.min(axis=1) + np.minimum(run, 0.0) - of_b.max(axis=1) - reach
    high = of_a.max(axis=1) + np.maximum(run, 0.0) - of_b.min(axis=1) + reach
    parted: Bools = (known & ((low > -DEPTH) | (high < DEPTH))).any(axis=1)
    return parted


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """All plates at their places, as convex pieces in the world.

    bodies : one for each plate (equal ones may be shared)
    turns (P, 3, 3), shifts (P, 3) : carry each plate's part to its place
    known : verdicts on two plates and a straight way; places, kinds : numbers of pairs placed alike
    """

    triangles: tuple[Floats, ...]
    rises: Floats
    centres: tuple[Floats, ...]
    halves: tuple[Floats, ...]
    runs: tuple[Floats, ...]
    bodies: tuple[Body, ...]
    balls: Floats
    radii: Floats
    turns: Floats
    shifts: Floats
    known: dict[tuple[int, bytes, int], bool] = field(default_factory=dict)
    places: dict[tuple[int, int], int] = field(default_factory=dict)
    kinds: dict[tuple[int, int, bytes], int] = field(default_factory=dict)

    @classmethod
    def of(cls, bodies: Sequence[Body], world_from_part: Floats) -> Standing:
        """Carry every plate's body to its place."""
        turns, shifts = world_from_part[:, :3, :3], world_from_part[:, :3, 3]

        def placed(points: Floats, p: int) -> Floats:
            moved: Floats = points @ turns[p].T + shifts[p]
            return moved

        count = range(len(bodies))
        return cls(
            tuple(placed(bodies[p].triangles, p) for p in count),
            np.array([turns[p] @ bodies[p].rise for p in count]),
            tuple(placed(bodies[p].centres, p) for p in count),
            tuple(bodies[p].halves @ turns[p].T for p in count),
            tuple(placed(bodies[p].runs, p) for p in count),
            tuple(bodies),
            np.array([placed(bodies[p].centre, p) for p in count]),
            np.array([body.reach for body in bodies]),
            turns,
            shifts,
        )

    def blocker(
        self,
        movers: Iterable[int],
        still: Iterable[int],
        start: Floats,
        end: Floats,
        sprung: dict[tuple[int, int], int] | None = None,
    ) -> tuple[int, int] | None:
        """Return the first pair (mover, standing plate) that share room on the way; None: free.

        movers, still : numbers of plates; start, end : (3,) mm, the movers' displacement from their
        places at both ends of the straight way
        sprung : (mover, standing plate): bits of the standing plate's zones that are left out,
            because the joint between the two is sprung
        """
        left_out = {} if sprung is None else sprung
        pairs = self._near(np.fromiter(movers, np.intp), np.fromiter(still, np.intp), start, end)
        motion = np.stack([start, end - start])
        seen: dict[int, bytes] = {}
        for a, b in pairs.tolist():
            if a not in seen:  # zeros lose their sign
                seen[a] = (np.round(motion @ self.turns[a], 3) + 0.0).tobytes()
            passed = left_out.get((a, b), 0)
            key = (self._alike(a, b), seen[a], passed)
            if key not in self.known:
                self.known[key] = self._hits(a, b, start, end - start, passed)
            if self.known[key]:
                return a, b
        return None

    def _alike(self, a: int, b: int) -> int:
        """Return a number that is the same for all pairs of equal plates placed alike."""
        if (a, b) not in self.places:
            turn = self.turns[a]
            place = np.column_stack(
                [turn.T @ self.turns[b], (self.shifts[b] - self.shifts[a]) @ turn]
            )
            name = (id(self.bodies[a]), id(self.bodies[b]), (np.round(place, 3) + 0.0).tobytes())
            self.places[a, b] = self.kinds.setdefault(name, len(self.kinds))
        return self.places[a, b]

    def meets(self, a: int, b: int, start: Floats, end: Floats, left_out: int = 0) -> bool:
        """Tell whether plate a shares room with plate b on the way; see `blocker`.

        left_out : bits of zones of b
        """
        return self._hits(a, b, start, end - start, left_out)

    def _near(self, movers: Ints, still: Ints, start: Floats, end: Floats) -> Ints:
        """Return the pairs whose balls meet on the way, nearest first."""
        way = end - start
        apart = self.balls[still][None] - self.balls[movers][:, None] - start
        square = float(way @ way)
        share = (
            np.clip(apart @ way / square, 0.0, 1.0) if square > 0.0 else np.zeros(apart.shape[:2])
        )
        gap = np.linalg.norm(apart - share[:, :, None] * way, axis=2)
        reach = self.radii[movers][:, None] + self.radii[still][None]
        i, j = np.nonzero(gap < reach)
        order = np.argsort(gap[i, j] / reach[i, j], kind="stable")
        return np.column_stack([movers[i], still[j]])[order]

    def _hits(self, a: int, b: int, start: Floats, way: Floats, left_out: int) -> bool:
        """Try the boxes of two plates, and the triangles of those that meet: few, then more."""
        ours, theirs = self.bodies[a], self.bodies[b]
        moved = self.runs[a] + start
        gap = _gaps(moved[:, None], self.runs[b], way)
        run, other = np.nonzero(gap < ours.run_reach[:, None] + theirs.run_reach)
        each = np.arange(RUN)
        i = np.repeat(run[:, None] * RUN + each, RUN, axis=1).ravel()
        j = np.tile(other[:, None] * RUN + each, RUN).ravel()
        kept = (i < len(ours.box_reach)) & (j < len(theirs.box_reach))
        i, j = i[kept], j[kept]
        kept = (theirs.box_zones[j] & left_out) == 0
        i, j = i[kept], j[kept]
        gap = _gaps(self.centres[a][i] + start, self.centres[b][j], way)
        gap /= ours.box_reach[i] + theirs.box_reach[j]
        kept = gap < 1.0
        order = np.argsort(gap[kept], kind="stable")
        i, j = i[kept][order], j[kept][order]
        done, batch = 0, _FIRST
        while done < len(i):
            k, m = i[done : done + batch], j[done : done + batch]
            hit = overlapping(
                self.centres[a][k][:, None] + start,
                _with(self.halves[a][k], self.rises[a]),
                self.centres[b][m][:, None],
                _with(self.halves[b][m], self.rises[b]),
                np.broadcast_to(way, (len(k), 3)),
            )
            if hit.any() and self._triangles_hit(a, b, k[hit], m[hit], start, way):
                return True
            done, batch = done + batch, batch * 4
        return False

    def _triangles_hit(self, a: int, b: int, i: Ints, j: Ints, start: Floats, way: Floats) -> bool:
        """Try the triangles of boxes i of plate a against those of boxes j of plate b."""
        first_a, first_b = self.bodies[a].first, self.bodies[b].first
        owner, row_a = spread(first_a[i], first_a[i + 1] - first_a[i])
        pair, row_b = spread(first_b[j][owner], (first_b[j + 1] - first_b[j])[owner])
        row_a = row_a[pair]
        done, batch = 0, _FIRST_TRIANGLES
        while done < len(row_a):
            one, two = row_a[done : done + batch], row_b[done : done + batch]
            hit = overlapping(
                self.triangles[a][one] + start,
                np.broadcast_to(self.rises[a], (len(one), 1, 3)),
                self.triangles[b][two],
                np.broadcast_to(self.rises[b], (len(one), 1, 3)),
                np.broadcast_to(way, (len(one), 3)),
            )
            if hit.any():
                return True
            done, batch = done + batch, batch * 8
        return False


def _gaps(moved: Floats, other: Floats, way: Floats) -> Floats:
    """Return how near points (..., 3) that move by `way` (3,) come to others, (...) mm."""
    apart = other - moved
    square = float(way @ way)
    if square > 0.0:
        share = np.clip(apart @ (way / square), 0.0, 1.0)
        apart -= share[..., None] * way
    found: Floats = np.sqrt(np.einsum("...i,...i->...", apart, apart))
    return found


def _with(halves: Floats, rise: Floats) -> Floats:
    """Return half axes (n, 3, 3) of boxes: two in the plane and the one across it."""
    return np.concatenate([halves, np.broadcast_to(rise, (len(halves), 1, 3))], axis=1)
