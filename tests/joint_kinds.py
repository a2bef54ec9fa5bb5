# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""One joint of any kind between sheets of two thicknesses, as solids of manifold3d.

The strips stand turned and moved at random. Outlines come from the core, thickness and place are
given to them here; nothing of the core's own checks is used.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import manifold3d
import numpy as np
import numpy.typing as npt

from pinwright.core.design.model import JointClassChoice, JointKind, JointSizes, Lock, Sheet
from pinwright.core.fit.sizes import Sizes, resolve_sizes
from pinwright.core.fit.tenon import TenonChoice, TenonSizes, tenon_sizes
from pinwright.core.frame.group import rotation_group
from pinwright.core.joints.classes import JointClass, joint_classes
from pinwright.core.joints.fasteners import Fasteners, fasteners_of
from pinwright.core.joints.features import motif_features
from pinwright.core.joints.table import joint_table
from pinwright.core.outlines.finish import Finished, finished_outline
from pinwright.core.plates.motif import Motif, motif_from_choice
from pinwright.core.plates.orbits import orbits_of
from tests.crossings import Crossing
from tests.judges import as_manifold

__all__ = ["ANGLES", "PAIRS", "WIDTH", "Trial", "free_way", "shared", "tenon_trial"]

Floats = npt.NDArray[np.float64]

ANGLES = (30.0, 45.0, 60.0, 75.0, 90.0)
PAIRS = ((3.0, 3.0), (1.5, 4.0), (6.0, 2.0))  # sheet of the tab, sheet of the slot, mm
SIDES = 64
WIDTH = 70.0


@dataclass(frozen=True)
class Trial:
    """The joint's two plates and what holds it; solids stand in the world.

    insertion, line : unit vectors; across : unit vector in the second plate, square to the line
    """

    sizes: Sizes
    joint: JointClass
    tenon: TenonSizes
    finished: tuple[Finished, Finished]
    motifs: tuple[Motif, Motif]
    thickness: tuple[float, float]
    fasteners: Fasteners

    @cached_property
    def plates(self) -> tuple[manifold3d.Manifold, manifold3d.Manifold]:
        """The plates as they stand: what is bent stands apart, with the fasteners."""
        one, two = (
            as_manifold(finished.standing, t).transform(motif.world_from_plane[:3])
            for finished, t, motif in zip(self.finished, self.thickness, self.motifs, strict=True)
        )
        return one, two

    @cached_property
    def flat(self) -> manifold3d.Manifold:
        """The strip as it is cut and pushed in, before anything is bent."""
        solid = as_manifold(self.finished[0].outline, self.thickness[0])
        return solid.transform(self.motifs[0].world_from_plane[:3])

    @cached_property
    def held(self) -> list[tuple[str, manifold3d.Manifold]]:
        """What holds the tabs: a pin as the prism round it."""
        found = []
        radius = self.sizes.pin_diameter / 2 / np.cos(np.pi / SIDES)
        for f, block in enumerate(self.fasteners.block):
            if block is None:
                solid = manifold3d.Manifold.cylinder(
                    self.sizes.pin_length, radius, radius, SIDES, True
                )
            else:
                solid = as_manifold(block.section, block.thickness)
            placed = solid.transform(self.fasteners.world[f][:3])
            found.append((self.fasteners.kind[f], placed))
        return found

    @property
    def across(self) -> Floats:
        """The way across the slot, in the slotted plate."""
        way: Floats = np.cross(self.motifs[1].normal, self.joint.line)
        return way / np.linalg.norm(way)


def shared(
    a: manifold3d.Manifold, b: manifold3d.Manifold, move: npt.ArrayLike = (0, 0, 0)
) -> float:
    """Volume that `a`, moved by a vector, shares with `b`, mm3."""
    moved = a.translate(np.asarray(move, dtype=float).tolist())
    return float((moved ^ b).volume())


def free_way(
    a: manifold3d.Manifold, b: manifold3d.Manifold, way: Floats, most: float, rounds: int = 7
) -> float:
    """How far `a` can move before it runs into `b`, mm; `most` when it does not."""
    if shared(a, b, most * way) < 1e-6:
        return most
    low, high = 0.0, most
    for _ in range(rounds):
        middle = (low + high) / 2
        low, high = (middle, high) if shared(a, b, middle * way) < 1e-6 else (low, middle)
    return (low + high) / 2


def tenon_trial(
    angle: float,
    pair: tuple[float, float],
    lock: Lock,
    tabs: int = 1,
    clearance: float = 0.1,
    narrow: float = 1.0,
    chosen: JointSizes | None = None,
) -> Trial:
    """Make a strip with tabs that go into a board.

    pair : thickness of the strip and of the board, mm; narrow : share of its width that each slot
    keeps
    """
    t, s = pair
    sizes = resolve_sizes(chosen or JointSizes(), Sheet(t, clearance=clearance), None)
    crossing = Crossing.of(angle, int(7 * angle + 10 * t + s))
    width = WIDTH * max(1.0, t / 3)
    half = width / 2 + 20.0
    board = [(-90.0, -half), (90.0, -half), (90.0, half), (-90.0, half)]
    group = rotation_group("C1")
    motifs = tuple(
        motif_from_choice(choice, group)
        for choice in (
            crossing.motif(0, "strip", [(-90.0, 0.0), (0.0, 0.0)], width=width),
            crossing.motif(1, "board", board),
        )
    )
    choice = JointClassChoice("one", ("strip", "board"), JointKind.TENON, lock=lock, tabs=tabs)
    (joint,) = joint_classes([choice], motifs, group, sizes)
    said = TenonChoice(lock=lock, tabs=tabs, room=width, other=s)
    tenon = tenon_sizes(sizes, joint.angle_deg, sizes.tab_width, "one", said)
    slotted = replace(tenon, slot_width=tenon.slot_width * narrow)
    joint = replace(joint, tenon=tenon)
    features = motif_features([joint], motifs, group)
    finished = (
        finished_outline(motifs[0], features[0], [joint], sizes),
        finished_outline(motifs[1], features[1], [replace(joint, tenon=slotted)], sizes),
    )
    table = joint_table([joint], motifs, orbits_of(motifs, group), group)
    return Trial(
        sizes, joint, tenon, finished, (motifs[0], motifs[1]), pair, fasteners_of([joint], table)
    )
