# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Remedies are tried out: the design is changed as they say, built anew, and then it closes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from pinwright.core.assembly.beams import Beams
from pinwright.core.assembly.blocking import Blocking
from pinwright.core.assembly.loops import locking_loops
from pinwright.core.assembly.motions import Lock, unlock
from pinwright.core.assembly.play import least_play
from pinwright.core.assembly.remedies import Remedy, apply_remedy, check_springing, remedies
from pinwright.core.assembly.springing import spring_in, spring_loop
from pinwright.core.design.model import Design, EdgeRotor, JointKind, Sheet
from pinwright.core.errors import DesignError
from pinwright.core.results import Build
from tests.built import build
from tests.interlocks import (
    SHARED,
    TRIAD,
    keyed_box,
    rotor,
    shared_when_pushed,
    solids_of,
    three_planks,
    worlds_of,
)
from tests.judges import as_manifold, shared_volume
from tests.stages import DESIGNS

SHORT = rotor(3, TRIAD, long=90.0)
#: Five boards round an axis, tabs a little off the square to it.
NEAR = rotor(5, 0.5, sheet=Sheet(3.0, clearance=0.0))


def _loop(built: Build) -> tuple[int, ...]:
    blocking = Blocking.of(built)
    lock = unlock(blocking, [{plate} for plate in range(len(built.plates))])
    assert isinstance(lock, Lock)
    return lock.loop


def _offered(design: Design) -> tuple[Build, dict[str, Remedy]]:
    built = build(design)
    loop = _loop(built)
    beams = Beams.of(built)
    springs = spring_loop(beams, loop)
    assert not springs.ok
    return built, {one.kind: one for one in remedies(beams, springs)}


def _ratio(design: Design) -> float:
    built = build(design)
    return spring_loop(Beams.of(built), _loop(built)).worst_ratio


def test_a_ring_that_can_be_sprung_needs_no_remedy() -> None:
    built = build(rotor(3, TRIAD))
    beams = Beams.of(built)
    springs = spring_loop(beams, [0, 1, 2])
    assert remedies(beams, springs) == ()
    check = check_springing(beams, [springs])
    assert check.ok
    assert check.figure == springs.worst_ratio


def test_a_short_triad_is_offered_all_that_helps() -> None:
    _, offered = _offered(SHORT)
    assert set(offered) == {
        "longer slot",
        "open slot",
        "shorter tab",
        "longer lever",
        "thinner sheet",
        "softer sheet",
    }


@pytest.mark.parametrize("kind", ["thinner sheet", "softer sheet"])
def test_another_sheet_closes_the_ring(kind: str) -> None:
    _, offered = _offered(SHORT)
    assert _ratio(SHORT) > 1.0
    assert _ratio(apply_remedy(SHORT, offered[kind])) <= 1.0


def test_a_longer_lever_closes_the_ring() -> None:
    _, offered = _offered(SHORT)
    need = offered["longer lever"].figure
    assert _ratio(rotor(3, TRIAD, long=need + 0.1)) <= 1.0
    assert _ratio(rotor(3, TRIAD, long=need - 0.1)) > 1.0


def test_a_shorter_tab_closes_the_ring() -> None:
    _, offered = _offered(SHORT)
    less = offered["shorter tab"].figure
    # Most of the length beyond the slot is hole and web; the pin's play is what is free to choose.
    longer = replace(SHORT, joints=replace(SHORT.joints, pin_play=SHORT.joints.pin_play + 2.0))
    beams, other = (Beams.of(build(design)) for design in (SHORT, longer))
    assert other.deflection[0] - beams.deflection[0] == pytest.approx(2.0)
    assert (beams.deflection[0] - less) / beams.deflection[0] == pytest.approx(1.0 / _ratio(SHORT))


def test_a_longer_slot_lets_the_tab_slide_aside() -> None:
    """Solids: with one slot longer, its tab slides along it as far as another tab comes out."""
    built, offered = _offered(rotor(3, TRIAD, long=90.0, sheet=Sheet(3.0, clearance=0.0)))
    remedy = offered["longer slot"]
    # By hand: the slot lies along the next tab's way, so it grows by that tab's length. The slot is
    # in the middle of a board 40 mm wide that runs at 45 deg to both lines.
    assert remedy.figure == pytest.approx(9.6)
    assert offered["open slot"].figure == pytest.approx(20.0 * np.sqrt(2.0))
    joint = built.joints[remedy.joint]
    slot = joint.plates[1]
    part = built.parts[built.plates[slot].part]
    line, centre = (
        (worlds_of(built)[slot][:3, :3].T @ way)[:2]
        for way in (joint.line, joint.centre - worlds_of(built)[slot][:3, 3])
    )
    assert not any(_can_slide(built, remedy, part.outline))
    sides = []
    for side in (1.0, -1.0):
        ends = side * np.array([-10.0, 10.0 + remedy.figure])
        path = shapely.LineString(centre + ends[:, None] * line)
        longer = part.outline.difference(path.buffer(1.5, cap_style="flat"))
        sides.append(any(_can_slide(built, remedy, longer)))
    assert sorted(sides) == [False, True]


def _can_slide(built: Build, remedy: Remedy, outline: shapely.Polygon) -> list[bool]:
    """Tell for each plate at a slot of this outline, both ways, whether it slides out sideways."""
    joint = built.joints[remedy.joint]
    solids, worlds = solids_of(built), worlds_of(built)
    solids[joint.plates[1]] = as_manifold(outline, built.parts[0].thickness)
    free = []
    for body in joint.plates:
        for way in (1.0, -1.0):
            shared = 0.0
            for share in (0.1, 0.5, 0.999):
                pushed = worlds[body].copy()
                pushed[:3, 3] += share * way * remedy.figure * joint.line
                others = [k for k in range(3) if k != body]
                shared += sum(
                    shared_volume(solids[body], pushed, solids[k], worlds[k]) for k in others
                )
            free.append(shared < SHARED)
    return free


def test_clearance_lets_a_ring_close_that_is_nearly_flat() -> None:
    built = build(NEAR)
    play = least_play(Beams.of(built), _loop(built))
    assert play is not None
    assert 0.0 < play.play < 0.3
    # Solids: with a hair more than that clearance all boards go in together, with less they clash.
    for share, free in ((1.05, True), (0.8, False)):
        roomy = replace(NEAR, sheet=replace(NEAR.sheet, clearance=share * play.play))
        loose = build(roomy)
        found = least_play(Beams.of(loose), _loop(loose))
        assert found is not None
        order = [next(iter(body)) for body in found.bodies]
        shifts = np.zeros((len(loose.plates), 3))
        shifts[order] = found.shifts
        clear = [shared_when_pushed(loose, part * shifts) < SHARED for part in np.linspace(0, 1, 9)]
        assert all(clear) is free
        springs = spring_loop(Beams.of(loose), _loop(loose))
        assert (springs.springs == ()) is free
        assert (springs.play is not None) is free


def test_more_clearance_is_offered_where_it_is_little() -> None:
    design = replace(rotor(3, 0.4, long=60.0), sheet=Sheet(3.0, clearance=0.01))
    _, offered = _offered(design)
    remedy = offered["more clearance"]
    assert remedy.field == "sheet.clearance"
    closed = build(apply_remedy(design, remedy))
    assert spring_loop(Beams.of(closed), _loop(closed)).springs == ()


def test_a_body_goes_in_with_play_where_its_ways_nearly_agree() -> None:
    """The keyed box's sides, leant a little: the upper key's two laps differ by twice as much."""
    upright = keyed_box(False)
    for lean_deg in (0.2, 2.0):
        lean = np.radians(lean_deg)
        motifs = tuple(
            replace(
                motif,
                normal=(np.cos(lean), 0.0, np.sign(motif.offset) * np.sin(lean)),
                offset=motif.offset * np.cos(lean),
            )
            if motif.name in ("left", "right")
            else motif
            for motif in upright.motifs
        )
        joints = tuple(one for one in upright.joint_classes if one.kind is JointKind.CROSS_LAP)
        leant = replace(
            upright,
            motifs=motifs,
            joint_classes=tuple(one for one in joints if one.name in ("left lap", "right lap")),
            sheet=replace(upright.sheet, clearance=0.05),
        )
        built = build(leant)
        key = next(k for k, plate in enumerate(built.plates) if plate.motif == "upper key")
        sides = {joint.plates[1] for joint in built.joints}
        springs = spring_in(Beams.of(built), Blocking.of(built), {key}, sides)
        # By hand: going straight up, each lap 10 mm deep strays by 10 mm x sin(lean).
        assert bool(10.0 * np.sin(lean) < 0.05) is (springs.play is not None)
        assert bool(springs.stuck) is (springs.play is None)
        if springs.play is not None:
            assert springs.play.play == pytest.approx(10.0 * np.sin(lean), rel=0.05)
            assert springs.direction == pytest.approx([0.0, 0.0, 1.0], abs=0.01)


def test_an_edge_rotor_names_the_field_of_its_engagement() -> None:
    built = build(DESIGNS["dodecahedron"])
    beams = Beams.of(built)
    loops = locking_loops(Blocking.of(built), [{plate} for plate in range(len(built.plates))])
    rings = [lock.loop for lock in loops if len(lock.loop) == 3]
    offered = {one.kind: one for one in remedies(beams, spring_loop(beams, rings[0]))}
    remedy = offered["longer lever"]
    assert remedy.field == "recipe.engagement"
    changed = apply_remedy(built.design, remedy)
    assert isinstance(changed.recipe, EdgeRotor)
    assert changed.recipe.engagement == remedy.value
    assert remedy.value == pytest.approx(remedy.figure, abs=1.0)


def test_a_remedy_without_a_field_is_refused() -> None:
    _, offered = _offered(SHORT)
    with pytest.raises(DesignError, match="longer slot"):
        apply_remedy(SHORT, offered["longer slot"])


def test_the_finding_names_what_is_wrong_and_what_helps() -> None:
    built, offered = _offered(SHORT)
    beams = Beams.of(built)
    springs = spring_loop(beams, _loop(built))
    check = check_springing(beams, [springs])
    assert not check.ok
    assert check.figure == springs.worst_ratio > check.limit
    assert check.where == (built.joints[springs.springs[0].joint].id,)
    assert "cannot be sprung" in check.message
    assert all(remedy.text in check.message for remedy in offered.values())


def test_stuck_laps_are_named_and_a_slit_is_offered() -> None:
    beams = Beams.of(build(three_planks()))
    springs = spring_loop(beams, [0, 1, 2])
    assert [one.kind for one in remedies(beams, springs)] == ["slit"]
    check = check_springing(beams, [springs])
    assert not check.ok
    assert np.isfinite(check.figure)
    assert check.where == ("J001", "J002", "J003")
    assert "laps" in check.message


def test_two_tabs_are_measured_where_they_are() -> None:
    one = rotor(3, TRIAD)
    wide = replace(one.motifs[0], width=80.0)
    single, double = (
        build(
            replace(
                one,
                motifs=(wide,),
                joint_classes=(replace(one.joint_classes[0], tabs=tabs),),
            )
        )
        for tabs in (1, 2)
    )
    assert len(double.joints[0].tabs) == 2
    assert Beams.of(double).deflection == pytest.approx(Beams.of(single).deflection)
