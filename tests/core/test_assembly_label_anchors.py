# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Leader lines end on a seen part of their plate; labels keep apart, leaders do not cross."""

from __future__ import annotations

import itertools

import fcl
import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial.transform import Rotation
from shapely import LineString, Point, Polygon, box

from pinwright.core.assembly.label_anchors import seen_points
from pinwright.core.assembly.label_places import beside
from tests.judges import as_fcl, fcl_mesh, rigid, some_outline

Floats = npt.NDArray[np.float64]


def _scene(seed: int, count: int = 14) -> tuple[list[Polygon], Floats, Floats]:
    rng = np.random.default_rng(seed)
    outlines = [some_outline(rng, 60.0) for _ in range(count)]
    poses = np.array([rigid(rng, 160.0) for _ in range(count)])
    axes = Rotation.random(random_state=seed).as_matrix()
    return outlines, poses, axes


def _needle(start: Floats, end: Floats) -> fcl.CollisionObject:
    """Return a thin rod from one point nearly to another."""
    way = end - start
    long = float(np.linalg.norm(way))
    turn, _ = Rotation.align_vectors([way / long], [[0.0, 0.0, 1.0]])
    place = fcl.Transform(turn.as_matrix(), (start + end) / 2)
    return fcl.CollisionObject(fcl.Cylinder(1e-3, long - 0.02), place)


@pytest.mark.parametrize("parallel", [True, False])
@pytest.mark.parametrize("seed", range(4))
def test_a_leader_ends_where_its_plate_is_seen(seed: int, parallel: bool) -> None:
    """Judged by python-fcl: a needle from the eye to the point meets no other plate."""
    outlines, poses, axes = _scene(seed)
    eye = None if parallel else 900.0 * axes[2]
    points, room = seen_points(outlines, poses, axes, eye)
    plates = [as_fcl(fcl_mesh(o, 1e-4), p) for o, p in zip(outlines, poses, strict=True)]
    for k, point in enumerate(points):
        local = (point - poses[k, :3, 3]) @ poses[k, :3, :3]
        assert abs(local[2]) < 1e-6
        assert outlines[k].buffer(1e-6).covers(Point(local[:2]))
        if room[k] <= 0.0:
            continue
        start = point + 2000.0 * axes[2] if eye is None else eye
        needle = _needle(start, point)
        for j, plate in enumerate(plates):
            if j != k:
                result = fcl.CollisionResult()
                assert not fcl.collide(needle, plate, fcl.CollisionRequest(), result)
    assert (room > 0.0).sum() > len(room) / 2


def test_a_plate_that_is_covered_gets_no_room_and_one_in_front_keeps_its_middle() -> None:
    square, small = box(-10, -10, 10, 10), box(-4, -4, 4, 4)
    behind, before = np.eye(4), np.eye(4)
    before[2, 3] = 5.0
    points, room = seen_points([small, square], np.array([behind, before]), np.eye(3))
    assert room[0] == 0.0
    assert room[1] == pytest.approx(10.0, rel=0.05)
    assert points[1] == pytest.approx([0.0, 0.0, 5.0], abs=0.5)
    points, room = seen_points([square, small], np.array([behind, before]), np.eye(3))
    assert room[0] > 2.0
    assert not small.covers(Point(points[0][:2]))
    on_edge = np.array([[1, 0, 0], [0, 0, 1], [0, -1, 0]], dtype=float)
    assert seen_points([square], np.array([behind]), on_edge)[1][0] == 0.0


@pytest.mark.parametrize("seed", range(12))
def test_labels_keep_apart_and_leaders_do_not_cross(seed: int) -> None:
    """Judged by shapely: no two labels share room, no two leaders cross, all is on the page."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 24))
    points = rng.uniform((150.0, 20.0), (450.0, 380.0), (count, 2))
    sizes = np.column_stack([rng.uniform(18.0, 40.0, count), np.full(count, 12.0)])
    corners, ends = beside(points, sizes, (0.0, 0.0, 600.0, 400.0), 3.0)
    labels = [box(*corner, *(corner + size)) for corner, size in zip(corners, sizes, strict=True)]
    leaders = [LineString([end, point]) for end, point in zip(ends, points, strict=True)]
    page = box(-1e-9, -1e-9, 600.0 + 1e-9, 400.0 + 1e-9)
    assert all(page.covers(label) for label in labels)
    for one, two in itertools.combinations(range(count), 2):
        assert labels[one].intersection(labels[two]).area < 1e-9
        assert not leaders[one].crosses(leaders[two])
    for k, label in enumerate(labels):
        assert label.distance(leaders[k]) < 1e-9
        assert all(label.disjoint(line) for j, line in enumerate(leaders) if j != k)
