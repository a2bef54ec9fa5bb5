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
from .features import SAME_PLACE

__all__ = ["JointTable", "joint_table"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class JointTable:
    """J joints, in the order of their classes.

    joint_class : (J,) int, index of the class
    first, second : (J,) int, plates; the first has the tab, or the lap that opens along `insertion`
    centre : (J, 3) mm; line, insertion : (J, 3) unit vectors; see `JointClass`
    pin_centre : (J, 3) mm; pin_axis : (J, 3) unit vectors; without meaning for cross-laps
    angle_deg : (J,) between the two planes
    has_pin : (J,) bool, it is a tenon
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
    has_pin: Bools

    def __len__(self) -> int:
        """Return the number of joints."""
        return len(self.first)


def joint_table(
    classes: Sequence[JointClass], motifs: Sequence[Motif], orbits: Orbits, group: Group
) -> JointTable:
    """Carry every class round by the group and keep each physical joint once.

    Copies coincide when a motif has a stabiliser, when a two-fold class meets itself the other way
    round, or when a design lists one joint twice; they are told by their two plates and their place
    (to 0.1 mm).
    """
    columns = [
        _carried(j, joint, motifs[joint.a], orbits, group) for j, joint in enumerate(classes)
    ]
    if not columns:
        none, nowhere = np.zeros(0, dtype=np.intp), np.zeros((0, 3))
        columns = [(none, none, none, *(nowhere,) * 5, np.zeros(0), np.zeros(0, dtype=bool))]
    table = JointTable(*(np.concatenate(column) for column in zip(*columns, strict=True)))
    keep = _distinct(table)
    kept = [getattr(table, name)[keep] for name in JointTable.__slots__]
    for column in kept:
        column.setflags(write=False)
    return JointTable(*kept)


def _carried(
    j: int, joint: JointClass, motif: Motif, orbits: Orbits, group: Group
) -> tuple[Ints, Ints, Ints, Floats, Floats, Floats, Floats, Floats, Floats, Bools]:
    """Return the columns of the table for all copies of one class, in the order of the elements."""
    beyond = 0.0 if joint.tenon is None else joint.tenon.pin_centre
    turned = group.matrices
    return (
        np.full(group.order, j, dtype=np.intp),
        orbits.plate_of[joint.a],
        orbits.plate_of[joint.b][group.product[:, joint.element]],
        turned @ joint.centre,
        turned @ joint.line,
        turned @ joint.insertion,
        turned @ (joint.centre + beyond * joint.insertion),
        turned @ motif.normal,
        np.full(group.order, joint.angle_deg),
        np.full(group.order, joint.tenon is not None),
    )


def _distinct(table: JointTable) -> Ints:
    """Return the rows of the distinct joints, in order; a cross-lap is the same from both sides."""
    swapped = ~table.has_pin & (table.first > table.second)
    low = np.where(swapped, table.second, table.first)
    high = np.where(swapped, table.first, table.second)
    # Joints of one pair of plates stand in a row, in the order of the table.
    order = np.lexsort((np.arange(len(table)), table.has_pin, high, low))
    keys = np.column_stack([low, high, table.has_pin])[order]
    starts = np.flatnonzero((np.diff(keys, axis=0, prepend=-1) != 0).any(axis=1))
    keep = np.ones(len(table), dtype=bool)
    ends = np.append(starts[1:], len(order))
    for group in np.flatnonzero(ends - starts > 1).tolist():
        rows = order[starts[group] : ends[group]]
        for k in range(1, len(rows)):
            earlier = rows[:k][keep[rows[:k]]]
            gaps = np.abs(table.centre[earlier] - table.centre[rows[k]]).max(axis=1)
            keep[rows[k]] = gaps.min() > SAME_PLACE
    return np.flatnonzero(keep)
