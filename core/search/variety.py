# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Different sculptures, not one with its noise: a signature of the shape, and a choice by it.

The signature is the distribution of distances between points of the plates (the shape distribution
D2 of Osada, Funkhouser, Chazelle and Dobkin, Shape Distributions, ACM TOG 21, 2002, from memory)
and of their distances from the centre. No turn or mirror changes it; it changes little with the
path.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from .shape import Shape

__all__ = ["SAME", "choose", "families", "signature"]

Floats = npt.NDArray[np.float64]

#: Signatures nearer than this (least 0, most 4) look alike; found by looking at pairs of pictures.
SAME = 0.5
_PAIRS, _RADII = 32, 16


def signature(shape: Shape) -> Floats:
    """Return the signature (48,) of a shape: two distributions, each with the sum 1."""
    count = shape.points.shape[1]
    rows = np.unique(np.linspace(0, count - 1, 14).round().astype(int))
    middle = shape.points.shape[2] // 2
    points = shape.points[:, rows, middle] / shape.radius  # (K, 14, 3)
    seeds = np.unique(shape.colour, return_index=True)[1]
    mine, everyone = points[seeds].reshape(-1, 3), points.reshape(-1, 3)
    apart = np.sqrt(((mine[:, None] - everyone[None]) ** 2).sum(axis=2))
    pairs = _smooth_histogram(apart.reshape(-1), 2.0, _PAIRS)
    radii = _smooth_histogram(np.linalg.norm(mine, axis=1), 1.0, _RADII)
    return np.concatenate([pairs, radii])


def families(signatures: Sequence[Floats], same: float = SAME) -> list[int]:
    """Return for each signature, best first, the position of the one that stands for it.

    Greedy: a design that is like none before it stands for itself.
    """
    leaders: list[int] = []
    found: list[int] = []
    for i, one in enumerate(signatures):
        if leaders:
            gaps = np.abs(np.array([signatures[k] for k in leaders]) - one).sum(axis=1)
            nearest = int(np.argmin(gaps))
            if gaps[nearest] < same:
                found.append(leaders[nearest])
                continue
        leaders.append(i)
        found.append(i)
    return found


def choose(signatures: Sequence[Floats], count: int) -> list[int]:
    """Return the positions of `count` designs: the best of each family first, then the rest."""
    leader = families(signatures)
    firsts = [i for i, k in enumerate(leader) if i == k]
    rest = [i for i, k in enumerate(leader) if i != k]
    return [*firsts, *rest][:count]


def _smooth_histogram(values: Floats, top: float, bins: int) -> Floats:
    """Return shares (bins,); each value is dealt to its two nearest bins, so that none jumps."""
    place = np.clip(values / top * bins - 0.5, 0, bins - 1 - 1e-9)
    low = place.astype(int)
    share = place - low
    counts = np.bincount(low, 1 - share, bins) + np.bincount(low + 1, share, bins + 1)[:bins]
    total: Floats = counts / counts.sum()
    return total
