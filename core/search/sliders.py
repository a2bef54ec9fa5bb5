# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Families of right-angle designs: turn a motif's plane and every joint stays square.

Where a design has fewer joint classes than its motifs have free directions, its normals belong to a
curve (or a surface) of solutions. A slider turns one motif's normal along it; the normals of the
others follow as the joints ask, strips are laid anew through their ports, offsets, places and the
diameter stay as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ..design.model import Bend, Design, JointKind
from ..errors import DesignError
from ..frame.group import Group, rotation_group
from .finds import Find, Wanted, design_of
from .geometry import Geometry
from .improve import Goal, quality
from .measure import Figures, measure
from .patterns import Pattern
from .solve import polished, slopes

__all__ = ["Slider", "find_of", "first_slider", "sliders", "turned"]

Floats = npt.NDArray[np.float64]

_STEP = 0.25  # deg, of one step along a family
_SCAN = 0.5  # deg, between the places at which a slider's range is tried
_WIDEST = 60.0  # deg, farther than this a slider does not go
_MOST = 180.0  # deg, that a design may be turned by
_ANY = np.array([0.31313, 0.77717, 0.54551])  # square to nothing
_PORT = 1e-3  # of the radius: a path's point is a slot's middle when it lies so near
_REMEDY = "Only designs laid out as the search lays them can be turned along their family."


@dataclass(frozen=True, slots=True)
class Slider:
    """How far a motif can be turned, deg, until strips come too near or bend too much.

    low, high : about; from the quick figures of the search, a build tells exactly
    """

    motif: str
    low: float
    high: float


def find_of(design: Design) -> Find:
    """Return the numbers of a design that the search wrote, in shares of the frame's radius.

    Raises DesignError for a design that was not laid like the search's.
    """
    if design.frame.group is None or design.recipe is not None or not design.motifs:
        found = "a recipe" if design.recipe is not None else "a frame that is no bare group"
        raise DesignError("the design", found, "a bare group with motifs", _REMEDY)
    group = rotation_group(design.frame.group)
    index = {motif.name: m for m, motif in enumerate(design.motifs)}
    classes, laps = [], []
    for c, choice in enumerate(design.joint_classes):
        a, b = (index[name] for name in choice.motifs)
        turn = choice.turn
        classes.append((a, b, group.element(turn.axis, turn.angle, f"joint_classes.{choice.name}")))
        if choice.kind is JointKind.CROSS_LAP:
            laps.append(c)
    radius = design.frame.diameter / 2
    pattern = Pattern(len(design.motifs), "", tuple(classes), tuple(laps))
    normals = np.array([motif.normal for motif in design.motifs], dtype=float)
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    offsets = np.array([motif.offset for motif in design.motifs]) / radius
    places = np.array([choice.at for choice in design.joint_classes], dtype=float) / radius
    geometry = Geometry.of(group, pattern, normals)
    order = tuple(
        _order(design, geometry, m, offsets, places, radius) for m in range(pattern.motifs)
    )
    width = float(np.mean([motif.width for motif in design.motifs if motif.width])) / radius
    return Find(pattern, normals, offsets, places, width, order, 1.0, 0.0, 0)


def _order(
    design: Design, geometry: Geometry, m: int, offsets: Floats, places: Floats, radius: float
) -> tuple[int, ...]:
    """Return the slots of a motif in the order in which its path runs through them."""
    choice = design.motifs[m]
    where = f"motifs.{choice.name}"
    tabs = geometry.pattern.tabs(m)
    if choice.path is None or choice.bend is not Bend.SMOOTH or choice.x_axis is not None:
        raise DesignError(f"{where}.path", choice.path, "a smooth path", _REMEDY)
    if len(tabs) not in (1, 2):
        raise DesignError(f"{where}.path", f"{len(tabs)} tabs", "one tab or two", _REMEDY)
    path = np.array(choice.path) / radius
    order = []
    for point in path[1:-1]:
        for c in geometry.pattern.slots(m):
            if np.linalg.norm(geometry.slot_port(c, offsets, places) - point) < _PORT:
                order.append(c)
    start = geometry.tab_port(tabs[0], offsets, places)
    if (
        sorted(order) != sorted(geometry.pattern.slots(m))
        or np.linalg.norm(path[0] - start) > _PORT
    ):
        raise DesignError(
            f"{where}.path", "this path", "one from its tab through each of its slots once", _REMEDY
        )
    return tuple(order)


def sliders(design: Design) -> tuple[Slider, ...]:
    """Return a slider for each number that is free, with its range; none: the normals are fixed.

    Raises DesignError for a design that the search did not write.
    """
    find = find_of(design)
    group = rotation_group(str(design.frame.group))
    goal = _goal(design)
    found = []
    for m in _pivots(group, find):
        ends = []
        for sense in (-1.0, 1.0):
            at, way, far = find, None, 0.0
            while far < _WIDEST:
                step = _moved(group, at, m, sense * _SCAN, way)
                if step is None or not _good(group, step[0], goal):
                    break
                (at, way), far = step, far + _SCAN
            ends.append(sense * far)
        found.append(Slider(design.motifs[m].name, ends[0], ends[1]))
    return tuple(found)


def first_slider(design: Design) -> str:
    """Return the first motif that can be turned. Raises DesignError where none can."""
    find = find_of(design)
    pivots = _pivots(rotation_group(str(design.frame.group)), find)
    if not pivots:
        raise DesignError("motif", None, "nothing: the joints fix all planes of this design")
    return design.motifs[pivots[0]].name


def turned(design: Design, motif: str, by_deg: float) -> Design:
    """Return a design with the plane of a motif turned along its family, all joints square.

    The diameter stays, so all lengths change a little. Raises DesignError where the motif has no
    slider or the family ends before.
    """
    find = find_of(design)
    group = rotation_group(str(design.frame.group))
    free = [design.motifs[m].name for m in _pivots(group, find)]
    if motif not in free:
        raise DesignError(
            "motif",
            motif,
            f"one of {', '.join(free)}" if free else "nothing: the joints fix all planes",
        )
    m = [one.name for one in design.motifs].index(motif)
    if not abs(by_deg) <= _MOST:
        raise DesignError(
            "by", by_deg, f"-{_MOST:g} to {_MOST:g} deg", "Families come back to themselves."
        )
    if by_deg == 0:
        return design
    moved = _moved(group, find, m, by_deg)
    if moved is None:
        raise DesignError(
            "by",
            by_deg,
            "a smaller turn",
            "The family ends before it; its range is told without it.",
        )
    there, _ = moved
    wanted = Wanted(group.name, there.pattern.motifs, design.sheet.thickness, design.frame.diameter)
    reach = _figures_reach(group, there)
    drawn = design_of(group, replace(there, reach=reach), wanted, design.name)
    motifs = tuple(
        replace(new, name=old.name) for new, old in zip(drawn.motifs, design.motifs, strict=True)
    )
    joints = tuple(
        replace(old, at=new.at)
        for new, old in zip(drawn.joint_classes, design.joint_classes, strict=True)
    )
    # What its maker noted of the design is no longer known to be true.
    return replace(design, note="", motifs=motifs, joint_classes=joints)


def _pivots(group: Group, find: Find) -> list[int]:
    """Return the motifs whose turns can be chosen: as many as numbers are free."""
    free = _free_ways(group, find)
    rotors = np.array([_rotor(find, m) is not None for m in range(find.pattern.motifs)])
    chosen: list[int] = []
    while len(free):
        sizes = np.linalg.norm(free.reshape(len(free), -1, 3), axis=(0, 2))
        # Rotors first: turning about their axis is what a hand would do.
        m = int(np.argmax(sizes + np.where(rotors & (sizes > 0.05), 10.0, 0.0)))
        chosen.append(m)
        free = _still(free, m)
    return sorted(chosen)


def _free_ways(group: Group, find: Find) -> Floats:
    """Return an orthonormal basis (k, 3 M) of the moves of the normals that keep joints square."""
    slope = slopes(group, find.pattern, find.normals[None])[0]
    _, sizes, ways = np.linalg.svd(slope)
    rank = int((sizes > 1e-7).sum())
    free: Floats = ways[rank:]
    return free


def _still(free: Floats, m: int) -> Floats:
    """Return a basis of those of the moves (k, 3 M) that leave the normal of motif m alone."""
    block = free[:, 3 * m : 3 * m + 3]
    _, sizes, ways = np.linalg.svd(block.T)
    rank = int((sizes > 1e-7).sum())
    left: Floats = ways[rank:] @ free
    return left


def _moved(
    group: Group, find: Find, m: int, by_deg: float, before: Floats | None = None
) -> tuple[Find, Floats] | None:
    """Turn the normal of motif m by an angle along its family; None where the family ends.

    before : (M, 3), the way of an earlier step, that is gone on with; None: the sense of `_ahead`.
    Return the turned find and the way of the last step.
    """
    pivots = _pivots(group, find)
    here, left = find.normals, abs(by_deg)
    while left > 1e-4:
        at = replace(find, normals=here)
        free = _free_ways(group, at)
        for other in pivots:
            if other != m:
                free = _still(free, other)
        if len(free) != 1:
            return None
        way = free[0].reshape(-1, 3)
        speed = float(np.linalg.norm(way[m]))
        if speed < 1e-3:
            return None
        way = way / speed
        if before is None:
            before = np.sign(by_deg) * _ahead(group, find, m, here, way) * way
        way = way if float((way * before).sum()) >= 0 else -way
        step = np.radians(min(left, _STEP))
        tried = here + step * way
        tried /= np.linalg.norm(tried, axis=1)[:, None]
        solved = polished(group, find.pattern, tried[None], same_side=False)
        if len(solved) == 0 or np.abs(solved.normals[0] - tried).max() > step:
            return None
        left -= float(np.degrees(np.arccos(np.clip(here[m] @ solved.normals[0, m], -1, 1))))
        here, before = solved.normals[0], way
    return replace(find, normals=here), before if before is not None else np.zeros_like(here)


def _ahead(group: Group, find: Find, m: int, here: Floats, way: Floats) -> float:
    """Return 1 or -1: is a way forwards? A rotor's normal goes right-handed about its own axis.

    It never leaves the circle of its rotor, so the sense is the same all along the family; a motif
    without a rotor has no such rule, and a direction of space decides.
    """
    rotor = _rotor(find, m)
    if rotor is None:
        ahead = float(way[m] @ _ANY)
    else:
        axis, _ = group.axis_angle_deg(rotor)
        ahead = float(np.cross(axis, here[m]) @ way[m])
    return 1.0 if ahead >= 0 else -1.0


def _rotor(find: Find, m: int) -> int | None:
    """Return the element of the first rotor of a motif."""
    classes = enumerate(find.pattern.classes)
    return next((g for c, (a, b, g) in classes if a == b == m and c not in find.pattern.laps), None)


def _goal(design: Design) -> Goal:
    radius = design.frame.diameter / 2
    return Goal((design.joints.gap + design.sheet.thickness) / radius, 1.0)


def _measured(group: Group, find: Find, reach_of_gap: float) -> Figures:
    geometry = Geometry.of(group, find.pattern, find.normals)
    return measure(
        geometry,
        find.order,
        find.offsets[None],
        find.places[None],
        np.array([find.width]),
        reach_of_gap,
    )


def _figures_reach(group: Group, find: Find) -> float:
    return float(_measured(group, find, 0.01).reach[0])


def _good(group: Group, find: Find, goal: Goal) -> bool:
    figures = _measured(group, find, 1.6 * goal.gap)
    gap = float(figures.gap[0] / figures.reach[0])
    return gap >= goal.gap and float(quality(figures, np.array([find.width]), goal)[0]) > 0.1
