# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether every joint can be drawn out: two joined plates may meet again far from their joint."""

from __future__ import annotations

import numpy as np

from ..assembly.bodies import body_of
from ..assembly.passing import Standing
from ..assembly.travel import travel_of
from ..results import Build

__all__ = ["joints_draw_out"]


def joints_draw_out(build: Build) -> bool:
    """Tell whether the first joint of every class slides out of its mate in a straight line.

    One plate against the other, nothing else stands; by exact swept prisms.
    """
    firsts = {joint.joint_class: n for n, joint in reversed(list(enumerate(build.joints)))}
    bodies = [body_of(part.outline, part.thickness, np.zeros((0, 2)), []) for part in build.parts]
    for number in firsts.values():
        joint = build.joints[number]
        pair = [build.plates[plate] for plate in joint.plates]
        poses = np.array([plate.world_from_part for plate in pair])
        standing = Standing.of([bodies[plate.part] for plate in pair], poses)
        way = -travel_of(build, number) * joint.insertion
        if standing.blocker([0], [1], np.zeros(3), way) is not None:
            return False
    return True
