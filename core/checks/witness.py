# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Clashes that are plain to see: a ball that lies in both plates.

A layer of A (all its points at one height a over its middle plane) and a layer of B meet in a line
along the common line of section.py. Where it runs inside both outlines, a ball round any of its
points lies in both plates if no edge and no face comes nearer than its radius. The middle of the
longest such piece of the line is tried. It proves a clash; that it fails proves nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .ragged import least
from .section import TOUCH, Shown, Side, by_pair
from .solids import PlacedPlates

__all__ = ["Balls", "balls"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

_LEAST_SLOPE = 1e-4  # sine of the angle; below it the place of the line is not well known
# Layers next to both faces and between: of A, and with each of B.
_LAYERS = np.array([(1, 1, -1, -1, 0, 0, 1, -1), (1, -1, 1, -1, 1, -1, 0, 0)])
_TIMES = _LAYERS.shape[1]


@dataclass(frozen=True, slots=True, eq=False)
class Balls:
    """What was found of k pairs.

    found : (k,) bool; length : (k,) mm, of the line inside both; point : (k, 3) mm, world, the
    ball's centre; both are good only where a ball was found
    """

    found: Bools
    length: Floats
    point: Floats


def balls(
    placed: PlacedPlates,
    side: Side,
    cosine: Floats,
    edges: Shown,
    radius: float,
    aside: bool = False,
) -> Balls:
    """Look for a ball of `radius` mm in both plates of each of k pairs.

    side, cosine : from `sides`; edges : what `shown` gives of these
    aside : look in layers next to the faces, not in both middle ones
    """
    k = len(cosine)
    if aside:
        many = [np.tile(np.arange(of, of + k), _TIMES) for of in (0, k)]
        side, edges = side.of(np.concatenate(many)), edges.repeated(k, _TIMES)
    rows = k * _TIMES if aside else k
    half = placed.half[:, 2].take(placed.which.take(side.plates)).reshape(2, rows)
    room = half - (radius + TOUCH)
    layer = room * _LAYERS.repeat(k, axis=1) if aside else np.zeros((2, rows))
    tilt = np.tile(cosine, _TIMES) if aside else cosine
    level = (layer[::-1] - tilt * layer).ravel()
    middle, length = _on_lines(side, edges, level, radius)
    found = (middle == middle) & (room.min(axis=0) > 0.0) & (side.slope[:rows] > _LEAST_SLOPE)
    if aside:
        found, one = found.reshape(-1, k).any(axis=0), found.reshape(-1, k).argmax(axis=0)
        best = one * k + np.arange(k)
    else:
        best = np.arange(k)
    hit = found.nonzero()[0]
    row = best[hit]
    a = side.of(row)
    flat = ((level[row] - a.lift) / a.slope) * a.f + middle[row] * a.e
    world = placed.columns.take(a.plates, axis=2)
    point = np.full((k, 3), np.nan)
    point[hit] = (
        world[:, 0] * flat[0] + world[:, 1] * flat[1] + world[:, 2] * layer[0, row] + world[:, 3]
    ).T
    return Balls(found, length[best], point)


def _on_lines(side: Side, edges: Shown, level: Floats, radius: float) -> tuple[Floats, Floats]:
    """Return y (k,) of the middle of each line's longest piece, nan where edges come near it.

    level : (2 k,) height, over the other plate's middle plane, at which each outline is cut, mm
    Returns: besides the length (k,) of the piece.
    """
    k = len(level) // 2
    reach = np.maximum(side.band - TOUCH, TOUCH)
    owner, y = edges.owner, edges.place
    g = edges.height - (level / reach)[owner]
    below = g < 0.0
    cross = (below[0] != below[1]).nonzero()[0]
    middle, length = _longest(owner[cross], g.take(cross, axis=1), y.take(cross, axis=1), k)
    middle[length < 2.0 * radius] = np.nan
    # Edges whose rectangles, along and across the line, come within the radius.
    y = y - np.concatenate([middle, middle])[owner]
    wide = (radius * np.abs(side.slope) / reach)[owner]
    near = (np.maximum(*y) > -radius) & (np.minimum(*y) < radius)
    near &= (np.maximum(*g) > -wide) & (np.minimum(*g) < wide)
    close = near.nonzero()[0]
    if len(close):
        x = g.take(close, axis=1) * (radius / wide[close])
        hit = owner[close[_off_origin(x, y.take(close, axis=1)) < radius]]
        middle[np.where(hit < k, hit, hit - k)] = np.nan
    return middle, length


def _longest(owner: Ints, g: Floats, y: Floats, k: int) -> tuple[Floats, Floats]:
    """Return middle and length (k,) of the longest piece of each line that is inside both outlines.

    owner, g, y : of the edges that cross the line
    """
    place = y[0] + (y[1] - y[0]) * (g[0] / (g[0] - g[1]))
    second = owner >= k
    pair = np.where(second, owner - k, owner)
    order = by_pair(pair, place)
    pair, place = pair[order], place[order]
    inside = np.bitwise_xor.accumulate(np.where(second, 2, 1)[order])
    both = (inside[:-1] == 3).nonzero()[0]
    length, row = least(place[both] - place[both + 1], pair[both], k)
    some = (row >= 0).nonzero()[0]
    middle = np.full(k, np.nan)
    middle[some] = place[both[row[some]]] - length[some] / 2
    return middle, np.where(row >= 0, -length, 0.0)


def _off_origin(x: Floats, y: Floats) -> Floats:
    """Return how far segments stand off the origin, (n,); x, y : (2, n) of their ends."""
    run, rise = x[1] - x[0], y[1] - y[0]
    square = run * run + rise * rise
    along = -(x[0] * run + y[0] * rise) / np.where(square > 0.0, square, 1.0)
    along = np.minimum(np.maximum(along, 0.0), 1.0)
    off: Floats = np.hypot(x[0] + along * run, y[0] + along * rise)
    return off
