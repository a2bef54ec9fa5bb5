# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The least distance of triangles, judged by the general collision library fcl (python-fcl)."""

from __future__ import annotations

import fcl
import numpy as np
import pytest
import trimesh

from pinwright.core.checks.triangle_gap import nearest


def judged(a: trimesh.Trimesh, b: trimesh.Trimesh) -> float:
    """Return the distance of two meshes by fcl."""
    objects = []
    for mesh in (a, b):
        model = fcl.BVHModel()
        model.beginModel(len(mesh.vertices), len(mesh.faces))
        model.addSubModel(mesh.vertices, mesh.faces)
        model.endModel()
        objects.append(fcl.CollisionObject(model, fcl.Transform()))
    return fcl.distance(*objects, fcl.DistanceRequest(), fcl.DistanceResult())


def soup(seed: int, count: int, shift: float) -> trimesh.Trimesh:
    """Return loose triangles of all sizes in a box of 1,000 mm, moved along x."""
    random = np.random.default_rng(seed)
    middle = random.uniform(-500, 500, (count, 1, 3))
    triangles = middle + random.normal(0, 1, (count, 3, 3)) * random.uniform(1, 80, (count, 1, 1))
    triangles[:, :, 0] += shift
    return trimesh.Trimesh(**trimesh.triangles.to_kwargs(triangles))


@pytest.mark.parametrize("seed", range(4))
def test_loose_triangles(seed: int) -> None:
    a, b = soup(seed, 300, 0.0), soup(seed + 100, 200, 1300.0)
    found = nearest(a.triangles, b.triangles)
    assert found.distance == pytest.approx(judged(a, b), abs=1e-3)  # mm
    # The points belong to the meshes, and are as far apart as is said.
    assert np.linalg.norm(found.a - found.b) == pytest.approx(found.distance)
    for mesh, point in ((a, found.a), (b, found.b)):
        there = np.repeat([point], len(mesh.faces), axis=0)
        feet = trimesh.triangles.closest_point(mesh.triangles, there)
        assert np.linalg.norm(feet - point, axis=1).min() < 1e-6


@pytest.mark.parametrize("turn", [0.0, 0.3, 1.0])
def test_a_plate_before_a_wall_of_two_triangles(turn: float) -> None:
    plate = trimesh.creation.box((200.0, 40.0, 3.0))
    plate.apply_transform(trimesh.transformations.rotation_matrix(turn, (1, 2, 3)))
    wall = trimesh.Trimesh(
        [[-5000, 300, -5000], [5000, 300, -5000], [5000, 300, 5000], [-5000, 300, 5000]],
        [[0, 1, 2], [0, 2, 3]],
    )
    found = nearest(plate.triangles, wall.triangles)
    assert found.distance == pytest.approx(300 - plate.vertices[:, 1].max(), abs=1e-9)


def test_what_cuts_or_touches_has_no_distance() -> None:
    a = trimesh.creation.box((100, 100, 100))
    b = trimesh.creation.box((10, 10, 300))  # runs through the box, no corner in a face's plane
    assert nearest(a.triangles, b.triangles).distance == 0.0
    c = trimesh.creation.box((10, 10, 10))
    c.apply_translation((55, 0, 0))
    assert nearest(a.triangles, c.triangles).distance == pytest.approx(0.0, abs=1e-9)


def test_nothing_near_and_nothing_at_all() -> None:
    a = trimesh.creation.box((10, 10, 10))
    b = a.copy()
    b.apply_translation((100, 0, 0))
    assert nearest(a.triangles, b.triangles, bound=80.0) is None
    assert nearest(a.triangles, b.triangles, bound=95.0).distance == pytest.approx(90.0)
    assert nearest(a.triangles, np.zeros((0, 3, 3))) is None
