# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Pins against plates: formulas of a cylinder and a slab, and fcl's own cylinder as a judge."""

from __future__ import annotations

import fcl
import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from shapely import Point, box

from pinwright.core.checks.pins import pin_clearance, pin_solid, pin_transform
from pinwright.core.checks.solids import PlateSolid
from tests.judges import as_fcl, fcl_distance, fcl_mesh

FLAT = np.eye(4)
PLATE = PlateSolid.of(box(-100, -100, 100, 100), 4.0)


@pytest.mark.parametrize("tilt_deg", [0.0, 20.0, 45.0, 70.0, 90.0])
def test_a_pin_over_a_face_is_as_far_as_its_rim(tilt_deg):
    # A cylinder reaches down by r sin + L/2 cos when its axis is tilted from the plate's normal.
    tilt = np.radians(tilt_deg)
    axis = [0.6 * np.sin(tilt), 0.8 * np.sin(tilt), np.cos(tilt)]
    reach = 1.5 * np.sin(tilt) + 7.0 * np.cos(tilt)
    found = pin_clearance([3.0, -2.0, 2.0 + reach + 0.5], axis, 1.5, 14.0, PLATE, FLAT)
    assert found == pytest.approx(0.5, abs=1e-9)


def test_a_pin_that_sinks_in_says_by_how_much_its_radius_is_too_large():
    found = pin_clearance([0.0, 0.0, 2.0 + 1.25], [1.0, 0.0, 0.0], 1.5, 14.0, PLATE, FLAT)
    assert found == pytest.approx(-0.25, abs=1e-6)
    through = pin_clearance([0.0, 0.0, 0.0], [0.0, 0.0, 1.0], 1.5, 14.0, PLATE, FLAT)
    assert through == -1.5


def test_a_pin_in_its_hole_has_the_play_of_radii_never_overstated():
    drilled = PlateSolid.of(
        box(-20, -20, 20, 20).difference(Point(0, 0).buffer(1.6, quad_segs=64)), 4.0
    )
    found = pin_clearance([0.0, 0.0, 0.0], [0.0, 0.0, 1.0], 1.5, 14.0, drilled, FLAT)
    # 32 sides round the pin: corners 0.5 % farther out; the hole's 256 chords lie 0.0001 inside.
    assert 0.1 - 0.0049 * 1.5 - 2e-4 < found <= 0.1


def test_the_prism_holds_the_cylinder_and_hardly_more():
    solid = pin_solid(1.5, 14.0)
    rim = Point(0, 0).buffer(1.5, quad_segs=500)
    assert solid.polygon.buffer(1e-9).contains(rim)
    assert solid.polygon.area == pytest.approx(np.pi * 1.5**2, rel=0.004)


def test_a_pins_transform_is_proper_and_points_where_it_is_told():
    for axis, towards in (
        ((0, 0, 2.0), (0, 0, 1.0)),
        ((1, 2, 3), (3, -1, 4)),
        ((1, 0, 0), (0, 1, 0)),
    ):
        world = pin_transform([1.0, 2.0, 3.0], axis, towards)
        assert np.abs(world[:3, :3].T @ world[:3, :3] - np.eye(3)).max() < 1e-12
        assert np.linalg.det(world[:3, :3]) == pytest.approx(1.0)
        assert np.cross(world[:3, 2], axis) == pytest.approx(np.zeros(3), abs=1e-12)


def test_pins_anywhere_against_the_judges_own_cylinder():
    rng = np.random.default_rng(11)
    slotted = box(-30, -20, 30, 20).difference(box(-4, -3, 6, 3))
    solid, mesh = PlateSolid.of(slotted, 4.0), fcl_mesh(slotted, 4.0)
    met = 0
    for _ in range(200):
        radius, length = rng.uniform(1.0, 3.0), rng.uniform(5.0, 20.0)
        turn = Rotation.random(random_state=int(rng.integers(1 << 30))).as_matrix()
        centre = rng.uniform([-45, -35, -15], [45, 35, 15])
        pin = fcl.CollisionObject(fcl.Cylinder(radius, length), fcl.Transform(turn, centre))
        judged = fcl_distance(pin, as_fcl(mesh, FLAT))
        found = pin_clearance(centre, turn[:, 2], radius, length, solid, FLAT)
        if judged > 0.02:
            met += 1
            # The prism's corners stand out by radius (1 / cos(180 deg / 32) - 1) = 0.0048 radius.
            assert judged - 0.005 * radius - 1e-3 < found < judged + 1e-3
    assert met > 50
