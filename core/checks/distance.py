# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How far apart plates stand, with the two nearest points; exact, for many pairs at once.

Of two plates that share no volume, at least one nearest point lies on a side wall. So the distance
is the least of: walls against walls (edges and corners, features.py), and corners of one over the
inside of the other's face. How few of the walls need to be looked at, see nearest.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .boxes import close_boxes, lower_bounds
from .nearest import Nearest
from .overlap import Overlaps, pair_overlaps
from .ragged import batches
from .solids import PlacedPlates

__all__ = ["Distances", "least_distance", "pair_distances"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_BUDGET = 30_000  # runs of edges handled at a time


@dataclass(frozen=True, slots=True, eq=False)
class Distances:
    """Distances of k pairs of plates.

    distance : (k,) mm; 0 where the plates share volume
    at_least : (k,) bool: the pair is farther apart than the limit, `distance` is a lower bound only
    point_a, point_b : (k, 3) mm, world, nearest points; nan where `at_least`; where the plates
        share volume both are one point inside it
    """

    distance: Floats
    at_least: npt.NDArray[np.bool_]
    point_a: Floats
    point_b: Floats


def pair_distances(
    placed: PlacedPlates,
    pairs: npt.ArrayLike,
    limit: float = np.inf,
    overlaps: Overlaps | None = None,
) -> Distances:
    """Return the exact least distance of each pair of plates, right to 1e-6 mm.

    pairs : (k, 2) int
    limit : mm; what is farther apart is only said to be `at_least` some lower bound
    overlaps : of the same pairs, when already known
    """
    pairs = np.asarray(pairs, dtype=np.intp).reshape(-1, 2)
    distance, near, rotation, shift = close_boxes(placed, pairs, limit)
    distance = np.maximum(distance, 0.0)
    at_least = np.ones(len(pairs), dtype=bool)
    at_least[near] = False
    on_a, on_b = np.full((len(pairs), 3), np.nan), np.full((len(pairs), 3), np.nan)
    if overlaps is None:
        shared = pair_overlaps(placed, pairs[near], exact=False)
        volume, inside = shared.volume, shared.point
    else:
        volume, inside = overlaps.volume[near], overlaps.point[near]
    clash = volume > 0.0
    distance[near[clash]] = 0.0
    on_a[near[clash]] = on_b[near[clash]] = inside[clash]
    near, rotation, shift = near[~clash], rotation.transpose(2, 0, 1)[~clash], shift.T[~clash]
    for part in batches(placed.runs.count[placed.which[pairs[near]]].sum(axis=1), _BUDGET):
        rows = near[part]
        found = Nearest(placed, pairs[rows], rotation[part], shift[part], limit)
        known = np.isfinite(found.best)
        distance[rows] = np.where(known, found.best, np.maximum(distance[rows], limit))
        at_least[rows] = ~known
        on_a[rows], on_b[rows] = found.world_points()
    return Distances(distance, at_least, on_a, on_b)


def least_distance(
    placed: PlacedPlates, pairs: npt.ArrayLike, limit: float = np.inf
) -> tuple[float, int, Floats]:
    """Return the least distance of all pairs, the pair's row, and its nearest points (2, 3).

    Pairs are taken in the order of their boxes' distance, and no more than needed.
    limit : mm; (limit, -1, nan) when all are farther apart than that, or there are no pairs
    """
    pairs = np.asarray(pairs, dtype=np.intp).reshape(-1, 2)
    bounds = lower_bounds(placed, pairs)
    order = np.argsort(bounds, kind="stable")
    best, row, points = float(limit), -1, np.full((2, 3), np.nan)
    start, size = 0, 8
    while start < len(order) and best > 0.0 and bounds[order[start]] < best:
        rows = order[start : start + size]
        rows = rows[bounds[rows] < best]
        found = pair_distances(placed, pairs[rows], best)
        exact = np.where(found.at_least, np.inf, found.distance)
        nearest = int(exact.argmin())
        if exact[nearest] < best or (row < 0 and exact[nearest] <= best):
            best, row = float(exact[nearest]), int(rows[nearest])
            points = np.stack([found.point_a[nearest], found.point_b[nearest]])
        start, size = start + size, size * 4
    return best, row, points
