# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Right-angle normals of one motif against a brute force: a grid, refined by scipy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import root
from scipy.spatial.transform import Rotation

from pinwright.core.frame.group import rotation_group
from pinwright.core.search.normals import (
    frame_turns,
    one_motif_normals,
    right_angle_circles,
    square_elements,
)

# Orbits of normals, lines in all orbits, kinds up to turns of the whole frame. They are results of
# ours; the brute force below, which shares no formula with the search, finds the same.
COUNTS = {
    "D2": (3, 6, 1),
    "D3": (2, 6, 1),
    "D4": (5, 20, 3),
    "D5": (3, 20, 2),
    "D6": (6, 42, 4),
    "D7": (5, 42, 3),
    "T": (4, 33, 3),
    "O": (6, 81, 6),
    "I": (15, 675, 15),
}


def sphere_grid(count: int) -> np.ndarray:
    """Points (count, 3) spread evenly on the upper half of the sphere, on a golden spiral."""
    k = np.arange(count) + 0.5
    z = k / count
    turn = np.pi * (1 + np.sqrt(5)) * k
    flat = np.sqrt(1 - z * z)
    return np.column_stack([flat * np.cos(turn), flat * np.sin(turn), z])


def brute_force(name: str, starts: int) -> np.ndarray:
    """All lines (k, 3) with two right angles that a root finder reaches from a grid of starts.

    The group comes from scipy, the equation is n . g n = 0 as it stands, with the four elements
    that are nearest to square at each start taken two by two.
    """
    matrices = Rotation.create_group(name).as_matrix()
    elements = [g for g in matrices if np.trace(g) < 2.9]
    # One of each pair g and g^-1: they give one equation.
    reps = [g for i, g in enumerate(elements) if not any(np.allclose(g.T, h) for h in elements[:i])]
    forms = np.array([(g + g.T) / 2 for g in reps])
    found: list[np.ndarray] = []
    for start in sphere_grid(starts):
        near = np.argsort(np.abs(start @ forms @ start))[:4]
        for i, a in enumerate(near):
            for b in near[i + 1 :]:
                pair = forms[[a, b]]

                def equations(n: np.ndarray, pair: np.ndarray = pair) -> np.ndarray:
                    return np.array([*(pair @ n @ n), n @ n - 1])

                def slope(n: np.ndarray, pair: np.ndarray = pair) -> np.ndarray:
                    return 2 * np.array([*(pair @ n), n])

                solved = root(equations, start, jac=slope, tol=1e-13)
                if np.abs(solved.fun).max() < 1e-13:
                    found.append(solved.x)
    lines = np.array(found)
    lines *= np.where(lines @ [0.313, 0.777, 0.545] < 0, -1.0, 1.0)[:, None]
    distinct: list[np.ndarray] = []
    for line in lines:
        # Where circles only touch, a root finder stops short, by up to the fourth root of 1e-13.
        if not distinct or np.abs(np.array(distinct) - line).max(axis=1).min() > 3e-3:
            distinct.append(line)
    return np.array(distinct)


@pytest.mark.parametrize("name", COUNTS)
def test_counts(name: str) -> None:
    solved = one_motif_normals(rotation_group(name))
    kinds = len({one.kind for one in solved})
    assert (len(solved), sum(one.lines for one in solved), kinds) == COUNTS[name]


@pytest.mark.parametrize(("name", "starts"), [("D3", 150), ("D5", 150), ("T", 200), ("O", 400)])
def test_brute_force_finds_the_same_normals(name: str, starts: int) -> None:
    group = rotation_group(name)
    lines = np.concatenate([group.matrices @ one.normal for one in one_motif_normals(group)])
    found = brute_force(name, starts)
    near = np.abs(found @ lines.T)
    assert near.max(axis=1).min() > 1 - 1e-6  # nothing that the closed form lacks
    assert near.max(axis=0).min() > 1 - 1e-6  # nothing that the brute force lacks
    assert len(found) == COUNTS[name][1]


def test_brute_force_finds_all_675_lines_of_the_icosahedral_group() -> None:
    group = rotation_group("I")
    solved = one_motif_normals(group)
    lines = np.concatenate([group.matrices @ one.normal for one in solved])
    found = brute_force("I", 700)
    # The icosahedral group is large enough that a grid misses lines that crowd; up to its turns
    # all orbits are there, and nothing else.
    near = np.abs(found @ lines.T)
    assert near.max(axis=1).min() > 1 - 1e-6
    reached = {int(i) // group.order for i in near.argmax(axis=1)}
    assert reached == set(range(len(solved)))


@pytest.mark.parametrize("name", ["D4", "T", "O", "I"])
def test_every_listed_element_is_square_and_no_other(name: str) -> None:
    group = rotation_group(name)
    for one in one_motif_normals(group):
        cosines = np.abs(group.matrices @ one.normal @ one.normal)
        listed = {*one.elements, *(int(group.inverse[k]) for k in one.elements)}
        assert cosines[sorted(listed)].max() < 1e-12
        others = [k for k in range(group.order) if k not in listed]
        assert cosines[others].min() > 1e-6
        assert len(one.elements) >= 2


def test_a_known_best_normal_of_the_icosahedral_group() -> None:
    # 8 partners of each plate, n about (0.9450, 0.2021, 0.2571): worked out from the same circles
    # on another day with another program. 8 partners are 4 elements and their inverses.
    group = rotation_group("I")
    best = next(one for one in one_motif_normals(group) if one.plates_in_plane == 1)
    assert len(best.elements) == 4
    known = np.array([0.9450, 0.2021, 0.2571])
    axes = [np.array(p) for p in ((0, 1, 2), (1, 2, 0), (2, 0, 1), (0, 2, 1), (2, 1, 0), (1, 0, 2))]
    images = np.abs(group.matrices @ best.normal)
    assert min(np.abs(images[:, p] - known).max(axis=1).min() for p in axes) < 1e-4


def test_octahedral_best_normal_is_2_1_2() -> None:
    # n = (2, 1, 2)/3: 4 partners of each plate, by hand: n . (n_z, n_x, n_y) style products vanish.
    group = rotation_group("O")
    best = [one for one in one_motif_normals(group) if one.plates_in_plane == 1]
    images = [np.sort(np.abs(one.normal)) for one in best]
    assert any(np.allclose(image, [1 / 3, 2 / 3, 2 / 3], atol=1e-12) for image in images)


@pytest.mark.parametrize("name", ["T", "O", "I", "D2", "D5"])
def test_frame_turns_keep_the_group(name: str) -> None:
    group = rotation_group(name)
    for turn in frame_turns(group):
        moved = turn @ group.matrices @ turn.T
        gaps = np.abs(moved[:, None] - group.matrices[None]).max(axis=(2, 3)).min(axis=1)
        assert gaps.max() < 1e-12


@pytest.mark.parametrize(("name", "count"), [("T", 2), ("O", 4), ("I", 3), ("D4", 4)])
def test_families_with_one_free_number(name: str, count: int) -> None:
    group = rotation_group(name)
    circles = right_angle_circles(group)
    assert len(circles) == count
    for circle in circles:
        normals = circle.normals(np.linspace(0, 360, 25))
        turned = normals @ group.matrices[circle.element].T
        assert np.abs((normals * turned).sum(axis=1)).max() < 1e-14


def test_turns_below_a_right_angle_are_never_square() -> None:
    # A fifth of a turn cannot carry a plane square to itself; two fifths can.
    group = rotation_group("I")
    angles = {round(group.axis_angle_deg(k)[1]) for k in square_elements(group)}
    assert angles == {120, 144, 180}
