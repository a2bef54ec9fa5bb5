# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The exact volume that two plates share: a sum over convex pieces.

A piece is what a trapezoid of A times its thickness shares with one of B times its own. In A's
coordinates (section.py) it stands over a convex polygon of the plane (x, a), cut out by
|b| <= tB/2, by the ends of B's trapezoid, and by what there is to share: over each place the piece
is the meeting of the two trapezoids' intervals [l, u] and [l', u'] of y. With p(d) = max(0, d) its
length is a sum of terms that clipping integrates exactly:

    |[l, u] n [l', u']| = (u - l') - p(u - u') - p(l - l')
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from .convex import clip, integrals, positive_integrals
from .ragged import batches, counts_of, join, least
from .section import Side, Stretch
from .solids import PlacedPlates
from .trapezoids import Trapezoids, trapezoids

__all__ = ["shared_volumes"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

_JOIN_BUDGET = 200_000  # pairs of trapezoids looked at in one go
_BUDGET = 4_000  # pieces integrated in one go: tables of a few hundred kB stay in the cache


def shared_volumes(
    placed: PlacedPlates,
    a: Side,
    b: Side,
    cosine: Floats,
    shift: Floats,
    shared: Stretch,
    enough: float = np.inf,
) -> tuple[Floats, Floats, Floats, Bools]:
    """Return volume (k,) mm3, extent (k,) mm along the common line, and a point (k, 3) inside.

    a, b, cosine : from `sides`; shift : (3, k), of B's box frame in A's; shared : what is left of
    the common line. The point (world, mm) is the centroid of the largest convex piece.
    enough : mm3; a pair whose most promising piece has more volume is not looked at further.
    The fourth result (k,) is True for these.
    """
    k = len(a.plates)
    kernel = _Kernel(placed, a, b, cosine, shift)
    parts_a = _between(trapezoids(placed, a), shared)
    parts_b = _between(trapezoids(placed, b), shared)
    total = _Total(kernel, parts_a, parts_b, k)
    i, j = _meeting(kernel, parts_a, parts_b, k)
    settled = np.zeros(k, dtype=bool)
    if np.isfinite(enough):
        first = _promising(parts_a, parts_b, i, j, k)
        total.add(i[first], j[first])
        settled = total.volume > enough
        rest = ~settled[parts_a.owner[i]]
        rest[first] = False
        i, j = i[rest], j[rest]
    for at in range(0, len(i), _BUDGET):
        total.add(i[at : at + _BUDGET], j[at : at + _BUDGET])
    return total.volume, total.extent(), total.points(), settled


def _between(parts: Trapezoids, shared: Stretch) -> Trapezoids:
    """Keep the trapezoids that reach into the stretch of their owner."""
    owner = parts.owner
    return parts.of((parts.high > shared.low[owner]) & (parts.low < shared.high[owner]))


def _meeting(
    kernel: _Kernel, parts_a: Trapezoids, parts_b: Trapezoids, k: int
) -> tuple[Ints, Ints]:
    """Return rows (i, j) of trapezoids of the same pair whose boxes meet."""
    count_b = counts_of(parts_b.owner, k)[1]
    found_i, found_j = [np.empty(0, dtype=np.intp)], [np.empty(0, dtype=np.intp)]
    for part in batches(count_b[parts_a.owner], _JOIN_BUDGET):
        i, j = join(parts_a.owner[part], parts_b.owner, k)
        i += part.start
        meet = np.flatnonzero(kernel.may_meet(parts_a, parts_b, i, j))
        found_i.append(i[meet])
        found_j.append(j[meet])
    return np.concatenate(found_i), np.concatenate(found_j)


def _promising(a: Trapezoids, b: Trapezoids, i: Ints, j: Ints, k: int) -> Ints:
    """Return for each pair of plates the row of the pieces (i, j) that looks largest."""
    size = np.minimum(a.high[i], b.high[j]) - np.maximum(a.low[i], b.low[j])
    size *= np.minimum((a.x1 - a.x0)[i], (b.x1 - b.x0)[j])
    row = least(-size, a.owner[i], k)[1]
    return row[row >= 0]


class _Total:
    """What the pieces added so far come to, for each of k pairs of plates."""

    def __init__(self, kernel: _Kernel, a: Trapezoids, b: Trapezoids, k: int) -> None:
        self.kernel, self.a, self.b = kernel, a, b
        self.volume, self.largest = np.zeros(k), np.zeros(k)
        self.at = np.zeros((k, 2), dtype=np.intp)  # the largest piece
        self.low, self.high = np.full(k, np.inf), np.full(k, -np.inf)

    def add(self, i: Ints, j: Ints) -> None:
        """Add the pieces of rows i of a and j of b, ascending in i."""
        a, b, k = self.a, self.b, len(self.volume)
        size = self.kernel.moments(a.of(i), b.of(j), first=False)[:, 0]
        full = size > 0.0
        i, j, size = i[full], j[full], size[full]
        owner = a.owner[i]
        self.volume += np.bincount(owner, weights=size, minlength=k)
        best, row = least(-size, owner, k)
        better = np.flatnonzero(-best > self.largest)
        self.largest[better] = -best[better]
        self.at[better] = np.stack([i[row[better]], j[row[better]]], axis=1)
        low, high = np.maximum(a.low[i], b.low[j]), np.minimum(a.high[i], b.high[j])
        self.low = np.minimum(self.low, least(low, owner, k)[0])
        self.high = np.maximum(self.high, -least(-high, owner, k)[0])

    def extent(self) -> Floats:
        """Return the length (k,) on the common line of all that was added."""
        some = self.volume > 0.0
        length: Floats = np.where(some, self.high, 0.0) - np.where(some, self.low, 0.0)
        return length

    def points(self) -> Floats:
        """Return the world centroids (k, 3) of the largest pieces; nan where there is none."""
        point = np.full((len(self.volume), 3), np.nan)
        found = np.flatnonzero(self.largest > 0.0)
        if len(found):
            i, j = self.at[found].T
            point[found] = self.kernel.centroids(self.a.of(i), self.b.of(j))
        return point


class _Kernel:
    """Pieces of k pairs of plates, in A's coordinates (x, a, y)."""

    def __init__(
        self, placed: PlacedPlates, a: Side, b: Side, cosine: Floats, shift: Floats
    ) -> None:
        self.half_a = placed.half[placed.which[a.plates], 2]
        self.half_b = placed.half[placed.which[b.plates], 2]
        self.a, self.sine, self.cosine = a, a.slope, cosine
        self.offset = cosine * (a.f * shift[:2]).sum(axis=0) - a.slope * shift[2]
        self.world = placed.columns[:, :, a.plates]

    def may_meet(self, a: Trapezoids, b: Trapezoids, i: Ints, j: Ints) -> Bools:
        """Return False for pairs of trapezoids (rows i of a, j of b) whose boxes are apart."""
        cosine, offset = self.cosine[a.owner], self.offset[a.owner]
        reach = (self.sine * self.half_a)[a.owner]
        end0, end1 = a.x0 * cosine - offset, a.x1 * cosine - offset
        left, right = np.minimum(end0, end1) - reach, np.maximum(end0, end1) + reach
        meet: Bools = (left[i] < b.x1[j]) & (right[i] > b.x0[j])
        meet &= (a.low[i] < b.high[j]) & (a.high[i] > b.low[j])
        return meet

    def moments(self, a: Trapezoids, b: Trapezoids, first: bool) -> Floats:
        """Return the volume of each piece (n, 1), and its first moments of x, a, y: (n, 4)."""
        at = a.owner
        sine, cosine = self.sine[at, None], self.cosine[at, None]
        half_a, half_b, lift = self.half_a[at], self.half_b[at, None], self.a.lift[at, None]
        x = np.stack([a.x0, a.x1, a.x1, a.x0], axis=1)
        z = np.stack([-half_a, -half_a, half_a, half_a], axis=1)
        x, z = clip((x, z), half_b + (sine * x + cosine * z + lift))
        x, z = clip((x, z), half_b - (sine * x + cosine * z + lift))
        x, z = clip((x, z), self._other_x(x, z, at) - b.x0[:, None])
        x, z = clip((x, z), b.x1[:, None] - self._other_x(x, z, at))
        # Where the intervals are apart nothing is left, and so no rounding of large terms either.
        x, z = clip((x, z), a.lines(x)[1] - b.lines(self._other_x(x, z, at))[0])
        x, z = clip((x, z), b.lines(self._other_x(x, z, at))[1] - a.lines(x)[0])
        lower_a, upper_a = a.lines(x)
        lower_b, upper_b = b.lines(self._other_x(x, z, at))

        def weights(u: Floats, v: Floats) -> tuple[Floats, ...]:
            return (x, z, (u + v) / 2) if first else ()

        total = integrals(x, z, upper_a - lower_b, weights(upper_a, lower_b))
        for u, v in ((upper_a, upper_b), (lower_a, lower_b)):
            total -= positive_integrals(x, z, u - v, weights(u, v))
        return total

    def centroids(self, a: Trapezoids, b: Trapezoids) -> Floats:
        """Return the world points (n, 3) of the centroids of pieces."""
        moment = self.moments(a, b, first=True)
        x, z, y = (moment[:, 1:] / moment[:, :1]).T[:, None]
        local = np.concatenate([x * self.a.f[:, a.owner] + y * self.a.e[:, a.owner], z])
        world = self.world[:, :, a.owner]
        moved: Floats = (world[:, :3] * local).sum(axis=1) + world[:, 3]
        return moved.T

    def _other_x(self, x: Floats, z: Floats, at: Ints) -> Floats:
        """Return B's coordinate x' of corners that are given as (x, a)."""
        other: Floats = self.cosine[at, None] * x - self.sine[at, None] * z - self.offset[at, None]
        return other
