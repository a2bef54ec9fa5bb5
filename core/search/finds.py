# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A find: one candidate with all its numbers, and the design file that it becomes."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..design.model import (
    Bend,
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    ModuleChoice,
    MotifChoice,
    Sheet,
    Turn,
)
from ..frame.group import Group
from .geometry import Geometry
from .measure import Order, paths_of
from .patterns import Pattern

__all__ = ["Find", "Wanted", "design_of", "normals_key"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the user asks of the finds, mm.

    diameter : of the sphere that holds the sculpture; width : of the strips, None: the search
    chooses; clearance : least distance of plates that are not joined; linked : only designs in
    which rotors of two motifs pass through each other on one axis
    """

    group: str
    motifs: int
    thickness: float = 3.0
    diameter: float = 1000.0
    width: float | None = None
    clearance: float = 10.0
    material: str = "aluminium-5052"
    linked: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Find:
    """A candidate: its pattern, normals (M, 3), offsets (M,), places (C,), width, slot orders.

    Lengths are shares of a radius; `design_of` scales them so that the sculpture has the diameter
    that is wanted. reach : radius of the sphere that holds it, in the same unit; batch : number of
    the batch that found it
    """

    pattern: Pattern
    normals: Floats
    offsets: Floats
    places: Floats
    width: float
    order: Order
    reach: float
    gap: float
    batch: int


def normals_key(group: Group, find: Find) -> str:
    """Return a short text that is equal for finds with the same plane directions.

    From the cosines between all planes, which no turn, mirror or change of seeds alters.
    """
    everyone = [(group.matrices @ n).reshape(-1, 3) for n in find.normals]
    parts = []
    for i, n in enumerate(find.normals):
        rows = [np.sort(np.abs(images @ n)) for images in everyone]
        own = rows.pop(i)
        rest = sorted(tuple(np.round(r, 5) + 0.0) for r in rows)
        parts.append((tuple(np.round(own, 5) + 0.0), *rest))
    return hashlib.sha256(repr(sorted(parts)).encode()).hexdigest()[:12]


def design_of(group: Group, find: Find, wanted: Wanted, name: str, note: str = "") -> Design:
    """Return the design file of a find: explicit motifs and joint classes, true size."""
    radius = wanted.diameter / 2
    # Tabs and the sheet's thickness stick out of the strips by less than this.
    scale = (radius - 2 * wanted.thickness) / find.reach
    geometry = Geometry.of(group, find.pattern, find.normals)
    width = find.width * scale if wanted.width is None else wanted.width
    names = "abc"
    motifs = []
    for m, normal in enumerate(find.normals):
        path, _, _ = paths_of(
            geometry, m, find.order, find.offsets[None] * scale, find.places[None] * scale,
            np.array([width]),
        )  # fmt: skip
        motifs.append(
            MotifChoice(
                name=names[m],
                normal=(float(normal[0]), float(normal[1]), float(normal[2])),
                offset=float(find.offsets[m] * scale),
                path=tuple((float(x), float(y)) for x, y in path[0]),
                width=float(width),
                bend=Bend.SMOOTH,
            )
        )
    classes = []
    for c, (a, b, g) in enumerate(find.pattern.classes):
        axis, angle = group.axis_angle_deg(g)
        turn = Turn((float(axis[0]), float(axis[1]), float(axis[2])), float(angle))
        lap = c in find.pattern.laps
        joint = f"{names[a]} {'over' if lap else 'in'} {names[b]} {c + 1}"
        classes.append(
            JointClassChoice(
                name=joint,
                motifs=(names[a], names[b]),
                kind=JointKind.CROSS_LAP if lap else JointKind.TENON,
                at=float(find.places[c] * scale),
                turn=turn,
            )
        )
    return Design(
        name=name,
        sheet=Sheet(wanted.thickness, wanted.material),
        frame=FrameChoice(wanted.diameter, group=group.name),
        motifs=tuple(motifs),
        joint_classes=tuple(classes),
        joints=JointSizes(gap=wanted.clearance),
        modules=ModuleChoice(),
        note=note,
    )
