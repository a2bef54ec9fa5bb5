# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The plates and pins as placed solids, and the pairs that symmetry leaves to be looked at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..fit.sizes import Sizes
from ..frame.group import Group
from ..joints.fasteners import Fasteners
from ..joints.table import JointTable
from ..outlines.finish import without_flaps
from ..outlines.parts import PartShapes
from ..plates.orbits import Orbits
from .boxes import near_pairs
from .pins import pin_solid
from .solids import PlacedPlates, PlateSolid

__all__ = ["Scene", "scene_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """All solids and the pairs to judge.

    placed : plates first, then pins and what else holds the joints, in the order of the fasteners
    pairs : (k, 2) of plates; each pair of plates that could meet has a copy (by the group) here
    pin_pairs : (m, 2), a pin (or the like) and a plate or another pin
    joined : (k,) bool, the pair of plates is held by a joint
    held : (J, 2) int, the two plates of every joint; centre : (J, 3) its middle, mm
    reach : mm; pairs whose boxes are farther apart may be missing
    """

    placed: PlacedPlates
    plate_count: int
    pairs: Ints
    pin_pairs: Ints
    joined: npt.NDArray[np.bool_]
    held: Ints
    centre: Floats
    reach: float


def scene_of(
    shapes: PartShapes,
    orbits: Orbits,
    group: Group,
    joints: JointTable,
    fasteners: Fasteners,
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
    solids = _plate_solids(shapes, sizes.thickness)
    count = len(orbits.motif)
    placed = PlacedPlates.of(
        [solids[m] for m in orbits.motif.tolist()] + _fastener_solids(fasteners, sizes),
        np.concatenate([orbits.transforms @ shapes.plane_from_part[orbits.motif], fasteners.world]),
    )
    held = np.column_stack([joints.first, joints.second])
    joined_pairs = np.unique(np.sort(held, axis=1), axis=0)
    if group.order == 1:
        near = near_pairs(placed, reach)
        is_pin = (near >= count).any(axis=1)
        pairs, pin_pairs = near[~is_pin], near[is_pin]
        pin_pairs = pin_pairs[~_of_one_piece(pin_pairs, joints, fasteners, count)]
    else:
        pairs = _seed_pairs(orbits, group)
        pin_pairs = _pin_pairs(joints, fasteners, count)
    key = pairs.min(axis=1) * count + pairs.max(axis=1)
    joined = np.isin(key, joined_pairs[:, 0] * count + joined_pairs[:, 1])
    return Scene(placed, count, pairs, pin_pairs, joined, held, joints.centre, reach)


def _plate_solids(shapes: PartShapes, thickness: float) -> list[PlateSolid]:
    """Return the solid of each motif, in its part's frame, without what is bent."""
    whole = [PlateSolid.of(outline, thickness) for outline in shapes.outlines]
    return [
        PlateSolid.of(without_flaps(shapes.outlines[part], flaps), thickness)
        if flaps
        else whole[part]
        for part, flaps in zip(shapes.part.tolist(), shapes.flaps, strict=True)
    ]


def _fastener_solids(fasteners: Fasteners, sizes: Sizes) -> list[PlateSolid]:
    """Return the solid of each: a pin as a many-sided prism about its axis."""
    if len(fasteners) == 0:
        return []
    pin = pin_solid(sizes.pin_diameter / 2, sizes.pin_length)
    made: dict[int, PlateSolid] = {}
    for block in fasteners.block:
        if block is not None and id(block) not in made:
            made[id(block)] = PlateSolid.of(block.section, block.thickness)
    return [pin if block is None else made[id(block)] for block in fasteners.block]


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


def _pin_pairs(joints: JointTable, fasteners: Fasteners, count: int) -> Ints:
    """Pair the first solid of each kind in each class with every plate and every other solid."""
    everything = np.arange(count + len(fasteners))
    pairs = []
    kinds = np.column_stack([joints.joint_class[fasteners.joint], fasteners.local])
    for first in np.unique(kinds, axis=0, return_index=True)[1]:
        pin = count + int(first)
        other = everything[everything != pin]
        pairs.append(np.column_stack([np.full(len(other), pin), other]))
    if not pairs:
        return np.zeros((0, 2), dtype=np.intp)
    found: Ints = np.concatenate(pairs)
    apart: Ints = found[~_of_one_piece(found, joints, fasteners, count)]
    return apart


def _of_one_piece(
    pairs: Ints, joints: JointTable, fasteners: Fasteners, count: int
) -> npt.NDArray[np.bool_]:
    """Tell the pairs that are one thing: a tie and its head, a plate and its bent end."""
    one, two = pairs.min(axis=1), pairs.max(axis=1)
    if len(fasteners) == 0:
        return np.zeros(len(pairs), dtype=bool)
    blocks = np.array([block is not None for block in fasteners.block])
    own = np.array([block is not None and block.own for block in fasteners.block])
    held = np.maximum(two - count, 0)  # each pair has a fastener, the later number
    other = np.maximum(one - count, 0)
    same = (fasteners.joint[held] == fasteners.joint[other]) & (
        fasteners.tab[held] == fasteners.tab[other]
    )
    of_lock = (one >= count) & same & blocks[held] & blocks[other]
    of_plate = own[held] & (joints.first[fasteners.joint[held]] == one)
    found: npt.NDArray[np.bool_] = of_lock | of_plate
    return found
