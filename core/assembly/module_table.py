# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What one way of cutting a sculpture into modules is worth: a row of a table to compare them.

Good modules hold most of the joints, are whole in themselves, can be carried, and can still be
brought in when all else stands.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from ..design.model import ModuleChoice
from ..frame.subgroups import subgroup_classes, subgroup_name
from ..results import Build
from .grips import grips_of
from .modules import usual_count
from .ways import find_way

__all__ = ["ModuleRow", "module_choices", "module_row", "same_modules"]

_PLACES = ("vertices", "edges", "faces", *(f"axes {fold}" for fold in range(2, 10)))


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


def module_choices(build: Build) -> tuple[ModuleChoice, ...]:
    """Return the choices of modules worth comparing for a design, its own first.

    All in one, about each kind of place and axis, by each type of subgroup, and the graph cut into
    half as many, as many, and twice as many modules as usual. Some may not suit the frame.
    """
    own = build.design.modules
    found = [own, replace(own, about="none")]
    if build.group.order > 1:
        found += [replace(own, about=about) for about in _PLACES]
        names = (subgroup_name(build.group, c[0]) for c in subgroup_classes(build.group)[1:-1])
        found += [replace(own, about=f"subgroup {name}") for name in dict.fromkeys(names)]
    usual = usual_count(len(build.plates))
    for count in dict.fromkeys((usual // 2, usual, 2 * usual)):
        if 1 < count < len(build.plates):
            found.append(replace(own, about="joints", count=count))
    return tuple(dict.fromkeys(found))


def same_modules(one: Build, two: Build) -> bool:
    """Tell whether two builds of a design put the same plates together."""
    return _members(one) == _members(two)


def _members(build: Build) -> set[frozenset[tuple[str, int]]]:
    names = [(plate.motif, plate.element) for plate in build.plates]
    return {frozenset(names[p] for p in module.plates) for module in build.modules}


def _called(choice: ModuleChoice) -> str:
    if choice.about != "joints" or choice.count is None:
        return choice.about
    return f"joints, {choice.count}"


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
        _called(build.design.modules),
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
