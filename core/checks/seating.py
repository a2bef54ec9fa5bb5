# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Does a body seat in several joints at once? A small linear programme over its play.

Each tab must lie inside its slot at both faces of the slotted sheet, its shoulder outside, its pin
clear of the far face; each lap must hold the other sheet. For small motions of the body these are
linear in the six numbers of the motion; the programme finds the motion with the largest margin.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import linprog

from .mates import LAP_OPEN, LEVEL, JointSizeTable, MateKind, Mates

__all__ = ["play_boxes", "seated"]

Floats = npt.NDArray[np.float64]

_TOUCH = 1e-6  # mm; rounding
_LEVER = 100.0  # mm; turns are counted as the way of a point this far away
_MOST_SHIFT = 60.0  # mm; farther than any tab slides in a slot
_MOST_TURN = 0.05  # rad; beyond that the motion is not small any more
_ROUNDS = 3  # of linearising anew where the last one ended


@dataclass(slots=True)
class _Rows:
    """Conditions way . motion of the point <= room, one row each."""

    way: list[Floats]
    point: list[Floats]
    room: list[float]

    def add(self, way: Floats, point: Floats, room: float) -> None:
        self.way.append(way)
        self.point.append(point)
        self.room.append(room)

    def both(self, way: Floats, point: Floats, value: float, most: float) -> None:
        """Add -most <= value + way . motion <= most."""
        self.add(way, point, most - value)
        self.add(-way, point, most + value)


def seated(
    mine: Mates, open_: Mates, matches: Sequence[tuple[int, int]], sizes: JointSizeTable
) -> Floats | None:
    """Return a small motion (4, 4) that seats the body best, or None when there is none.

    mine : the body's mates where it was brought; open_ : those of the plates that stand
    matches : (mate of the body, open mate) of every joint that must close
    """
    total = np.eye(4)
    moved = mine
    rows = _conditions(moved, open_, matches, sizes)
    if min(rows.room) > -_TOUCH:
        return total
    slid = _slid(mine, open_, matches, sizes)
    if min(_conditions(mine.moved(slid), open_, matches, sizes).room) > -_TOUCH:
        return slid
    for _ in range(_ROUNDS):
        step = _best_motion(rows)
        if step is None:
            return None
        total = step @ total
        moved = mine.moved(total)
        rows = _conditions(moved, open_, matches, sizes)
        if np.abs(step - np.eye(4)).max() < 1e-4:
            break
    return total if min(rows.room) > -1e-4 else None


def _slid(
    mine: Mates, open_: Mates, matches: Sequence[tuple[int, int]], sizes: JointSizeTable
) -> Floats:
    """Return the shift (4, 4) that brings mates into the middles of their plays on average."""
    middle, _, _ = play_boxes(mine, open_, matches, sizes)
    motion = np.eye(4)
    motion[:3, 3] = (middle - mine.point[[f for f, _ in matches]]).mean(axis=0)
    return motion


def play_boxes(
    mine: Mates, open_: Mates, matches: Sequence[tuple[int, int]], sizes: JointSizeTable
) -> tuple[Floats, Floats, Floats]:
    """Return for each match the box in which the mate's point may lie.

    Returns: its middle (k, 3), its axes (k, 3, 3) as rows, and half its sides (k, 3), mm
    """
    middle, axes = np.empty((len(matches), 3)), np.empty((len(matches), 3, 3))
    half = np.empty((len(matches), 3))
    for k, (f, g) in enumerate(matches):
        if MateKind(int(mine.kind[f])).in_plane:
            middle[k] = open_.point[g]
            axes[k] = open_.along[g], open_.out[g], open_.normal[g]
            aside, apart, _ = _flat_room(mine, f, open_, g, sizes)
            half[k] = aside, apart, LEVEL
            continue
        if mine.kind[f] == MateKind.LAP:
            room = float(sizes.lap_width[[mine.joint[f], open_.joint[g]]].max()) / 2
            middle[k], axes[k] = open_.point[g], np.eye(3)
            half[k] = max(room, 2 * sizes.clearance + LAP_OPEN)
            continue
        moves = mine.kind[f] == MateKind.TAB
        tabs, a, slots, b = (mine, f, open_, g) if moves else (open_, g, mine, f)
        line, normal = slots.along[b], slots.normal[b]
        sine = float(tabs.out[a] @ normal)
        least, most = _depths(int(tabs.joint[a]), abs(sine), sizes)
        deep = (least + most) / 2 * sine * normal
        middle[k] = open_.point[g] + (deep if moves else -deep)
        axes[k] = line, np.cross(normal, line), normal
        i, j = tabs.joint[a], slots.joint[b]
        across = sizes.slot_width[j] / 2 - sizes.thickness / 2 / max(abs(sine), 1e-6)
        along = (sizes.slot_length[j] - sizes.tab_width[i]) / 2
        half[k] = along, across, abs(sine) * (most - least) / 2
    return middle, axes, np.maximum(half, 0.0)


def _depths(joint: int, sine: float, sizes: JointSizeTable) -> tuple[float, float]:
    """Return the least and the most that a tab may go in beyond its proper place, mm.

    Its shoulder stops it; and its lock clears the far face by its play where it was meant to go.
    """
    angle = float(np.arcsin(min(sine, 1.0)))
    least = float(sizes.reach(angle) - sizes.reach(sizes.angle[joint])) - sizes.pin_play
    return least, float(sizes.shoulder[joint] - sizes.half_band(angle))


def _best_motion(rows: _Rows) -> Floats | None:
    """Return the small motion with the largest margin in all rows, or None when none is left."""
    way, point = np.array(rows.way), np.array(rows.point)
    origin = point.mean(axis=0)
    turning = np.cross(point - origin, way) / _LEVER
    matrix = np.column_stack([way, turning, np.ones(len(way))])
    turn = _MOST_TURN * _LEVER
    bounds = [(-_MOST_SHIFT, _MOST_SHIFT)] * 3 + [(-turn, turn)] * 3 + [(-1.0, 1.0)]
    found = linprog([0.0] * 6 + [-1.0], matrix, rows.room, bounds=bounds, method="highs")
    if not found.success or found.x[6] < -1e-4:
        return None
    vector = found.x[3:6] / _LEVER
    motion = np.eye(4)
    motion[:3, :3] = _rotation(vector)
    motion[:3, 3] = found.x[:3] + origin - motion[:3, :3] @ origin
    return motion


def _rotation(vector: Floats) -> Floats:
    """Return the rotation (3, 3) about a vector by its length in radians (Rodrigues' formula)."""
    angle = float(np.linalg.norm(vector))
    if angle < 1e-15:
        return np.eye(3)
    x, y, z = vector / angle
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turn: Floats = np.eye(3) + np.sin(angle) * cross + (1 - np.cos(angle)) * cross @ cross
    return turn


def _conditions(
    mine: Mates, open_: Mates, matches: Sequence[tuple[int, int]], sizes: JointSizeTable
) -> _Rows:
    rows = _Rows([], [], [])
    for f, g in matches:
        if MateKind(int(mine.kind[f])).in_plane:
            _flat_rows(rows, mine, f, open_, g, sizes)
        elif mine.kind[f] == MateKind.LAP:
            _lap_rows(rows, mine, f, open_, g, sizes)
        elif mine.kind[f] == MateKind.TAB:
            _tenon_rows(rows, mine, f, open_, g, sizes, 1.0)
        else:
            _tenon_rows(rows, open_, g, mine, f, sizes, -1.0)
    return rows


def _tenon_rows(
    rows: _Rows, tabs: Mates, a: int, slots: Mates, b: int, sizes: JointSizeTable, sign: float
) -> None:
    """Add the conditions of tab `a` in slot `b`; sign -1: it is the slot that moves."""
    i, j = int(tabs.joint[a]), int(slots.joint[b])
    line, normal = slots.along[b], slots.normal[b]
    across = np.cross(normal, line)
    grown, middle = tabs.out[a], tabs.point[a]
    sine = float(grown @ normal)
    least, most = _depths(i, abs(sine), sizes)
    half = sizes.tab_width[i] / 2
    # Within the sheet the tab's middle plane runs from face to face; half its thickness as the
    # slot sees it is left on each side.
    room_across = sizes.slot_width[j] / 2 - sizes.thickness / 2 / max(abs(sine), 1e-6)
    for side in (-half, half):
        for face in (-0.5, 0.5):
            corner = middle + side * tabs.along[a] + face * sizes.thickness / sine * grown
            value = float((corner - slots.point[b]) @ across)
            rows.both(sign * across, corner, value, float(room_across))
        end = middle + side * tabs.along[a]
        along = float((end - slots.point[b]) @ line)
        rows.both(sign * line, end, along, float(sizes.slot_length[j] / 2))
        depth = float((end - slots.point[b]) @ normal / sine)
        rows.add(sign * normal / sine, end, most - depth)
    depth = float((middle - slots.point[b]) @ normal / sine)
    rows.add(-sign * normal / sine, middle, depth - least)


def _lap_rows(
    rows: _Rows, mine: Mates, f: int, open_: Mates, g: int, sizes: JointSizeTable
) -> None:
    """Add the conditions of one lap in another: each slot holds the other's sheet."""
    cosine = abs(float(mine.normal[f] @ open_.normal[g]))
    angle = float(np.arccos(min(cosine, 1.0)))
    band = float(sizes.half_band(max(angle, 1e-3)))
    for one, k, two, m, sign in ((open_, g, mine, f, 1.0), (mine, f, open_, g, -1.0)):
        # Slot k of `one` holds the sheet of `two`, whose line runs on from the bottom of its slot.
        across = np.cross(one.normal[k], one.along[k])
        room = float(sizes.lap_width[one.joint[k]]) / 2 - band
        for end in (0.0, float(one.depth[k])):
            place = two.point[m] - end * two.along[m]
            value = float((place - one.point[k]) @ across)
            rows.both(sign * across, place, value, room)
    way = mine.along[f]
    apart = float((mine.point[f] - open_.point[g]) @ way)
    rows.add(way, mine.point[f], 2 * sizes.clearance - apart)
    rows.add(-way, mine.point[f], 2 * sizes.clearance + LAP_OPEN + apart)


def _flat_room(
    mine: Mates, f: int, open_: Mates, g: int, sizes: JointSizeTable
) -> tuple[float, float, float]:
    """Return the play of a splice aside and apart, and how far it reaches into each strip, mm."""
    i, j = int(mine.joint[f]), int(open_.joint[g])
    aside = max(float(sizes.aside[i]), float(sizes.aside[j]))
    if mine.kind[f] != MateKind.BUTT:
        key, socket = (i, j) if mine.kind[f] == MateKind.KEY else (j, i)
        aside = float(sizes.slot_length[socket] - sizes.tab_width[key]) / 2
    apart = max(float(sizes.apart[i]), float(sizes.apart[j]))
    return aside, apart, max(float(sizes.key_length[i]), float(sizes.key_length[j]), 1.0)


def _flat_rows(
    rows: _Rows, mine: Mates, f: int, open_: Mates, g: int, sizes: JointSizeTable
) -> None:
    """Add the conditions of a splice: level, straight on, and within its play in the plane."""
    line, out, normal = open_.along[g], open_.out[g], open_.normal[g]
    aside, apart, deep = _flat_room(mine, f, open_, g, sizes)
    for reach in (0.0, deep):
        # Both count along the way in which the open mate points.
        place = mine.point[f] + reach * mine.out[f] * np.sign(mine.out[f] @ out)
        goal = open_.point[g] + reach * out
        rows.both(line, place, float((place - goal) @ line), aside)
        rows.both(out, place, float((place - goal) @ out), apart)
        for side in (-deep / 2, deep / 2):
            corner = place + side * mine.along[f]
            rows.both(normal, corner, float((corner - goal) @ normal), LEVEL)
