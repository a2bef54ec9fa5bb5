# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Motion as keys: where a body is at a few moments, and how it goes from one to the next.

A pose is a rigid displacement from the place that the body has in the design, a point p goes to
``turn p + shift``. Between two keys the shift runs straight; turns are quaternions (w, x, y, z)
whose components run straight and are brought to unit length, as Blender and glTF do it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["EASE", "JUMP", "LINE", "STILL", "Track", "matrix_of", "product", "turned_between"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

EASE = 0  # slow at both ends: 3 s^2 - 2 s^3, a cubic Bezier curve with level handles at thirds
LINE = 1  # at one speed
JUMP = 2  # stays till the next key, and is there at once

STILL: Floats = np.array([1.0, 0.0, 0.0, 0.0])
STILL.setflags(write=False)


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """The way of one body.

    times : (k,) ascending; shifts : (k, 3) mm; turns : (k, 4) unit quaternions, none the far way
    kinds : (k - 1,) EASE, LINE or JUMP, from each key to the next
    A body is seen from its first key on, and keeps the pose of the last.
    """

    times: Floats
    shifts: Floats
    turns: Floats
    kinds: Ints

    @classmethod
    def of(cls, times: object, shifts: object, turns: object = None, kinds: object = EASE) -> Track:
        """Make a track; turns : None where nothing turns; kinds : one for all, or each."""
        when = np.array(times, dtype=float)
        count = len(when)
        about = np.tile(STILL, (count, 1)) if turns is None else np.array(turns, dtype=float)
        for k in range(1, count):
            if about[k] @ about[k - 1] < 0:
                about[k] = -about[k]
        each = np.broadcast_to(np.array(kinds, dtype=np.intp), (max(count - 1, 0),)).copy()
        return cls(when, np.array(shifts, dtype=float).reshape(-1, 3), about, each)

    @property
    def turns_about(self) -> bool:
        """Tell whether the body is ever turned."""
        return bool(np.abs(self.turns - STILL).max() > 0)

    def at(self, moment: float) -> tuple[Floats, Floats]:
        """Return shift (3,) and quaternion (4,) at a moment; before the first key: the first."""
        k = int(np.searchsorted(self.times, moment, side="right")) - 1
        if k < 0 or len(self.times) == 1:
            return self.shifts[0], self.turns[0]
        if k >= len(self.kinds):
            return self.shifts[-1], self.turns[-1]
        s = (moment - self.times[k]) / (self.times[k + 1] - self.times[k])
        kind = self.kinds[k]
        s = 0.0 if kind == JUMP else s * s * (3 - 2 * s) if kind == EASE else s
        turn = self.turns[k] + s * (self.turns[k + 1] - self.turns[k])
        shift = self.shifts[k] + s * (self.shifts[k + 1] - self.shifts[k])
        return shift, turn / np.linalg.norm(turn)

    def many(self, moments: Floats) -> tuple[Floats, Floats]:
        """Return shifts (n, 3) and rotation matrices (n, 3, 3) at moments (n,)."""
        count = len(self.times)
        k = np.clip(np.searchsorted(self.times, moments, side="right") - 1, 0, count - 1)
        after = np.minimum(k + 1, count - 1)
        span = np.where(after > k, self.times[after] - self.times[k], 1.0)
        s = np.clip((moments - self.times[k]) / span, 0.0, 1.0)
        kind = np.append(self.kinds, JUMP)[k]
        s = np.where(kind == JUMP, 0.0, np.where(kind == EASE, s * s * (3 - 2 * s), s))[:, None]
        shifts = self.shifts[k] + s * (self.shifts[after] - self.shifts[k])
        turns = self.turns[k] + s * (self.turns[after] - self.turns[k])
        turns = turns / np.linalg.norm(turns, axis=1, keepdims=True)
        return shifts, np.moveaxis(matrix_of(turns.T), 2, 0)

    def pose(self, moment: float) -> Floats:
        """Return the displacement at a moment as (4, 4)."""
        shift, turn = self.at(moment)
        found = np.eye(4)
        found[:3, :3], found[:3, 3] = matrix_of(turn), shift
        return found

    def timed(self, start: float, length: float) -> Track:
        """Return a track whose own time 0 to 1 is laid to `start` and on for `length`."""
        return Track(start + length * self.times, self.shifts, self.turns, self.kinds)

    def scaled(self, factor: float) -> Track:
        """Return the same way at another pace."""
        return Track(factor * self.times, self.shifts, self.turns, self.kinds)

    def before(self, later: Track) -> Track:
        """Return this track and then a later one; in between the body keeps still."""
        turns = later.turns if self.turns[-1] @ later.turns[0] >= 0 else -later.turns
        return Track(
            np.concatenate([self.times, later.times]),
            np.concatenate([self.shifts, later.shifts]),
            np.concatenate([self.turns, turns]),
            np.concatenate([self.kinds, [JUMP], later.kinds]),
        )

    def within(self, turn: Floats, shift: Floats) -> Track:
        """Return the way as seen after a further rigid motion: quaternion (4,), shift (3,)."""
        there = self.shifts @ matrix_of(turn).T + shift
        turns = np.array([product(turn, one) for one in self.turns])
        return Track.of(self.times, there, turns, self.kinds)


def matrix_of(turn: Floats) -> Floats:
    """Return the matrix (3, 3) of a unit quaternion (4,), or (3, 3, n) of (4, n): w, x, y, z."""
    w, x, y, z = turn
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
            [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
            [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
        ]
    )


def product(a: Floats, b: Floats) -> Floats:
    """Return the quaternion of turning by b, then by a (Hamilton's product)."""
    scalar = a[0] * b[0] - a[1:] @ b[1:]
    vector = a[0] * b[1:] + b[0] * a[1:] + np.cross(a[1:], b[1:])
    return np.array([scalar, *vector])


def turned_between(a: Floats, b: Floats) -> Floats:
    """Return the quaternion of the least turn that brings unit vector a (3,) to b (3,)."""
    along = float(a @ b)
    if along < -1 + 1e-9:  # half a turn, about any axis square to a
        axis = np.cross(a, np.eye(3)[int(np.argmin(np.abs(a)))])
        return np.array([0.0, *(axis / np.linalg.norm(axis))])
    found: Floats = np.array([1 + along, *np.cross(a, b)])
    return found / np.linalg.norm(found)
