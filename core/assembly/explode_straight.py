# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The exploded view without a plan: all modules at once, then all plates; and what it runs into."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..results import Build, Snag
from .explode import SPLIT, straight_ways
from .explode_room import Room
from .explode_words import STRAIGHT

__all__ = ["placed_at", "straight_snags", "ways_of"]

Floats = npt.NDArray[np.float64]


def ways_of(build: Build) -> tuple[Floats, ...]:
    """Return for each plate its way as the view opens, rows [factor, x, y, z], mm: (k, 4)."""
    away = np.array([build.modules[plate.module].explode for plate in build.plates])
    own = np.array([plate.explode for plate in build.plates])
    straight = straight_ways(away, own, SPLIT if len(build.modules) > 1 else None)
    return tuple(
        straight[p] if plate.explode_way is None else plate.explode_way
        for p, plate in enumerate(build.plates)
    )


def placed_at(build: Build, factor: float) -> Floats:
    """Return the displacement (P, 3) of every plate from its place at a factor from 0 to 1, mm."""
    ways = ways_of(build)
    return np.array(
        [[np.interp(factor, way[:, 0], way[:, 1 + k]) for k in range(3)] for way in ways]
    )


def straight_snags(build: Build) -> tuple[Snag, ...]:
    """Return the pairs of plates that share room while all move at once, straight.

    With symmetry one plate of each motif is tried against all others, and the pairs that are found
    stand for their copies too.
    """
    room = Room.of(build)
    ways = ways_of(build)
    standing = room.standing
    seeds: dict[str, int] = {}
    for p, plate in enumerate(build.plates):
        seeds.setdefault(plate.motif, p)
    joined: dict[tuple[int, int], list[int]] = {}
    for number, joint in enumerate(build.joints):
        joined.setdefault((min(joint.plates), max(joint.plates)), []).append(number)
    found: dict[tuple[int, int], Snag] = {}
    for seed in seeds.values():
        for other in range(len(build.plates)):
            pair = (min(seed, other), max(seed, other))
            if other == seed or pair in found:
                continue
            for start, end in pairwise(ways[seed][:, 1:] - ways[other][:, 1:]):
                if standing.blocker([seed], [other], start, end) is not None:
                    found[pair] = Snag(pair, tuple(joined.get(pair, ())), STRAIGHT)
                    break
    return tuple(found[pair] for pair in sorted(found))
