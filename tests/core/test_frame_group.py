# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Groups: the axioms, cosets and orbits, and the turns that a design file asks for."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from pinwright.core.errors import DesignError, FrameError
from pinwright.core.frame.group import group_from_matrices, name_of, rotation_group
from pinwright.core.frame.subgroups import subgroup_classes, subgroup_name, subgroups

NAMES = ["C1", "C2", "C5", "C12", "D2", "D3", "D4", "D7", "D60", "T", "O", "I"]
POINTS = [(0.0, 0.0, 1.0), (1.0, 0.0, 0.0), (1.0, 1.0, 1.0), (0.3, 0.5, 0.9), (1.0, 0.0, 1.0)]


@pytest.mark.parametrize("name", NAMES)
def test_tables_obey_the_axioms(name: str) -> None:
    group = rotation_group(name)
    everyone = np.arange(group.order)
    table = group.product
    assert (np.sort(table, axis=0) == everyone[:, None]).all()
    assert (np.sort(table, axis=1) == everyone).all()
    assert (table[0] == everyone).all()
    assert (table[:, 0] == everyone).all()
    assert (table[table] == table[:, table]).all()  # (a b) c = a (b c)
    assert (table[everyone, group.inverse] == 0).all()


@pytest.mark.parametrize("name", NAMES)
def test_tables_say_what_the_matrices_do(name: str) -> None:
    group = rotation_group(name)
    products = group.matrices[:, None] @ group.matrices[None]
    np.testing.assert_allclose(products, group.matrices[group.product], atol=3e-15)
    np.testing.assert_allclose(np.linalg.det(group.matrices), 1.0, atol=1e-14)
    assert not group.matrices.flags.writeable


@pytest.mark.parametrize("name", NAMES)
def test_the_orientation_is_scipys(name: str) -> None:
    # Independent library: scipy.spatial.transform.Rotation.create_group.
    theirs = Rotation.create_group(name).as_matrix()
    ours = rotation_group(name).matrices
    gaps = np.abs(theirs[:, None] - ours[None]).max(axis=(2, 3))
    assert gaps.min(axis=1).max() < 1e-14
    assert gaps.min(axis=0).max() < 1e-14


@pytest.mark.parametrize(("name", "point"), list(product(NAMES, POINTS)))
def test_orbit_times_stabiliser_is_the_order(name: str, point: tuple[float, float, float]) -> None:
    group = rotation_group(name)
    orbit = group.orbit(point)
    assert len(orbit) * len(group.stabiliser(point)) == group.order
    np.testing.assert_array_equal(orbit[0], point)
    gaps = np.linalg.norm(orbit[:, None] - orbit[None], axis=2) + 9.0 * np.eye(len(orbit))
    assert gaps.min() > 1e-3


@pytest.mark.parametrize("name", NAMES)
def test_the_stabiliser_of_a_set_is_that_of_every_point_in_it_together(name: str) -> None:
    group = rotation_group(name)
    everything = group.orbit((0.3, 0.5, 0.9))
    assert group.stabiliser(everything) == tuple(range(group.order))
    assert group.stabiliser(everything[:1]) == (0,)


@pytest.mark.parametrize("name", ["C12", "D3", "D7", "T", "O", "I"])
def test_cosets_part_the_group_evenly(name: str) -> None:
    group = rotation_group(name)
    for subgroup in subgroups(group):
        assert group.order % len(subgroup) == 0  # Lagrange
        for cosets in (group.left_cosets(subgroup), group.right_cosets(subgroup)):
            assert sorted(k for coset in cosets for k in coset) == list(range(group.order))
            assert {len(coset) for coset in cosets} == {len(subgroup)}
        for coset in group.left_cosets(subgroup):
            assert set(coset) == {int(group.product[coset[0], h]) for h in subgroup}
        for coset in group.right_cosets(subgroup):
            assert set(coset) == {int(group.product[h, coset[0]]) for h in subgroup}


@pytest.mark.parametrize("name", ["D6", "T", "O", "I"])
def test_subgroup_classes_hold_every_subgroup_once_and_are_of_one_type(name: str) -> None:
    group = rotation_group(name)
    classes = subgroup_classes(group)
    assert sorted(s for c in classes for s in c) == sorted(subgroups(group))
    for conjugates in classes:
        assert len({subgroup_name(group, s) for s in conjugates}) == 1
    for subgroup in subgroups(group):
        assert group.subgroup(subgroup) == subgroup


@pytest.mark.parametrize("name", NAMES)
def test_axis_and_angle_lead_back_to_the_element(name: str) -> None:
    group = rotation_group(name)
    for k in range(group.order):
        axis, angle = group.axis_angle_deg(k)
        assert group.element(axis, angle) == k
        assert group.element(-3.0 * axis, -angle) == k
        assert group.element(axis, angle - 360.0) == k
        order = group.element_order(k)
        power = np.linalg.matrix_power(group.matrices[k], order)
        np.testing.assert_allclose(power, np.eye(3), atol=1e-12)


@given(st.floats(-5e-6, 5e-6), st.floats(-5e-6, 5e-6), st.integers(1, 59))
@settings(deadline=None, max_examples=60)
def test_an_axis_typed_with_five_digits_is_found(x: float, y: float, k: int) -> None:
    group = rotation_group("I")
    axis, angle = group.axis_angle_deg(k)
    assert group.element(axis + np.array([x, y, -x]), angle) == k


def test_a_wrong_turn_is_told_the_allowed_ones() -> None:
    group = rotation_group("I")
    with pytest.raises(DesignError, match=r"^joints\.turn: .*2-fold axis 0, 180 deg"):
        group.element((0, 0, 1), 72.0, "joints.turn")
    with pytest.raises(DesignError, match=r"15 2-fold, 10 3-fold, 6 5-fold.*nearest is"):
        group.element((0.1, 0.2, 1.0), 72.0)
    with pytest.raises(DesignError, match="no symmetry"):
        rotation_group("C1").element((0, 0, 1), 90.0)
    with pytest.raises(DesignError, match="non-zero length"):
        group.element((0, 0, 0), 72.0)
    assert group.element((0, 0, 0), 360.0) == 0


@pytest.mark.parametrize("name", ["", "Q", "C0", "D1", "C121", "O2", "Ih", "C-3", "C3.5"])
def test_an_unknown_group_is_refused(name: str) -> None:
    with pytest.raises(DesignError, match=r"C1 to C120, D2 to D120, T, O or I"):
        rotation_group(name)


@pytest.mark.parametrize("name", NAMES)
def test_a_turned_and_shuffled_group_is_recognised(name: str) -> None:
    rng = np.random.default_rng(7)
    turn = Rotation.random(random_state=7).as_matrix()
    matrices = turn @ rotation_group(name).matrices @ turn.T
    shuffled = matrices[rng.permutation(len(matrices))]
    group = group_from_matrices("mine", shuffled)
    assert name_of(group.matrices) == name
    np.testing.assert_allclose(group.matrices[0], np.eye(3), atol=1e-12)
    np.testing.assert_allclose(
        group.matrices[:, None] @ group.matrices[None], group.matrices[group.product], atol=1e-12
    )


def test_what_is_no_group_is_refused() -> None:
    matrices = rotation_group("I").matrices
    with pytest.raises(FrameError, match="product of two elements is not in it"):
        group_from_matrices("part", matrices[:7])
    with pytest.raises(FrameError, match="not all matrices are rotations"):
        group_from_matrices("mirror", np.array([np.eye(3), np.diag([1.0, 1.0, -1.0])]))
    with pytest.raises(FrameError, match="equal"):
        group_from_matrices("twice", np.array([np.eye(3), np.eye(3)]))
