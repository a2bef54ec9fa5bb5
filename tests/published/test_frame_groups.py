# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rotation groups against published counts of elements, axes, classes and subgroups."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from pinwright.core.frame.group import rotation_group
from pinwright.core.frame.subgroups import subgroup_classes, subgroups

# Order and axes {fold: how many}. I: "Icosahedral symmetry" (grokipedia.com, liquisearch.com):
# order 60; 6, 10 and 15 axes. T, O and Dn: standard crystallography, from memory.
AXES = {
    "C5": (5, {5: 1}),
    "D2": (4, {2: 3}),
    "D3": (6, {3: 1, 2: 3}),
    "D5": (10, {5: 1, 2: 5}),
    "D6": (12, {6: 1, 2: 6}),
    "T": (12, {3: 4, 2: 3}),
    "O": (24, {4: 3, 3: 4, 2: 6}),
    "I": (60, {5: 6, 3: 10, 2: 15}),
}
# Sizes of the conjugacy classes with their angle (deg), same sources. Turning by -120 is turning
# by 120 about the opposite axis: in T the two are classes of their own.
CLASSES = {
    "T": [(1, 0), (3, 180), (4, 120), (4, 120)],
    "O": [(1, 0), (3, 180), (6, 180), (6, 90), (8, 120)],
    "I": [(1, 0), (15, 180), (20, 120), (12, 72), (12, 144)],
}
# Subgroups, and classes of conjugate ones (A4, S4, A5 in any text on finite groups; from memory).
SUBGROUPS = {"T": (10, 5), "O": (30, 11), "I": (59, 9)}


@pytest.mark.parametrize("name", AXES)
def test_order_and_axes(name: str) -> None:
    group = rotation_group(name)
    axes = group.axes()
    assert (group.order, dict(Counter(fold for _, fold in axes))) == AXES[name]
    # Every turn but the identity is about one of the axes: sum of (fold - 1) is order - 1.
    assert sum(fold - 1 for _, fold in axes) == group.order - 1


@pytest.mark.parametrize("name", CLASSES)
def test_conjugacy_classes(name: str) -> None:
    group = rotation_group(name)
    found = [(len(c), round(group.axis_angle_deg(c[0])[1])) for c in group.classes()]
    assert Counter(found) == Counter(CLASSES[name])


@pytest.mark.parametrize("name", SUBGROUPS)
def test_number_of_subgroups(name: str) -> None:
    group = rotation_group(name)
    assert (len(subgroups(group)), len(subgroup_classes(group))) == SUBGROUPS[name]


@pytest.mark.parametrize("n", range(2, 31))
def test_dihedral_subgroups(n: int) -> None:
    # A dihedral group of order 2 n has (number of divisors of n) + (their sum) subgroups: a known
    # theorem (S. R. Cavior 1975, from memory).
    divisors = [d for d in range(1, n + 1) if n % d == 0]
    assert len(subgroups(rotation_group(f"D{n}"))) == len(divisors) + sum(divisors)


def test_angles_between_icosahedral_axes() -> None:
    # Neighbouring five-fold axes of an icosahedron include arctan 2 = 63.4349 deg (any text on the
    # icosahedron, from memory).
    fives = [axis for axis, fold in rotation_group("I").axes() if fold == 5]
    cosines = np.abs([a @ b for k, a in enumerate(fives) for b in fives[:k]])
    np.testing.assert_allclose(np.degrees(np.arccos(cosines)), 63.43494882, atol=1e-7)
