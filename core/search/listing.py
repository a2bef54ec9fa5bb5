# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every pattern of a kind once: equal ones differ only by names of plates, motifs and classes.

Naming the seed of motif a by another of its plates, x_a, turns (a, b, g) into (a, b, x_a g x_b^-1).
So the links of a tree that spans the motifs can be made the identity; what is left to choose is one
x for all motifs, which motif and which class is named first where the kind lets them change places.
The least of all those names, read as one number, stands for the pattern.

A mirror image (every point x to -x, which commutes with every turn) has the same planes with all
offsets and places negated. So no pattern has a twin that it is not itself: twins are two designs of
one pattern.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations, product

import numpy as np
import numpy.typing as npt

from ..frame.group import Group
from .normals import frame_turns
from .patterns import Pattern, choices_of, classes_of

__all__ = [
    "every_name",
    "every_pattern",
    "free_numbers",
    "pattern_name",
    "proper_subgroups",
    "same_up_to_turns",
    "symmetries",
]

Ints = npt.NDArray[np.intp]

_Kind = tuple[tuple[int, int, str], ...]

#: A way to change places: where each motif goes, and where each class.
Symmetry = tuple[tuple[int, ...], tuple[int, ...]]


@lru_cache(maxsize=64)
def every_pattern(group: Group, kind: str) -> tuple[Pattern, ...]:
    """Return the patterns of a kind that hold together and join no two plates twice.

    One stands for all equal ones (see the module). Three motifs of the icosahedral group take
    seconds.
    """
    names = _Names(group, kind)
    rows = names.rows(every_name(group, kind))
    rows = rows[_joined_once(group, names.template, rows)]
    rows = rows[_in_one_piece(group, names, rows)]
    laps = tuple(c for c, (_, _, sort) in enumerate(names.template) if sort == "z")
    return tuple(
        Pattern(
            names.motifs,
            kind,
            tuple((a, b, g) for (a, b, _), g in zip(names.template, row, strict=True)),
            laps,
        )
        for row in rows.tolist()
    )


def every_name(group: Group, kind: str) -> Ints:
    """Return the numbers of all patterns of a kind, sorted, also of those that are no sculptures.

    `pattern_name` gives the number of one.
    """
    names = _Names(group, kind)
    return np.unique(names.least(_candidates(group, names)))


def free_numbers(kind: str) -> int:
    """Return how many numbers of the normals stay free in a kind (see `Pattern.free`)."""
    template = classes_of(kind)
    motifs = 1 + max(a for a, _, _ in template)
    return Pattern(motifs, kind, tuple((a, b, 0) for a, b, _ in template)).free


def pattern_name(group: Group, pattern: Pattern) -> int:
    """Return a number that equal patterns of one kind share, and no others."""
    names = _Names(group, pattern.kind)
    return int(names.least(np.array([[g for _, _, g in pattern.classes]]))[0])


def same_up_to_turns(group: Group, kind: str) -> int:
    """Return how many patterns are left when those are one that a turn of the whole frame joins.

    Such a turn keeps the group's axes, but is no element of it: a quarter turn for T, say.
    """
    names = _Names(group, kind)
    rows = np.array([[g for _, _, g in one.classes] for one in every_pattern(group, kind)])
    if len(rows) == 0:
        return 0
    turned = []
    for turn in frame_turns(group):
        images = (turn @ group.matrices @ turn.T).reshape(-1, 1, 9)
        moved = np.abs(images - group.matrices.reshape(1, -1, 9)).max(axis=2).argmin(axis=1)
        turned.append(names.least(moved[rows]))
    return len(np.unique(np.array(turned).min(axis=0)))


def symmetries(kind: str) -> tuple[Symmetry, ...]:
    """Return the ways in which motifs and classes of a kind can change places, identity first."""
    template = classes_of(kind)
    motifs = 1 + max(a for a, _, _ in template)
    found = []
    for order in permutations(range(motifs)):
        moved = [(order[a], order[b], sort) for a, b, sort in template]
        for places in permutations(range(len(template))):
            if all(template[p] == one for p, one in zip(places, moved, strict=True)):
                found.append((order, places))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Step:
    """A link of the spanning tree: class c leads from a known motif to a new one."""

    c: int
    known: int
    new: int
    forward: bool


class _Names:
    """Names of assignments (N, C) of elements to the classes of a template."""

    def __init__(self, group: Group, kind: str) -> None:
        self.group = group
        self.template = classes_of(kind)
        self.motifs = 1 + max(a for a, _, _ in self.template)
        self.tree = _tree(self.template)
        spanning = {step.c for step in self.tree}
        self.rest = [c for c in range(len(self.template)) if c not in spanning]
        self.ways = symmetries(kind)

    def settled(self, rows: Ints) -> Ints:
        """Name the seeds so that every link of the tree is the identity."""
        times, inverse = self.group.product, self.group.inverse
        seeds = np.zeros((self.motifs, len(rows)), dtype=np.intp)
        for step in self.tree:
            g = rows[:, step.c]
            seeds[step.new] = times[seeds[step.known], g if step.forward else inverse[g]]
        named = [
            times[times[seeds[a], rows[:, c]], inverse[seeds[b]]]
            for c, (a, b, _) in enumerate(self.template)
        ]
        return np.stack(named, axis=1)

    def least(self, rows: Ints) -> Ints:
        """Return the number (N,) of each assignment: the least of its names."""
        best = np.full(len(rows), np.iinfo(np.intp).max)
        conjugate = self.group.product[self.group.product, self.group.inverse[:, None]]  # [x, g]
        for _, places in self.ways:
            moved = np.empty_like(rows)
            moved[:, list(places)] = rows
            moved = self.settled(moved)
            for turn in conjugate:
                best = np.minimum(best, self._number(turn[moved]))
        return best

    def rows(self, numbers: Ints) -> Ints:
        """Return the assignments (N, C) that have these numbers."""
        found = np.zeros((len(numbers), len(self.template)), dtype=np.intp)
        left = numbers.copy()
        for c in reversed(self.rest):
            left, found[:, c] = np.divmod(left, self.group.order)
        return found

    def _number(self, rows: Ints) -> Ints:
        number = np.zeros(len(rows), dtype=np.intp)
        for c in self.rest:
            number = number * self.group.order + rows[:, c]
        return number


def _tree(template: _Kind) -> list[_Step]:
    tree: list[_Step] = []
    known = {0}
    while True:
        step = next(
            (
                _Step(c, *((a, b, True) if a in known else (b, a, False)))
                for c, (a, b, _) in enumerate(template)
                if (a in known) != (b in known)
            ),
            None,
        )
        if step is None:
            return tree
        known.add(step.new)
        tree.append(step)


def _candidates(group: Group, names: _Names) -> Ints:
    """Return assignments (N, C), of each class of equal ones one or more; links of the tree are 1.

    The first class of a motif with itself takes one element of each conjugacy class.
    """
    spanning = {step.c for step in names.tree}
    columns = []
    for c, (_, _, sort) in enumerate(names.template):
        column = (0,) if c in spanning else choices_of(group, sort)
        if c == names.rest[0]:
            wanted = set(column)
            column = tuple(m[0] for m in group.classes() if m[0] in wanted)
        columns.append(np.array(column, dtype=np.intp))
    grid = np.meshgrid(*columns, indexing="ij")
    return np.stack([part.reshape(-1) for part in grid], axis=1)


def _joined_once(group: Group, template: _Kind, rows: Ints) -> npt.NDArray[np.bool_]:
    """Tell which assignments join no two plates by two classes."""
    good = np.ones(len(rows), dtype=bool)
    for c, (a, b, _) in enumerate(template):
        for d in range(c):
            if template[d][:2] == (a, b):
                good &= rows[:, c] != rows[:, d]
            if template[d][:2] == (b, a):
                good &= rows[:, c] != group.inverse[rows[:, d]]
    return good


def _in_one_piece(group: Group, names: _Names, rows: Ints) -> npt.NDArray[np.bool_]:
    """Tell which assignments hold all plates together.

    With the tree's links the identity, the other classes are the closed walks; they must generate
    the group: no proper subgroup holds them all.
    """
    if len(names.tree) < names.motifs - 1:
        return np.zeros(len(rows), dtype=bool)
    apart = np.zeros(len(rows), dtype=bool)
    for held in proper_subgroups(group):
        apart |= held[rows[:, names.rest]].all(axis=1)
    return ~apart


@lru_cache(maxsize=16)
def proper_subgroups(group: Group) -> npt.NDArray[np.bool_]:
    """Return the subgroups other than the whole as rows (S, n): which elements each holds.

    Every finite rotation group is cyclic, dihedral, T, O or I, and so are its subgroups: two
    elements generate any of them.
    """
    found: set[tuple[int, ...]] = {(0,)}
    for a, b in product(range(group.order), repeat=2):
        if a <= b:
            found.add(group.subgroup((a, b)))
    proper = sorted(members for members in found if len(members) < group.order)
    table = np.zeros((len(proper), group.order), dtype=bool)
    for row, members in zip(table, proper, strict=True):
        row[list(members)] = True
    return table
