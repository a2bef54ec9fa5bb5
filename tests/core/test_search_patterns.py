# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Patterns of motifs: their strips hold together; their normals, by scipy's roots."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from scipy.linalg import null_space
from scipy.optimize import least_squares, root

from pinwright.core.frame.group import Group, rotation_group
from pinwright.core.search.listing import every_pattern
from pinwright.core.search.patterns import (
    KINDS,
    TWO_ROTORS,
    Pattern,
    connects,
    random_pattern,
    rotor_elements,
)
from pinwright.core.search.solve import newton_normals, two_rotor_normals
from tests.plate_graph import derived_graph

ALL = [kind for kinds in KINDS.values() for kind in kinds]


# Tabs and places along the strip of each motif, and numbers that stay free of its normals: counted
# by hand from each kind's words (a rotor gives its motif a tab and a slot, a link a tab to the one
# and a slot to the other, a lap a place; two numbers for each normal, less one for each class).
STRIPS = {
    "two rotors of one motif": ([(2, 2)], 0),
    "a rotor crossed on two-fold axes": ([(1, 2)], 0),
    "two rotors, linked both ways": ([(2, 2), (2, 2)], 0),
    "two rotors of one motif, ridden by the other": ([(2, 4), (2, 0)], 0),
    "a rotor that rides and is ridden twice": ([(2, 3), (2, 1)], 0),
    "rotors tied by the other motif": ([(1, 3), (2, 0)], 1),
    "two rotors, one riding the other": ([(1, 2), (2, 1)], 1),
    "a rotor crossed on two-fold axes, ridden by the other": ([(1, 4), (2, 0)], 0),
    "two rotors, one crossed on two-fold axes": ([(1, 3), (2, 1)], 0),
    "two rotors, both crossed on two-fold axes": ([(1, 3), (1, 1)], 0),
    "three rotors, linked in a ring": ([(2, 2), (2, 2), (2, 2)], 0),
    "two rotors, linked both ways, locked by a third motif": ([(2, 3), (2, 3), (2, 0)], 0),
    "two rotors, tied by a third motif": ([(1, 2), (1, 2), (2, 0)], 2),
}


@pytest.mark.parametrize("kind", ALL)
def test_strips_have_their_tabs_and_places(kind: str) -> None:
    rng = np.random.default_rng(6)
    group = rotation_group("O")
    pattern = next(p for p in (random_pattern(group, kind, rng) for _ in range(500)) if p)
    strips, free = STRIPS[kind]
    assert [(len(pattern.tabs(m)), len(pattern.slots(m))) for m in range(pattern.motifs)] == strips
    assert pattern.free == free
    # Every class ends somewhere and begins somewhere; a lap has no tab.
    tabs = [c for m in range(pattern.motifs) for c in pattern.tabs(m)]
    assert sorted([*tabs, *pattern.laps]) == list(range(len(pattern.classes)))
    slots = [c for m in range(pattern.motifs) for c in pattern.slots(m)]
    assert sorted(slots) == list(range(len(pattern.classes)))


@pytest.mark.parametrize("name", ["T", "O", "I"])
@pytest.mark.parametrize("kind", ALL)
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
    apart = Pattern(1, next(iter(KINDS[1])), ((0, 0, turn), (0, 0, twice)))
    assert not connects(group, apart)
    assert nx.number_connected_components(derived_graph(group, apart)) == 8


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
    pattern = every_pattern(group, TWO_ROTORS)[row]
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
    patterns = every_pattern(group, TWO_ROTORS)
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


def equations(group: Group, pattern: Pattern, x: np.ndarray) -> np.ndarray:
    """Cosines of the joints and lengths of the normals, as they stand, for x (3 M,)."""
    n = x.reshape(pattern.motifs, 3)
    square = [n[a] @ group.matrices[g] @ n[b] for a, b, g in pattern.classes]
    return np.array([*square, *((n**2).sum(axis=1) - 1)])


def slope(group: Group, pattern: Pattern, x: np.ndarray) -> np.ndarray:
    """Central differences: exact for equations of second degree, but for rounding."""
    step = 1e-4
    sides = [
        equations(group, pattern, x + sign * step * unit)
        for unit in np.eye(len(x))
        for sign in (1, -1)
    ]
    return ((np.array(sides[0::2]) - np.array(sides[1::2])) / (2 * step)).T


def solved(group: Group, pattern: Pattern, start: np.ndarray) -> np.ndarray | None:
    found = least_squares(
        lambda x: equations(group, pattern, x),
        start,
        jac=lambda x: slope(group, pattern, x),
        xtol=1e-15, ftol=1e-15, gtol=1e-15,
    )  # fmt: skip
    return found.x if np.abs(found.fun).max() < 1e-10 else None


def with_normals(kind: str) -> tuple[Group, Pattern, np.ndarray, np.ndarray]:
    """Return a pattern of a kind and all that Newton's method reaches from many starts."""
    group = rotation_group("I")
    rng = np.random.default_rng(9)
    patterns = every_pattern(group, kind)
    for row in rng.permutation(len(patterns)):
        found = newton_normals(group, patterns[row], rng, 240)
        if (found.free == patterns[row].free).any():
            return group, patterns[row], found.normals, found.free
    raise AssertionError(f"no normals of {kind}")


@pytest.mark.parametrize("kind", [kind for kind in KINDS[2] if STRIPS[kind][1] == 0])
def test_newton_reaches_what_least_squares_reach_from_other_starts(kind: str) -> None:
    group, pattern, normals, _ = with_normals(kind)
    rng = np.random.default_rng(77)
    reached = 0
    for start in rng.standard_normal((12, pattern.motifs, 3)):
        x = solved(group, pattern, (start / np.linalg.norm(start, axis=1)[:, None]).reshape(-1))
        if x is None or null_space(slope(group, pattern, x), rcond=1e-5).shape[1]:
            continue
        n = x.reshape(-1, 3)
        n = n * np.where(n @ [0.31313, 0.77717, 0.54551] < 0, -1.0, 1.0)[:, None]
        reached += 1
        assert np.abs(normals - n).max(axis=(1, 2)).min() < 1e-6
    assert reached >= 3


@pytest.mark.parametrize("kind", ALL)
def test_free_numbers_are_right(kind: str) -> None:
    # A family is a curve or a surface: a step along its tangent, solved again by scipy, lands
    # beside, again and again. An isolated solution draws all near starts back to itself.
    group, pattern, normals, free = with_normals(kind)
    some = [normals[k].reshape(-1) for k in np.flatnonzero(free == pattern.free)[:2]]
    rng = np.random.default_rng(1)
    for x in some:
        tangents = null_space(slope(group, pattern, x), rcond=1e-6)
        assert tangents.shape[1] == STRIPS[kind][1]
        for tangent in tangents.T:
            here, way = x, tangent
            for _ in range(5):
                beside = solved(group, pattern, here + 0.01 * way)
                assert beside is not None
                assert 0.005 < np.linalg.norm(beside - here) < 0.015
                here, way = beside, (beside - here) / np.linalg.norm(beside - here)
            assert np.linalg.norm(here - x) > 0.03
        if tangents.shape[1] == 0:
            for _ in range(3):
                back = solved(group, pattern, x + 1e-4 * rng.standard_normal(len(x)))
                assert back is not None
                assert np.abs(back - x).max() < 1e-7
