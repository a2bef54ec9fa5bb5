# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Bodies that shift and turn among plates that stand, against python-fcl."""

from __future__ import annotations

import fcl
import manifold3d
import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial.transform import Rotation
from shapely import Polygon, box

from pinwright.core.assembly.bodies import body_of
from pinwright.core.assembly.nested import Cover
from pinwright.core.assembly.passing import Standing
from pinwright.core.assembly.poses import poses_between
from pinwright.core.assembly.room import Room
from pinwright.core.assembly.screens import Screens
from tests.builders import circle_ring

Floats = npt.NDArray[np.float64]
NOWHERE = np.zeros((0, 2))
THICK = 3.0


def model(outline: Polygon) -> fcl.BVHModel:
    """The surface of a plate as a mesh, made by manifold3d."""
    rings = [np.asarray(r.coords)[:-1] for r in (outline.exterior, *outline.interiors)]
    solid = manifold3d.CrossSection(rings, manifold3d.FillRule.EvenOdd).extrude(THICK)
    mesh = solid.translate([0.0, 0.0, -THICK / 2]).to_mesh()
    found = fcl.BVHModel()
    points, faces = np.asarray(mesh.vert_properties, dtype=float)[:, :3], mesh.tri_verts
    found.beginModel(len(points), len(faces))
    found.addSubModel(points, np.asarray(faces))
    found.endModel()
    return found


def apart(one: fcl.BVHModel, at: Floats, two: fcl.BVHModel, there: Floats) -> float:
    """Distance of two meshes by fcl; 0 where they cut each other."""
    objects = [
        fcl.CollisionObject(mesh, fcl.Transform(pose[:3, :3], pose[:3, 3]))
        for mesh, pose in ((one, at), (two, there))
    ]
    if fcl.collide(*objects, fcl.CollisionRequest(), fcl.CollisionResult()):
        return 0.0
    result = fcl.DistanceResult()
    return float(fcl.distance(*objects, fcl.DistanceRequest(), result))


def random_outline(random: np.random.Generator) -> Polygon:
    angle = np.linspace(0, 2 * np.pi, 14, endpoint=False)
    radius = random.uniform(40, 90, 14)
    ring = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    return Polygon(ring, [circle_ring(10.0, 0.0, 25.0, 16)])


def scene(outlines: list[Polygon], poses: list[Floats]) -> Standing:
    return Standing.of([body_of(one, THICK, NOWHERE, []) for one in outlines], np.array(poses))


def placed(rotation: Floats, offset: Floats, world: Floats) -> Floats:
    pose = np.eye(4)
    pose[:3, :3], pose[:3, 3] = rotation, offset
    moved: Floats = pose @ world
    return moved


@pytest.mark.parametrize("seed", range(2))
def test_gaps_and_legs_of_random_plates_against_fcl(seed: int) -> None:
    random = np.random.default_rng(seed)
    outlines = [random_outline(random) for _ in range(2)]
    worlds = [np.eye(4), np.eye(4)]
    worlds[1][:3, :3] = Rotation.random(random_state=seed).as_matrix()
    worlds[1][:3, 3] = random.normal(size=3) * 60
    standing = scene(outlines, worlds)
    covers = Cover.of(standing, [0], {}), Cover.of(standing, [1], {})
    room = Room(covers, np.zeros(3), {})
    meshes = [model(one) for one in outlines]
    count = 15
    shifts = random.normal(size=(count, 3)) * 80
    turns = Rotation.random(count, random_state=seed).as_quat()
    gaps, _ = room.gaps(shifts, turns)
    for k in range(count):
        rotation = Rotation.from_quat(turns[k]).as_matrix()
        truth = apart(meshes[0], placed(rotation, shifts[k], worlds[0]), meshes[1], worlds[1])
        assert gaps[k] <= truth + 1e-6 or truth == 0.0 >= gaps[k]
    ends = np.concatenate([shifts, turns], axis=1)
    free, _ = room.clear(ends[:-1], ends[1:])
    for k in np.flatnonzero(free).tolist():  # densely walked, fcl finds nothing
        rotations, offsets = poses_between(
            np.zeros(3), shifts[k : k + 2], turns[k : k + 2], np.linspace(0, 1, 40)
        )
        for rotation, offset in zip(rotations, offsets, strict=True):
            assert apart(meshes[0], placed(rotation, offset, worlds[0]), meshes[1], worlds[1]) > 0


def test_a_thread_through_a_plate_is_seen_and_one_through_its_window_is_not() -> None:
    wall = box(-100, -100, 100, 100).difference(box(-30, -30, 30, 30))
    screens = Screens(scene([wall], [np.eye(4)]))
    starts = np.array([[[60.0, 0, -50]], [[0.0, 0, -50]], [[60.0, 0, -50]], [[160.0, 0, -50]]])
    ends = starts + np.array([0.0, 0.0, 100.0])
    ends[2, 0, 2] = -10.0  # ends before the wall
    assert screens.cut(starts, ends, [0]).tolist() == [0, -1, -1, -1]
    assert screens.cut(starts[:1], ends[:1], [0], [(0, np.array([60.0, 0, 0]), 9.0)]) == [-1]
