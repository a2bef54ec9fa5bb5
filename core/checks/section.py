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

from .ragged import least
from .solids import PlacedPlates

__all__ = ["TOUCH", "Side", "Stretch", "shared_stretch", "sides"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# Plates that sink into each other by less than this (mm) only touch. A thousandth of what any
# cutter holds, and a thousand times the rounding of doubles at 1 m.
TOUCH = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """One plate of each of k pairs, seen along the pair's common line.

    For a point v of the outline (box frame): x = v.f, y = v.e + y0, and its height over the other
    plate's middle plane is slope x + lift; |height| <= band is where the other can be met.

    plates : (k,) int; f, e : (k, 2); y0, slope, lift, band : (k,)
    """

    plates: Ints
    f: Floats
    e: Floats
    y0: Floats
    slope: Floats
    lift: Floats
    band: Floats

    def of(self, rows: Ints) -> Side:
        """Return the same for some of the pairs."""
        return Side(*(getattr(self, name)[rows] for name in self.__slots__))


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


def sides(
    placed: PlacedPlates, pairs: Ints, rotation: Floats, shift: Floats
) -> tuple[Side, Side, Floats]:
    """Return both plates of each pair in the coordinates of the module's docstring, and c (k,).

    pairs : (k, 2) int; rotation (k, 3, 3), shift (k, 3) : b's box frame to a's, see `relative`
    """
    normal = rotation[:, :, 2]
    sine = np.hypot(normal[:, 0], normal[:, 1])
    flat = sine < 1e-12
    cosine = np.where(flat, np.sign(normal[:, 2]), normal[:, 2])
    f = np.where(flat[:, None], [1.0, 0.0], normal[:, :2] / np.where(flat, 1.0, sine)[:, None])
    sine = np.where(flat, 0.0, sine)
    e = np.stack([-f[:, 1], f[:, 0]], axis=1)
    height = placed.half[placed.which[pairs], 2]
    half_a, half_b = height[:, 0], height[:, 1]
    side_a = Side(
        pairs[:, 0],
        f,
        e,
        np.zeros(len(pairs)),
        sine,
        -np.einsum("ij,ij->i", normal, shift),
        half_b + np.abs(cosine) * half_a,
    )
    along = np.concatenate([f * cosine[:, None], -sine[:, None]], axis=1)
    side_b = Side(
        pairs[:, 1],
        np.einsum("ij,ijk->ik", along, rotation[:, :, :2]),
        np.einsum("ij,ijk->ik", e, rotation[:, :2, :2]),
        np.einsum("ij,ij->i", e, shift[:, :2]),
        -sine,
        shift[:, 2],
        half_a + np.abs(cosine) * half_b,
    )
    return side_a, side_b, cosine


def shared_stretch(placed: PlacedPlates, a: Side, b: Side) -> Stretch:
    """Return what both bands show of the common line: exact for the bands, not an estimate."""
    k = len(a.plates)
    lists = [*_shown(placed, a), *_shown(placed, b)]
    owner = np.concatenate([part[0] for part in lists] * 2)
    place = np.concatenate([part[1] for part in lists] + [part[2] for part in lists])
    # How many intervals of each of the four lists are open is kept in 15 bits each of one number.
    opened = np.repeat(1 << 15 * np.arange(4), [len(part[0]) for part in lists])
    order = np.lexsort((place, owner))
    owner, place = owner[order], place[order]
    cover = np.cumsum(np.concatenate([opened, -opened])[order])[:-1]
    edge_a, chord_a, edge_b, chord_b = (cover >> 15 * i & 0x7FFF for i in range(4))
    # Between two neighbouring ends; past the last end of an owner nothing is open.
    width = np.diff(place)
    both = np.flatnonzero((edge_a + chord_a > 0) & (edge_b + chord_b > 0) & (width > 0.0))
    owner, start, width = owner[both], place[both], width[both]
    low, _ = least(start, owner, k)
    high, _ = least(-start - width, owner, k)
    # No edge in the band, and inside the outline on both of its borders: filled.
    full = (edge_a + edge_b == 0)[both] & (chord_a == 2)[both] & (chord_b == 2)[both]
    width_full = np.where(full, width, 0.0)
    _, widest = least(-width_full, owner, k)
    middle = np.append(start + width / 2, np.nan)[widest]
    length, filled = np.zeros(k), np.zeros(k)
    np.add.at(length, owner, width)
    np.add.at(filled, owner, width_full)
    return Stretch(length, low, -high, filled, middle)


_Intervals = tuple[Ints, Floats, Floats]


def _shown(placed: PlacedPlates, side: Side) -> tuple[_Intervals, _Intervals]:
    """Return intervals (owner, low, high) on y: of edges inside bands, of chords on their borders.

    The lowest and highest points of what a line across the band has of the outline lie on the
    outline's edges or on the band's two borders, so these intervals together are what it shows.
    """
    owner, xy, after = placed.corners(side.plates)
    scale = 1.0 / np.maximum(side.band - TOUCH, TOUCH)
    # g: height in units of the band's half-width
    g = np.einsum("ij,ij->i", xy, (side.f * (side.slope * scale)[:, None])[owner])
    g += (side.lift * scale)[owner]
    g_next = g[after]
    near = np.flatnonzero((np.maximum(g, g_next) >= -1.0) & (np.minimum(g, g_next) <= 1.0))
    owner, g, g_next, after = owner[near], g[near], g_next[near], after[near]
    along, y0 = side.e[owner], side.y0[owner]
    y = np.einsum("ij,ij->i", xy[near], along) + y0
    y_next = np.einsum("ij,ij->i", xy[after], along) + y0
    run = g_next - g
    rate = (y_next - y) / np.where(run == 0.0, 1.0, run)
    y_in = y + (np.minimum(np.maximum(g, -1.0), 1.0) - g) * rate
    y_out = y + (np.minimum(np.maximum(g_next, -1.0), 1.0) - g) * rate
    y_out = np.where(run == 0.0, y_next, y_out)
    edges = owner, np.minimum(y_in, y_out), np.maximum(y_in, y_out)
    below, above = (g < -1.0) != (g_next < -1.0), (g < 1.0) != (g_next < 1.0)
    low = _chords(owner[below], (y + (-1.0 - g) * rate)[below])
    high = _chords(owner[above], (y + (1.0 - g) * rate)[above])
    chords = tuple(np.concatenate(column) for column in zip(low, high, strict=True))
    return edges, (chords[0], chords[1], chords[2])


def _chords(owner: Ints, y: Floats) -> _Intervals:
    """Pair the crossings of closed rings with one line: inside from the 1st to the 2nd, ..."""
    order = np.lexsort((y, owner))
    return owner[order][::2], y[order][::2], y[order][1::2]
