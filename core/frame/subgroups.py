# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""All subgroups of a rotation group: joins of cyclic ones, grown until nothing new appears."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from .group import Group, name_of

__all__ = ["subgroup_classes", "subgroup_name", "subgroups"]


@lru_cache(maxsize=64)
def subgroups(group: Group) -> tuple[tuple[int, ...], ...]:
    """Return every subgroup as a sorted tuple of elements, smallest first, {0} and all included.

    Every subgroup is the join of its cyclic subgroups, so joining one more cyclic subgroup at a
    time reaches all of them.
    """
    cyclic: dict[tuple[int, ...], tuple[int, ...]] = {
        group.subgroup([k]): (k,) for k in range(group.order)
    }
    generators = dict(cyclic)
    waiting = list(cyclic)
    while waiting:
        known = waiting.pop()
        members = set(known)
        for other in cyclic:
            if not members.issuperset(other):
                larger = (*generators[known], *cyclic[other])
                join = group.subgroup(larger)
                if join not in generators:
                    generators[join] = larger
                    waiting.append(join)
    return tuple(sorted(generators, key=_by_size))


@lru_cache(maxsize=64)
def subgroup_classes(group: Group) -> tuple[tuple[tuple[int, ...], ...], ...]:
    """Return the subgroups sorted into classes of conjugate ones, smallest groups first."""
    left = dict.fromkeys(subgroups(group))
    classes = []
    for subgroup in subgroups(group):
        if subgroup in left:
            members = np.array(subgroup)
            images = group.product[group.product[:, members], group.inverse[:, None]]
            conjugates = {tuple(sorted(row)) for row in images.tolist()}
            classes.append(tuple(sorted(conjugates, key=_by_size)))
            for conjugate in conjugates:
                del left[conjugate]
    return tuple(classes)


def subgroup_name(group: Group, subgroup: tuple[int, ...]) -> str:
    """Return the type of a subgroup: ``C3``, ``D5``, ``T`` ..."""
    return name_of(group.matrices[list(subgroup)])


def _by_size(subgroup: tuple[int, ...]) -> tuple[int, tuple[int, ...]]:
    return len(subgroup), subgroup
