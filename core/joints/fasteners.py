# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every solid that keeps a tab in its slot, placed: pins, and what takes their place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..fit.fish_plate import FishPlateSizes
from ..fit.lock import Block
from .classes import JointClass
from .table import JointTable

__all__ = ["Fasteners", "fasteners_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Fasteners:
    """F solids, joint after joint.

    joint : (F,) int, row of the table; tab : (F,) int, 0 or 1, which of the joint's tabs it holds
    local : (F,) int, its number among the solids of its joint: equal in all copies of a class
    kind : F words; block : F sections, None for a pin
    world : (F, 4, 4) mm; a pin's axis is its z, along the line its x; a block's x and y are those
        of its section, its z runs along the line
    """

    joint: Ints
    tab: Ints
    local: Ints
    kind: tuple[str, ...]
    block: tuple[Block | None, ...]
    world: Floats

    def __len__(self) -> int:
        """Return the number of solids."""
        return len(self.joint)


def fasteners_of(classes: Sequence[JointClass], table: JointTable) -> Fasteners:
    """Place the solids of every joint of the table."""
    rows: list[tuple[int, int, int, str, Block | None]] = []
    poses: list[Floats] = []
    for c, joint in enumerate(classes):
        if isinstance(joint.splice, FishPlateSizes):
            which = np.flatnonzero(table.joint_class == c)
            for local, (kind, block, own) in enumerate(_of_fish_plate(table, which, joint.splice)):
                poses.append(own)
                rows += [(int(k), 0, local, kind, block) for k in which]
        if joint.tenon is None:
            continue
        lock, which = joint.tenon.lock, np.flatnonzero(table.joint_class == c)
        local = 0
        for tab, place in enumerate(joint.tenon.places):
            for x, _ in lock.pins:
                poses.append(_pin_poses(table, which, place + x))
                rows += [(int(k), tab, local, "pin", None) for k in which]
                local += 1
            for block in lock.blocks:
                poses.append(_block_poses(table, which, place, block, joint.lean))
                rows += [(int(k), tab, local, block.kind, block) for k in which]
                local += 1
    if not rows:
        none = np.zeros(0, dtype=np.intp)
        return Fasteners(none, none, none, (), (), np.zeros((0, 4, 4)))
    order = sorted(range(len(rows)), key=lambda k: (rows[k][0], rows[k][2]))
    rows = [rows[k] for k in order]
    world = np.concatenate(poses)[order]
    world.setflags(write=False)
    numbers = np.array([row[:3] for row in rows], dtype=np.intp)
    return Fasteners(
        numbers[:, 0],
        numbers[:, 1],
        numbers[:, 2],
        tuple(row[3] for row in rows),
        tuple(row[4] for row in rows),
        world,
    )


def _pin_poses(table: JointTable, which: Ints, x: float) -> Floats:
    """Return (n, 4, 4): square to the tab's plane, in which the joint's line lies."""
    line, axis = table.line[which], table.pin_axis[which]
    return _poses(line, np.cross(axis, line), axis, table.pin_centre[which] + x * line)


def _block_poses(table: JointTable, which: Ints, place: float, block: Block, lean: int) -> Floats:
    """Return (n, 4, 4) of a section in (insertion, leaning side), run along the line."""
    line, insertion = lean * table.line[which], table.insertion[which]
    centre = table.centre[which] + (lean * place + block.x) * line
    return _poses(insertion, np.cross(line, insertion), line, centre)


def _of_fish_plate(
    table: JointTable, which: Ints, splice: FishPlateSizes
) -> list[tuple[str, Block | None, Floats]]:
    """Return the plate, flat on the strips, and its pins, each with its poses (n, 4, 4)."""
    line, normal = table.line[which], table.insertion[which]
    out = np.cross(line, normal)
    lift = splice.side * splice.thickness * normal
    found: list[tuple[str, Block | None, Floats]] = [
        (splice.block.kind, splice.block, _poses(out, line, normal, table.centre[which] + lift))
    ]
    for y in splice.pins:
        centre = table.centre[which] + lift / 2 + splice.shift * line + y * out
        found.append(("pin", None, _poses(line, np.cross(normal, line), normal, centre)))
    return found


def _poses(x: Floats, y: Floats, z: Floats, centre: Floats) -> Floats:
    poses = np.zeros((len(x), 4, 4))
    for column, axis in enumerate((x, y, z, centre)):
        poses[:, :3, column] = axis
    poses[:, 3, 3] = 1.0
    return poses
