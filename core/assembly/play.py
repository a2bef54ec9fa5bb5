# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Closing with the play of the slots: joints whose ways agree nearly, but not quite.

A tab may stray in its slot by the clearance, along the slot and across it, all the way in; a
plate in a lap likewise along both plates' normals. So a ring closes all at once, without bending,
when there are shifts of its bodies with

    x_A - x_B = -opening x insertion + strays,   opening >= the tab's length,   |stray| <= play

The least such play is one linear programme. Edge rotors on a frame of many faces, whose tabs point
nearly square to their axis, need a few tenths of a millimetre; an orthogonal triad needs half the
length of its tabs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import optimize, sparse

from ..design.model import JointKind
from ..results import Build, Joint
from .beams import Beams

__all__ = ["Play", "Ring", "least_play"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Play:
    """How a set of joints opens all at once.

    play : on each side of every tab, mm; 0 where their ways agree
    bodies : sets of plates; shifts : (n, 3) mm, where each has come when all joints are open
    """

    play: float
    bodies: tuple[frozenset[int], ...]
    shifts: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """Joints between bodies, with their free ways and travels, as arrays.

    bodies : sets of plates; ends : (j, 2) int
    insertion : (j, 3); stray : (j, 2, 3) unit vectors along which the play lets the first move
    travel : (j,) mm until each is open
    """

    joints: tuple[int, ...]
    bodies: tuple[frozenset[int], ...]
    ends: Ints
    insertion: Floats
    stray: Floats
    travel: Floats

    @classmethod
    def of(
        cls,
        beams: Beams,
        joints: Sequence[int],
        bodies: Sequence[frozenset[int]] | None = None,
    ) -> Ring:
        """Gather joints; bodies : that they hold together; None: single plates."""
        records = [beams.build.joints[joint] for joint in joints]
        if bodies is None:
            plates = sorted({plate for one in records for plate in one.plates})
            bodies = [frozenset({plate}) for plate in plates]
        body = {plate: number for number, group in enumerate(bodies) for plate in group}
        ends = np.array([[body[plate] for plate in one.plates] for one in records], dtype=np.intp)
        return cls(
            tuple(joints),
            tuple(bodies),
            ends.reshape(-1, 2),
            np.array([one.insertion for one in records]).reshape(-1, 3),
            np.array([_stray(beams.build, one) for one in records]).reshape(-1, 2, 3),
            beams.travel[list(joints)],
        )

    def equations(self) -> sparse.csr_array:
        """Return (3 j, 3 n + j): shifts of the first less the second, plus opening x insertion."""
        j, n = len(self.joints), len(self.bodies)
        rows = np.arange(3 * j)
        at = (3 * self.ends[:, None, :] + np.arange(3)[None, :, None]).reshape(-1, 2)
        values = np.concatenate([np.ones(3 * j), -np.ones(3 * j), self.insertion.ravel()])
        columns = np.concatenate([at[:, 0], at[:, 1], 3 * n + np.repeat(np.arange(j), 3)])
        return sparse.csr_array((values, (np.tile(rows, 3), columns)), shape=(3 * j, 3 * n + j))


def least_play(
    beams: Beams, joints: Sequence[int], bodies: Sequence[frozenset[int]] | None = None
) -> Play | None:
    """Return the least play with which joints open all at once; None: no play is enough.

    bodies : what they hold together, each moved as one; None: their single plates
    """
    ring = Ring.of(beams, joints, bodies)
    j, n = len(ring.joints), len(ring.bodies)
    block = np.repeat(np.arange(3 * j), 2)
    columns = (2 * np.repeat(np.arange(j), 3)[:, None] + np.arange(2)).ravel()
    strays = sparse.csr_array(
        (-ring.stray.transpose(0, 2, 1).ravel(), (block, columns)), shape=(3 * j, 2 * j)
    )
    matrix = sparse.hstack([ring.equations(), strays, sparse.csr_array((3 * j, 1))], format="csr")
    one = sparse.eye_array(2 * j)
    zero = sparse.csr_array((2 * j, 3 * n + j))
    limit = sparse.csr_array(-np.ones((2 * j, 1)))
    within = sparse.vstack(
        [sparse.hstack([zero, one, limit]), sparse.hstack([zero, -one, limit])], format="csr"
    )
    low = np.concatenate([np.full(3 * n, -np.inf), ring.travel, np.full(2 * j, -np.inf), [0.0]])
    low[:3] = 0.0
    high = np.full(len(low), np.inf)
    high[:3] = 0.0  # the first body stands
    solved = optimize.linprog(
        np.append(np.zeros(len(low) - 1), 1.0),
        A_ub=within,
        b_ub=np.zeros(4 * j),
        A_eq=matrix,
        b_eq=np.zeros(3 * j),
        bounds=np.column_stack([low, high]),
        method="highs",
    )
    if solved.status != 0:
        return None
    return Play(max(float(solved.x[-1]), 0.0), ring.bodies, solved.x[: 3 * n].reshape(-1, 3))


def _stray(build: Build, joint: Joint) -> Floats:
    """Return the two unit vectors (2, 3) along which the play lets the first plate move."""
    first, second = (build.plates[plate].world_from_part[:3, 2] for plate in joint.plates)
    return np.array([joint.line if joint.kind is JointKind.TENON else second, first])
