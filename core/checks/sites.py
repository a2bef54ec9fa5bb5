# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The places that wait for a part or a module, one of each kind that symmetry leaves.

A part is put into its module, of which all other plates stand. One that its module holds by a
single joint can be turned in it at will, and shows its mistake at the next joint: it is put into
the whole, as modules are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from ..fit.fish_plate import FishPlateSizes
from ..frame.group import Group
from ..joints.classes import JointClass
from ..joints.features import MotifFeatures
from ..joints.table import JointTable
from ..plates.orbits import Orbits
from .mates import MateKind, Mates, mates_of

__all__ = ["Site", "Whole"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: A mate belongs to the joint whose centre lies within this of it, mm.
_AT_JOINT = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """One place, with nothing in it.

    plates : those that belong there; standing : (n,) int, those that stand round it
    own, open_ : the mates that meet in the joints that wait, of `plates` and of those that stand
    joints : (k,) int, of each open mate
    places : how many places of this kind there are
    """

    plates: Ints
    standing: Ints
    joints: Ints
    own: Mates
    open_: Mates
    places: int


class Whole:
    """Every plate with its mates, and the joints between them."""

    def __init__(
        self,
        features: Sequence[MotifFeatures],
        classes: Sequence[JointClass],
        orbits: Orbits,
        group: Group,
        joints: JointTable,
        module: Ints,
    ) -> None:
        self.features, self.classes = features, classes
        self.orbits, self.group, self.joints, self.module = orbits, group, joints, module
        self._mates: dict[int, Mates] = {}
        self.tenon = np.array([one.tenon is not None for one in classes], dtype=bool)

    def mates(self, plate: int) -> Mates:
        """Return all mates of a plate."""
        if plate not in self._mates:
            m = int(self.orbits.motif[plate])
            transform = self.orbits.transforms[plate]
            self._mates[plate] = mates_of(self.features[m], self.classes, transform, plate)
        return self._mates[plate]

    @cached_property
    def _joints_of(self) -> list[Ints]:
        plates = np.concatenate([self.joints.first, self.joints.second])
        rows = np.tile(np.arange(len(self.joints)), 2)
        order = np.argsort(plates, kind="stable")
        cuts = np.searchsorted(plates[order], np.arange(1, len(self.module)))
        return np.split(rows[order], cuts)

    def part_sites(self) -> list[Site]:
        """Return the places of single plates, one of each kind."""
        found: dict[object, list[int]] = {}
        for plate in range(len(self.module)):
            found.setdefault(self._kind(plate), []).append(plate)
        return [self._part_site(plates[0], len(plates)) for plates in found.values()]

    def module_sites(self) -> list[Site]:
        """Return the places of modules of two plates or more, one of each kind."""
        count = int(self.module.max()) + 1
        if count == 1:
            return []
        found: dict[object, list[int]] = {}
        for m in range(count):
            members = np.flatnonzero(self.module == m)
            if len(members) > 1:
                key = min((self._kind(int(p)) for p in members), key=repr)
                found.setdefault(key, []).append(m)
        return [self._module_site(modules[0], len(modules)) for modules in found.values()]

    def _inside(self, plate: int) -> Ints:
        """Return the joints that hold a plate to its module."""
        rows = self._joints_of[plate]
        same = self.module[self.joints.first[rows]] == self.module[self.joints.second[rows]]
        inside: Ints = rows[same]
        return inside

    def _kind(self, plate: int) -> object:
        """Return what tells places of plates apart: the module as the plate sees it."""
        members = np.flatnonzero(self.module == self.module[plate])
        motif = int(self.orbits.motif[plate])
        if len(members) == len(self.module) or len(self._inside(plate)) < 2:
            return motif, ()
        back = self.group.inverse[self.orbits.element[plate]]
        seen = self.group.product[back, self.orbits.element[members]]
        plates = np.sort(self.orbits.plate_of[self.orbits.motif[members], seen])
        return motif, tuple(plates.tolist())

    def _part_site(self, plate: int, places: int) -> Site:
        rows = self._inside(plate)
        members = np.flatnonzero(self.module == self.module[plate])
        if len(rows) < 2:
            rows, members = self._joints_of[plate], np.arange(len(self.module))
        return self._site(np.array([plate]), members[members != plate], rows, places)

    def _module_site(self, module: int, places: int) -> Site:
        inside = self.module == module
        first, second = inside[self.joints.first], inside[self.joints.second]
        rows = np.flatnonzero(first != second)
        return self._site(np.flatnonzero(inside), np.flatnonzero(~inside), rows, places)

    def _site(self, plates: Ints, standing: Ints, rows: Ints, places: int) -> Site:
        own, open_ = [], []
        for k in rows.tolist():
            first, second = int(self.joints.first[k]), int(self.joints.second[k])
            kinds = _kinds(self.classes[int(self.joints.joint_class[k])])
            tab, slot = self._at(first, k, kinds[0]), self._at(second, k, kinds[1])
            mine, theirs = (tab, slot) if first in plates else (slot, tab)
            own.append(mine)
            open_.append(theirs)
        held = np.repeat(rows, [len(one) for one in open_]) if open_ else rows
        return Site(plates, standing, held, _joined(own), _joined(open_), places)

    def _at(self, plate: int, joint: int, kind: MateKind) -> Mates:
        """Return the mates of a plate that a joint holds."""
        mates = self.mates(plate)
        gaps = np.linalg.norm(mates.middle - self.joints.centre[joint], axis=1)
        rows = np.flatnonzero((mates.kind == kind) & (gaps < _AT_JOINT))
        assert len(rows)  # every joint was cut from both of its plates
        return mates.take(rows)


def _kinds(joint: JointClass) -> tuple[MateKind, MateKind]:
    """Return what meets in a joint: of its first plate, and of its second."""
    if joint.tenon is not None:
        return MateKind.TAB, MateKind.SLOT
    if joint.splice is None:
        return MateKind.LAP, MateKind.LAP
    if isinstance(joint.splice, FishPlateSizes):
        return MateKind.BUTT, MateKind.BUTT
    return MateKind.KEY, MateKind.SOCKET


def _joined(mates: Sequence[Mates]) -> Mates:
    """Put single mates into one record."""
    if not mates:
        none, nowhere = np.zeros(0, dtype=np.intp), np.zeros((0, 3))
        return Mates(none, none, none, nowhere, nowhere, nowhere, nowhere, np.zeros(0), nowhere)
    return Mates(*(np.concatenate([getattr(one, n) for one in mates]) for n in Mates.__slots__))
