# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which plates run into each other, by how much and where; exact, for many pairs at once.

First the boxes, then the intervals that the two bands show of their outlines (section.py); only
pairs that share a stretch of the common line get the exact volume (pieces.py). Where a verdict is
enough, a ball that lies in both plates is sought before either (witness.py): most clashes have one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..tolerance import TOLERANCES, Tolerances
from .boxes import close_boxes
from .pieces import shared_volumes
from .ragged import batches
from .section import TOUCH, Shown, Side, Stretch, shared_stretch, shown, sides
from .solids import PlacedPlates
from .witness import balls

__all__ = ["Overlaps", "pair_overlaps"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

# Pairs whose bands are sooner looked at than the nine products of their boxes' axes are tried, and
# than a ball is sought in them.
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
    found = Overlaps(
        np.zeros(k), np.zeros(k, bool), np.full((k, 3), np.nan), np.zeros(k), np.zeros(k, bool)
    )
    _, near, rotation, shift = close_boxes(placed, pairs, -TOUCH, _FEW)
    for part in batches(placed.edge_count[placed.which[pairs[near]]].sum(axis=1), _BUDGET):
        side, cosine = sides(placed, pairs[near[part]], rotation[:, :, part], shift[:, part])
        left: _Left | None
        left = _Left(placed, near[part], side, cosine, shift[:, part], shown(placed, side))
        # Of many pairs, plain clashes are sorted out before anything else; of few it does not pay.
        many = not exact and len(near[part]) > _FEW
        if many:
            left = left.without_balls(found, tolerances, aside=False)
        left = left and left.sharing()
        for aside in () if exact else (True,) if many else (False, True):
            left = left and left.without_balls(found, tolerances, aside)
        if left:
            left.measure(found, np.inf if exact else tolerances.clash_volume)
    found.clash[:] = found.volume > tolerances.clash_volume
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Left:
    """Pairs that are still to be judged: their rows (k,), both plates, the edges of their bands.

    shared : what their bands show in common, once that is known
    """

    placed: PlacedPlates
    rows: Ints
    side: Side
    cosine: Floats
    shift: Floats
    edges: Shown
    shared: Stretch | None = None

    def of(self, keep: Bools) -> _Left | None:
        """Return some of the pairs, None where none is left."""
        kept = keep.nonzero()[0]
        if len(kept) == 0:
            return None
        if len(kept) == len(keep):
            return self
        return _Left(
            self.placed,
            self.rows[kept],
            self.side.of(np.append(kept, len(keep) + kept)),
            self.cosine[kept],
            self.shift[:, kept],
            self.edges.of(keep),
            None if self.shared is None else self.shared.of(kept),
        )

    def sharing(self) -> _Left | None:
        """Return the pairs of which both bands show something in common."""
        shared = shared_stretch(self.edges, len(self.rows))
        given = (self.placed, self.rows, self.side, self.cosine, self.shift, self.edges)
        return _Left(*given, shared).of(shared.length > TOUCH)

    def without_balls(self, found: Overlaps, tolerances: Tolerances, aside: bool) -> _Left | None:
        """Write down which pairs clash for sure, and return the others."""
        radius = (tolerances.clash_volume * 0.75 / np.pi) ** (1 / 3) * 1.01
        ball = balls(self.placed, self.side, self.cosine, self.edges, radius, aside)
        if not ball.found.any():
            return self
        at = self.rows[ball.found]
        found.volume[at], found.at_least[at] = radius**3 * np.pi / 0.75, True
        found.extent[at], found.point[at] = ball.length[ball.found], ball.point[ball.found]
        return self.of(~ball.found)

    def measure(self, found: Overlaps, enough: float) -> None:
        """Write down the volumes of pairs of which the bands show something in common."""
        k = len(self.rows)
        assert self.shared is not None
        a, b = self.side.of(slice(k)), self.side.of(slice(k, 2 * k))
        volumes = shared_volumes(self.placed, a, b, self.cosine, self.shift, self.shared, enough)
        for whole, part in zip(
            (found.volume, found.extent, found.point, found.at_least), volumes, strict=True
        ):
            whole[self.rows] = part
