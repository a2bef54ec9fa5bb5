# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Patterns of motifs and their normals: counts by Burnside's lemma, solutions by scipy's roots."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from scipy.optimize import root

from pinwright.core.frame.group import Group, rotation_group
from pinwright.core.search.patterns import (
    KINDS,
    Pattern,
    connects,
    link_pairs,
    random_pattern,
    rotor_elements,
    two_rotor_patterns,
)
from pinwright.core.search.solve import newton_normals, two_rotor_normals


def link_orbits(group: Group, g1: int, g2: int) -> int:
    """Orbits of pairs (h, h') under (x, y), x and y commuting with g1 and g2, and their swap.

    Burnside's lemma: the mean number of pairs that a transformation leaves alone.
    """
    product, inverse = group.product, group.inverse
    keep_1 = [x for x in range(group.order) if product[x, g1] == product[g1, x]]
    keep_2 = [y for y in range(group.order) if product[y, g2] == product[g2, y]]
    fixed = count = 0
    everyone = range(group.order)
    for x in keep_1:
        for y in keep_2:
            first = [int(product[product[x, h], inverse[y]]) for h in everyone]
            second = [int(product[product[y, h], inverse[x]]) for h in everyone]
            fixed += sum(first[h] == h for h in everyone) * sum(second[h] == h for h in everyone)
            count += 1
            if g1 == g2:
                # The swap sends (h, h') to (second of h', first of h): fixed when h' = first of h
                # and h = second of h'.
                fixed += sum(second[first[h]] == h for h in everyone)
                count += 1
    assert fixed % count == 0
    return fixed // count


@pytest.mark.parametrize("name", ["T", "O", "I"])
def test_link_pairs_are_as_many_as_burnside_counts(name: str) -> None:
    group = rotation_group(name)
    rotors = set(rotor_elements(group))
    seeds = [members[0] for members in group.classes() if members[0] in rotors]
    for i, g1 in enumerate(seeds):
        for g2 in seeds[i:]:
            assert len(link_pairs(group, g1, g2)) == link_orbits(group, g1, g2)


# Two rotors linked both ways, whole sculptures only: a result of ours, held by the test above.
@pytest.mark.parametrize(("name", "count"), [("T", 30), ("O", 78), ("I", 481)])
def test_two_rotor_patterns_hold_together_and_join_no_plates_twice(name: str, count: int) -> None:
    group = rotation_group(name)
    patterns = two_rotor_patterns(group)
    assert len(patterns) == len({p.classes for p in patterns}) == count
    for pattern in patterns[:: max(1, count // 25)]:
        assert nx.is_connected(derived_graph(group, pattern))
        (_, _, h), (_, _, back) = pattern.classes[1::2]
        assert group.product[h, back] != 0


@pytest.mark.parametrize("name", ["T", "O", "I"])
@pytest.mark.parametrize("kind", [kind for kinds in KINDS.values() for kind in kinds])
def test_connected_patterns_make_connected_sculptures(name: str, kind: str) -> None:
    # networkx judges the derived graph: plates (motif, x), joints (a, x) to (b, x g).
    group = rotation_group(name)
    rng = np.random.default_rng(4)
    for _ in range(12):
        pattern = random_pattern(group, kind, rng)
        if pattern is not None:
            assert nx.is_connected(derived_graph(group, pattern))


def test_patterns_that_fall_apart_are_told() -> None:
    group = rotation_group("O")
    turn = next(g for g in rotor_elements(group) if group.element_order(g) == 3)
    twice = int(group.product[turn, turn])
    apart = Pattern(1, KINDS[1][0], ((0, 0, turn), (0, 0, twice)))
    assert not connects(group, apart)
    assert nx.number_connected_components(derived_graph(group, apart)) == 8


def derived_graph(group: Group, pattern: Pattern) -> nx.Graph:
    graph = nx.Graph()
    graph.add_nodes_from((m, x) for m in range(pattern.motifs) for x in range(group.order))
    for a, b, g in pattern.classes:
        graph.add_edges_from(((a, x), (b, int(group.product[x, g]))) for x in range(group.order))
    return graph


def scipy_solutions(group: Group, pattern: Pattern, starts: int) -> np.ndarray:
    """Isolated solutions (k, M, 3) that scipy's root finder reaches, n and -n taken for one."""
    motifs = pattern.motifs

    def equations(x: np.ndarray) -> np.ndarray:
        n = x.reshape(motifs, 3)
        square = [n[a] @ group.matrices[g] @ n[b] for a, b, g in pattern.classes]
        return np.array([*square, *((n**2).sum(axis=1) - 1)])

    rng = np.random.default_rng(11)
    found: list[np.ndarray] = []
    for start in rng.standard_normal((starts, motifs, 3)):
        start /= np.linalg.norm(start, axis=1, keepdims=True)
        solved = root(equations, start.reshape(-1), tol=1e-13)
        if np.abs(solved.fun).max() > 1e-11:
            continue
        n = solved.x.reshape(motifs, 3)
        n *= np.where(n @ [0.31313, 0.77717, 0.54551] < 0, -1.0, 1.0)[:, None]
        if all(np.abs(n - other).max() > 1e-4 for other in found):
            found.append(n)
    return np.array(found).reshape(-1, motifs, 3)


@pytest.mark.parametrize("row", [3, 77, 160, 242, 301, 400])
def test_two_rotors_have_the_solutions_that_scipy_finds(row: int) -> None:
    group = rotation_group("I")
    pattern = two_rotor_patterns(group)[row]
    closed = two_rotor_normals(group, pattern)
    isolated = closed.normals[closed.free == 0]
    found = scipy_solutions(group, pattern, 80)
    for n in found:
        assert np.abs(closed.normals - n).max(axis=(1, 2)).min() < 1e-5
    for n in isolated:
        assert np.abs(found - n).max(axis=(1, 2)).min() < 1e-5


@pytest.mark.parametrize("name", ["T", "O", "I"])
def test_closed_form_and_newton_agree(name: str) -> None:
    group = rotation_group(name)
    rng = np.random.default_rng(2)
    patterns = two_rotor_patterns(group)
    for pattern in patterns[:: max(1, len(patterns) // 12)]:
        closed = two_rotor_normals(group, pattern)
        reached = newton_normals(group, pattern, rng, 60)
        for n, free in zip(reached.normals, reached.free, strict=True):
            if free == 0:
                assert np.abs(closed.normals - n).max(axis=(1, 2)).min() < 2e-3


@pytest.mark.parametrize("kind", [*KINDS[2], *KINDS[3]])
def test_solutions_are_square_to_the_last_digit(kind: str) -> None:
    group = rotation_group("I")
    rng = np.random.default_rng(8)
    solved = 0
    for _ in range(12):
        pattern = random_pattern(group, kind, rng)
        if pattern is None:
            continue
        for n in newton_normals(group, pattern, rng, 16).normals:
            solved += 1
            assert np.abs(np.linalg.norm(n, axis=1) - 1).max() < 1e-12
            for a, b, g in pattern.classes:
                assert abs(n[a] @ group.matrices[g] @ n[b]) < 1e-12
    assert solved > 5


def test_a_curve_of_solutions_is_told_from_points() -> None:
    # One rotor and one link leave two normals one free number: 4 unknowns, 3 equations.
    group = rotation_group("I")
    turn = rotor_elements(group)[0]
    pattern = Pattern(2, "", ((0, 0, turn), (0, 1, 7), (1, 1, turn)))
    found = newton_normals(group, pattern, np.random.default_rng(1), 10)
    assert len(found) >= 5
    assert set(found.free.tolist()) == {1}
