# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What each joint class cuts from or adds to a motif, in the motif's own plane.

A class reaches a motif from both of its roles and through every element that keeps the motif in
place; the same feature met twice is kept once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from ..design.model import JointKind
from ..frame.group import Group
from ..plates.motif import Motif
from ..plates.planes import to_plane
from .classes import JointClass

__all__ = ["Lap", "MotifFeatures", "Slot", "Tab", "motif_features"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Tab:
    """A tab at `place` (2,), growing along `out` (2,) from a shoulder; `joint` : index of its class."""

    place: Floats
    along: Floats
    out: Floats
    joint: int


@dataclass(frozen=True, slots=True, eq=False)
class Slot:
    """A closed slot centred at `place` (2,), long along `along` (2,)."""

    place: Floats
    along: Floats
    joint: int


@dataclass(frozen=True, slots=True, eq=False)
class Lap:
    """An open slot on the line through `place`; it runs from `bottom` mm along `out` to the edge."""

    place: Floats
    out: Floats
    bottom: float
    joint: int


Feature = TypeVar("Feature", Tab, Slot, Lap)


@dataclass(frozen=True, slots=True)
class MotifFeatures:
    """All features of one motif."""

    tabs: tuple[Tab, ...]
    slots: tuple[Slot, ...]
    laps: tuple[Lap, ...]


def motif_features(
    classes: Sequence[JointClass], motifs: Sequence[Motif], group: Group
) -> tuple[MotifFeatures, ...]:
    """Collect the features of every motif, in the order of the motifs."""
    tabs: list[list[Tab]] = [[] for _ in motifs]
    slots: list[list[Slot]] = [[] for _ in motifs]
    laps: list[list[Lap]] = [[] for _ in motifs]
    for j, joint in enumerate(classes):
        for s in motifs[joint.a].stabiliser:
            matrix = group.matrices[s]
            place, along, out = _seen(motifs[joint.a], matrix, joint)
            if joint.kind is JointKind.TENON:
                _add(tabs[joint.a], Tab(place, along, out, j))
            else:
                _add(laps[joint.a], _lap(joint, place, out, j, first=True))
        for s in motifs[joint.b].stabiliser:
            matrix = group.matrices[group.product[s, group.inverse[joint.element]]]
            place, along, out = _seen(motifs[joint.b], matrix, joint)
            if joint.kind is JointKind.TENON:
                _add(slots[joint.b], Slot(place, along, j))
            else:
                _add(laps[joint.b], _lap(joint, place, -out, j, first=False))
    return tuple(
        MotifFeatures(tuple(t), tuple(s), tuple(p))
        for t, s, p in zip(tabs, slots, laps, strict=True)
    )


def _seen(motif: Motif, matrix: Floats, joint: JointClass) -> tuple[Floats, Floats, Floats]:
    """Carry a class's place, line and insertion by `matrix` into the motif's plane."""
    axes = motif.world_from_plane[:3, :2]
    place = to_plane(motif.world_from_plane, matrix @ joint.centre)
    return place, (matrix @ joint.line) @ axes, (matrix @ joint.insertion) @ axes


def _lap(joint: JointClass, place: Floats, out: Floats, j: int, first: bool) -> Lap:
    """The half of a cross-lap on one of its plates; `out` is where that plate's slot opens."""
    assert joint.lap is not None  # cross-laps always carry their overlap
    split = joint.lap[1] * (1.0 if joint.insertion @ joint.line > 0 else -1.0)
    return Lap(place, out, split if first else -split, j)


def _add(found: list[Feature], new: Feature) -> None:
    """Append a feature unless the same one is there (same place and, but for slots, same way)."""
    for old in found:
        if np.abs(old.place - new.place).max() < 1e-4 and (
            isinstance(old, Slot) or isinstance(new, Slot) or float(old.out @ new.out) > 0.99
        ):
            return
    found.append(new)
