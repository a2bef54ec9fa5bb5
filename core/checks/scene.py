# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The plates and pins as placed solids, and the pairs that symmetry leaves to be looked at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..fit.sizes import Sizes
from ..frame.group import Group
from ..joints.table import JointTable
from ..outlines.parts import PartShapes
from ..plates.orbits import Orbits
from .pins import pin_solid
from .solids import PlacedPlates, PlateSolid, near_pairs

__all__ = ["Scene", "scene_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """All solids and the pairs to judge.

    placed : plates first, then pins (pin of joint j is plate_count + its place in `pin_joint`)
    pairs : (k, 2) of plates; each pair of plates that could meet has a copy (by the group) here
    pin_pairs : (m, 2), a pin and a plate or another pin
    joined : (k,) bool, the pair of plates is held by a joint
    reach : mm; pairs whose boxes are farther apart may be missing
    """

    placed: PlacedPlates
    plate_count: int
    pin_joint: Ints
    pairs: Ints
    pin_pairs: Ints
    joined: npt.NDArray[np.bool_]
    reach: float


def scene_of(
    shapes: PartShapes,
    orbits: Orbits,
    group: Group,
    joints: JointTable,
    sizes: Sizes,
    reach: float,
) -> Scene:
    """Place everything and list the pairs.

    What stands there is what is cut: the parts' outlines, not the motifs' own, from which they may
    differ by the tolerance within which outlines are one part.
    With a group: one plate of each motif against all copies that it can meet, of a pair and its
    inverse only one. Without: all pairs whose boxes come within `reach` mm. `reach` is also as far
    as the clearance is measured.
    """
    solids = [PlateSolid.of(outline, sizes.thickness) for outline in shapes.outlines]
    count = len(orbits.motif)
    pin_joint = np.flatnonzero(joints.has_pin)
    transforms, pin_solids = _pins(joints, pin_joint, sizes)
    placed = PlacedPlates.of(
        [solids[p] for p in shapes.part[orbits.motif]] + pin_solids,
        np.concatenate([orbits.transforms @ shapes.plane_from_part[orbits.motif], transforms]),
    )
    joined_pairs = np.unique(
        np.sort(np.column_stack([joints.first, joints.second]), axis=1), axis=0
    )
    if group.order == 1:
        near = near_pairs(placed, reach)
        is_pin = (near >= count).any(axis=1)
        pairs, pin_pairs = near[~is_pin], near[is_pin]
    else:
        pairs = _seed_pairs(orbits, group)
        pin_pairs = _pin_pairs(joints, pin_joint, count)
    key = pairs.min(axis=1) * count + pairs.max(axis=1)
    joined = np.isin(key, joined_pairs[:, 0] * count + joined_pairs[:, 1])
    return Scene(placed, count, pin_joint, pairs, pin_pairs, joined, reach)


def _pins(joints: JointTable, which: Ints, sizes: Sizes) -> tuple[Floats, list[PlateSolid]]:
    """Place every pin as a many-sided prism about its axis."""
    if len(which) == 0:
        return np.zeros((0, 4, 4)), []
    solid = pin_solid(sizes.pin_diameter / 2, sizes.pin_length)
    # The pin stands square to the tab's plane, in which the joint's line lies.
    transforms = np.zeros((len(which), 4, 4))
    transforms[:, :3, 0] = joints.line[which]
    transforms[:, :3, 1] = np.cross(joints.pin_axis[which], joints.line[which])
    transforms[:, :3, 2] = joints.pin_axis[which]
    transforms[:, :3, 3] = joints.pin_centre[which]
    transforms[:, 3, 3] = 1.0
    return transforms, [solid] * len(which)


def _seed_pairs(orbits: Orbits, group: Group) -> Ints:
    """Each motif's seed plate against the copies of it and of later motifs, up to inverses."""
    pairs = []
    motif_count = len(orbits.plate_of)
    for m in range(motif_count):
        seed = orbits.plate_of[m, 0]
        own = np.arange(group.order)
        own = own[own <= group.inverse]  # (seed, x seed) is carried to (x^-1 seed, seed)
        others = [orbits.plate_of[m][own]]
        others += [orbits.plate_of[k] for k in range(m + 1, motif_count)]
        other = np.unique(np.concatenate(others))
        other = other[other != seed]
        pairs.append(np.column_stack([np.full(len(other), seed), other]))
    return np.concatenate(pairs)


def _pin_pairs(joints: JointTable, pin_joint: Ints, count: int) -> Ints:
    """Pair the first pin of each class with every plate and every other pin."""
    everything = np.arange(count + len(pin_joint))
    pairs = []
    for joint_class in np.unique(joints.joint_class[pin_joint]):
        pin = count + int(np.flatnonzero(joints.joint_class[pin_joint] == joint_class)[0])
        other = everything[everything != pin]
        pairs.append(np.column_stack([np.full(len(other), pin), other]))
    return np.concatenate(pairs) if pairs else np.zeros((0, 2), dtype=np.intp)
