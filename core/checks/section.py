# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Two plates can only meet in a bar round the common line of their middle planes.

Coordinates of a pair, with e the direction of the common line, nA and nB the plates' normals and
c, s the cosine and sine between them, f the unit vector in A's plane with nB = c nA + s f:

    A:  x along f, y along e, a along nA      B:  x' along f' = c f - s nA, y along e, b along nB

A point with the coordinates (x, y, a) has b = s x + c a - h and x' = c x - s a - k (h, k depend on
where the plates stand). Of A only the band |s x - h| <= tB/2 + |c| tA/2 can lie in B, and the same
the other way round. Nothing is divided by s, so parallel plates need no case of their own.

What a band shows of its outline is a set of intervals on y. If the two sets share nothing, the
plates do not clash; that settles nearly every pair, a tenon in its slot included. Where both
outlines fill their bands from border to border, the plates share the whole bar.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .ragged import least, lowest
from .solids import PlacedPlates

__all__ = ["TOUCH", "Shown", "Side", "Stretch", "edges_in_band", "shared_stretch", "shown", "sides"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# Plates that sink into each other by less than this (mm) only touch. A thousandth of what any
# cutter holds, and a thousand times the rounding of doubles at 1 m.
TOUCH = 1e-7
_ROUNDING = 1e-9  # mm; keeps rounding from passing over a run that just touches a band
_FEW = 10_000  # edges that are sooner looked at one by one than by their runs
_EDGE = 1 << 24  # edges of the first plate are counted below this, those of the second above


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """One plate of each of k pairs, seen along the pair's common line.

    For a point v of the outline (box frame): x = v.f, y = v.e + y0, and its height over the other
    plate's middle plane is slope x + lift; |height| <= band is where the other can be met.

    plates : (k,) int; f, e : (2, k); y0, slope, lift, band : (k,)
    """

    plates: Ints
    f: Floats
    e: Floats
    y0: Floats
    slope: Floats
    lift: Floats
    band: Floats

    def of(self, rows: Ints | slice) -> Side:
        """Return the same for some of the pairs."""
        return Side(*(getattr(self, name)[..., rows] for name in self.__slots__))


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """What both bands of each of k pairs show on the common line, (k,) mm.

    length : of all that both show; 0: the pair does not clash. low, high : its ends
    full : length of the part where both outlines fill their bands; middle : y of the middle of one
        such part
    """

    length: Floats
    low: Floats
    high: Floats
    full: Floats
    middle: Floats

    def of(self, rows: Ints) -> Stretch:
        """Return the same for some of the pairs."""
        return Stretch(*(getattr(self, name)[rows] for name in self.__slots__))


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """Edges of both plates of each of k pairs, in or near the bands, in no order.

    owner : (n,) int, the row of the Side of 2 k rows
    height : (2, n) of both ends over the other plate's middle plane, in units of the band's half
        width, which is narrowed by TOUCH
    place : (2, n) y of both ends, mm
    """

    owner: Ints
    height: Floats
    place: Floats

    def of(self, keep: npt.NDArray[np.bool_]) -> Shown:
        """Return the same for some of the pairs (k,), which are then numbered anew."""
        both = np.concatenate([keep, keep])
        rows = both[self.owner].nonzero()[0]
        owner = (both.cumsum() - 1)[self.owner[rows]]
        return Shown(owner, self.height.take(rows, axis=1), self.place.take(rows, axis=1))

    def repeated(self, k: int, times: int) -> Shown:
        """Return the same for all k pairs several times over, copy after copy."""
        owner = self.owner + (self.owner >= k) * ((times - 1) * k)
        return Shown(
            (owner + np.arange(times)[:, None] * k).ravel(),
            np.tile(self.height, times),
            np.tile(self.place, times),
        )


def sides(
    placed: PlacedPlates, pairs: Ints, rotation: Floats, shift: Floats
) -> tuple[Side, Floats]:
    """Return the plates of each pair in the coordinates of the module's docstring, and c (k,).

    pairs : (k, 2) int; rotation (3, 3, k), shift (3, k) : b's box frame to a's, see `relative`
    Returns: a Side of 2 k rows, the first plates of all pairs, then the second ones.
    """
    k = len(pairs)
    x, y, cosine = normal = rotation[:, 2]
    sine = np.sqrt(x * x + y * y)
    flat = sine < 1e-12
    f, e = np.empty((2, 2, k)), np.empty((2, 2, k))
    if flat.any():
        f[:, 0] = normal[:2] / np.where(flat, 1.0, sine)
        cosine = np.where(flat, np.sign(cosine), cosine)
        sine[flat], f[0, 0, flat], f[1, 0, flat] = 0.0, 1.0, 0.0
    else:
        f[:, 0] = normal[:2] / sine
    along, across = f[:, 0]
    e[0, 0], e[1, 0] = -across, along
    f[:, 1] = cosine * (along * rotation[0, :2] + across * rotation[1, :2]) - sine * rotation[2, :2]
    e[:, 1] = along * rotation[1, :2] - across * rotation[0, :2]
    height = placed.half[:, 2].take(placed.which.take(pairs.T))
    y0, slope, lift = np.zeros((2, k)), np.empty((2, k)), np.empty((2, k))
    y0[1] = along * shift[1] - across * shift[0]
    slope[0], slope[1] = sine, -sine
    lift[0], lift[1] = -(normal * shift).sum(axis=0), shift[2]
    band = height[::-1] + np.abs(cosine) * height
    return Side(
        pairs.T.reshape(-1),
        f.reshape(2, -1),
        e.reshape(2, -1),
        y0.reshape(-1),
        slope.reshape(-1),
        lift.reshape(-1),
        band.reshape(-1),
    ), cosine


def edges_in_band(placed: PlacedPlates, side: Side) -> tuple[Ints, Ints]:
    """Return (owner, edge) of all edges that may reach into the band, and few more.

    owner : below the number of rows of `side`, ascending; edge : into `placed.ends`
    """
    if _few_edges(placed, side):
        return placed.outline_edges(side.plates)
    owner, run, _ = _runs_in_band(placed, side)
    of, edge = placed.edges_of(run)
    return owner[of], edge


def _few_edges(placed: PlacedPlates, side: Side) -> bool:
    return bool(placed.edge_count[placed.which[side.plates]].sum() <= _FEW)


def _runs_in_band(placed: PlacedPlates, side: Side) -> tuple[Ints, Ints, Floats]:
    """Return (owner, run, box (6, n)) of all runs whose rectangles reach into the band."""
    owner, run = placed.runs_of(side.plates)
    box = placed.runs.box.take(run, axis=0).T
    columns = np.stack([*side.f * side.slope, side.lift, side.band + _ROUNDING])
    x, y, lift, band = columns.repeat(placed.runs.count[placed.which[side.plates]], axis=1)
    height = np.abs(box[0] * x + box[1] * y + lift)
    near = (height <= _reach(box, x, y) + band).nonzero()[0]
    run = run.take(near)
    return owner.take(near), run, placed.runs.box.take(run, axis=0).T


def _reach(box: Floats, x: Floats, y: Floats) -> Floats:
    """Return how far rectangles (6, n) reach from their centres along vectors (x, y), (n,) each."""
    reach: Floats = np.abs(box[2] * x + box[3] * y) + np.abs(box[4] * x + box[5] * y)
    return reach


def _edges_shown(placed: PlacedPlates, side: Side) -> tuple[Ints, Floats]:
    """Return (owner, ends): edges (n, 4) that say what both plates of each pair show in common.

    Outside the stretch of the common line on which runs of both stand, nothing is in common. For
    the crossings to be counted right, a run that stands outside is replaced by one edge from its
    start to its end.
    """
    if _few_edges(placed, side):
        owner, edge = placed.outline_edges(side.plates)
        return owner, placed.ends.take(edge, axis=0)
    k = len(side.plates) // 2
    owner, run, box = _runs_in_band(placed, side)
    x, y, y0 = np.concatenate([side.e, [side.y0]]).take(owner, axis=1)
    middle = box[0] * x + box[1] * y + y0
    reach = _reach(box, x, y) + _ROUNDING
    low, high = middle - reach, middle + reach
    first = lowest(low, owner, 2 * k).reshape(2, k).max(axis=0)
    last = -lowest(-high, owner, 2 * k).reshape(2, k).max(axis=0)
    first, last = np.tile([first, last], 2).take(owner, axis=1)
    common = first <= last
    inside = common & (high >= first) & (low <= last)
    beside = (common & ~inside).nonzero()[0]
    inside = inside.nonzero()[0]
    of, edge = placed.edges_of(run.take(inside))
    owner_inside, ends = owner.take(inside).take(of), placed.ends.take(edge, axis=0)
    if len(beside) == 0:
        return owner_inside, ends
    skipped = np.empty((len(beside), 4))
    start = placed.runs.edge[run[beside]]
    skipped[:, :2] = placed.ends[start, :2]
    skipped[:, 2:] = placed.ends[start + placed.runs.size[run[beside]] - 1, 2:]
    return np.concatenate([owner_inside, owner[beside]]), np.concatenate([ends, skipped])


def shown(placed: PlacedPlates, side: Side) -> Shown:
    """Return the edges that say what both bands show of the common line, and few more."""
    owner, ends = _edges_shown(placed, side)
    ends = ends.T.copy()  # and `take` below: numpy is several times slower along short rows
    scale = 1.0 / np.maximum(side.band - TOUCH, TOUCH)
    x, y, lift = (np.concatenate([side.f * side.slope, [side.lift]]) * scale).take(owner, axis=1)
    g = ends[::2] * x + ends[1::2] * y + lift  # (2, n), at both ends
    near = ((np.maximum(*g) >= -1.0) & (np.minimum(*g) <= 1.0)).nonzero()[0]
    owner, g, ends = owner.take(near), g.take(near, axis=1), ends.take(near, axis=1)
    x, y, y0 = np.concatenate([side.e, [side.y0]]).take(owner, axis=1)
    return Shown(owner, g, ends[::2] * x + ends[1::2] * y + y0)


def shared_stretch(edges: Shown, k: int) -> Stretch:
    """Return what both bands of k pairs show of the common line: exact for the bands, no estimate.

    The lowest and highest points of what a line across the band has of the outline lie on the
    outline's edges or on the band's two borders. So what the band shows are the y of edges inside
    it, and those between the crossings of each border with the closed rings: inside from the first
    to the second, and so on.
    """
    owner, g, y = edges.owner, edges.height, edges.place
    run = g[1] - g[0]
    run[run == 0.0] = 1.0
    rate = (y[1] - y[0]) / run
    within = y + (np.minimum(np.maximum(g, -1.0), 1.0) - g) * rate
    low, high = g < -1.0, g < 1.0
    below, above = (low[0] != low[1]).nonzero()[0], (high[0] != high[1]).nonzero()[0]
    second = owner >= k
    pair = np.where(second, owner - k, owner)
    return _swept(
        np.concatenate([pair, pair, pair[below], pair[above]]),
        np.concatenate(
            [
                np.minimum(*within),
                np.maximum(*within),
                y[0, below] + (-1.0 - g[0, below]) * rate[below],
                y[0, above] + (1.0 - g[0, above]) * rate[above],
            ]
        ),
        np.where(second, _EDGE, 1),
        np.concatenate([1 << second[below], 4 << second[above]]),
        k,
    )


def _swept(pair: Ints, place: Floats, edges: Ints, crossings: Ints, k: int) -> Stretch:
    """Go up the common line of each pair and see what both plates show.

    pair, place : (n,) of all events: edges that begin, edges that end, crossings of the lower and
    of the upper border; edges : 1 for an edge of the first plate, _EDGE for one of the second
    crossings : a bit that says which border of which plate
    """
    order = by_pair(pair, place)
    pair, place = pair[order], place[order]
    n = len(edges)
    opened, inside = np.zeros(len(order), dtype=np.intp), np.zeros(len(order), dtype=np.intp)
    opened[:n], opened[n : 2 * n], inside[2 * n :] = edges, -edges, crossings
    opened = opened[order].cumsum()[:-1]
    inside = np.bitwise_xor.accumulate(inside[order])[:-1]
    # Between two neighbouring events; past the last one of a pair nothing is open.
    width = place[1:] - place[:-1]
    shown_a = ((opened & _EDGE - 1) > 0) | ((inside & 0b0101) > 0)
    shown_b = (opened >= _EDGE) | ((inside & 0b1010) > 0)
    both = (shown_a & shown_b & (width > 0.0)).nonzero()[0]
    if len(both) == 0:
        nothing, nowhere = np.zeros(k), np.full(k, np.inf)
        return Stretch(nothing, nowhere, -nowhere, nothing, np.full(k, np.nan))
    pair, start, width = pair[both], place[both], width[both]
    low, high = lowest(start, pair, k), -lowest(-start - width, pair, k)
    # No edge in either band, and inside the outline on both of its borders: filled.
    full = (opened[both] == 0) & (inside[both] == 0b1111)
    width_full = np.where(full, width, 0.0)
    _, widest = least(-width_full, pair, k)
    middle = np.append(start + width / 2, np.nan)[widest]
    length: Floats = np.bincount(pair, weights=width, minlength=k).astype(np.float64, copy=False)
    filled: Floats = np.bincount(pair, weights=width_full, minlength=k).astype(np.float64)
    return Stretch(length, low, high, filled, middle)


def by_pair(pair: Ints, place: Floats) -> Ints:
    """Return the order of events by pair, then by place.

    One sort of one key; neighbours nearer than its rounding (1e-10 mm) may change places.
    """
    low = place.min(initial=np.inf)
    room = 2.0 * (place.max(initial=-np.inf) - low) + 1.0
    order: Ints = (pair * room + (place - low)).argsort()
    return order
