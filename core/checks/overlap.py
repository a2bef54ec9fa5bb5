# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which plates run into each other, by how much and where; exact, for many pairs at once.

First the boxes, then the intervals that the two bands show of their outlines (section.py); only
pairs that share a stretch of the common line get the exact volume (pieces.py).
"""

from __future__ import annotations

from dataclasses import dataclass

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
        shared = shared_stretch(placed, side)
        hit = shared.length > TOUCH
        if not exact:
            sure, bar, middle = _whole_bars(placed, a, b, shared)
            plain = np.flatnonzero(hit & (sure > tolerances.clash_volume))
            at = rows[plain]
            volume[at], extent[at], point[at] = sure[plain], bar[plain], middle[plain]
            at_least[at] = True
            hit[plain] = False
        left = np.flatnonzero(hit)
        if len(left):
            pick = a.of(left), b.of(left), cosine[left], shifted[left], shared.of(left)
            enough = np.inf if exact else tolerances.clash_volume
            at = rows[left]
            volume[at], extent[at], point[at], at_least[at] = shared_volumes(placed, *pick, enough)
    return Overlaps(volume, volume > tolerances.clash_volume, point, extent, at_least)


def _whole_bars(
    placed: PlacedPlates, a: Side, b: Side, shared: Stretch
) -> tuple[Floats, Floats, Floats]:
    """Return volume (k,), extent (k,) and a world point (k, 3) of bars that both plates fill."""
    tilted = a.slope > 0.0
    slope = np.where(tilted, a.slope, 1.0)
    half_a, half_b = (placed.half[placed.which[side.plates], 2] for side in (a, b))
    section = np.where(tilted, 4.0 * half_a * half_b / slope, 0.0)
    # The bands were narrowed by TOUCH: a little less than the whole section is sure to be filled.
    sure = shared.full * section * (1.0 - 1e-3)
    flat = (-a.lift / slope)[:, None] * a.f + shared.middle[:, None] * a.e
    world = placed.world_from_box[a.plates]
    point = np.einsum("kij,kj->ki", world[:, :3, :2], flat) + world[:, :3, 3]
    return sure, shared.high - shared.low, point
