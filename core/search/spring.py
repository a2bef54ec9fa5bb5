# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How hard a design's rotors are to close: the bending stress where one joint of each is sprung.

A rotor is a ring of plates, each one's tab in the next. It closes by straight moves only when the
tabs move square to its axis; else one slotted plate must be bent until it clears the tab's end. It
is reckoned as a cantilever of its sheet (core/assembly/beams.py), with a deflection d of the tab's
engaged length and a lever L along the strip to the nearest joint of the same ring:

    stress / strength = 3 E t d / (2 L^2) / strength

E and the strength stand in the table of materials. It is an estimate for a rotor by itself on the
table: joints of the plate that belong to other rings are open then. Rings that are no rotors are
not reckoned.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..assembly.beams import Beams
from ..assembly.springing import spring_loop
from ..design.model import JointKind
from ..frame.group import Group
from ..joints.classes import JointClass
from ..results import Build

__all__ = ["worst_spring"]

#: Cosine of the tab's way with the axis below which a rotor opens all at once.
_SQUARE = 1e-6


def worst_spring(build: Build, classes: Sequence[JointClass], group: Group) -> float | None:
    """Return the stress over the strength of the rotor that is hardest to spring.

    0 when every rotor closes by straight moves; None when there is no rotor of three or more
    plates: then it is not known what must be sprung
    """
    rotors = [
        one
        for one in classes
        if one.kind is JointKind.TENON and one.a == one.b and group.element_order(one.element) > 2
    ]
    if not rotors:
        return None
    locked = [one for one in rotors if _locked(one, group)]
    if not locked:
        return 0.0
    beams = Beams.of(build)
    # The copies of a rotor are alike: one of them is reckoned.
    return max(spring_loop(beams, _ring(build, one.name)).worst_ratio for one in locked)


def _locked(rotor: JointClass, group: Group) -> bool:
    axis, _ = group.axis_angle_deg(rotor.element)
    return bool(abs(float(np.dot(axis, rotor.insertion))) > _SQUARE)


def _ring(build: Build, name: str) -> list[int]:
    """Return the joints of one rotor of a class, each plate's tab followed into the next plate."""
    of_tab = {
        joint.plates[0]: number
        for number, joint in enumerate(build.joints)
        if joint.joint_class == name
    }
    ring = [min(of_tab.values())]
    while True:
        following = of_tab[build.joints[ring[-1]].plates[1]]
        if following == ring[0]:
            return ring
        ring.append(following)
