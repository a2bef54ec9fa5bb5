# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How the symmetry carries plates and joints onto each other: a plan made once serves all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from ..results import Build
from .grips import Grips

if TYPE_CHECKING:
    from .order import Entry
    from .ways import Way

__all__ = ["Copies", "carried_way"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_NEAR = 0.05  # mm: outlines of one part agree to 0.01 mm, and so do their middles


@dataclass(frozen=True, slots=True, eq=False)
class Copies:
    """Where each group element carries each plate and joint.

    plate : (|G|, P) int, -1 where no plate stands; joint : (|G|, J) int, -1 likewise
    matrices : (|G|, 3, 3)
    """

    plate: Ints
    joint: Ints
    matrices: Floats

    @classmethod
    def of(cls, build: Build, grips: Grips) -> Copies:
        """Match plates by part, middle and plane, joints by class, place and way."""
        matrices = build.group.matrices
        world = np.array([plate.world_from_part for plate in build.plates])
        normal = world[:, :3, 2]
        part = np.array([plate.part for plate in build.plates])
        centres = np.array([joint.centre for joint in build.joints]).reshape(-1, 3)
        names = {name: k for k, name in enumerate(sorted({j.joint_class for j in build.joints}))}
        kind = np.array([names[joint.joint_class] for joint in build.joints], dtype=np.intp)
        return cls(
            _matched(grips.standing.balls, normal, part, matrices, both_ways=True),
            _matched(centres, grips.out, kind, matrices, both_ways=False),
            matrices,
        )

    def find(self, known: Sequence[int], wanted: Sequence[int]) -> int | None:
        """Return the element that carries the plates `known` onto `wanted`; None if none does."""
        target = np.sort(np.array(wanted))
        if len(known) != len(target):
            return None
        images = np.sort(self.plate[:, list(known)], axis=1)
        hits = np.flatnonzero((images == target).all(axis=1))
        return int(hits[0]) if len(hits) else None

    def carried(self, entry: Entry, element: int) -> Entry | None:
        """Return an entry carried by an element; None where a joint has no image."""

        def moved(joints: Sequence[int]) -> tuple[int, ...]:
            return tuple(self.joint[element, list(joints)].tolist())

        way = replace(
            carried_way(entry.way, self.matrices[element]),
            straight=moved(entry.way.straight),
            sprung=moved(entry.way.sprung),
            blockers=frozenset(),
        )
        plates = tuple(self.plate[element, list(entry.plates)].tolist())
        found = replace(entry, plates=plates, joints=moved(entry.joints), way=way)
        return None if min((*found.joints, *plates)) < 0 else found


def carried_way(way: Way, turn: Floats) -> Way:
    """Return a way with its motion carried by a rotation (3, 3), its joints and plates as named."""
    return replace(
        way,
        legs=way.legs @ turn.T,
        turns=None if way.turns is None else _turned(way.turns, turn),
        pivot=None if way.pivot is None else turn @ way.pivot,
    )


def _turned(quaternions: Floats, turn: Floats) -> Floats:
    """Return the same turns (k, 4) about axes that are carried by a rotation (3, 3)."""
    carrier = Rotation.from_matrix(turn)
    found: Floats = (carrier * Rotation.from_quat(quaternions) * carrier.inv()).as_quat()
    return found


def _matched(
    points: Floats, vectors: Floats, kind: Ints, matrices: Floats, both_ways: bool
) -> Ints:
    """Return (|G|, n): the row onto which each element carries a point, its vector and kind."""
    count = len(points)
    if not count:
        return np.zeros((len(matrices), 0), dtype=np.intp)
    tree = cKDTree(points)
    found = np.full((len(matrices), count), -1, dtype=np.intp)
    for e, turn in enumerate(matrices):
        near = tree.query_ball_point(points @ turn.T, _NEAR)
        turned = vectors @ turn.T
        for k, rows in enumerate(near):
            for row in rows:
                along = float(turned[k] @ vectors[row])
                if kind[row] == kind[k] and (abs(along) if both_ways else along) > 0.9999:
                    found[e, k] = row
                    break
    return found
