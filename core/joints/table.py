# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every joint of the sculpture as arrays: each class carried round by the group, once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..frame.group import Group
from ..plates.motif import Motif
from ..plates.orbits import Orbits
from .classes import JointClass

__all__ = ["JointTable", "joint_table"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class JointTable:
    """J joints, in the order of their classes.

    joint_class, first, second : (J,) int; first has the tab (tenon) or the slot that opens along
    `insertion`; centre, line, insertion, pin_centre, pin_axis : (J, 3); angle_deg : (J,);
    has_pin : (J,) bool
    """

    joint_class: Ints
    first: Ints
    second: Ints
    centre: Floats
    line: Floats
    insertion: Floats
    pin_centre: Floats
    pin_axis: Floats
    angle_deg: Floats
    has_pin: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.first)


def joint_table(
    classes: Sequence[JointClass], motifs: Sequence[Motif], orbits: Orbits, group: Group
) -> JointTable:
    """Carry every class round by the group and keep each physical joint once.

    Copies coincide when a motif has a stabiliser, when a two-fold class meets itself the other way
    round, or when a design lists one joint twice; they are told by their two plates and their place
    (to 0.001 mm).
    """
    columns: list[tuple[Ints | Floats, ...]] = []
    for j, joint in enumerate(classes):
        first = orbits.plate_of[joint.a]
        second = orbits.plate_of[joint.b][group.product[:, joint.element]]
        centres = group.matrices @ joint.centre
        beyond = 0.0 if joint.tenon is None else joint.tenon.pin_centre
        turned = group.matrices
        columns.append(
            (
                np.full(group.order, j, dtype=np.intp),
                first,
                second,
                centres,
                turned @ joint.line,
                turned @ joint.insertion,
                turned @ (joint.centre + beyond * joint.insertion),
                turned @ motifs[joint.a].normal,
                np.full(group.order, joint.angle_deg),
                np.full(group.order, joint.tenon is not None),
            )
        )
    if not columns:
        none, nowhere = np.zeros(0, dtype=np.intp), np.zeros((0, 3))
        return JointTable(none, none, none, *(nowhere,) * 5, np.zeros(0), np.zeros(0, dtype=bool))
    table = [np.concatenate(column) for column in zip(*columns, strict=True)]
    lap = ~table[9].astype(bool)
    keep = _distinct(table[1], table[2], table[3], lap)
    return JointTable(*(column[keep] for column in table))


def _distinct(first: Ints, second: Ints, centres: Floats, lap: npt.NDArray[np.bool_]) -> Ints:
    """Indices of the distinct joints, in order; a cross-lap is the same from both sides."""
    low = np.where(lap, np.minimum(first, second), first)
    high = np.where(lap, np.maximum(first, second), second)
    # Rounded after a shift by half a grain's odd share, so that exact zeros do not straddle.
    grid = np.floor(centres / 1e-3 + 0.3819).astype(np.int64)
    keys = np.column_stack([low, high, grid])
    return np.sort(np.unique(keys, axis=0, return_index=True)[1])
