# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Angles at which a plate stands square to its turned copies, against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from pinwright.core.design.model import Design, FrameChoice, RightAngleOrbit, Sheet
from pinwright.core.frame.group import rotation_group
from pinwright.core.plates.recipes.square_normals import right_angle_normals, square_cosine
from tests.built import build

# Between a plate's normal and the turn's axis (deg), from Rodrigues' formula: n . g n = 0 where
# cos^2 a + sin^2 a cos(phi) = 0. 54.7356 deg (tan^2 = 2) is the cube's body diagonal against its
# edge, 45 deg the half-turn that swaps two square planes (school geometry, from memory).
ALPHA = {90.0: 90.0, 120.0: 54.7356, 144.0: 48.03, 180.0: 45.0}


@pytest.mark.parametrize("turn", ALPHA)
def test_angle_between_normal_and_axis(turn: float) -> None:
    cosine = square_cosine(turn)
    assert cosine is not None
    assert np.degrees(np.arccos(cosine)) == pytest.approx(ALPHA[turn], abs=5e-3)


def test_the_triad_is_the_corner_of_a_cube() -> None:
    cosine = square_cosine(120.0)
    assert cosine is not None
    assert np.tan(np.arccos(cosine)) ** 2 == pytest.approx(2.0, abs=1e-12)


@pytest.mark.parametrize("turn", [36.0, 60.0, 72.0, 89.9])
def test_turns_below_ninety_never_make_square_copies(turn: float) -> None:
    assert square_cosine(turn) is None
    # scipy: no normal comes nearer to square than cos(turn).
    normals = np.random.default_rng(1).normal(size=(500, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    turned = Rotation.from_rotvec(np.radians(turn) * np.array([0.0, 0.0, 1.0])).apply(normals)
    assert np.einsum("ij,ij->i", normals, turned).min() > np.cos(np.radians(turn)) - 1e-12


# The normal of group I with the most right-angle copies, to five digits; found by an exact search
# of the arrangement of the 62 circles, with a library for rotations only: 8 partners to each plate.
NORMAL = (0.20209, 0.25707, 0.94503)
PARTNERS = 8


def test_the_square_normal_of_the_icosahedral_group() -> None:
    recipe = RightAngleOrbit(width=38.0, normal=NORMAL)
    built = build(Design("sixty", Sheet(3.0), FrameChoice(900.0, group="I"), recipe))
    normals = np.array([plate.world_from_part[:3, 2] for plate in built.plates])
    assert normals.shape == (60, 3)
    # scipy turns the five digits round: every plate stands in one of those planes, each in one.
    wanted = Rotation.create_group("I").apply(NORMAL)
    gaps = np.abs(normals[:, None] - wanted[None]).max(axis=2)
    assert gaps.min(axis=1).max() < 1e-5
    assert len(np.unique(normals.round(6), axis=0)) == 60
    products = np.abs(normals @ normals.T)
    assert set((products < 1e-9).sum(axis=1).tolist()) == {PARTNERS}
    # Opposite plates are parallel: each normal meets itself and its opposite, nothing else.
    assert set((products > 1 - 1e-9).sum(axis=1).tolist()) == {2}


@pytest.mark.parametrize(("group", "most"), [("T", 3), ("O", 4), ("I", 8)])
def test_no_pair_of_turns_gives_more_square_partners(group: str, most: int) -> None:
    """Same search, all three groups: T 3, O 4 and I 8 partners where all copies differ."""
    found = rotation_group(group)
    turns = range(1, found.order)
    pairs = [(a, b) for a in turns for b in turns if a < b]
    normals = np.array([n for a, b in pairs for n in right_angle_normals(found, a, b)])
    copies = np.einsum("gij,nj->ngi", Rotation.create_group(group).as_matrix(), normals)
    products = np.einsum("ngi,ni->ng", copies, normals)
    distinct = (products[:, :] > 1 - 1e-9).sum(axis=1) == 1
    partners = (np.abs(products) < 1e-9).sum(axis=1)
    assert partners[distinct].max() == most
