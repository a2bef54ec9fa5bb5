# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which of a group's square normals a right-angle orbit takes, and by which two turns."""

from __future__ import annotations

from itertools import product

import numpy as np
import numpy.typing as npt

from ...design.model import JointKind, RightAngleOrbit
from ...errors import DesignError
from ...frame.group import Group
from .square_normals import SquareNormals, square_normals

__all__ = ["PATTERNS", "chosen_normal"]

Floats = npt.NDArray[np.float64]
Pair = tuple[int, int]

#: The kinds of the two joint classes of each pattern.
PATTERNS = {
    "rotor + rotor": (JointKind.TENON, JointKind.TENON),
    "rotor + two-fold": (JointKind.TENON, JointKind.CROSS_LAP),
}
#: A normal that the user names is taken for an exact one when no number differs by more.
_NEAR = 1e-3
#: Elements whose copies are this close to square to such a normal can be meant (cosine): both
#: normals of the product may be off by the length of (_NEAR, _NEAR, _NEAR).
_ALMOST_SQUARE = 4e-3


def chosen_normal(group: Group, chosen: RightAngleOrbit) -> tuple[Floats, Pair]:
    """Return the normal of a recipe's strip, to full precision, and the elements of its two joints.

    Raises
    ------
    DesignError : the group has no such normal, none near the one that is named, only such as leave
        the plates in several pieces, or an element is not fit for the pattern.
    """
    if chosen.normal is None:
        found = _found(group, chosen)
        if not len(found):
            raise _no_normal(group, chosen)
        best = _best(group, chosen.pattern, found)
        if chosen.elements is None and not _spans(group, best[1]):
            raise _falls_apart(group, chosen, best[1])
        return best
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


def _found(group: Group, chosen: RightAngleOrbit) -> SquareNormals:
    """Return the usable normals of a recipe that names none, but for turned copies of them."""
    first = [members[0] for members in group.classes()]
    return _usable(group, square_normals(group, _pairs(group, chosen, first)))


def _spans(group: Group, elements: Pair) -> bool:
    """Return whether joints by these two turns hold all plates in one piece."""
    return len(group.subgroup(elements)) == group.order


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
    two_fold = PATTERNS[chosen.pattern][1] is JointKind.CROSS_LAP
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
    lap = PATTERNS[pattern][1] is JointKind.CROSS_LAP
    shape = -np.abs(volume) if lap else (one * two).sum(axis=1)
    pairs = found.elements.tolist()
    whole = np.array([len(group.subgroup(pair)) for pair in pairs])
    threes = np.array([sum(group.element_order(k) == 3 for k in pair) for pair in pairs])
    order = np.lexsort((row, volume > 1e-9, np.round(shape, 6), -threes, -partners, -whole))
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
    return DesignError(
        "recipe.pattern",
        chosen.pattern,
        f"a pattern whose turns make both joints square: the group {group.name} of the frame has "
        "none for this one",
        _instead(group, chosen),
    )


def _falls_apart(group: Group, chosen: RightAngleOrbit, elements: Pair) -> DesignError:
    size = len(group.subgroup(elements))
    pieces = f"{group.order // size} pieces of {size} plates"
    return DesignError(
        "recipe.pattern",
        chosen.pattern,
        "a pattern whose joints hold all plates in one piece: with the group "
        f"{group.name} of the frame this one gives {pieces} at best",
        f"{_instead(group, chosen)} Or name the elements, to have the pieces.",
    )


def _instead(group: Group, chosen: RightAngleOrbit) -> str:
    """Return what can be had instead of a pattern that cannot."""
    for pattern in PATTERNS:
        other = RightAngleOrbit(chosen.width, pattern=pattern)
        found = _found(group, other)
        if len(found) and _spans(group, _best(group, pattern, found)[1]):
            return f"Take pattern = {pattern!r}, or a frame with the group I."
    return "Take a frame with the group T or I."
