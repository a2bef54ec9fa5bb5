# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Orbits: orbit times stabiliser is the group's order, and the group permutes the plates."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from tests.stages import DESIGNS, Staged, staged_by_name


@pytest.fixture(params=list(DESIGNS))
def stage(request: pytest.FixtureRequest) -> Staged:
    return staged_by_name(request.param)


def test_orbit_times_stabiliser_is_the_order_of_the_group(stage: Staged) -> None:
    sizes = np.bincount(stage.orbits.motif, minlength=len(stage.motifs))
    for motif, size in zip(stage.motifs, sizes.tolist(), strict=True):
        assert size * len(motif.stabiliser) == stage.group.order
    assert np.unique(stage.orbits.plate_of).tolist() == list(range(len(stage.orbits.motif)))


def test_elements_of_one_coset_make_one_plate(stage: Staged) -> None:
    for m, motif in enumerate(stage.motifs):
        plate_of = stage.orbits.plate_of[m]
        for s in motif.stabiliser:
            assert (plate_of[stage.group.product[:, s]] == plate_of).all()
        for p, e in zip(stage.orbits.motif == m, range(len(stage.orbits.motif)), strict=True):
            if p:
                made_by = np.flatnonzero(plate_of == e)
                assert stage.orbits.element[e] == made_by.min()
                assert len(made_by) == len(motif.stabiliser)


def test_every_element_permutes_the_plates(stage: Staged) -> None:
    for y in range(stage.group.order):
        image = [
            stage.orbits.plate_of[m, stage.group.product[y, x]]
            for m, x in zip(stage.orbits.motif, stage.orbits.element, strict=True)
        ]
        assert sorted(image) == list(range(len(image)))


def test_an_element_carries_the_seed_s_corners_onto_its_plate(stage: Staged) -> None:
    for m, motif in enumerate(stage.motifs):
        seed = stage.body_points(m)
        flat = np.asarray(motif.body.exterior.coords)[:-1]
        for x in range(stage.group.order):
            transform = stage.orbits.transforms[stage.orbits.plate_of[m, x]]
            placed = flat @ transform[:3, :2].T + transform[:3, 3]
            gaps, _ = cKDTree(placed).query(seed @ stage.group.matrices[x].T)
            assert gaps.max() < 1e-6 * stage.frame.radius


def test_transforms_are_rigid_and_kept_from_change(stage: Staged) -> None:
    rotations = stage.orbits.transforms[:, :3, :3]
    unit = rotations @ rotations.transpose(0, 2, 1)
    assert np.abs(unit - np.eye(3)).max() < 1e-12
    assert np.linalg.det(rotations) == pytest.approx(1.0)
    assert (stage.orbits.transforms[:, 3] == (0, 0, 0, 1)).all()
    for array in (stage.orbits.transforms, stage.orbits.plate_of, stage.orbits.element):
        assert not array.flags.writeable
