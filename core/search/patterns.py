# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which motifs are joined by which elements: the voltage graphs that the search fills with plates.

A pattern lists joint classes (a, b, g): plate x of motif a has a tab in plate x g of motif b.
A strip has a tab at one end or at both; the other end is free. A class of a motif with itself by a
half-turn is a cross-lap: the two plates cross on the axis. Each class asks one equation of the
normals, which have two numbers for each motif: fewer classes than that leave numbers free.
Motif b may be named by another of its plates (g -> g y), and the whole turned (g -> x g): that and
the order of motifs are no differences.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..frame.group import Group
from ..plates.recipes.square_normals import square_cosine

__all__ = [
    "KINDS",
    "TWO_ROTORS",
    "Pattern",
    "choices_of",
    "classes_of",
    "connects",
    "half_turns",
    "random_pattern",
    "rotor_elements",
    "two_rotors",
]

_Kind = tuple[tuple[int, int, str], ...]

TWO_ROTORS = "two rotors, linked both ways"

#: Kinds of patterns in words, with their classes: r a rotor, x any link, z a half-turn's cross-lap.
_CLASSES: dict[str, _Kind] = {
    "two rotors of one motif": ((0, 0, "r"), (0, 0, "r")),
    "a rotor crossed on two-fold axes": ((0, 0, "r"), (0, 0, "z")),
    TWO_ROTORS: ((0, 0, "r"), (0, 1, "x"), (1, 1, "r"), (1, 0, "x")),
    "two rotors of one motif, ridden by the other": (
        (0, 0, "r"), (0, 0, "r"), (1, 0, "x"), (1, 0, "x"),
    ),
    "a rotor that rides and is ridden twice": (
        (0, 0, "r"), (0, 1, "x"), (1, 0, "x"), (1, 0, "x"),
    ),
    "rotors tied by the other motif": ((0, 0, "r"), (1, 0, "x"), (1, 0, "x")),
    "two rotors, one riding the other": ((0, 0, "r"), (1, 1, "r"), (1, 0, "x")),
    "a rotor crossed on two-fold axes, ridden by the other": (
        (0, 0, "r"), (0, 0, "z"), (1, 0, "x"), (1, 0, "x"),
    ),
    "two rotors, one crossed on two-fold axes": (
        (0, 0, "r"), (0, 0, "z"), (1, 1, "r"), (1, 0, "x"),
    ),
    "two rotors, both crossed on two-fold axes": (
        (0, 0, "r"), (0, 0, "z"), (1, 0, "x"), (1, 1, "z"),
    ),
    "three rotors, linked in a ring": (
        (0, 0, "r"), (0, 1, "x"), (1, 1, "r"), (1, 2, "x"), (2, 2, "r"), (2, 0, "x"),
    ),
    "two rotors, linked both ways, locked by a third motif": (
        (0, 0, "r"), (0, 1, "x"), (1, 1, "r"), (1, 0, "x"), (2, 0, "x"), (2, 1, "x"),
    ),
    "two rotors, tied by a third motif": (
        (0, 0, "r"), (1, 1, "r"), (2, 0, "x"), (2, 1, "x"),
    ),
}  # fmt: skip

#: The kinds that are searched for each number of motifs, and how often each is drawn.
KINDS: dict[int, dict[str, float]] = {
    n: {
        kind: 2.0 if len(classes) < 2 * n or kind == TWO_ROTORS else 1.0
        for kind, classes in _CLASSES.items()
        if n == 1 + max(a for a, _, _ in classes)
    }
    for n in (1, 2, 3)
}


def classes_of(kind: str) -> tuple[tuple[int, int, str], ...]:
    """Return the classes of a kind: from motif, to motif, and r a rotor, x any link, z a lap."""
    return _CLASSES[kind]


def two_rotors(kind: str) -> bool:
    """Tell whether a kind has rotors of two different motifs."""
    return len({a for a, _, sort in _CLASSES[kind] if sort == "r"}) > 1


@dataclass(frozen=True, slots=True)
class Pattern:
    """Joint classes by number: `classes` holds (a, b, element), `laps` which are cross-laps."""

    motifs: int
    kind: str
    classes: tuple[tuple[int, int, int], ...]
    laps: tuple[int, ...] = ()

    def tabs(self, motif: int) -> tuple[int, ...]:
        """Return the classes whose tab a motif carries, one or two."""
        return tuple(
            c for c, (a, _, _) in enumerate(self.classes) if a == motif and c not in self.laps
        )

    def slots(self, motif: int) -> tuple[int, ...]:
        """Return the classes through whose places a motif's strip runs: slots and cross-laps."""
        return tuple(c for c, (_, b, _) in enumerate(self.classes) if b == motif)

    def drawn(self, motif: int) -> tuple[int, ...]:
        """Return the classes of a motif with itself that have a place to choose: a lap has none."""
        return tuple(
            c for c, (a, b, _) in enumerate(self.classes) if a == b == motif and c not in self.laps
        )

    @property
    def shared(self) -> tuple[int, ...]:
        """The classes that join two motifs."""
        return tuple(c for c, (a, b, _) in enumerate(self.classes) if a != b)

    @property
    def free(self) -> int:
        """How many numbers of the normals stay free when no two equations ask the same."""
        return max(0, 2 * self.motifs - len(self.classes))


@lru_cache(maxsize=16)
def rotor_elements(group: Group) -> tuple[int, ...]:
    """Return the elements of tenon rotors: three-fold or higher, with square normals.

    A half-turn is none: its two plates would each have a tab in the other at one place.
    """
    return tuple(
        k
        for k in range(1, group.order)
        if group.inverse[k] != k and square_cosine(group.axis_angle_deg(k)[1]) is not None
    )


def connects(group: Group, pattern: Pattern) -> bool:
    """Tell whether the joints hold all copies of all motifs in one piece.

    They do when the motifs hang together and the elements met on closed walks generate the group.
    """
    known: dict[int, int] = {0: 0}  # the element that leads from motif 0 to each motif
    links = [*pattern.classes, *((b, a, int(group.inverse[g])) for a, b, g in pattern.classes)]
    while True:
        new = [
            (b, int(group.product[known[a], g]))
            for a, b, g in links
            if a in known and b not in known
        ]
        if not new:
            break
        known[new[0][0]] = new[0][1]
    if len(known) < pattern.motifs:
        return False
    loops = {
        int(group.product[group.product[known[a], g], group.inverse[known[b]]])
        for a, b, g in pattern.classes
    }
    return len(group.subgroup(loops)) == group.order


def half_turns(group: Group) -> tuple[int, ...]:
    """Return the elements of two-fold crossings."""
    return tuple(k for k in range(1, group.order) if group.inverse[k] == k)


def choices_of(group: Group, sort: str) -> tuple[int, ...]:
    """Return the elements that a class may take: sort r a rotor, z a half-turn, x any link."""
    if sort == "x":
        return tuple(range(group.order))
    return rotor_elements(group) if sort == "r" else half_turns(group)


def random_pattern(
    group: Group, kind: str, rng: np.random.Generator, one_axis: bool = False
) -> Pattern | None:
    """Draw a pattern of a kind; None when the group has no such or the draw falls apart.

    one_axis : all rotors turn about the first one's axis
    """
    template = _CLASSES[kind]
    choices = {sort: choices_of(group, sort) for sort in "rzx"}
    if any(len(choices[sort]) == 0 for _, _, sort in template):
        return None
    classes = []
    for a, b, sort in template:
        among = choices[sort]
        classes.append((a, b, int(among[int(rng.integers(len(among)))])))
    if one_axis:
        rotors = [c for c, (_, _, sort) in enumerate(template) if sort == "r"]
        # Rotors of three are the ones that a sculptor calls triangles.
        threes = [g for g in choices["r"] if group.element_order(g) == 3]
        first = classes[rotors[0]][2]
        if threes and rng.random() < 0.75:
            first = int(threes[int(rng.integers(len(threes)))])
            classes[rotors[0]] = (*classes[rotors[0]][:2], first)
        for c in rotors[1:]:
            turn = first if rng.integers(2) else int(group.inverse[first])
            classes[c] = (*classes[c][:2], turn)
    laps = tuple(c for c, (_, _, sort) in enumerate(template) if sort == "z")
    motifs = 1 + max(a for a, _, _ in template)
    pattern = Pattern(motifs, kind, tuple(classes), laps)
    if len(set(classes)) < len(classes) or not connects(group, pattern):
        return None
    # The same two plates joined twice would have to be sprung apart to go together.
    if any(
        c not in laps and (b, a, int(group.inverse[g])) in classes
        for c, (a, b, g) in enumerate(classes)
    ):
        return None
    return pattern
