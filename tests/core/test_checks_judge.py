# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The checks find what is put wrong on purpose, say how much by hand's reckoning, and say where."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest

from pinwright.core.checks.judge import check_angles, check_connected
from pinwright.core.design.model import (
    Bend,
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    MotifChoice,
    RightAngleOrbit,
    Sheet,
)
from pinwright.core.results import Build, Check
from tests.builders import small_design
from tests.built import build
from tests.stages import DESIGNS, staged_by_name

SMALL = small_design()  # five plates, see tests/builders.py; its upright stands in x = 0


def _check(result: Build, name: str) -> Check:
    (found,) = (check for check in result.checks if check.name == name)
    return found


def _with(design: Design, *motifs: MotifChoice) -> Design:
    """Return the design with some motifs added, or in the place of those of the same name."""
    known = {motif.name: motif for motif in (*design.motifs, *motifs)}
    return replace(design, motifs=tuple(known.values()))


def _upright(half_height: float) -> MotifChoice:
    corners = (
        (-half_height, -30.0),
        (half_height, -30.0),
        (half_height, 30.0),
        (-half_height, 30.0),
    )
    return replace(SMALL.motifs[2], outline=corners)


@pytest.mark.parametrize("name", list(DESIGNS))
def test_sound_designs_pass_and_all_figures_are_numbers(name: str) -> None:
    result = build(DESIGNS[name])
    assert [check.message for check in result.checks if not check.ok] == []
    assert len({check.name for check in result.checks}) == len(result.checks) == 12
    for check in result.checks:
        assert math.isfinite(check.figure)
        assert math.isfinite(check.limit)
        json.dumps([check.figure, check.limit], allow_nan=False)


def test_plates_without_joints_are_judged_too() -> None:
    # Two parallel plates of 3 mm whose middles are 8 mm apart: 5 mm of air, nothing cut, no joint.
    design = Design(
        "loose",
        Sheet(3.0),
        FrameChoice(200.0, group="C1"),
        motifs=(
            replace(_upright(40.0), name="one"),
            replace(_upright(40.0), name="two", offset=8.0),
        ),
    )
    result = build(design)
    assert _check(result, "clearance").figure == pytest.approx(5.0)
    assert _check(result, "connected").figure == 2.0
    assert not _check(result, "connected").ok
    web = _check(result, "web")
    assert web.ok
    assert web.message == "nothing is cut out of the plates"
    assert _check(result, "joint angle").message == "there are no joints"
    for check in result.checks:
        assert math.isfinite(check.figure)


# The slots lie at 50 mm, 20.2 mm long: their ends at 60.1, so the web to the edge is half - 60.1;
# a slot that the edge cuts through has none.
@pytest.mark.parametrize(("half", "web"), [(80.0, None), (64.2, 4.1), (62.0, 1.9), (55.0, 0.0)])
def test_a_slot_at_the_edge_is_found(half: float, web: float | None) -> None:
    check = _check(build(_with(SMALL, _upright(half))), "web")
    if web is None or web > 4.0:
        assert check.ok
        return
    assert not check.ok
    assert check.figure == pytest.approx(web, abs=1e-6)
    assert check.limit == 4.0
    assert check.where[0].startswith("part B, slot of ")
    assert "to the edge" in check.where[0]
    assert f"{web:.2f} mm" in check.where[0]


def test_two_slots_too_near_each_other_are_found() -> None:
    # The tabs of "left" come at y = -15 and, turned, at y = 15: slots 3.2 wide, 26.8 apart. Moved
    # to 2.5 from the middle they leave 5 - 3.2 = 1.8.
    near = [replace(motif, offset=2.5) for motif in SMALL.motifs[:2]]
    check = _check(build(_with(SMALL, *near)), "web")
    assert not check.ok
    assert check.figure == pytest.approx(1.8, abs=1e-6)
    assert " to slot of " in check.where[0]


def test_a_thin_lap_is_found_behind_its_slot() -> None:
    # A bar 6 mm wide through a wall: half of what they share is cut from it, 3 mm remain.
    bar = MotifChoice(
        "bar", (0.0, 1.0, 0.0), 0.0, (1.0, 0.0, 0.0), ((-60.0, 0.0), (60.0, 0.0)), 6.0
    )
    wall = replace(_upright(30.0), name="wall", offset=10.0)
    lap = JointClassChoice("half", ("bar", "wall"), JointKind.CROSS_LAP)
    design = Design(
        "lap",
        Sheet(3.0, clearance=0.1),
        FrameChoice(200.0, group="C1"),
        motifs=(bar, wall),
        joint_classes=(lap,),
        joints=JointSizes(web=5.0),
    )
    check = _check(build(design), "web")
    assert not check.ok
    # Half of the bar's 6 mm is cut, and the clearance besides.
    assert check.figure == pytest.approx(3.0 - 0.1, abs=1e-3)
    # In the part's own coordinates the bar begins at x = 0; its uncut half lies below y = 2.9.
    (where,) = check.where
    told, place = where.split(" at ")
    assert told == "part A, cross-lap of half, behind its slot: 2.90 mm"
    assert abs(float(place[1:].split(",")[0]) - 70.0) <= 1.7
    assert abs(float(place[:-1].split(",")[1]) - 3.0) == pytest.approx(1.55, abs=0.06)
    assert "widen the plate" in check.remedy


def test_plates_that_run_through_each_other_are_found_and_measured() -> None:
    # A shelf of 3 mm in z = 0 through the upright, 24 mm wide: they share 3 x 3 x 24 mm3.
    shelf = MotifChoice(
        "shelf",
        (0.0, 0.0, 1.0),
        0.0,
        (1.0, 0.0, 0.0),
        outline=((-9.0, -12.0), (9.0, -12.0), (9.0, 12.0), (-9.0, 12.0)),
    )
    result = build(_with(SMALL, shelf))
    clash = _check(result, "clash")
    assert not clash.ok
    assert clash.figure == pytest.approx(216.0)
    assert clash.where == ("B01 and C01: 216.00 mm3 at (0.0, 0.0, 0.0)",)
    assert clash.remedy
    clearance = _check(result, "clearance")
    assert not clearance.ok
    assert clearance.figure == 0.0
    assert clearance.where[0] == "B01 and C01: 0.00 mm at (0.0, 0.0, 0.0)"


def test_a_plate_in_the_way_of_a_pin_is_found() -> None:
    # The pins of "left" stand at x = 3.5, 6.5 mm to each side of y = -15; the lid at y = -21 takes
    # their ends, not the tabs, which reach to y = -16.5.
    lid = MotifChoice(
        "lid",
        (0.0, 1.0, 0.0),
        -21.0,
        (1.0, 0.0, 0.0),
        outline=((2.0, -60.0), (5.0, -60.0), (5.0, -40.0), (2.0, -40.0)),
    )
    clash = _check(build(_with(SMALL, lid)), "clash")
    assert not clash.ok
    assert {where.split(":")[0] for where in clash.where} == {"pin of J001 and C01"}
    # The pin of radius 1.5 enters the lid (19.5 to 22.5 off the middle) by 21.5 - 19.5 = 2 mm.
    assert clash.figure == pytest.approx(2.0 * math.pi * 1.5**2, rel=0.02)


@pytest.mark.parametrize(("apart", "ok"), [(4.5, False), (4.99, False), (5.0, True), (9.0, True)])
def test_plates_that_pass_too_near_are_found(apart: float, ok: bool) -> None:
    design = Design(
        "near",
        Sheet(3.0),
        FrameChoice(200.0, group="C1"),
        motifs=(
            replace(_upright(40.0), name="one"),
            replace(_upright(30.0), name="two", offset=apart),
        ),
    )
    check = _check(build(design), "clearance")
    assert check.ok is ok
    assert check.figure == pytest.approx(apart - 3.0)
    assert check.limit == 2.0
    assert check.where[0].startswith("A01 and B01")


def test_loose_pieces_are_counted_and_named() -> None:
    result = build(replace(SMALL, joint_classes=SMALL.joint_classes[:1]))
    check = _check(result, "connected")
    assert not check.ok
    assert check.figure == 3.0
    # Without the joints "far" the two plates of the motif "right" hang on nothing; having no tabs
    # they are a part of their own.
    assert check.message.startswith("the sculpture falls into 3 pieces of 1 to 3 plates")
    assert len(check.where) == 3
    assert {"piece of B01", "piece of B02"} < set(check.where)


def test_pieces_are_those_of_the_turns_that_join_them() -> None:
    stage = staged_by_name("two rotors")
    first = stage.joints.joint_class == 0
    table = type(stage.joints)(
        *(getattr(stage.joints, name)[first] for name in type(stage.joints).__slots__)
    )
    check = check_connected(60, table, str)
    assert check.figure == 20.0  # one three-fold turn holds triads: 60 / 3
    assert check_connected(60, stage.joints, str).figure == 1.0
    assert len(check.where) == 12


def test_an_oblique_joint_is_found() -> None:
    stage = staged_by_name("dodecahedron")
    leaning = tuple(replace(joint, angle_deg=20.0) for joint in stage.classes)
    check = check_angles(leaning, stage.joints, lambda k: f"J{k}")
    assert not check.ok
    assert check.figure == 20.0
    assert check.where[0].startswith("J")
    assert check_angles(stage.classes, stage.joints, str).ok


def test_square_joints_are_counted() -> None:
    check = _check(build(DESIGNS["two rotors"]), "joint angle")
    assert check.figure == pytest.approx(90.0)
    assert check.message.endswith("120 of 120 square")


def test_a_bend_that_folds_its_inner_edge_is_found() -> None:
    design = DESIGNS["two rotors"]
    strip = MotifChoice(
        "hairpin",
        (0.0, 0.0, 1.0),
        0.0,
        path=((0.0, 0.0), (50.0, 0.0), (55.0, 20.0), (50.0, 40.0), (0.0, 40.0)),
        width=38.0,
        bend=Bend.SMOOTH,
    )
    one = Design("bent", Sheet(3.0), FrameChoice(200.0, group="C1"), motifs=(strip,))
    check = _check(build(one), "bend")
    assert not check.ok
    assert check.figure < 0
    assert check.where[0].startswith("part A: -")
    assert _check(build(design), "bend").ok


def test_strips_made_to_collide_are_found_with_all_their_copies() -> None:
    design = replace(
        DESIGNS["two rotors"],
        recipe=RightAngleOrbit(38.0, offset=0.5, places=(0.0, 0.0), swap=False),
    )
    result = build(design)
    clash = _check(result, "clash")
    assert not clash.ok
    assert len(clash.where) <= 12
    volumes = [float(where.split(": ")[1].split()[0]) for where in clash.where]
    assert volumes == sorted(volumes, reverse=True)
    assert volumes[0] == pytest.approx(clash.figure, abs=0.005)
    ids = {plate.id for plate in result.plates} | {f"pin of {joint.id}" for joint in result.joints}
    for where in clash.where:
        assert set(where.split(":")[0].split(" and ")) <= ids
    assert not result.ok
