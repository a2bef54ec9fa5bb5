# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What one way of cutting a sculpture into modules is worth: a row of a table to compare them.

Good modules hold most of the joints, are whole in themselves, can be carried, and can still be
brought in when all else stands.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from ..results import Build
from .grips import grips_of
from .ways import find_way

__all__ = ["ModuleRow", "module_row"]


@dataclass(frozen=True, slots=True)
class ModuleRow:
    """Figures of one choice of modules.

    about : as in the design's [modules]; modules : how many
    least, most : plates of the smallest and of the largest
    inside, between : joints closed at tables, and when modules are joined
    whole : every module hangs together by its own joints
    size, mass : of the largest and of the heaviest, mm (diameter of a ball round it) and kg
    late : modules that have a proved way in when all others stand; sprung : joints that the worst
        of those must spring
    """

    about: str
    modules: int
    least: int
    most: int
    inside: int
    between: int
    whole: bool
    size: float
    mass: float
    late: int
    sprung: int


def module_row(build: Build) -> ModuleRow:
    """Judge the modules of a build."""
    grips = grips_of(build)
    sizes = [len(module.plates) for module in build.modules]
    inside = sum(joint.within_module for joint in build.joints)
    masses = [
        sum(build.parts[build.plates[p].part].mass for p in module.plates)
        for module in build.modules
    ]
    late, sprung = 0, 0
    for module in build.modules if len(build.modules) > 1 else ():
        members = set(module.plates)
        others = [p for p in range(len(build.plates)) if p not in members]
        joints = [
            j for j, joint in enumerate(build.joints) if len(members & set(joint.plates)) == 1
        ]
        way = find_way(grips, module.plates, others, joints)
        late += way.free
        sprung = max(sprung, len(way.sprung) if way.free else 0)
    balls, radii = grips.standing.balls, grips.standing.radii
    spans = []
    for module in build.modules:
        rows = list(module.plates)
        middle = (balls[rows].min(axis=0) + balls[rows].max(axis=0)) / 2
        spans.append(
            2.0 * float((np.linalg.norm(balls[rows] - middle, axis=1) + radii[rows]).max())
        )
    return ModuleRow(
        build.design.modules.about,
        len(build.modules),
        min(sizes),
        max(sizes),
        inside,
        len(build.joints) - inside,
        all(_hangs_together(build, m) for m in range(len(build.modules))),
        max(spans),
        max(masses),
        late,
        sprung,
    )


def _hangs_together(build: Build, number: int) -> bool:
    module = build.modules[number]
    place = {plate: k for k, plate in enumerate(module.plates)}
    ends = np.array(
        [[place[p] for p in build.joints[j].plates] for j in module.joints], dtype=np.intp
    ).reshape(-1, 2)
    count = len(place)
    graph = coo_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(count, count))
    return int(connected_components(graph, directed=False)[0]) == 1
