# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which motifs are joined by which elements: the voltage graphs that the search fills with plates.

A pattern lists joint classes (a, b, g): plate x of motif a has a tab in plate x g of motif b.
Every strip has a tab at each of its two ends, so each motif is the `a` of exactly two classes.
Motif b may be named by another of its plates (g -> g y), and the whole turned (g -> x g): that and
the order of motifs are no differences.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ..frame.group import Group
from ..plates.recipes.square_normals import square_cosine

__all__ = [
    "KINDS",
    "Pattern",
    "connects",
    "link_pairs",
    "random_pattern",
    "rotor_elements",
    "two_rotor_patterns",
]

#: For each number of motifs the kinds of patterns that are searched, in words.
KINDS: dict[int, tuple[str, ...]] = {
    1: ("two rotors of one motif",),
    2: ("two rotors, linked both ways", "two rotors of one motif, ridden by the other"),
    3: ("three rotors, linked in a ring", "two rotors, linked both ways, locked by a third motif"),
}


@dataclass(frozen=True, slots=True)
class Pattern:
    """Joint classes by number: `classes` holds (a, b, element), two for each a, in order of a."""

    motifs: int
    kind: str
    classes: tuple[tuple[int, int, int], ...]

    def tabs(self, motif: int) -> tuple[int, ...]:
        """Return the classes whose tab a motif carries."""
        return tuple(c for c, (a, _, _) in enumerate(self.classes) if a == motif)

    def slots(self, motif: int) -> tuple[int, ...]:
        """Return the classes whose slot a motif carries."""
        return tuple(c for c, (_, b, _) in enumerate(self.classes) if b == motif)


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


def random_pattern(group: Group, kind: str, rng: np.random.Generator) -> Pattern | None:
    """Draw a pattern of a kind; None when the group has no rotors or the draw falls apart."""
    rotors = rotor_elements(group)
    if not rotors:
        return None
    r = [int(rotors[i]) for i in rng.integers(len(rotors), size=3)]
    x = [int(i) for i in rng.integers(group.order, size=4)]
    motifs, classes = _kinds(r, x)[kind]
    pattern = Pattern(motifs, kind, classes)
    if len(set(classes)) < len(classes) or not connects(group, pattern):
        return None
    # The same two plates joined twice would have to be sprung apart to go together.
    if any((b, a, int(group.inverse[g])) in classes for a, b, g in classes):
        return None
    return pattern


def _kinds(
    r: Sequence[int], x: Sequence[int]
) -> dict[str, tuple[int, tuple[tuple[int, int, int], ...]]]:
    one, two, three = KINDS[1], KINDS[2], KINDS[3]
    return {
        one[0]: (1, ((0, 0, r[0]), (0, 0, r[1]))),
        two[0]: (2, ((0, 0, r[0]), (0, 1, x[0]), (1, 1, r[1]), (1, 0, x[1]))),
        two[1]: (2, ((0, 0, r[0]), (0, 0, r[1]), (1, 0, x[0]), (1, 0, x[1]))),
        three[0]: (
            3,
            ((0, 0, r[0]), (0, 1, x[0]), (1, 1, r[1]), (1, 2, x[1]), (2, 2, r[2]), (2, 0, x[2])),
        ),
        three[1]: (
            3,
            ((0, 0, r[0]), (0, 1, x[0]), (1, 1, r[1]), (1, 0, x[1]), (2, 0, x[2]), (2, 1, x[3])),
        ),
    }


def two_rotor_patterns(group: Group) -> tuple[Pattern, ...]:
    """Return every pattern of two rotors linked both ways, one for each class of equal ones.

    Equal are patterns that differ by the choice of the seed plates (x, y): g1 -> x g1 x^-1,
    h -> x h y^-1, g2 -> y g2 y^-1, h' -> y h' x^-1, or by the order of the motifs.
    """
    seeds = _class_representatives(group, rotor_elements(group))
    kind = KINDS[2][0]
    found = []
    for i, g1 in enumerate(seeds):
        for g2 in seeds[i:]:
            for h, back in link_pairs(group, g1, g2):
                pattern = Pattern(2, kind, ((0, 0, g1), (0, 1, h), (1, 1, g2), (1, 0, back)))
                if back != group.inverse[h] and connects(group, pattern):
                    found.append(pattern)
    return tuple(found)


def _class_representatives(group: Group, elements: Sequence[int]) -> list[int]:
    wanted = set(elements)
    return [members[0] for members in group.classes() if members[0] in wanted]


def link_pairs(group: Group, g1: int, g2: int) -> list[tuple[int, int]]:
    """Return one (h, h') of each orbit under the elements that keep g1 and g2."""
    product, inverse = group.product, group.inverse
    keep_1 = [x for x in range(group.order) if product[x, g1] == product[g1, x]]
    keep_2 = [y for y in range(group.order) if product[y, g2] == product[g2, y]]
    n = group.order
    h, back = (part.reshape(-1) for part in np.meshgrid(range(n), range(n), indexing="ij"))
    least = np.full(n * n, n * n)
    for x in keep_1:
        for y in keep_2:
            h2 = product[product[x, h], inverse[y]]
            back2 = product[product[y, back], inverse[x]]
            least = np.minimum(least, h2 * n + back2)
    if g1 == g2:  # the motifs may change places: (h, h') is (h', h)
        swapped = least.reshape(n, n).T.reshape(-1)
        least = np.minimum(least, swapped)
    keys: npt.NDArray[np.intp] = np.unique(least)
    return [divmod(int(key), n) for key in keys]
