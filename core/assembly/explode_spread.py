# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Exploded places of a crowd of unequal plates: spread out from the middle, all in the same ratio.

Two convex bodies that are apart stay apart when each goes out from a point in proportion to its
distance from there: the plane that parts them parts their ways too. Bodies that reach through each
other, as a tab does through its slot, come apart once the spread is large enough.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from .explode_trial import Scattered
from .passing import overlapping

__all__ = ["boxes_of", "spread_ways"]

Floats = npt.NDArray[np.float64]

_STEP = 1.2  # from one spread to the next one that is tried
_MOST = 16  # spreads that are tried


def spread_ways(plates: Scattered, turned: Floats, length: float) -> Floats:
    """Return the way (P, 3) mm of each plate, straight away from the middle of its module.

    All plates of a module keep the proportions of their places. The spread is the least, from that
    where plates go `length` mm on average, at which boxes round the plates of a module are apart.
    turned : (P, 3, 3), what turns the way of each motif's seed into the plate's
    """
    module, seeds = plates.module, plates.orbits.plate_of[:, 0]
    homes = np.array([plates.centroids[module == k].mean(axis=0) for k in range(module.max() + 1)])
    seed_ways = (plates.centroids - homes[module])[seeds]
    out: Floats = np.einsum("pij,pj->pi", turned, seed_ways[plates.orbits.motif])
    middles, halves = boxes_of(plates)
    reach = np.sqrt((halves**2).sum(axis=(1, 2)))
    i, k = np.triu_indices(len(module), 1)
    i, k = i[module[i] == module[k]], k[module[i] == module[k]]
    share = length / max(float(np.linalg.norm(out, axis=1).mean()), 1e-9)
    for _ in range(_MOST):
        gap = middles[i] - middles[k] + share * (out[i] - out[k])
        near = np.linalg.norm(gap, axis=1) < reach[i] + reach[k]
        a, b, gap = i[near], k[near], gap[near]
        still = np.zeros_like(gap)
        if not overlapping(gap[:, None], halves[a], still[:, None], halves[b], still).any():
            break
        share *= _STEP
    return share * out


def boxes_of(plates: Scattered) -> tuple[Floats, Floats]:
    """Return middles (P, 3) and half axes (P, 3, 3), mm, of a box round each plate."""
    centres, axes = [], []
    for outline in plates.outlines:
        ring = shapely.get_coordinates(shapely.oriented_envelope(outline))
        along, across = (ring[1] - ring[0]) / 2, (ring[3] - ring[0]) / 2
        centres.append([*(ring[0] + along + across), 0.0])
        axes.append([[*along, 0.0], [*across, 0.0], [0.0, 0.0, plates.thickness / 2]])
    motif, poses = plates.orbits.motif, plates.orbits.transforms
    turns = poses[:, :3, :3]
    middles = np.einsum("pij,pj->pi", turns, np.array(centres)[motif]) + poses[:, :3, 3]
    halves = np.einsum("pij,pkj->pki", turns, np.array(axes)[motif])
    return middles, halves
