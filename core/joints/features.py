# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What each joint class cuts from or adds to a motif, in the motif's own plane.

A class reaches a motif from both of its roles and through every element that keeps the motif in
place; the same feature met twice is kept once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..design.model import JointKind
from ..errors import DesignError
from ..frame.group import Group
from ..plates.motif import Motif
from ..plates.planes import to_plane
from .classes import JointClass

__all__ = [
    "SAME_PLACE",
    "Key",
    "Lap",
    "MotifFeatures",
    "Slot",
    "Tab",
    "lap_groups",
    "motif_features",
]

Floats = npt.NDArray[np.float64]

#: Two features nearer than this (mm) are one: a cut is never so short, and a plate that is carried
#: onto itself by a turn known to five digits comes back within it.
SAME_PLACE = 0.1
#: Cosine above which two directions are one; features that differ at all differ by far more.
_SAME_WAY = 0.99


@dataclass(frozen=True, slots=True, eq=False)
class Tab:
    """A tab that grows out of its plate's edge.

    place : (2,) where its centre line crosses the section line, mm
    along : (2,) unit vector of the section line; out : (2,) unit vector, the way that it grows
    joint : index of its class
    """

    place: Floats
    along: Floats
    out: Floats
    joint: int


@dataclass(frozen=True, slots=True, eq=False)
class Slot:
    """A closed slot for a tab.

    place : (2,) its centre, mm; along : (2,) unit vector of its long sides
    joint : index of its class
    """

    place: Floats
    along: Floats
    joint: int


@dataclass(frozen=True, slots=True, eq=False)
class Lap:
    """The open slot of a cross-lap.

    place : (2,) middle of the overlap, mm
    out : (2,) unit vector, the way to the edge where it opens
    bottom : where it begins, mm from `place` along `out`
    joint : index of its class
    """

    place: Floats
    out: Floats
    bottom: float
    joint: int


@dataclass(frozen=True, slots=True, eq=False)
class Key:
    """The key of a splice, or its socket.

    place : (2,) middle of the strip's end, mm; along : (2,) unit vector across the strip
    out : (2,) unit vector, the way that the key points; socket : it is the socket's plate
    joint : index of its class
    """

    place: Floats
    along: Floats
    out: Floats
    socket: bool
    joint: int


@dataclass(frozen=True, slots=True)
class MotifFeatures:
    """All features of one motif."""

    tabs: tuple[Tab, ...]
    slots: tuple[Slot, ...]
    laps: tuple[Lap, ...]
    keys: tuple[Key, ...] = ()


def lap_groups(laps: Sequence[Lap], classes: Sequence[JointClass]) -> list[list[Lap]]:
    """Gather the open slots of one motif that are one opening, the deepest slot first.

    Where three plates meet on one line, a plate has slots for two others in one place. Slots are
    one opening when they open the same way and their overlaps meet on one line.
    """
    groups: list[list[Lap]] = []
    for lap in laps:
        home = next((group for group in groups if _one_opening(lap, group[0], classes)), None)
        if home is None:
            groups.append([lap])
        else:
            home.append(lap)
    return [
        sorted(group, key=lambda lap: float(lap.place @ lap.out) + lap.bottom) for group in groups
    ]


def _one_opening(one: Lap, two: Lap, classes: Sequence[JointClass]) -> bool:
    if one.out @ two.out < _SAME_WAY:
        return False
    apart = one.place - two.place
    aside = abs(float(apart[0] * two.out[1] - apart[1] * two.out[0]))
    reach = sum(_overlap_length(classes[lap.joint]) for lap in (one, two)) / 2
    return aside < SAME_PLACE and abs(float(apart @ two.out)) < reach


def _overlap_length(joint: JointClass) -> float:
    assert joint.lap is not None  # cross-laps always carry their overlap
    return joint.lap[2] - joint.lap[0]


def motif_features(
    classes: Sequence[JointClass], motifs: Sequence[Motif], group: Group
) -> tuple[MotifFeatures, ...]:
    """Collect the features of every motif, in the order of the motifs.

    Raises
    ------
    DesignError : one cross-lap is cut to two depths, since its two plates are copies of each other.
    """
    tabs: list[list[Tab]] = [[] for _ in motifs]
    slots: list[list[Slot]] = [[] for _ in motifs]
    laps: list[list[Lap]] = [[] for _ in motifs]
    keys: list[list[Key]] = [[] for _ in motifs]
    for j, joint in enumerate(classes):
        for place, along, out in _seen(joint, joint.a, 0, motifs, group):
            if joint.kind is JointKind.TENON:
                _add_tab(tabs[joint.a], Tab(place, along, out, j))
            elif joint.splice is not None:
                _add_key(keys[joint.a], Key(place, along, out, False, j), joint)
            else:
                _add_lap(laps[joint.a], Lap(place, out, _split(joint), j), classes)
        for place, along, out in _seen(joint, joint.b, joint.element, motifs, group):
            if joint.kind is JointKind.TENON:
                _add_slot(slots[joint.b], Slot(place, along, j))
            elif joint.splice is not None:
                _add_key(keys[joint.b], Key(place, along, out, True, j), joint)
            else:
                _add_lap(laps[joint.b], Lap(place, -out, -_split(joint), j), classes)
    return tuple(
        MotifFeatures(tuple(t), tuple(s), tuple(p), tuple(k))
        for t, s, p, k in zip(tabs, slots, laps, keys, strict=True)
    )


def _seen(
    joint: JointClass, motif: int, element: int, motifs: Sequence[Motif], group: Group
) -> list[tuple[Floats, Floats, Floats]]:
    """Return place, line and insertion of a joint in the plane of a motif, once for each way.

    element : carries the motif to the plate that the joint is at; the joint is carried back by it,
        and on by every turn that keeps the motif in place
    """
    plane = motifs[motif].world_from_plane
    found = []
    for turn in motifs[motif].stabiliser:
        matrix = group.matrices[group.product[turn, group.inverse[element]]]
        place = to_plane(plane, matrix @ joint.centre)
        axes = plane[:3, :2]
        found.append((place, (matrix @ joint.line) @ axes, (matrix @ joint.way) @ axes))
    return found


def _split(joint: JointClass) -> float:
    """Return where the two slots of a cross-lap meet, mm from its centre along the insertion."""
    assert joint.lap is not None  # cross-laps always carry their overlap
    return joint.lap[1] if joint.insertion @ joint.line > 0 else -joint.lap[1]


def _together(one: Tab | Slot | Lap | Key, two: Tab | Slot | Lap | Key) -> bool:
    return bool(np.abs(one.place - two.place).max() < SAME_PLACE)


def _add_tab(found: list[Tab], new: Tab) -> None:
    """Append a tab unless it is there."""
    if not any(_together(old, new) and old.out @ new.out > _SAME_WAY for old in found):
        found.append(new)


def _add_key(found: list[Key], new: Key, joint: JointClass) -> None:
    """Append a key or a socket unless it is there; an end cannot have both, nor two places."""
    assert joint.splice is not None  # keys come from splices only
    for old in found:
        if _together(old, new):
            if old.socket != new.socket:
                raise DesignError(
                    "joint_classes.motifs",
                    "a strip's end that is spliced to a copy of itself",
                    "a key on one strip and a socket in the other",
                    "Give the two strips motifs of their own.",
                )
            if joint.splice.shift != 0.0 and old.along @ new.along < 0.0:
                raise DesignError(
                    f"joint_classes.{joint.name}.at",
                    joint.splice.shift,
                    "0 for a strip that a turn of the group carries onto itself, turned over",
                    "It would come out shifted to both sides.",
                )
            return
    found.append(new)


def _add_slot(found: list[Slot], new: Slot) -> None:
    """Append a slot unless it is there; it is the same the other way round."""
    if not any(_together(old, new) and abs(old.along @ new.along) > _SAME_WAY for old in found):
        found.append(new)


def _add_lap(found: list[Lap], new: Lap, classes: Sequence[JointClass]) -> None:
    """Append an open slot unless it is there.

    Where three plates meet on one line, slots of two joints lie in one place: both stay.
    """
    joint = classes[new.joint]
    for old in found:
        if not (_together(old, new) and old.out @ new.out > _SAME_WAY):
            continue
        deep = abs(old.bottom - new.bottom)
        if deep > SAME_PLACE and old.joint == new.joint:
            raise DesignError(
                f"joint_classes.{joint.name}.split",
                f"slots of two depths, {deep:.2f} mm apart, in one",
                "0.5 where the two plates are copies of each other by a half-turn",
                "Both are cut alike.",
            )
        if deep <= SAME_PLACE and abs(classes[old.joint].lap_width - joint.lap_width) < 1e-6:
            return
    found.append(new)
