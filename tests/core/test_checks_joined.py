# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates that are joined and come near each other again: by pencil and paper, and against fcl."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import fcl
import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from pinwright.core.checks.joined import near_again
from pinwright.core.checks.solids import PlacedPlates, PlateSolid
from pinwright.core.design.read import read_design
from pinwright.core.pipeline import build
from pinwright.core.results import Check
from tests.judges import as_fcl, fcl_mesh

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
THICK = 3.0
#: Stands with one leg in the slot of a board, the other leg ends over it.
SLOT = box(-62.0, -1.6, -42.0, 1.6)


def _stool(gap: float, angle_deg: float) -> tuple[PlacedPlates, Polygon, Polygon, np.ndarray]:
    """Return a board in z = 0 and a plate with two legs at an angle to it, on its x axis."""
    # How far up its own plane the lower corner of a leg's end lies `gap` over the board's face.
    turn = np.radians(angle_deg)
    foot = (THICK / 2 * (1.0 + np.cos(turn)) + gap) / np.sin(turn)
    plate = box(-70, 60, 70, 80) | box(-60, -8, -44, 61) | box(40, foot, 60, 61)
    board = box(-100, -50, 100, 50) - SLOT.buffer(6.0, join_style="mitre")
    world = np.eye(4)
    world[1:3, 1:3] = [[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]
    poses = np.stack([np.eye(4), world])
    solids = [PlateSolid.of(board, THICK), PlateSolid.of(plate, THICK)]
    return PlacedPlates.of(solids, poses), board, plate, poses


@pytest.mark.parametrize("angle_deg", [90.0, 60.0, 35.0])
@pytest.mark.parametrize("gap", [0.2, 1.9, 2.1])
def test_the_other_leg_keeps_its_distance(gap: float, angle_deg: float) -> None:
    placed, board, plate, poses = _stool(gap, angle_deg)
    joint = (np.array([[1, 0]]), np.array([[-52.0, 0.0, 0.0]]))
    for pair in ([(0, 1)], [(1, 0)]):
        found = near_again(placed, np.array(pair), *joint, 2.0)
        assert len(found.distance) == (gap < 2.0)
        if gap < 2.0:
            # The corner of the leg's end is over the board: the gap is as drawn.
            assert found.distance[0] == pytest.approx(gap, abs=1e-9)
            assert found.point[0, 0] == pytest.approx(50.0, abs=10.0 + 1e-6)
    leg = fcl_mesh(plate & box(0, -100, 100, 100), THICK)
    one, two = as_fcl(fcl_mesh(board, THICK), poses[0]), as_fcl(leg, poses[1])
    judged = fcl.distance(one, two, fcl.DistanceRequest(), fcl.DistanceResult())
    assert judged == pytest.approx(gap, abs=1e-6)


def test_two_joints_are_no_finding() -> None:
    placed, *_ = _stool(0.2, 90.0)
    centre = np.array([[-52.0, 0.0, 0.0], [50.0, 0.0, 0.0]])
    found = near_again(placed, np.array([(0, 1)]), np.array([[1, 0], [0, 1]]), centre, 2.0)
    assert len(found.distance) == 0


def test_strips_that_meet_again_are_found_in_a_whole_design() -> None:
    """One strip of these frames is held by another and passes it again, 300 mm further on."""
    design = read_design(EXAMPLES / "sail-frames.toml")
    wide = replace(
        design,
        motifs=tuple(replace(motif, width=21.0) for motif in design.motifs),
        joints=replace(design.joints, gap=3.0),
    )
    result = build(wide)
    check = _clearance(result.checks)
    assert not check.ok
    assert check.remedy
    (line,) = check.where
    first, second = line.split(",")[0].split(" and ")
    assert "away from their joint" in line
    plates = {plate.id: plate for plate in result.plates}
    held = [
        joint
        for joint in result.joints
        if {result.plates[number].id for number in joint.plates} == {first, second}
    ]
    assert held
    meshes = []
    for name in (first, second):
        plate, pose = plates[name], plates[name].world_from_part
        flat = [(np.array(joint.centre) - pose[:3, 3]) @ pose[:3, :2] for joint in held]
        outline = result.parts[plate.part].outline
        # 60 mm round the joints are left out of both, which is all of the strip's width there.
        rest = outline - shapely.union_all([shapely.Point(p).buffer(60.0) for p in flat])
        meshes.append((outline, rest, pose))
    gaps = []
    for (whole, _, pose), (_, rest, other) in (meshes, meshes[::-1]):
        for part in shapely.get_parts(rest):
            pair = as_fcl(fcl_mesh(whole, THICK), pose), as_fcl(fcl_mesh(part, THICK), other)
            gaps.append(fcl.distance(*pair, fcl.DistanceRequest(), fcl.DistanceResult()))
    assert check.figure == pytest.approx(min(gaps), abs=1e-4)
    assert f"{min(gaps):.2f} mm" in line


def _clearance(checks: tuple[Check, ...]) -> Check:
    (found,) = (check for check in checks if check.name == "clearance")
    return found
