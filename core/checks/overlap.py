# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which plates run into each other, by how much and where; exact, for many pairs at once.

First the boxes, then the intervals that the two bands show of their outlines (section.py); only
pairs that share a stretch of the common line get the exact volume (pieces.py). Where a verdict is
enough, the middle layers of both plates are tried before that: most clashes go right through them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..tolerance import TOLERANCES, Tolerances
from .boxes import close_boxes
from .pieces import shared_volumes
from .ragged import batches
from .section import TOUCH, Side, shared_stretch, sides
from .solids import PlacedPlates

__all__ = ["Overlaps", "pair_overlaps"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

# Half the thickness of the middle layers, mm. Square plates need share no more than 0.025 mm of
# their common line within them to have more volume than is let pass as touching.
_CORE = 0.1
_BUDGET = 20_000  # runs of edges handled at a time: a few MB, so that they stay in the cache


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
    _, near, rotation, shift = close_boxes(placed, pairs, -TOUCH)
    for part in batches(placed.run_count[placed.which[pairs[near]]].sum(axis=1), _BUDGET):
        rows, shifted = near[part], shift[part]
        side, cosine = sides(placed, pairs[rows], rotation[part], shifted)
        a, b = side.of(slice(len(rows))), side.of(slice(len(rows), None))
        rest = np.arange(len(rows))
        if not exact:
            sure, bar, middle = _thin_bars(placed, side, cosine)
            plain = sure > tolerances.clash_volume
            at = rows[plain]
            volume[at], extent[at], point[at] = sure[plain], bar[plain], middle[plain]
            at_least[at] = True
            rest = np.flatnonzero(~plain)
        shared = shared_stretch(placed, side.of(np.append(rest, len(rows) + rest)))
        hit = shared.length > TOUCH
        left = rest[hit]
        if len(left):
            pick = (
                a.of(left),
                b.of(left),
                cosine[left],
                shifted[left],
                shared.of(np.flatnonzero(hit)),
            )
            enough = np.inf if exact else tolerances.clash_volume
            at = rows[left]
            volume[at], extent[at], point[at], at_least[at] = shared_volumes(placed, *pick, enough)
    return Overlaps(volume, volume > tolerances.clash_volume, point, extent, at_least)


def _thin_bars(placed: PlacedPlates, side: Side, cosine: Floats) -> tuple[Floats, Floats, Floats]:
    """Return volume (k,), extent (k,) and a world point (k, 3) of thin bars that both plates fill.

    Only the middle layer of each plate is looked at, `_CORE` to both sides of its middle plane.
    """
    half = np.minimum(placed.half[placed.which[side.plates.reshape(2, -1)], 2], _CORE)
    band = (half[::-1] + np.abs(cosine) * half).reshape(-1)
    shared = shared_stretch(placed, replace(side, band=band))
    a = side.of(slice(len(cosine)))
    tilted = a.slope > 0.0
    slope = np.where(tilted, a.slope, 1.0)
    section = np.where(tilted, 4.0 * half[0] * half[1] / slope, 0.0)
    # The bands were narrowed by TOUCH: a little less than the whole section is sure to be filled.
    sure = shared.full * section * (1.0 - 1e-3)
    flat = (-a.lift / slope)[:, None] * a.f + shared.middle[:, None] * a.e
    world = placed.world_from_box[a.plates]
    point = np.einsum("kij,kj->ki", world[:, :3, :2], flat) + world[:, :3, 3]
    return sure, shared.high - shared.low, point
