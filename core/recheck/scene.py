# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""All solids of a build file, placed, and every pair that could meet: no symmetry is trusted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..checks.boxes import near_pairs
from ..checks.pins import pin_solid, pin_transform
from ..checks.scene import Scene
from ..checks.solids import PlacedPlates, PlateSolid
from ..design.model import Lock
from ..outlines.finish import without_flaps
from ..results import Build

__all__ = ["placed_scene"]

Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _Held:
    """A solid that holds a joint: its name, its joint, and whether it is a round pin."""

    name: str
    joint: int
    round: bool


def placed_scene(build: Build, reach: float) -> tuple[Scene, Callable[[int], str]]:
    """Return the scene of a build file, and what names its solids.

    reach : mm; pairs whose boxes are farther apart are left out
    """
    solids: list[PlateSolid] = []
    poses: list[npt.NDArray[np.float64]] = []
    whole = [
        PlateSolid.of(without_flaps(part.outline, part.flaps), part.thickness)
        for part in build.parts
    ]
    for plate in build.plates:
        solids.append(whole[plate.part])
        poses.append(plate.world_from_part)
    held: list[_Held] = []
    round_ones: dict[tuple[float, float], PlateSolid] = {}
    shaped: dict[bytes, PlateSolid] = {}
    for j, joint in enumerate(build.joints):
        against = build.plates[joint.plates[1]].world_from_part[:3, 2]
        for pin in joint.pins:
            size = (pin.diameter, pin.length)
            if size not in round_ones:
                round_ones[size] = pin_solid(pin.diameter / 2, pin.length)
            solids.append(round_ones[size])
            poses.append(pin_transform(pin.centre, pin.axis, against))
            held.append(_Held(f"pin of {joint.id}", j, True))
        for one in joint.fasteners:
            key = one.outline.wkb + np.float64(one.thickness).tobytes()
            if key not in shaped:
                shaped[key] = PlateSolid.of(one.outline, one.thickness)
            solids.append(shaped[key])
            poses.append(one.world)
            held.append(_Held(f"{one.kind} of {joint.id}", j, False))
    placed = PlacedPlates.of(solids, np.array(poses))
    count = len(build.plates)
    near = near_pairs(placed, reach)
    loose = (near >= count).any(axis=1)
    pairs, pin_pairs = near[~loose], near[loose]
    one_piece = np.array([_one_piece(build, held, count, i, j) for i, j in pin_pairs], dtype=bool)
    held_together = {frozenset(joint.plates) for joint in build.joints}
    joined = np.array([frozenset(pair) in held_together for pair in pairs.tolist()], dtype=bool)
    both = np.array([joint.plates for joint in build.joints], dtype=np.intp).reshape(-1, 2)
    centre = np.array([joint.centre for joint in build.joints]).reshape(-1, 3)
    scene = Scene(placed, count, pairs, pin_pairs[~one_piece], joined, both, centre, reach)

    def named(number: int) -> str:
        if number < count:
            return build.plates[number].id
        return held[number - count].name

    return scene, named


def _one_piece(build: Build, held: list[_Held], count: int, i: int, j: int) -> bool:
    """Tell a tie and its head, a plate and its bent end: one thing, drawn as two."""
    low, high = min(i, j), max(i, j)
    one = held[high - count]
    joint = build.joints[one.joint]
    if low >= count:
        other = held[low - count]
        return other.joint == one.joint and not one.round and not other.round
    return joint.lock is Lock.BENT and not one.round and low == joint.plates[0]
