# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""One motif whose every joint is square: a strip in a plane that is square to two of its copies.

A turn of three-fold or higher order makes a rotor: the strip has a tab in its copy, and a slot for
the tab of the copy before it. A half-turn makes a cross-lap, whose middle lies on the turn's axis.
"""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
import numpy.typing as npt

from ...design.model import JointClassChoice, JointKind, MotifChoice, RightAngleOrbit, Turn
from ...errors import DesignError
from ...frame.frame import Frame
from ...frame.group import Group
from ..planes import to_plane, world_from_plane
from .recipe import Recipe
from .square_normals import SquareNormals, square_normals

__all__ = ["right_angle_orbit", "usual_weave"]

Floats = npt.NDArray[np.float64]
Pair = tuple[int, int]

#: A normal that the user names is taken for an exact one when no number differs by more.
_NEAR = 1e-3
#: Elements whose copies are this close to square to such a normal can be meant (cosine): both
#: normals of the product may be off by the length of (_NEAR, _NEAR, _NEAR).
_ALMOST_SQUARE = 4e-3


#: Places and order of the slots that weave clear of each other on the icosahedron's group, and on
#: the tetrahedron's too for the cross-laps, with strips of up to about 1/20 of the diameter.
_USUAL = {
    "rotor + rotor": ((0.0667, 0.3333), True),
    "rotor + two-fold": ((-0.4, 0.0), False),
}


def usual_weave(pattern: str) -> tuple[tuple[float, float], bool]:
    """Return the `places` and the `swap` that a recipe of this pattern has when it names none."""
    return _USUAL[pattern]


def right_angle_orbit(frame: Frame, chosen: RightAngleOrbit) -> Recipe:
    """Lay one strip through its ports: its two tabs (or tab and cross-lap) and its slots.

    Raises
    ------
    DesignError : the group has no such normal, an element is not fit for the pattern, or the
        cross-lap is moved away from its axis.
    """
    group = frame.group
    kinds = _kinds(chosen.pattern)
    usual_places, usual_swap = usual_weave(chosen.pattern)
    places = usual_places if chosen.places is None else chosen.places
    swap = usual_swap if chosen.swap is None else chosen.swap
    if kinds[1] is JointKind.CROSS_LAP and places[1] != 0.0:
        raise DesignError(
            "recipe.places",
            list(places),
            "0 as the second place of 'rotor + two-fold'",
            "The two plates cross on the axis of their half-turn.",
        )
    normal, elements = _solution(group, chosen)
    offset = chosen.offset * frame.radius
    plane = world_from_plane(normal, offset)
    ports, slots, ways, classes = [], [], [], []
    names = ("first", "second")
    for name, element, share, kind in zip(names, elements, places, kinds, strict=True):
        at = share * frame.radius
        other = group.matrices[element] @ normal
        # Two square planes at the same distance: their line runs by offset (n + m).
        place = offset * (normal + other) + at * np.cross(normal, other)
        ports.append(to_plane(plane, place))
        ways.append(other @ plane[:3, :2])
        if kind is JointKind.TENON:
            slots.append(to_plane(plane, group.matrices[element].T @ place))
        classes.append(
            JointClassChoice(
                name=name,
                motifs=("strip", "strip"),
                kind=kind,
                at=float(at),
                turn=_turn(group, element),
            )
        )
    path = _through(ports, slots, ways, chosen.width, swap)
    motif = MotifChoice(
        name="strip",
        normal=(float(normal[0]), float(normal[1]), float(normal[2])),
        offset=float(offset),
        path=tuple((float(x), float(y)) for x, y in path),
        width=chosen.width,
        bend=chosen.bend,
        bend_radius=chosen.bend_radius,
    )
    return Recipe((motif,), tuple(classes), group)


def _kinds(pattern: str) -> tuple[JointKind, JointKind]:
    second = JointKind.TENON if pattern == "rotor + rotor" else JointKind.CROSS_LAP
    return JointKind.TENON, second


def _turn(group: Group, element: int) -> Turn:
    axis, angle = group.axis_angle_deg(element)
    return Turn((float(axis[0]), float(axis[1]), float(axis[2])), float(angle))


def _solution(group: Group, chosen: RightAngleOrbit) -> tuple[Floats, Pair]:
    """Return the normal, to full precision, and its two elements."""
    if chosen.normal is None:
        pairs = _pairs(group, chosen, first=[members[0] for members in group.classes()])
        found = _usable(group, square_normals(group, pairs))
        if not len(found):
            raise _no_normal(group, chosen)
        return _best(group, chosen.pattern, found)
    wanted = np.asarray(chosen.normal, dtype=float)
    wanted = wanted / np.linalg.norm(wanted)
    off_square = np.abs(group.matrices @ wanted @ wanted)
    almost = np.flatnonzero(off_square < _ALMOST_SQUARE).tolist()
    found = _usable(group, square_normals(group, _pairs(group, chosen, almost, almost)))
    found = found.take(np.abs(found.normals - wanted).max(axis=1) <= _NEAR)
    if len(found):
        return _best(group, chosen.pattern, found)
    found = _usable(group, square_normals(group, _pairs(group, chosen)))
    if not len(found):
        raise _no_normal(group, chosen)
    nearest = found.normals[np.abs(found.normals - wanted).max(axis=1).argmin()]
    raise DesignError(
        "recipe.normal",
        list(chosen.normal),
        f"a normal within {_NEAR:g} of one that makes both joint classes square; the nearest is "
        f"({nearest[0]:.5f}, {nearest[1]:.5f}, {nearest[2]:.5f})",
        "Take that one, or leave the field out.",
    )


def _pairs(
    group: Group,
    chosen: RightAngleOrbit,
    first: list[int] | None = None,
    second: list[int] | None = None,
) -> list[Pair]:
    """Return the chosen pair of elements, or all that fit the pattern.

    first, second : only these elements are to be tried in these roles
    """
    orders = [group.element_order(k) for k in range(group.order)]
    two_fold = _kinds(chosen.pattern)[1] is JointKind.CROSS_LAP
    if chosen.elements is not None:
        a, b = (
            group.element(turn.axis, turn.angle, f"recipe.elements[{i}]")
            for i, turn in enumerate(chosen.elements, start=1)
        )
        for i, element in enumerate((a, b), start=1):
            if (orders[element] == 2) != (two_fold and i == 2):
                allowed = "a turn of 180 deg" if two_fold and i == 2 else "a turn of 90 to 150 deg"
                found = f"{group.axis_angle_deg(element)[1]:g} deg"
                field = f"recipe.elements[{i}]"
                raise DesignError(field, found, f"{allowed} in pattern {chosen.pattern!r}")
        return [(a, b)]
    everyone = range(group.order)
    ones = [k for k in (everyone if first is None else first) if orders[k] > 2]
    twos = [k for k in (everyone if second is None else second) if (orders[k] == 2) == two_fold]
    return [(a, b) for a, b in product(ones, twos) if a != b]


def _usable(group: Group, found: SquareNormals) -> SquareNormals:
    """Leave out normals of planes that a turn keeps: fewer plates, each in its own way."""
    if not len(found):
        return found
    kept = np.einsum("gij,kj,ki->kg", group.matrices[1:], found.normals, found.normals)
    return found.take((kept < 1.0 - 1e-6).all(axis=1))


def _best(group: Group, pattern: str, found: SquareNormals) -> tuple[Floats, Pair]:
    """Choose among normals by what makes the better sculpture.

    Turns that hold all plates in one piece go first, then normals with many copies square to them
    (more right angles to weave), then three-fold turns (triads, as stiff as the corner of a cube).
    Of what is left that one is taken whose two tabs point most opposite ways (a straight strip) or,
    with a cross-lap, whose three planes are nearest to mutually square; and of two mirror images
    the one for which the normal and those of the two copies are left-handed.
    """
    images = np.einsum("gij,kj->kgi", group.matrices, found.normals)
    partners = (np.abs(np.einsum("kgi,ki->kg", images, found.normals)) < 1e-9).sum(axis=1)
    row = np.arange(len(found))
    one, two = images[row, found.elements[:, 0]], images[row, found.elements[:, 1]]
    volume = np.einsum("ki,ki->k", found.normals, np.cross(one, two))
    lap = _kinds(pattern)[1] is JointKind.CROSS_LAP
    shape = -np.abs(volume) if lap else (one * two).sum(axis=1)
    pairs = found.elements.tolist()
    whole = np.array([len(group.subgroup(pair)) for pair in pairs])
    threes = np.array([sum(group.element_order(k) == 3 for k in pair) for pair in pairs])
    order = np.lexsort((row, volume > 0, np.round(shape, 6), -threes, -partners, -whole))
    best = int(order[0])
    return found.normals[best], (pairs[best][0], pairs[best][1])


def _no_normal(group: Group, chosen: RightAngleOrbit) -> DesignError:
    """Say that a pattern cannot be had, and what can be had instead."""
    if chosen.elements is not None:
        angles = " and ".join(f"{turn.angle:g} deg" for turn in chosen.elements)
        return DesignError(
            "recipe.elements",
            f"turns of {angles}",
            "two turns about two axes that make one plane square to both copies",
            "Leave the field out to get two that do.",
        )
    patterns = ("rotor + rotor", "rotor + two-fold")
    for pattern, other in permutations(patterns):
        others = RightAngleOrbit(chosen.width, pattern=other)
        if pattern == chosen.pattern and len(
            _usable(group, square_normals(group, _pairs(group, others)))
        ):
            remedy = f"Take pattern = {other!r}, or a frame with the group I."
            break
    else:
        remedy = "Take a frame with the group T, O or I."
    return DesignError(
        "recipe.pattern",
        chosen.pattern,
        f"a pattern whose turns make both joints square: the group {group.name} of the frame has "
        "none for this one",
        remedy,
    )


def _through(
    ports: list[Floats], slots: list[Floats], ways: list[Floats], width: float, swap: bool
) -> list[Floats]:
    """Return the points of the centre path: straight leads at the tabs, the slots between.

    ports, slots : (2,) in the plane; ways : (2,) normals of the planes that the ports lie in
    """
    if len(slots) == len(ports):
        between = slots[::-1] if swap else slots
        start = _lead(ports[0], ways[0], between[0], width)
        end = _lead(ports[1], ways[1], between[-1], width)
        return [ports[0], start, *between, end, ports[1]]
    # The strip runs from its tab through its slot and the lap, in either order, to a free end.
    between = [ports[1], *slots] if swap else [*slots, ports[1]]
    step = between[-1] - between[-2]
    free = between[-1] + step / np.linalg.norm(step) * 1.5 * width
    return [ports[0], _lead(ports[0], ways[0], between[0], width), *between, free]


def _lead(port: Floats, way: Floats, towards: Floats, width: float) -> Floats:
    """Return where the straight piece at a tab ends: half a width from it, towards the path."""
    sign = 1.0 if (towards - port) @ way > 0 else -1.0
    return port + sign * way * 0.5 * width
