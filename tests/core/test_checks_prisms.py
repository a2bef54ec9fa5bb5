# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Clashes and distances of plates where the answer is known by formula or by symmetry."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from shapely import Polygon, affinity, box

from pinwright.core.checks.boxes import lower_bounds, near_pairs
from pinwright.core.checks.distance import least_distance, pair_distances
from pinwright.core.checks.overlap import pair_overlaps
from pinwright.core.checks.solids import PlacedPlates, PlateSolid
from pinwright.core.tolerance import TOLERANCES
from tests.judges import (
    as_fcl,
    as_manifold,
    crowd,
    fcl_distance,
    fcl_mesh,
    rigid,
    shared_volume,
)
from tests.outlines import plates_with_holes

WIDE = 25.0  # of the tab, mm


def turned(axis: str, angle_deg: float, shift=(0.0, 0.0, 0.0)) -> np.ndarray:
    world = np.eye(4)
    world[:3, :3] = Rotation.from_euler(axis, angle_deg, degrees=True).as_matrix()
    world[:3, 3] = shift
    return world


def two(a: Polygon, t: float, world_a, b: Polygon, s: float, world_b) -> PlacedPlates:
    return PlacedPlates.of([PlateSolid.of(a, t), PlateSolid.of(b, s)], [world_a, world_b])


def tab_in_slot(angle_deg: float, t: float, s: float, width: float, aside: float = 0.0):
    """A tab 25 wide (A, thickness t, along x) through a slot `width` wide in B, thickness s.

    The common line is the world's y axis; A lies in z = 0 with its shoulder at the near side of the
    band that B fills, the way that core/joints cuts it.
    """
    sine, cosine = np.sin(np.radians(angle_deg)), np.cos(np.radians(angle_deg))
    shoulder = -(s / 2 + t / 2 * abs(cosine)) / sine
    body = box(-60.0, -40.0, shoulder, 40.0)
    tab = box(-60.0, -WIDE / 2, 40.0, WIDE / 2)
    slot = box(-width / 2, -WIDE / 2 - aside, width / 2, WIDE / 2 + aside)
    plate = box(-50.0, -60.0, 50.0, 60.0).difference(slot)
    # B's plane is A's turned about y by -angle: its normal is (sin, 0, cos).
    return two(body.union(tab), t, np.eye(4), plate, s, turned("y", angle_deg))


ANGLES = [90.0, 75.0, 70.529, 60.0, 45.0, 30.0, 116.565, 138.19]


@pytest.mark.parametrize("angle_deg", ANGLES)
@pytest.mark.parametrize(("t", "s"), [(3.0, 3.0), (3.0, 6.0), (1.5, 6.0)])
def test_a_tab_in_its_slot_is_clear_and_its_shoulder_only_touches(angle_deg, t, s):
    # Slot width t / sin + s |cot|: derived in the plane section square to the common line; the same
    # 2-D section proves it exact (no clearance) for all angles.
    radians = np.radians(angle_deg)
    width = t / np.sin(radians) + s * abs(1 / np.tan(radians))
    for clearance, aside in ((0.1, 0.1), (0.0, 0.0)):
        placed = tab_in_slot(angle_deg, t, s, width + 2 * clearance, aside)
        found = pair_overlaps(placed, [(0, 1)])
        assert not found.clash[0]
        assert found.volume[0] < 1e-6 < TOLERANCES.clash_volume
        assert pair_distances(placed, [(0, 1)]).distance[0] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("angle_deg", [angle for angle in ANGLES if angle != 90.0])
@pytest.mark.parametrize(("t", "s"), [(3.0, 3.0), (3.0, 6.0)])
@pytest.mark.parametrize("short", [0.02, 0.1, 0.5])
def test_a_slot_too_narrow_by_delta_bites_two_wedges(angle_deg, t, s, short):
    # V = 2 * 1/2 * (delta/2)^2 * |tan theta| * width, as long as (delta/2) |tan theta| <= s: the
    # area of two triangles, by hand; it agrees with mesh booleans to 6 decimals.
    radians = np.radians(angle_deg)
    tangent = abs(np.tan(radians))
    assert short / 2 * tangent <= s
    width = t / np.sin(radians) + s / tangent
    placed = tab_in_slot(angle_deg, t, s, width - short)
    volume = pair_overlaps(placed, [(0, 1)]).volume[0]
    assert volume == pytest.approx((short / 2) ** 2 * tangent * WIDE, rel=1e-6)


def test_a_square_tab_bites_two_slabs():
    # At 90 degrees the slot's walls are parallel to the tab's faces: delta x thickness x width.
    placed = tab_in_slot(90.0, 3.0, 6.0, 3.0 - 0.01 * 3.0)
    assert pair_overlaps(placed, [(0, 1)]).volume[0] == pytest.approx(0.03 * 6.0 * WIDE, rel=1e-6)


def test_two_crossing_bars_share_a_rhombic_prism():
    # Elementary: plates t and s at angle theta share a prism of section t s / sin(theta).
    for angle_deg in (90.0, 60.0, 20.0, 5.0):
        a, b = box(-200, -10, 200, 10), box(-200, -5, 200, 30)
        found = pair_overlaps(two(a, 3.0, np.eye(4), b, 4.0, turned("y", angle_deg)), [(0, 1)])
        expected = 3.0 * 4.0 / np.sin(np.radians(angle_deg)) * 15.0
        assert found.volume[0] == pytest.approx(expected, rel=1e-9)
        assert found.extent[0] == pytest.approx(15.0, abs=1e-9)
        assert np.abs(found.point[0] - [0.0, 2.5, 0.0]).max() < 1e-9


@pytest.mark.parametrize("upside_down", [False, True])
@pytest.mark.parametrize("tilt_deg", [0.0, 1e-11, 1e-9, 1e-7, 1e-5])
def test_parallel_plates_are_a_prism_over_what_their_outlines_share(upside_down, tilt_deg):
    a = box(0, 0, 100, 60).difference(box(20, 20, 40, 40))
    b = affinity.rotate(box(0, 0, 80, 50), 20.0)
    world = turned("x", 180.0 * upside_down + tilt_deg, (10.0, 25.0, 2.5))
    shown = affinity.affine_transform(b, [1, 0, 0, -1 if upside_down else 1, 10.0, 25.0])
    found = pair_overlaps(two(a, 3.0, np.eye(4), b, 4.0, world), [(0, 1)])
    # shapely is the judge; the z ranges -1.5 ... 1.5 and 0.5 ... 4.5 share 1 mm.
    expected = a.intersection(shown).area * 1.0
    assert found.volume[0] == pytest.approx(expected, rel=1e-4 if tilt_deg > 1e-6 else 1e-6)


def test_coplanar_plates_side_by_side_only_touch_and_gaps_are_gaps():
    a = box(0, 0, 50, 30)
    for gap in (0.0, 0.25):
        placed = two(a, 3.0, np.eye(4), a, 3.0, turned("z", 0.0, (50.0 + gap, 7.0, 0.0)))
        assert pair_overlaps(placed, [(0, 1)]).volume[0] < 1e-9
        assert pair_distances(placed, [(0, 1)]).distance[0] == pytest.approx(gap, abs=1e-9)
    stacked = two(a, 3.0, np.eye(4), a, 4.0, turned("z", 31.0, (5.0, 5.0, 3.5 + 0.125)))
    assert pair_distances(stacked, [(0, 1)]).distance[0] == pytest.approx(0.125, abs=1e-12)


def test_a_plate_inside_the_hole_of_another_is_clear():
    ring = box(-50, -50, 50, 50).difference(box(-20, -20, 20, 20))
    chip = box(-15, -15, 15, 15)
    placed = two(ring, 3.0, np.eye(4), chip, 3.0, np.eye(4))
    assert pair_overlaps(placed, [(0, 1)]).volume[0] == 0.0
    assert pair_distances(placed, [(0, 1)]).distance[0] == pytest.approx(5.0, abs=1e-12)


def test_a_plate_wholly_inside_another_clashes_with_its_own_volume():
    placed = two(
        box(-50, -50, 50, 50), 12.0, np.eye(4), box(-2, -2, 2, 2), 3.0, turned("xz", [40, 10])
    )
    assert pair_overlaps(placed, [(0, 1)]).volume[0] == pytest.approx(48.0, rel=1e-9)
    assert pair_distances(placed, [(0, 1)]).distance[0] == 0.0


@given(
    plates_with_holes(),
    plates_with_holes(),
    st.floats(1.0, 12.0),
    st.floats(1.0, 12.0),
    st.floats(5.0, 90.0),
    st.integers(0, 2**31),
)
@settings(max_examples=60, deadline=None)
def test_any_two_plates_agree_with_the_judges(a, b, t, s, angle_deg, seed):
    rng = np.random.default_rng(seed)
    spin = rng.uniform(0.0, 360.0, 2)
    world = turned("ZXZ", [spin[0], angle_deg, spin[1]])
    middle_a, middle_b = (np.array([*shape.centroid.coords[0], 0.0]) for shape in (a, b))
    world[:3, 3] = middle_a + rng.uniform(-120.0, 120.0, 3) - world[:3, :3] @ middle_b
    placed = two(a, t, np.eye(4), b, s, world)
    volume = shared_volume(as_manifold(a, t), np.eye(4), as_manifold(b, s), world)
    found = pair_overlaps(placed, [(0, 1)]).volume[0]
    assert found == pytest.approx(volume, rel=1e-6, abs=1e-3)
    if volume == 0.0:
        judged = fcl_distance(as_fcl(fcl_mesh(a, t), np.eye(4)), as_fcl(fcl_mesh(b, s), world))
        distance = pair_distances(placed, [(0, 1)]).distance[0]
        assert distance == pytest.approx(judged, abs=1e-6)


@given(st.integers(0, 2**31))
@settings(max_examples=15, deadline=None)
def test_moving_the_whole_world_changes_nothing(seed):
    many = crowd(seed=seed, pairs=40, kinds=6)
    solids = [PlateSolid.of(p, t) for p, t in zip(many.outlines, many.thicknesses, strict=True)]
    plates = [solids[kind] for kind in many.kind]
    pairs = np.arange(80).reshape(-1, 2)
    move = rigid(np.random.default_rng(seed))
    here, there = PlacedPlates.of(plates, many.world), PlacedPlates.of(plates, move @ many.world)
    for first, second in ((here, pairs), (there, pairs)), ((here, pairs), (here, pairs[:, ::-1])):
        one, other = pair_overlaps(*first), pair_overlaps(*second)
        assert np.abs(one.volume - other.volume).max() < 1e-6
        one_gap, other_gap = pair_distances(*first), pair_distances(*second)
        settled = (one.volume == 0.0) == (other.volume == 0.0)
        assert settled.mean() > 0.9
        assert np.abs(one_gap.distance - other_gap.distance)[settled].max() < 1e-6


def test_long_edges_that_meet_near_their_ends_are_not_overlooked():
    # Needles: bounds that go by the middles of edges are at their weakest here. fcl is the judge.
    rng = np.random.default_rng(8)
    needles = [Polygon([(-200, -w), (200, -v), (200, v), (-200, w)]) for w, v in ((1, 2), (3, 0.5))]
    solids, meshes = zip(*((PlateSolid.of(n, 0.4), fcl_mesh(n, 0.4)) for n in needles), strict=True)
    kind = rng.integers(2, size=800)
    world = np.stack([rigid(rng, 0.0) for _ in kind])
    for plate in range(0, 800, 2):  # put near-ends of both near each other
        ends = rng.uniform(150.0, 199.0, 2) * rng.choice([-1.0, 1.0], 2)
        spot = world[plate, :3, 0] * ends[0] + rng.normal(scale=4.0, size=3)
        world[plate + 1, :3, 3] = spot - world[plate + 1, :3, 0] * ends[1]
    placed = PlacedPlates.of([solids[k] for k in kind], world)
    pairs = np.arange(800).reshape(-1, 2)
    objects = [as_fcl(meshes[k], place) for k, place in zip(kind, world, strict=True)]
    judged = np.array([fcl_distance(objects[i], objects[j]) for i, j in pairs])
    apart = judged > 0.0
    assert apart.sum() > 200
    for limit in (np.inf, 50.0):
        found = pair_distances(placed, pairs, limit)
        assert np.abs(found.distance - judged)[apart].max() < 1e-6


def test_near_pairs_misses_none_that_is_near():
    many = crowd(seed=5, pairs=150, kinds=12)
    rng = np.random.default_rng(6)
    world = many.world.copy()
    world[:, :3, 3] = rng.uniform(-250.0, 250.0, (300, 3))
    solids = [PlateSolid.of(p, t) for p, t in zip(many.outlines, many.thicknesses, strict=True)]
    placed = PlacedPlates.of([solids[kind] for kind in many.kind], world)
    every = np.array([(i, j) for i in range(300) for j in range(i + 1, 300)])
    distance = pair_distances(placed, every).distance
    assert np.all(lower_bounds(placed, every) <= distance + 1e-9)
    for gap in (0.0, 5.0):
        near = near_pairs(placed, gap)
        assert len(near) < len(every) / 4
        missing = {tuple(p) for p in every[distance <= gap].tolist()} - {
            tuple(p) for p in near.tolist()
        }
        assert missing == set()


def test_nothing_to_do_is_no_error():
    placed = two(box(0, 0, 9, 9), 3.0, np.eye(4), box(0, 0, 9, 9), 3.0, turned("z", 0, (0, 0, 90)))
    none = np.empty((0, 2), dtype=int)
    assert len(pair_overlaps(placed, none).volume) == 0
    assert len(pair_distances(placed, none).distance) == 0
    assert least_distance(placed, none)[1] == -1
    assert near_pairs(placed, 1.0).shape == (0, 2)
    assert near_pairs(PlacedPlates.of([], np.empty((0, 4, 4))), 1.0).shape == (0, 2)
    far = pair_distances(placed, [(0, 1)], limit=10.0)
    assert far.at_least[0]
    assert 10.0 < far.distance[0] <= 87.0
