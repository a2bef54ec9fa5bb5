# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every pattern once: counts by Burnside's lemma, sculptures by networkx, mirrors by builds."""

from __future__ import annotations

import itertools
from collections import Counter

import networkx as nx
import numpy as np
import pytest

from pinwright.core.frame.group import Group, rotation_group
from pinwright.core.search.listing import (
    every_name,
    every_pattern,
    pattern_name,
    same_up_to_turns,
    symmetries,
)
from pinwright.core.search.patterns import (
    KINDS,
    Pattern,
    choices_of,
    classes_of,
    random_pattern,
)
from tests.plate_graph import derived_graph

ALL = [kind for kinds in KINDS.values() for kind in kinds]


def burnside(group: Group, kind: str) -> int:
    """Count classes of equal assignments of elements to the classes of a kind.

    By Burnside's lemma: the mean number of assignments that a change of names leaves alone, over
    all seeds x (one element for each motif) and all ways to change places. Textbook.
    """
    times, inverse = group.product, group.inverse
    template = classes_of(kind)
    motifs = 1 + max(a for a, _, _ in template)
    grid = np.meshgrid(*[np.arange(group.order)] * motifs, indexing="ij")
    x = np.array([part.reshape(-1) for part in grid])  # (M, X)
    ways = symmetries(kind)
    fixed = 0
    for order, places in ways:
        alone = np.ones(x.shape[1], dtype=np.int64)
        left = set(range(len(template)))
        while left:
            first = c = min(left)
            start = np.array(choices_of(group, template[c][2]))[None, :]
            g = np.repeat(start, x.shape[1], axis=0)
            while c in left:  # once round the cycle of classes
                left.remove(c)
                a, b, _ = template[c]
                g = times[times[x[order[a]][:, None], g], inverse[x[order[b]]][:, None]]
                c = places[c]
            assert c == first
            alone *= (g == start).sum(axis=1)
        fixed += int(alone.sum())
    count = len(ways) * x.shape[1]
    assert fixed % count == 0
    return fixed // count


@pytest.mark.parametrize("name", ["T", "O", "I", "D3", "D4", "D5", "D6"])
@pytest.mark.parametrize("motifs", [1, 2])
def test_all_patterns_are_as_many_as_burnside_counts(name: str, motifs: int) -> None:
    group = rotation_group(name)
    for kind in KINDS[motifs]:
        assert len(every_name(group, kind)) == burnside(group, kind)


@pytest.mark.parametrize("name", ["T", "D4"])
@pytest.mark.parametrize("kind", KINDS[3])
def test_three_motifs_too(name: str, kind: str) -> None:
    group = rotation_group(name)
    assert len(every_name(group, kind)) == burnside(group, kind)


# Whole sculptures only: results of ours, held by Burnside's lemma and by networkx here.
COUNTS = {
    "T": (3, 2, 30, 17, 36, 4, 4, 14, 16, 6, 172, 358, 3),
    "O": (3, 2, 78, 56, 123, 5, 5, 68, 61, 35, 830, 2083, 3),
    "I": (8, 4, 481, 306, 866, 13, 12, 271, 236, 106),
    "D3": (0, 1, 1, 0, 3, 1, 0, 4, 2, 3, 2, 9, 0),
    "D4": (0, 2, 2, 0, 10, 2, 0, 14, 4, 12, 4, 24, 0),
    "D5": (0, 1, 1, 0, 6, 1, 0, 7, 2, 5, 2, 16, 0),
}


@pytest.mark.parametrize("name", COUNTS)
def test_counts_of_patterns(name: str) -> None:
    group = rotation_group(name)
    found = tuple(len(every_pattern(group, kind)) for kind in ALL[: len(COUNTS[name])])
    assert found == COUNTS[name]


def joins_twice(group: Group, pattern: Pattern) -> bool:
    """Tell whether two plates have two joints, by counting them."""
    pairs: Counter[frozenset[tuple[int, int]]] = Counter()
    for c, (a, b, g) in enumerate(pattern.classes):
        # A lap's joint is met twice, from either plate: x and x g are each other's.
        for x in range(group.order):
            pairs[frozenset([(a, x), (b, int(group.product[x, g]))])] += 1 + (c not in pattern.laps)
    return max(pairs.values()) > 2


@pytest.mark.parametrize("name", ["T", "D3", "D4"])
def test_what_is_left_out_falls_apart_or_joins_plates_twice(name: str) -> None:
    # networkx judges every assignment there is, for the kinds of which there are not too many.
    group = rotation_group(name)
    for kind in [*KINDS[1], *KINDS[2]]:
        template = classes_of(kind)
        choices = [choices_of(group, sort) for _, _, sort in template]
        if np.prod([len(among) for among in choices]) > 1600:
            continue
        motifs = 1 + max(a for a, _, _ in template)
        laps = tuple(c for c, (_, _, sort) in enumerate(template) if sort == "z")
        whole = set()
        for elements in itertools.product(*choices):
            classes = tuple((a, b, g) for (a, b, _), g in zip(template, elements, strict=True))
            pattern = Pattern(motifs, kind, classes, laps)
            good = nx.is_connected(derived_graph(group, pattern))
            if good and not joins_twice(group, pattern):
                whole.add(pattern_name(group, pattern))
        assert whole == {pattern_name(group, one) for one in every_pattern(group, kind)}


@pytest.mark.parametrize("kind", [*KINDS[1], *KINDS[2]])
def test_every_drawn_pattern_is_listed_and_other_names_change_nothing(kind: str) -> None:
    group = rotation_group("I")
    rng = np.random.default_rng(5)
    listed = {pattern_name(group, one) for one in every_pattern(group, kind)}
    assert len(listed) == len(every_pattern(group, kind))
    drawn = [random_pattern(group, kind, rng, one_axis=bool(k % 2)) for k in range(40)]
    patterns = [one for one in drawn if one is not None]
    assert patterns
    for pattern in patterns:
        name = pattern_name(group, pattern)
        assert name in listed
        seeds = rng.integers(group.order, size=pattern.motifs)
        order, places = symmetries(kind)[int(rng.integers(len(symmetries(kind))))]
        classes = list(pattern.classes)
        for c, (a, b, g) in enumerate(pattern.classes):
            turned = group.product[group.product[seeds[a], g], group.inverse[seeds[b]]]
            classes[places[c]] = (order[a], order[b], int(turned))
        renamed = Pattern(pattern.motifs, kind, tuple(classes), pattern.laps)
        assert pattern_name(group, renamed) == name


def test_turns_of_the_frame_join_patterns_of_t_and_none_of_o_and_i() -> None:
    for kind in [*KINDS[1], *KINDS[2]]:
        for name in ("O", "I", "D3", "D5"):
            group = rotation_group(name)
            assert same_up_to_turns(group, kind) == len(every_pattern(group, kind))
        tetrahedral = rotation_group("T")
        count = len(every_pattern(tetrahedral, kind))
        assert count / 2 <= same_up_to_turns(tetrahedral, kind) < count


@pytest.mark.parametrize("name", ["T", "O", "I"])
def test_listed_patterns_hold_together(name: str) -> None:
    group = rotation_group(name)
    rng = np.random.default_rng(3)
    for kind in [*KINDS[1], *KINDS[2]]:
        patterns = every_pattern(group, kind)
        for row in rng.permutation(len(patterns))[:4]:
            assert nx.is_connected(derived_graph(group, patterns[row]))
            assert not joins_twice(group, patterns[row])
