# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Sweeps of plates past plates, against hulls and booleans of manifold3d."""

from __future__ import annotations

import manifold3d
import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial.transform import Rotation
from shapely import Polygon, box

from pinwright.core.assembly.bodies import body_of
from pinwright.core.assembly.passing import DEPTH, Standing, overlapping
from tests.builders import circle_ring

Floats = npt.NDArray[np.float64]
NOWHERE = np.zeros((0, 2))


def standing(outlines: list[Polygon], poses: list[Floats], thickness: float = 3.0) -> Standing:
    bodies = [body_of(outline, thickness, NOWHERE, []) for outline in outlines]
    return Standing.of(bodies, np.array(poses))


def pose(turn: Floats, shift: tuple[float, float, float]) -> Floats:
    world = np.eye(4)
    world[:3, :3], world[:3, 3] = turn, shift
    return world


def test_a_tab_goes_through_its_slot_and_only_along_itself() -> None:
    # By hand: a slot 20.2 x 3.2 for a tab 20 x 3, the tab 8 beyond the shoulder.
    slotted = box(-40, -30, 40, 30).difference(box(-10.1, -1.6, 10.1, 1.6))
    tabbed = box(-10, -40, 10, 0).union(box(-25, -40, 25, -8))
    upright = pose(np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]]), (0.0, 0.0, 6.5))
    scene = standing([slotted, tabbed], [np.eye(4), upright])
    start, out = np.zeros(3), np.array([0.0, 0.0, -200.0])
    assert scene.blocker([1], [0], start, start) is None
    assert scene.blocker([1], [0], start, out) is None
    for way in ([0, 0, 5], [0, 5, 0], [5, 0, 0], [20, 0, -100], [0, 4, -5]):
        assert scene.blocker([1], [0], start, np.array(way, float)) == (1, 0)
    assert scene.blocker([1], [0], np.array([0, 0, -9.0]), np.array([300.0, 9, -9])) is None


def test_zones_of_a_sprung_joint_are_left_out() -> None:
    body = body_of(box(-50, -20, 50, 20), 3.0, np.array([[30.0, 0.0]]), [25.0])
    pin = body_of(box(-2, -2, 2, 2), 10.0, NOWHERE, [])
    scene = Standing.of([body, pin], np.array([np.eye(4), pose(np.eye(3), (30.0, 0.0, 0.0))]))
    here = np.zeros(3)
    assert scene.blocker([1], [0], here, here) == (1, 0)
    assert scene.blocker([1], [0], here, here, {(1, 0): 1}) is None
    assert scene.blocker([1], [0], here, np.array([-10.0, 0, 0]), {(1, 0): 1}) is None
    assert scene.blocker([1], [0], here, np.array([-40.0, 0, 0]), {(1, 0): 1}) == (1, 0)


@pytest.mark.parametrize("seed", range(60))
def test_sweeps_of_random_triangles_against_manifold3d(seed: int) -> None:
    random = np.random.default_rng(seed)
    size = 12
    a, b = (random.normal(size=(size, 3, 3)) * 10 for _ in range(2))
    b = b + random.normal(size=(size, 1, 3)) * 14
    edges_a, edges_b = (random.normal(size=(size, 1, 3)) for _ in range(2))
    way = random.normal(size=(size, 3)) * 15
    found = overlapping(a, edges_a, b, edges_b, way)
    for k in range(size):
        one = np.concatenate([a[k] + s * edges_a[k] + f * way[k] for s in (-1, 1) for f in (0, 1)])
        two = np.concatenate([b[k] + s * edges_b[k] for s in (-1, 1)])
        hulls = [manifold3d.Manifold.hull_points(points) for points in (one, two)]
        volume = (hulls[0] ^ hulls[1]).volume()
        if found[k]:
            assert volume > 0.0
        else:  # what sinks in by less than DEPTH is as thin as that in some direction
            assert volume < DEPTH * 60.0**2


@pytest.mark.parametrize("seed", range(12))
def test_sweeps_of_whole_plates_against_manifold3d(seed: int) -> None:
    random = np.random.default_rng(100 + seed)
    outlines = [random_outline(random), random_outline(random)]
    turns = Rotation.random(2, random_state=seed).as_matrix()
    poses = [pose(turns[0], (0, 0, 0)), pose(turns[1], tuple(random.normal(size=3) * 60))]
    scene = standing(outlines, poses)
    way = random.normal(size=3) * 60
    hit = scene.blocker([0], [1], np.zeros(3), way) is not None
    swept, other = (_prisms(outlines[k], poses[k]) for k in (0, 1))
    solid = manifold3d.Manifold.batch_boolean(
        [manifold3d.Manifold.hull_points(p) for p in other], manifold3d.OpType.Add
    )
    hulls = [manifold3d.Manifold.hull_points(np.concatenate([p, p + way])) for p in swept]
    volume = max((hull ^ solid).volume() for hull in hulls)
    assert (volume > 1.0) <= hit <= (volume > 0.0)


def random_outline(random: np.random.Generator) -> Polygon:
    """A star-shaped plate, 40 to 90 mm in radius, with a round hole."""
    angle = np.linspace(0, 2 * np.pi, 14, endpoint=False)
    radius = random.uniform(40, 90, 14)
    ring = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    return Polygon(ring, [circle_ring(10.0, 0.0, 25.0, 16)])


def _prisms(outline: Polygon, world: Floats) -> Floats:
    rings = [np.asarray(r.coords)[:-1] for r in (outline.exterior, *outline.interiors)]
    flat = np.concatenate(rings)[np.asarray(manifold3d.triangulate(rings))]
    high = np.broadcast_to(np.repeat([-1.5, 1.5], 3)[:, None], (len(flat), 6, 1))
    local = np.concatenate([np.concatenate([flat, flat], axis=1), high], axis=2)
    return local @ world[:3, :3].T + world[:3, 3]
