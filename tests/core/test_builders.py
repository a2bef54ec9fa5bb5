# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The hand-made sculpture is what it says: solids fit with the play that was drawn, none clash."""

from __future__ import annotations

from itertools import combinations

import manifold3d
import numpy as np
import pytest
import trimesh

from pinwright.core.results import Build
from tests.builders import HOLE_DIAMETER, PIN_DIAMETER, small_build

# The judge is manifold3d (fed with trimesh's extrusions): it knows nothing of our formulas.


def _solids(build: Build) -> list[trimesh.Trimesh]:
    solids = []
    for plate in build.plates:
        part = build.parts[plate.part]
        solid = trimesh.creation.extrude_polygon(part.outline, part.thickness)
        solid.apply_translation((0.0, 0.0, -part.thickness / 2))
        solids.append(solid.apply_transform(plate.world_from_part))
    return solids


def _pins(build: Build) -> list[trimesh.Trimesh]:
    return [
        trimesh.creation.cylinder(
            radius=joint.pin.diameter / 2,
            segment=np.array(
                [
                    joint.pin.centre - joint.pin.axis * joint.pin.length / 2,
                    joint.pin.centre + joint.pin.axis * joint.pin.length / 2,
                ]
            ),
        )
        for joint in build.joints
        if joint.pin is not None
    ]


def _shared(a: trimesh.Trimesh, b: trimesh.Trimesh) -> float:
    return float((_manifold(a) ^ _manifold(b)).volume())


def _manifold(mesh: trimesh.Trimesh) -> manifold3d.Manifold:
    points = np.asarray(mesh.vertices, dtype=np.float64)
    return manifold3d.Manifold(manifold3d.Mesh64(points, np.asarray(mesh.faces, dtype=np.uint64)))


def test_no_two_solids_share_volume() -> None:
    build = small_build()
    bodies = _solids(build) + _pins(build)
    assert len(bodies) == 9
    for a, b in combinations(bodies, 2):
        assert _shared(a, b) == pytest.approx(0.0, abs=1e-9)


def test_each_tab_goes_through_its_slot_with_the_drawn_play() -> None:
    build = small_build()
    solids = _solids(build)
    for joint in build.joints:
        tab, slotted = (solids[index] for index in joint.plates)
        for along, room in ((joint.line, 0.1), (np.cross(joint.line, joint.insertion), 0.1)):
            for sign in (-1.0, 1.0):
                free = tab.copy().apply_translation(sign * (room - 1e-3) * along)
                tight = tab.copy().apply_translation(sign * (room + 0.05) * along)
                assert _shared(free, slotted) == pytest.approx(0.0, abs=1e-9)
                assert _shared(tight, slotted) > 0.05


def test_a_pin_stops_the_tab_before_it_slips_out() -> None:
    build = small_build()
    solids = _solids(build)
    play = 0.5  # drawn between pin and far face
    for joint, pin in zip(build.joints, _pins(build), strict=True):
        slotted = solids[joint.plates[1]]
        back = pin.copy().apply_translation(-(play + 0.2) * joint.insertion)
        assert _shared(back, slotted) > 0.1
    assert HOLE_DIAMETER > PIN_DIAMETER


def test_poses_are_proper_and_the_group_carries_the_orbits() -> None:
    build = small_build()
    for plate in build.plates:
        rotation = plate.world_from_part[:3, :3]
        assert np.allclose(rotation @ rotation.T, np.eye(3), atol=1e-15)
        assert np.linalg.det(rotation) == pytest.approx(1.0)
    turn = build.group.matrices[1]
    for first, second in ((0, 1), (2, 3)):
        a, b = build.plates[first].world_from_part, build.plates[second].world_from_part
        assert np.allclose(turn @ a[:3], b[:3], atol=1e-15)


def test_totals_agree_with_the_solids() -> None:
    build = small_build()
    solids = _solids(build)
    volume = sum(float(solid.volume) for solid in solids)
    corners = np.concatenate([solid.vertices for solid in solids])
    centre = sum(solid.volume * solid.center_mass for solid in solids) / volume
    assert build.totals.sheet_area == pytest.approx(volume / 3.0, rel=1e-9)
    assert build.totals.mass == pytest.approx(volume * 2.68e-6, rel=1e-9)
    assert build.totals.diameter == pytest.approx(2 * np.linalg.norm(corners, axis=1).max())
    assert np.allclose(centre, build.totals.centre_of_gravity, atol=1e-9)
