# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the plates of a step are at any moment of it: the same for proof, judge and animation.

A step's plates move as one rigid body through the poses of `Step.way` and `Step.turns`. A pose
carries a point x of the finished sculpture to

    pivot + shift + turn (x - pivot)

Between two poses the shift runs in a straight line and the turn at a constant rate about one axis,
the short way round (spherical linear interpolation of quaternions).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation, Slerp

from ..results import Build, Step

__all__ = ["ARM", "body_pose", "carried", "leg_lengths", "moments", "plate_poses", "poses_between"]

Floats = npt.NDArray[np.float64]

#: mm. A turn by an angle lasts as long as a shift by that angle on a circle of this radius.
ARM = 250.0


def leg_lengths(step: Step) -> Floats:
    """Return how long each leg of a step's way counts, (k - 1,) mm.

    All moves at one speed: a shift takes its length, a turn its angle on a circle of `ARM`. Of a
    shift and a turn at once the longer counts.
    """
    shift: Floats = np.linalg.norm(np.diff(step.way, axis=0), axis=1)
    if step.turns is None or len(shift) == 0:
        return shift
    turns = Rotation.from_quat(step.turns)
    return np.maximum(shift, (turns[1:] * turns[:-1].inv()).magnitude() * ARM)


def moments(step: Step) -> Floats:
    """Return when each pose of a step is reached, (k,) from 0 (outside) to 1 (in place).

    A step without a way is in place all the time.
    """
    reached = np.concatenate([[0.0], np.cumsum(leg_lengths(step))])
    return reached / reached[-1] if reached[-1] > 0.0 else np.ones(len(reached))


def body_pose(step: Step, moment: float) -> Floats:
    """Return (4, 4): where the step's plates have come, from their places; world coordinates, mm.

    moment : 0 (outside) to 1 (in place); beyond, it stays at the end
    """
    reached = moments(step)
    k = int(np.clip(np.searchsorted(reached, moment, side="right") - 1, 0, len(reached) - 1))
    if k == len(reached) - 1:
        return carried(step.pivot, step.way[-1], None if step.turns is None else step.turns[-1])
    share = (max(moment, 0.0) - reached[k]) / (reached[k + 1] - reached[k])
    shift = step.way[k] + share * (step.way[k + 1] - step.way[k])
    if step.turns is None:
        return carried(step.pivot, shift, None)
    between = Slerp([0.0, 1.0], Rotation.from_quat(step.turns[k : k + 2]))
    return carried(step.pivot, shift, between(share).as_quat())


def plate_poses(build: Build, step: Step, moment: float) -> dict[int, Floats]:
    """Return for each plate that the step adds its world_from_part (4, 4) at a moment, 0 to 1."""
    moved = body_pose(step, moment)
    return {plate: moved @ build.plates[plate].world_from_part for plate in step.add}


def carried(pivot: Floats, shift: Floats, turn: Floats | None) -> Floats:
    """Return (4, 4) of one pose; turn : (4,) unit quaternion x, y, z, w; None: no turn."""
    pose = np.eye(4)
    if turn is not None:
        pose[:3, :3] = Rotation.from_quat(turn).as_matrix()
    pose[:3, 3] = pivot + shift - pose[:3, :3] @ pivot
    return pose


def poses_between(
    pivot: Floats, shifts: Floats, turns: Floats, shares: Floats
) -> tuple[Floats, Floats]:
    """Return rotations (n, 3, 3) and offsets (n, 3), x -> rotation x + offset, on one leg.

    shifts (2, 3) and turns (2, 4) : its ends; shares : (n,) from 0 to 1
    """
    shift = shifts[0] + shares[:, None] * (shifts[1] - shifts[0])
    rotation = Slerp([0.0, 1.0], Rotation.from_quat(turns))(shares).as_matrix()
    return rotation, pivot + shift - rotation @ pivot
