# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Cut outlines into trapezoids, inside the band where the other plate can be met.

A trapezoid times a thickness is convex, and so is what two of them share: the volume of a clash is
a sum of volumes of convex pieces.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .ragged import least, spread
from .section import Side, edges_in_band
from .solids import PlacedPlates

__all__ = ["Trapezoids", "trapezoids"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_NEAR = 1e-6  # mm; more than the rounding of the keys that slabs are found by


@dataclass(frozen=True, slots=True, eq=False)
class Trapezoids:
    """A flat list of trapezoids: x from x0 to x1, y from a lower to an upper straight line.

    owner : (n,) int, ascending
    lower, upper : (n,) y of the two lines at x0; lower_rate, upper_rate : (n,) their slopes
    low, high : (n,) least and greatest y
    """

    owner: Ints
    x0: Floats
    x1: Floats
    lower: Floats
    lower_rate: Floats
    upper: Floats
    upper_rate: Floats
    low: Floats
    high: Floats

    def of(self, rows: Ints | npt.NDArray[np.bool_]) -> Trapezoids:
        """Return some of the rows."""
        return Trapezoids(*(getattr(self, name)[rows] for name in self.__slots__))

    def lines(self, x: Floats) -> tuple[Floats, Floats]:
        """Return y of the lower and upper lines at places x (n, v)."""
        run = x - self.x0[:, None]
        return (
            self.lower[:, None] + self.lower_rate[:, None] * run,
            self.upper[:, None] + self.upper_rate[:, None] * run,
        )


def trapezoids(placed: PlacedPlates, side: Side) -> Trapezoids:
    """Return the vertical decomposition of each outline of `side`, inside its band only."""
    k = len(side.plates)
    owner, edge = edges_in_band(placed, side)
    ends, f, e, y0 = placed.ends[edge].T, side.f[:, owner], side.e[:, owner], side.y0[owner]
    x, x_next = (ends[c] * f[0] + ends[c + 1] * f[1] for c in (0, 2))
    y, y_next = (ends[c] * e[0] + ends[c + 1] * e[1] + y0 for c in (0, 2))
    left, right = np.minimum(x, x_next), np.maximum(x, x_next)
    low, high = _band(side, least(left, owner, k)[0], -least(-right, owner, k)[0])
    inner = (x > low[owner]) & (x < high[owner])
    slab_owner, x0, x1 = _slabs(
        np.concatenate([np.arange(k), np.arange(k), owner[inner]]),
        np.concatenate([low, high, x[inner]]),
    )
    wall = np.flatnonzero((left < high[owner]) & (right > low[owner]) & (left < right))
    i, j = _spanned(slab_owner, x0, owner[wall], left[wall], right[wall])
    j = wall[j]
    spans = (slab_owner[i] == owner[j]) & (left[j] <= x0[i]) & (right[j] >= x1[i])
    i, j = i[spans], j[spans]
    rate = (y_next[j] - y[j]) / (x_next[j] - x[j])
    start = y[j] + (x0[i] - x[j]) * rate
    end = start + (x1[i] - x0[i]) * rate
    order = np.lexsort((start + end, i))
    # No vertex lies inside a slab, so each slab has an even number of walls: in, out, in, out ...
    into, out, i = order[::2], order[1::2], i[order[::2]]
    return Trapezoids(
        slab_owner[i],
        x0[i],
        x1[i],
        start[into],
        rate[into],
        start[out],
        rate[out],
        np.minimum(start[into], end[into]),
        np.maximum(start[out], end[out]),
    )


def _band(side: Side, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Narrow the outline's extent low ... high on x to the band."""
    tilted = side.slope != 0.0
    slope = np.where(tilted, side.slope, 1.0)
    ends = (np.stack([-side.band, side.band]) - side.lift) / slope
    return (
        np.where(tilted, np.maximum(low, ends.min(axis=0)), low),
        np.where(tilted, np.minimum(high, ends.max(axis=0)), high),
    )


def _slabs(owner: Ints, x: Floats) -> tuple[Ints, Floats, Floats]:
    """Return (owner, x0, x1) between neighbouring values of x of each owner."""
    order = np.lexsort((x, owner))
    owner, x = owner[order], x[order]
    wide = np.flatnonzero((owner[1:] == owner[:-1]) & (x[1:] > x[:-1]))
    return owner[wide], x[wide], x[wide + 1]


def _spanned(
    slab_owner: Ints, x0: Floats, owner: Ints, left: Floats, right: Floats
) -> tuple[Ints, Ints]:
    """Return (slab, wall) of the slabs that begin between the ends of each wall, or next to them.

    Slabs stand by owner, then by x0; so those of a wall are neighbours, found by bisection.
    """
    base = x0.min(initial=0.0)
    room = 2.0 * (x0.max(initial=0.0) - base) + 1.0
    key = slab_owner * room + (x0 - base)
    left, right = (owner * room + (np.clip(x - base, 0.0, room / 2)) for x in (left, right))
    first = np.searchsorted(key, left - _NEAR)
    wall, slab = spread(first, np.searchsorted(key, right + _NEAR) - first)
    return slab, wall
