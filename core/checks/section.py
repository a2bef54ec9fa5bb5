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
plates do not clash; that settles nearly every pair, a tenon in its slot included.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .ragged import least
from .solids import PlacedPlates

__all__ = ["Side", "shared_stretch", "sides"]

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

    def of(self, rows: Ints | npt.NDArray[np.bool_]) -> Side:
        """Return the same for some of the pairs."""
        return Side(
            self.plates[rows],
            self.f[rows],
            self.e[rows],
            self.y0[rows],
            self.slope[rows],
            self.lift[rows],
            self.band[rows],
        )


def sides(placed: PlacedPlates, pairs: Ints, rotation: Floats, shift: Floats) -> tuple[Side, Side]:
    """Return both plates of each pair in the coordinates of the module's docstring.

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
        -np.sum(normal * shift, axis=1),
        half_b + np.abs(cosine) * half_a,
    )
    side_b = Side(
        pairs[:, 1],
        _turn(rotation, np.append(f * cosine[:, None], -sine[:, None], axis=1)),
        _turn(rotation, np.append(e, np.zeros((len(e), 1)), axis=1)),
        np.sum(e * shift[:, :2], axis=1),
        -sine,
        shift[:, 2],
        half_a + np.abs(cosine) * half_b,
    )
    return side_a, side_b


def shared_stretch(placed: PlacedPlates, a: Side, b: Side) -> tuple[Floats, Floats, Floats]:
    """Return how much of the common line both bands show, and where; exact, not an estimate.

    Returns: length, lowest y, highest y, each (k,) mm; length 0: the pair does not clash.
    """
    k = len(a.plates)
    owners, places, steps = [], [], []
    for side, sign in ((a, np.array([1, 0])), (b, np.array([0, 1]))):
        owner, low, high = _shown(placed, side)
        owners += [owner, owner]
        places += [low, high]
        steps += [np.tile(sign, (len(owner), 1)), np.tile(-sign, (len(owner), 1))]
    owner, place = np.concatenate(owners), np.concatenate(places)
    order = np.lexsort((place, owner))
    owner, place = owner[order], place[order]
    cover = np.cumsum(np.concatenate(steps)[order], axis=0)
    both = np.flatnonzero((cover > 0).all(axis=1))  # never the last row: there all is closed
    width = place[both + 1] - place[both]
    both, width = both[width > 0.0], width[width > 0.0]
    length = np.bincount(owner[both], weights=width, minlength=k)
    low, _ = least(place[both], owner[both], k)
    high, _ = least(-place[both + 1], owner[both], k)
    return length, low, -high


def _turn(rotation: Floats, vectors: Floats) -> Floats:
    """Return the first two components in b's frame of vectors (k, 3) given in a's."""
    turned: Floats = (vectors[:, None, :] @ rotation)[:, 0, :2]
    return turned


def _shown(placed: PlacedPlates, side: Side) -> tuple[Ints, Floats, Floats]:
    """Return the intervals (owner, low, high) on y that the outlines show in their bands.

    The lowest and highest points of what a line across the band has of the outline lie on the
    outline's edges or on the band's two borders, so these intervals together are the whole set.
    """
    owner, xy, after = placed.corners(side.plates)
    scale = 1.0 / np.maximum(side.band - TOUCH, TOUCH)
    # g: height in units of the band's half-width
    g = np.sum(xy * (side.f * (side.slope * scale)[:, None])[owner], axis=1)
    g += (side.lift * scale)[owner]
    g_next = g[after]
    near = np.flatnonzero((np.maximum(g, g_next) >= -1.0) & (np.minimum(g, g_next) <= 1.0))
    owner, g, g_next, after = owner[near], g[near], g_next[near], after[near]
    along, y0 = side.e[owner], side.y0[owner]
    y = np.sum(xy[near] * along, axis=1) + y0
    y_next = np.sum(xy[after] * along, axis=1) + y0
    run = g_next - g
    rate = (y_next - y) / np.where(run == 0.0, 1.0, run)
    y_in = y + (np.clip(g, -1.0, 1.0) - g) * rate
    y_out = y_next + (np.clip(g_next, -1.0, 1.0) - g_next) * rate
    found = [(owner, np.minimum(y_in, y_out), np.maximum(y_in, y_out))]
    for level in (-1.0, 1.0):
        cut = (g < level) != (g_next < level)
        found.append(_chords(owner[cut], (y + (level - g) * rate)[cut]))
    return tuple(np.concatenate(column) for column in zip(*found, strict=True))  # type: ignore


def _chords(owner: Ints, y: Floats) -> tuple[Ints, Floats, Floats]:
    """Pair the crossings of closed rings with one line: inside from the 1st to the 2nd, ..."""
    order = np.lexsort((y, owner))
    return owner[order][::2], y[order][::2], y[order][1::2]
