# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which plates run into each other, by how much and where; exact, for many pairs at once.

First the boxes, then the intervals that the two bands show of their outlines (section.py); only
pairs that share a stretch of the common line get the exact volume (pieces.py). Where a verdict is
enough, bars that both plates fill are tried before that, in the whole plates and then in their
middle layers: most clashes go right through these.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..tolerance import TOLERANCES, Tolerances
from .boxes import close_boxes
from .pieces import shared_volumes
from .ragged import batches
from .section import TOUCH, Side, Stretch, shared_stretch, sides
from .solids import PlacedPlates

__all__ = ["Overlaps", "pair_overlaps"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

# Half the thickness of the middle layers, mm. Square plates need share no more than 0.025 mm of
# their common line within them to have more volume than is let pass as touching.
_CORE = 0.1
# Pairs whose bands are sooner looked at than the nine products of their boxes' axes are tried.
_FEW = 40
_BUDGET = 100_000  # edges handled at a time: a few MB, so that they stay in the cache


@dataclass(frozen=True, slots=True, eq=False)
class Overlaps:
    """What k pairs of plates share.

    volume : (k,) mm3, 0 where they are apart or only touch
    clash : (k,) bool, volume above Tolerances.clash_volume
    point : (k, 3) mm, world: inside what they share; nan where volume is 0
    extent : (k,) mm, length along the common line of the two planes on which the clash lies
    at_least : (k,) bool, volume is only a lower bound (never when asked to be exact)
    """

    volume: Floats
    clash: Bools
    point: Floats
    extent: Floats
    at_least: Bools


def pair_overlaps(
    placed: PlacedPlates,
    pairs: npt.ArrayLike,
    exact: bool = True,
    tolerances: Tolerances = TOLERANCES,
) -> Overlaps:
    """Return the volume that each pair of plates shares.

    pairs : (k, 2) int, numbers of plates. With symmetry: representatives against their copies.
    exact : False: of plain clashes only a lower bound of the volume, which is quicker; `clash` is
        the same in both cases
    """
    pairs = np.asarray(pairs, dtype=np.intp).reshape(-1, 2)
    k = len(pairs)
    volume, extent, point = np.zeros(k), np.zeros(k), np.full((k, 3), np.nan)
    at_least = np.zeros(k, dtype=bool)
    _, near, rotation, shift = close_boxes(placed, pairs, -TOUCH, _FEW)
    for part in batches(placed.edge_count[placed.which[pairs[near]]].sum(axis=1), _BUDGET):
        rows, shifted = near[part], shift[part]
        side, cosine = sides(placed, pairs[rows], rotation[part], shifted)
        shared = shared_stretch(placed, side)
        left = (shared.length > TOUCH).nonzero()[0]
        shared = shared.of(left)
        half = placed.half[placed.which[pairs[rows].T], 2]
        layer, seen = half[:, left], shared
        for core in () if exact else (np.inf, _CORE):
            if len(left) == 0:
                break
            both = side.of(np.append(left, len(rows) + left))
            if core < np.inf:
                layer = np.minimum(half[:, left], core)
                band = (layer[::-1] + np.abs(cosine[left]) * layer).ravel()
                seen = shared_stretch(placed, replace(both, band=band))
            bars = _bars(placed, both, layer, seen)
            plain = bars[0] > tolerances.clash_volume
            at = rows[left[plain]]
            volume[at], extent[at], point[at] = (of[plain] for of in bars)
            at_least[at] = True
            rest = (~plain).nonzero()[0]
            left, shared = left[rest], shared.of(rest)
        if len(left):
            a, b = side.of(left), side.of(len(rows) + left)
            pick = (a, b, cosine[left], shifted[left], shared)
            enough = np.inf if exact else tolerances.clash_volume
            at = rows[left]
            volume[at], extent[at], point[at], at_least[at] = shared_volumes(placed, *pick, enough)
    return Overlaps(volume, volume > tolerances.clash_volume, point, extent, at_least)


def _bars(
    placed: PlacedPlates, side: Side, half: Floats, shared: Stretch
) -> tuple[Floats, Floats, Floats]:
    """Return volume (k,), extent (k,) and a world point (k, 3) of bars that both plates fill.

    half : (2, k), how much of each plate is looked at, to both sides of its middle plane; shared :
    what bands show that belong to that
    """
    a = side.of(slice(half.shape[1]))
    tilted = a.slope > 0.0
    slope = np.where(tilted, a.slope, 1.0)
    section = np.where(tilted, 4.0 * half[0] * half[1] / slope, 0.0)
    # The bands were narrowed by TOUCH: a little less than the whole section is sure to be filled.
    sure = shared.full * section * (1.0 - 1e-3)
    flat = (-a.lift / slope)[:, None] * a.f + shared.middle[:, None] * a.e
    world = placed.world_from_box[a.plates]
    point = np.einsum("kij,kj->ki", world[:, :3, :2], flat) + world[:, :3, 3]
    return sure, shared.high - shared.low, point
