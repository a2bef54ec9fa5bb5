# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What keeps plates together: joints that open one way only, and contacts that only part.

A joint of the plates A and B lets them part by v_A - v_B = -rate x insertion, rate >= 0, and no
other way: that holds for a tenon and for a cross-lap alike, whose slots are open at one end each.
A contact lets them part by normal . (v_A - v_B) >= 0. Clearances are left out: they let a plate
shake, not leave.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..results import Build

__all__ = ["Blocking", "Contact", "Links", "bodies_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Contact:
    """Two plates that touch.

    plates : indices (a, b); normal : unit vector, a may move along it away from b
    point : about the middle of where they touch, mm
    """

    plates: tuple[int, int]
    normal: Floats
    point: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Blocking:
    """All joints and contacts of a sculpture as arrays.

    first, second : (J,) int, plates of the joints; insertion : (J, 3) unit vectors, the way that
        the first moves into the second
    touching : (C, 2) int, plates of the contacts; normal : (C, 3) unit vectors, the way that the
        first may move away from the second
    """

    plate_count: int
    first: Ints
    second: Ints
    insertion: Floats
    touching: Ints
    normal: Floats

    @classmethod
    def of(cls, build: Build, contacts: Iterable[Contact] = ()) -> Blocking:
        """Take the joints of a build, and contacts (see `contacts.contacts_of`)."""
        pairs = np.array([joint.plates for joint in build.joints], dtype=np.intp).reshape(-1, 2)
        ways = np.array([joint.insertion for joint in build.joints], dtype=float).reshape(-1, 3)
        found = list(contacts)
        touching = np.array([one.plates for one in found], dtype=np.intp).reshape(-1, 2)
        normal = np.array([one.normal for one in found], dtype=float).reshape(-1, 3)
        return cls(len(build.plates), pairs[:, 0], pairs[:, 1], ways, touching, normal)

    def between(
        self, bodies: Sequence[Collection[int]], open_joints: Collection[int] = ()
    ) -> Links:
        """Return the joints and contacts that hold these bodies to each other.

        bodies : disjoint sets of plates, each rigid; plates in none of them are not there
        open_joints : joints that are not closed (yet, or any more)
        """
        body = np.full(self.plate_count, -1, dtype=np.intp)
        for number, plates in enumerate(bodies):
            members = np.fromiter(plates, dtype=np.intp)
            if (body[members] >= 0).any():
                raise ValueError("a plate is in two bodies")
            body[members] = number
        closed = np.ones(len(self.first), dtype=bool)
        closed[np.fromiter(open_joints, dtype=np.intp)] = False
        a, b = body[self.first], body[self.second]
        joints = np.flatnonzero(closed & (a >= 0) & (b >= 0) & (a != b))
        c, d = body[self.touching[:, 0]], body[self.touching[:, 1]]
        contacts = np.flatnonzero((c >= 0) & (d >= 0) & (c != d))
        return Links(
            len(bodies),
            joints,
            np.column_stack([a[joints], b[joints]]),
            self.insertion[joints],
            contacts,
            np.column_stack([c[contacts], d[contacts]]),
            self.normal[contacts],
        )


@dataclass(frozen=True, slots=True, eq=False)
class Links:
    """What holds a set of bodies to each other.

    joints : (j,) int, indices of the joints; pairs : (j, 2) int, bodies; insertion : (j, 3)
    contacts : (c,) int; touching : (c, 2) int, bodies; normal : (c, 3)
    """

    body_count: int
    joints: Ints
    pairs: Ints
    insertion: Floats
    contacts: Ints
    touching: Ints
    normal: Floats

    @property
    def ends(self) -> Ints:
        """(j + c, 2) int: the bodies of the joints, then those of the contacts."""
        return np.concatenate([self.pairs, self.touching])


def bodies_of(groups: Iterable[Iterable[int]]) -> list[frozenset[int]]:
    """Return sets of plates: single plates as sets of one, modules as they are."""
    return [frozenset(int(plate) for plate in group) for group in groups]
