# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Cut outlines into trapezoids, and integrate over convex pieces of the plane, many at once.

A trapezoid times a thickness is convex, and so is what two of them share: the volume of a clash is
a sum of volumes of convex pieces, each an integral of piecewise linear functions, done exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .ragged import counts_of, join, least
from .section import Side
from .solids import PlacedPlates

__all__ = ["Trapezoids", "clip", "integrate_positive", "trapezoids"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Trapezoids:
    """A flat list of trapezoids: x from x0 to x1, y from a lower to an upper straight line.

    x : (n, 2) float; lower, upper : (n, 2) float, y at x[:, 0] and at x[:, 1]
    """

    owner: Ints
    x: Floats
    lower: Floats
    upper: Floats

    def of(self, rows: Ints | npt.NDArray[np.bool_]) -> Trapezoids:
        """Return some of the rows."""
        return Trapezoids(self.owner[rows], self.x[rows], self.lower[rows], self.upper[rows])


def trapezoids(placed: PlacedPlates, side: Side) -> Trapezoids:
    """Return the vertical decomposition of each outline of `side`, inside its band only."""
    k = len(side.plates)
    owner, xy, after = placed.corners(side.plates)
    x = np.sum(xy * side.f[owner], axis=1)
    y = np.sum(xy * side.e[owner], axis=1) + side.y0[owner]
    low, high = _band(side, least(x, owner, k)[0], -least(-x, owner, k)[0])
    inner = (x > low[owner]) & (x < high[owner])
    slab_owner, slab = _slabs(
        np.concatenate([np.arange(k), np.arange(k), owner[inner]]),
        np.concatenate([low, high, x[inner]]),
    )
    left, right = np.minimum(x, x[after]), np.maximum(x, x[after])
    wall = np.flatnonzero((left < high[owner]) & (right > low[owner]) & (left < right))
    i, j = join(slab_owner, owner[wall], k)
    j = wall[j]
    spans = (left[j] <= slab[i, 0]) & (right[j] >= slab[i, 1])
    i, j = i[spans], j[spans]
    rate = (y[after[j]] - y[j]) / (x[after[j]] - x[j])
    heights = y[j, None] + (slab[i] - x[j, None]) * rate[:, None]
    order = np.lexsort((heights.sum(axis=1), i))
    # No vertex lies inside a slab, so each slab has an even number of walls: in, out, in, out ...
    i, heights = i[order], heights[order]
    return Trapezoids(slab_owner[i[::2]], slab[i[::2]], heights[::2], heights[1::2])


def _band(side: Side, low: Floats, high: Floats) -> tuple[Floats, Floats]:
    """Narrow the outline's extent low ... high on x to the band."""
    tilted = side.slope != 0.0
    slope = np.where(tilted, side.slope, 1.0)
    ends = (np.stack([-side.band, side.band]) - side.lift) / slope
    return (
        np.where(tilted, np.maximum(low, ends.min(axis=0)), low),
        np.where(tilted, np.minimum(high, ends.max(axis=0)), high),
    )


def _slabs(owner: Ints, x: Floats) -> tuple[Ints, Floats]:
    """Return (owner, (x0, x1)) between neighbouring values of x of each owner."""
    order = np.lexsort((x, owner))
    owner, x = owner[order], x[order]
    wide = np.flatnonzero((owner[1:] == owner[:-1]) & (x[1:] > x[:-1]))
    return owner[wide], np.stack([x[wide], x[wide + 1]], axis=1)


def clip(polygons: Floats, values: Floats) -> Floats:
    """Cut convex polygons by half-planes.

    polygons : (n, v, d) float, corners in order round each (may repeat)
    values : (n, v) float, a linear function at the corners; what is not negative stays
    Returns: (n, v + 1, d), padded with the first corner; all corners equal where nothing stays.
    """
    n, v, d = polygons.shape
    keep = values >= 0.0
    after = np.roll(values, -1, axis=1)
    cross = keep != (after >= 0.0)
    share = values / np.where(cross, values - after, 1.0)
    cuts = polygons + share[:, :, None] * (np.roll(polygons, -1, axis=1) - polygons)
    corners = np.stack([polygons, cuts], axis=2).reshape(n, 2 * v, d)
    stays = np.stack([keep, cross], axis=2).reshape(n, 2 * v)
    order = np.argsort(~stays, axis=1, kind="stable")[:, : v + 1]
    order = np.where(np.arange(v + 1) < stays.sum(axis=1)[:, None], order, order[:, :1])
    clipped: Floats = corners[np.arange(n)[:, None], order]
    return clipped


def integrate_positive(polygons: Floats, values: Floats, weights: Floats) -> Floats:
    """Return the integrals of max(0, L) w over convex polygons, L and each w linear; exact.

    polygons : (n, v, 2) anticlockwise; values : (n, v), L at the corners
    weights : (n, v, m), the functions w at the corners
    Returns: (n, m) float.
    """
    n = len(polygons)
    rows = np.arange(n)
    columns = np.concatenate([polygons, values[:, :, None], weights], axis=2)
    after = np.roll(columns, -1, axis=1)
    top, bottom = values.argmax(axis=1), values.argmin(axis=1)
    high, low = columns[rows, top], columns[rows, bottom]
    # The hub of the fan lies on L = 0 when that line cuts the polygon: the triangle over the cut
    # then has no area, and each side of the polygon can be cut by itself.
    cuts = (low[:, 2] < 0.0) & (high[:, 2] > 0.0)
    share = np.where(cuts, high[:, 2] / np.where(cuts, high[:, 2] - low[:, 2], 1.0), 0.0)
    hub = (high + share[:, None] * (low - high))[:, None, :]
    run = columns[:, :, 2] - after[:, :, 2]
    at = np.clip(columns[:, :, 2] / np.where(run == 0.0, 1.0, run), 0.0, 1.0)[:, :, None]
    cut = columns + at * (after - columns)
    p = np.where(columns[:, :, 2:3] < 0.0, cut, columns)
    q = np.where(after[:, :, 2:3] < 0.0, cut, after)
    dead = ((columns[:, :, 2] <= 0.0) & (after[:, :, 2] <= 0.0)) | (high[:, 2] <= 0.0)[:, None]
    pu, qu = p[:, :, :2] - hub[:, :, :2], q[:, :, :2] - hub[:, :, :2]
    twice = np.where(dead, 0.0, pu[:, :, 0] * qu[:, :, 1] - pu[:, :, 1] * qu[:, :, 0])
    # Over a triangle of area T the integral of f g is T/12 (sum f_i g_i + sum f_i sum g_i).
    f = np.stack([p[:, :, 2], q[:, :, 2], np.broadcast_to(hub[:, :, 2], twice.shape)], axis=2)
    g = np.stack([p[:, :, 3:], q[:, :, 3:], np.broadcast_to(hub[:, :, 3:], p[:, :, 3:].shape)], 2)
    inner = np.einsum("nvk,nvkm->nvm", f, g)
    inner += f.sum(axis=2)[:, :, None] * g.sum(axis=2)
    total: Floats = np.einsum("nv,nvm->nm", twice, inner) / 24.0
    return total
