# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Signatures: equal for what is one sculpture, near for look-alikes, far for others."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from pinwright.core.design.model import Design
from pinwright.core.frame.group import rotation_group
from pinwright.core.search.shape import Shape, shape_of
from pinwright.core.search.variety import SAME, choose, families, signature
from tests.found import found_design


def shape(design: Design | None = None) -> Shape:
    return shape_of(found_design() if design is None else design, rotation_group("T"))


def moved(matrix: np.ndarray) -> Shape:
    one = shape()
    return replace(one, points=one.points @ matrix.T, normals=one.normals @ matrix.T)


# scipy's group "O" (Rotation.create_group) has the 24 turns that keep the axes x, y, z: those of T
# and the quarter turns, which carry its sculptures onto others that look the same.
@pytest.mark.parametrize("mirror", [1, -1])
def test_turns_and_mirrors_that_keep_the_axes_change_nothing(mirror: int) -> None:
    expected = signature(shape())
    for turn in Rotation.create_group("O").as_matrix()[::5]:
        assert np.abs(signature(moved(mirror * turn)) - expected).sum() < 1e-9


def test_any_copy_may_be_the_seed() -> None:
    one = shape()
    order = np.concatenate([np.roll(np.arange(12), 5), 12 + np.roll(np.arange(12), 3)])
    other = replace(one, points=one.points[order], normals=one.normals[order])
    assert np.abs(signature(other) - signature(one)).sum() < 1e-9


def test_shares_have_the_sum_1() -> None:
    found = signature(shape())
    assert found[:-1].sum() == pytest.approx(1.0)
    assert (found >= 0).all()


def changed(offset: float, stretch: float, width: float) -> Design:
    design = found_design()
    motifs = tuple(
        replace(
            one,
            offset=one.offset * offset,
            width=one.width * width,
            path=tuple((x * stretch, y * stretch) for x, y in one.path),
        )
        for one in design.motifs
    )
    places = tuple(replace(one, at=one.at * stretch) for one in design.joint_classes)
    return replace(design, motifs=motifs, joint_classes=places)


def points_of(design: Design) -> Shape:
    """Strips of a design whose joints need not fit: no joint classes."""
    return shape(replace(design, joint_classes=()))


def test_noise_looks_alike_and_another_weave_does_not() -> None:
    one = signature(points_of(found_design()))
    near = signature(points_of(changed(1.02, 1.01, 1.05)))
    assert np.abs(near - one).sum() < SAME / 2
    wide = signature(points_of(changed(0.3, 1.3, 1.0)))
    broad = signature(points_of(changed(1.0, 1.0, 3.5)))
    for other in (wide, broad):
        assert np.abs(other - one).sum() > SAME


def test_families_gather_look_alikes_and_the_choice_spreads() -> None:
    rng = np.random.default_rng(2)
    seeds = rng.dirichlet(np.full(8, 0.2), 5)
    many = [seeds[k % 5] + rng.uniform(0, SAME / 50, 8) for k in range(20)]
    leaders = families(many)
    assert [leaders[k] for k in range(20)] == [k % 5 for k in range(20)]
    assert choose(many, 7) == [0, 1, 2, 3, 4, 5, 6]
    assert choose(many[::5] + many[1:2], 2) == [0, 4]


def test_signatures_of_another_length_are_not_alike() -> None:
    old, new = np.full(48, 1 / 48), np.full(151, 1 / 151)
    assert families([old, new, old, new]) == [0, 1, 0, 1]
