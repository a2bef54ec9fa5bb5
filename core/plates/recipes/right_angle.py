# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""One motif whose every joint is square: normals from the crossing circles of two turns.

A plate and its copy by a turn g (angle phi about the unit axis a) are perpendicular exactly when the
angle alpha between the normal and the axis has cos^2(alpha) = -cos(phi) / (1 - cos(phi)): each turn
of 90 degrees or more gives two small circles of normals, and circles of two turns cross in isolated
normals. (From n . g n = cos(phi) + (1 - cos(phi)) (a . n)^2 = 0, Rodrigues' rotation formula.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...design.model import JointClassChoice, JointKind, MotifChoice, RightAngleOrbit, Turn
from ...errors import DesignError
from ...frame.frame import Frame
from ...frame.group import Group
from ...tolerance import TOLERANCES
from ..planes import default_x_axis
from .recipe import Recipe

__all__ = ["RightAngleNormal", "right_angle_normals", "right_angle_orbit", "square_cosine"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class RightAngleNormal:
    """An isolated normal; `elements` are two turns whose copies are square to the plate."""

    normal: Floats
    elements: tuple[int, int]


def square_cosine(angle_deg: float) -> float | None:
    """Cosine of the angle between axis and normal that makes a turn square; None if none does."""
    cos = np.cos(np.radians(angle_deg))
    if cos > TOLERANCES.direction or np.isclose(angle_deg, 0):
        return None
    return float(np.sqrt(max(-cos, 0.0) / (1 - cos)))


def right_angle_normals(group: Group, first: int, second: int) -> list[Floats]:
    """Return the unit normals square to their copies by both elements (at most 8, closed form)."""
    solved = []
    turns = [group.axis_angle_deg(k) for k in (first, second)]
    cosines = [square_cosine(angle) for _, angle in turns]
    if cosines[0] is None or cosines[1] is None:
        return []
    a, b = turns[0][0], turns[1][0]
    between = float(a @ b)
    across = np.cross(a, b)
    sine2 = float(across @ across)
    if sine2 < 1e-12:
        return []
    for p in {cosines[0], -cosines[0]}:
        for q in {cosines[1], -cosines[1]}:
            x, y = (p - q * between) / sine2, (q - p * between) / sine2
            flat = x * a + y * b
            rest = 1 - float(flat @ flat)
            if rest < -1e-12:
                continue
            height = np.sqrt(max(rest, 0.0) / sine2)
            for sign in (1, -1) if height > 1e-9 else (1,):
                normal = flat + sign * height * across
                solved.append(normal / np.linalg.norm(normal))
    return solved


def right_angle_orbit(frame: Frame, chosen: RightAngleOrbit) -> Recipe:
    """Lay one strip through its ports: its two tabs (or tab and cross-lap) and its slots.

    Raises DesignError when the group has no such normal, or the places leave no path.
    """
    group = frame.group
    normal, elements = _solution(group, chosen)
    offset = chosen.offset * frame.radius
    at = tuple(place * frame.radius for place in chosen.places)
    x_axis = default_x_axis(normal)
    y_axis = np.cross(normal, x_axis)
    axes = np.column_stack([x_axis, y_axis])
    kinds = _kinds(chosen.pattern)

    ports: list[Floats] = []
    slots: list[Floats] = []
    for element, place, kind in zip(elements, at, kinds, strict=True):
        other = group.matrices[element] @ normal
        # Two square planes at the same distance: their line runs by offset (n + m).
        world = offset * (normal + other) + place * np.cross(normal, other)
        ports.append(world @ axes)
        if kind is JointKind.TENON:
            slots.append((group.matrices[element].T @ world) @ axes)
    ways = [(group.matrices[element] @ normal) @ axes for element in elements]
    path = _through(ports, slots, ways, kinds, chosen)
    turns = [group.axis_angle_deg(element) for element in elements]
    classes = tuple(
        JointClassChoice(
            name=name,
            motifs=("strip", "strip"),
            kind=kind,
            at=float(place) if kind is JointKind.TENON else 0.0,
            turn=Turn(tuple(float(c) for c in axis), float(angle)),  # type: ignore[arg-type]
        )
        for name, kind, place, (axis, angle) in zip(
            ("first", "second"), kinds, at, turns, strict=True
        )
    )
    motif = MotifChoice(
        name="strip",
        normal=(float(normal[0]), float(normal[1]), float(normal[2])),
        offset=float(offset),
        path=tuple((float(x), float(y)) for x, y in path),
        width=chosen.width,
        bend=chosen.bend,
        bend_radius=chosen.bend_radius,
    )
    return Recipe((motif,), classes, group)


def _kinds(pattern: str) -> tuple[JointKind, JointKind]:
    second = JointKind.TENON if pattern == "rotor + rotor" else JointKind.CROSS_LAP
    return JointKind.TENON, second


def _solution(group: Group, chosen: RightAngleOrbit) -> tuple[Floats, tuple[int, int]]:
    """The normal, to full precision, and its two elements."""
    pairs = _pairs(group, chosen)
    wanted = None
    if chosen.normal is not None:
        wanted = np.asarray(chosen.normal, dtype=float)
        wanted = wanted / np.linalg.norm(wanted)
    best: tuple[float, Floats, tuple[int, int]] | None = None
    for first, second in pairs:
        for normal in right_angle_normals(group, first, second):
            if not _generic(group, normal):
                continue
            if wanted is None:
                return normal, (first, second)
            off = float(np.abs(normal - wanted).max())
            if best is None or off < best[0] - 1e-12:
                best = off, normal, (first, second)
    if best is None:
        raise DesignError(
            "recipe.elements" if chosen.elements else "recipe.pattern",
            chosen.pattern,
            f"two turns of group {group.name} with a common right-angle normal",
            "Take a frame with group T, O or I, or turns of 120, 144 or 180 deg about two axes.",
        )
    if wanted is not None and best[0] > 1e-3:
        raise DesignError(
            "recipe.normal",
            chosen.normal,
            "a normal within 0.001 of one that makes both joint classes square; the nearest is "
            f"({best[1][0]:.5f}, {best[1][1]:.5f}, {best[1][2]:.5f})",
            "Take that one, or leave the field out.",
        )
    return best[1], best[2]


def _generic(group: Group, normal: Floats) -> bool:
    """True when no turn but the identity leaves the normal alone."""
    return bool((group.matrices[1:] @ normal @ normal < 1 - 1e-6).all())


def _pairs(group: Group, chosen: RightAngleOrbit) -> list[tuple[int, int]]:
    """Pairs of elements to try: the chosen ones, or all that fit the pattern."""
    if chosen.elements is not None:
        first, second = (
            group.element(turn.axis, turn.angle, f"recipe.elements[{i}]")
            for i, turn in enumerate(chosen.elements)
        )
        _, two_fold = _kinds(chosen.pattern)
        if two_fold is JointKind.CROSS_LAP and group.element_order(second) != 2:
            raise DesignError(
                "recipe.elements[1]", chosen.elements[1], "a turn of 180 deg for 'rotor + two-fold'"
            )
        return [(first, second)]
    square = [
        k for k in range(1, group.order) if square_cosine(group.axis_angle_deg(k)[1]) is not None
    ]
    rotors = [k for k in square if group.element_order(k) > 2]
    if _kinds(chosen.pattern)[1] is JointKind.TENON:
        return [(a, b) for a in rotors for b in rotors if a != b]
    return [(a, b) for a in rotors for b in square if group.element_order(b) == 2]


def _through(
    ports: list[Floats],
    slots: list[Floats],
    ways: list[Floats],
    kinds: tuple[JointKind, JointKind],
    chosen: RightAngleOrbit,
) -> list[Floats]:
    """Points of the centre path: straight leads at the tabs, the slots between."""
    between = list(reversed(slots)) if chosen.swap else list(slots)
    if kinds[1] is JointKind.CROSS_LAP:
        # The strip runs from its tab through its slot and the lap, in either order, to a free end.
        between = [*slots, ports[1]]
        if chosen.swap:
            between.reverse()
        step = between[-1] - between[-2]
        free = between[-1] + step / np.linalg.norm(step) * 1.5 * chosen.width
        return [ports[0], _lead(ports[0], ways[0], between[0], chosen.width), *between, free]
    start = _lead(ports[0], ways[0], between[0], chosen.width)
    end = _lead(ports[1], ways[1], between[-1], chosen.width)
    return [ports[0], start, *between, end, ports[1]]


def _lead(port: Floats, way: Floats, towards: Floats, width: float) -> Floats:
    """Where the straight piece at a tab ends: half a width from the line, on the path's side."""
    sign = 1.0 if (towards - port) @ way > 0 else -1.0
    return port + sign * way * 0.5 * width
