# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Assembly plans of small sculptures whose order is known, replayed by an independent judge."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from pinwright.core.assembly.plan import plan_steps, planned
from pinwright.core.assembly.schedule import schedule_steps, spare_parts
from pinwright.core.design.model import AssemblyChoice, Design, Lock
from pinwright.core.design.read import read_design
from pinwright.core.export.build_json import build_json, build_schema
from pinwright.core.results import Build, Module
from tests.builders import small_design
from tests.built import build
from tests.interlocks import TRIAD, boarded_box, keyed_box, rotor, three_planks
from tests.plan_judge import Replay, replay

Record = dict[str, Any]
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def written(built: Build) -> Record:
    record: Record = json.loads(build_json(built))
    return record


def judged(design: Design) -> tuple[Build, Replay]:
    result = planned(build(design))
    return result, replay(written(result))


def test_without_a_plan_there_are_no_steps() -> None:
    assert written(build(boarded_box()))["steps"] == []


def test_steps_satisfy_the_schema() -> None:
    Draft202012Validator(build_schema()).validate(written(planned(build(small_design()))))


@pytest.mark.parametrize("start", ["top", "base"])
def test_a_box_of_parallel_tenons_closes_without_bending(start: str) -> None:
    # Known by construction: both sides are drawn off along x.
    design = replace(boarded_box(), assembly=AssemblyChoice(start=start))
    result, verdict = judged(design)
    assert verdict.sound, verdict.failures
    assert not verdict.unproved
    # With plates added one by one, the second side closes both boards' tabs at once.
    assert [len(step.close) for step in result.steps] == [0, 1, 1, 2]
    assert not any(step.springs for step in result.steps)
    assert abs(result.steps[-1].direction[0]) == pytest.approx(1.0)


def test_the_plate_that_hangs_comes_first() -> None:
    sound = build(boarded_box())
    (first,) = plan_steps(sound)[0].add
    hung = next(joint for joint in sound.joints if first not in joint.plates)
    joints = (replace(j, lock=Lock.LINK) if j is hung else j for j in sound.joints)
    linked = replace(sound, joints=tuple(joints))
    assert plan_steps(linked)[0].add[0] in hung.plates


def test_a_key_comes_last_and_a_crossed_one_needs_bending() -> None:
    # By construction the upper key goes out upwards first; crossed, each key holds the other in, so
    # that no straight moves put the box together.
    base = AssemblyChoice("base")
    result, verdict = judged(replace(keyed_box(crossed=False), assembly=base))
    assert verdict.sound, verdict.failures
    assert not verdict.unproved
    assert not any(step.springs for step in result.steps)
    last = result.steps[-1]
    assert [result.plates[p].motif for p in last.add] == ["upper key"]
    np.testing.assert_allclose(last.direction, (0.0, 0.0, -1.0), atol=1e-9)
    crossed, verdict = judged(replace(keyed_box(crossed=True), assembly=base))
    assert verdict.sound, verdict.failures
    assert any(step.springs for step in crossed.steps)


def test_three_planks_that_hold_each_other_are_not_proved() -> None:
    # Three laps along x, y and z in a ring: the last plank in needs two ways at once.
    result, verdict = judged(three_planks())
    assert verdict.sound, verdict.failures
    assert result.steps[-1].n in verdict.unproved


def test_a_triad_is_sprung_once() -> None:
    # The orthogonal triad never opens by straight moves (three normals square to each other).
    result, verdict = judged(rotor(3, TRIAD))
    assert verdict.sound, verdict.failures
    assert not verdict.unproved
    sprung = [spring for step in result.steps for spring in step.springs]
    assert len(sprung) == 1
    # The tab must come back by its length beyond the slotted plate and that plate's thickness.
    joint = result.joints[sprung[0].joint]
    assert joint.pin is not None
    beyond = float((joint.pin.centre - joint.centre) @ joint.insertion) + 1.6 + 3.0
    assert sprung[0].deflection == pytest.approx(beyond + 1.5, abs=0.6)


def regrouped(built: Build, groups: list[list[int]]) -> Build:
    """Return the build with other modules."""
    home = {plate: m for m, group in enumerate(groups) for plate in group}
    joints = tuple(
        replace(joint, within_module=home[joint.plates[0]] == home[joint.plates[1]])
        for joint in built.joints
    )
    modules = tuple(
        Module(
            f"M{m + 1:02d}",
            tuple(group),
            tuple(j for j, one in enumerate(joints) if set(one.plates) <= set(group)),
            np.zeros(3),
        )
        for m, group in enumerate(groups)
    )
    plates = tuple(replace(plate, module=home[p]) for p, plate in enumerate(built.plates))
    return replace(built, plates=plates, joints=joints, modules=modules)


def two_halves() -> Build:
    """Return a ring of four boards as two modules of two."""
    ring = build(rotor(4, 0.0))
    after = {joint.plates[0]: joint.plates[1] for joint in ring.joints}
    second = after[0]
    third = after[second]
    return planned(regrouped(ring, [[0, second], [third, after[third]]]))


def test_modules_are_put_together_and_then_joined() -> None:
    result = two_halves()
    verdict = replay(written(result))
    assert verdict.sound, verdict.failures
    assert len(result.modules) == 2
    at_tables = [step for step in result.steps if step.module is not None]
    assert [len(step.add) for step in at_tables] == [1] * 4
    whole = [step for step in result.steps if step.module is None]
    assert [len(step.add) for step in whole] == [2, 2]
    one, two = ([s for s in at_tables if s.module == m] for m in (0, 1))
    # The second module is the first one turned by half a turn, and so is its plan.
    half_turn = np.diag([-1.0, -1.0, 1.0])
    for first, second in zip(one, two, strict=True):
        np.testing.assert_allclose(second.way, first.way @ half_turn.T, atol=1e-9)


FORWARD = [[0.0, 0.0, 0.0, 1.0]] * 2
FAULTS: dict[str, Callable[[Record], None]] = {
    "add": lambda r: r["steps"][2]["add"].append(r["steps"][0]["add"][0]),
    "close": lambda r: r["steps"][1]["close"].clear(),
    "pin": lambda r: r["steps"][2]["pin"].append(r["steps"][3]["close"][0]),
    "order": lambda r: r["steps"].insert(1, r["steps"].pop(2)),
    "sweep": lambda r: r["steps"][2].update(way=[[500.0, 500.0, 0.0], [0.0] * 3], turns=FORWARD),
    "way": lambda r: r["steps"][2].update(way=[[1.0, 0.0, 0.0], [0.0] * 3], turns=FORWARD),
}


@pytest.mark.parametrize("kind", FAULTS)
def test_the_judge_finds_faults(kind: str) -> None:
    record = written(planned(build(small_design())))
    assert replay(record).sound
    FAULTS[kind](record)
    assert kind in replay(record).failures


def test_the_judge_follows_turns() -> None:
    record = written(planned(build(small_design())))
    step = record["steps"][2]
    far, still, askew = step["way"][0], [0.0, 0.0, 0.0, 1.0], [0.0, 0.0, np.sqrt(0.5), np.sqrt(0.5)]
    # Turned home outside, where nothing stands: sound. In its place: through the others.
    step.update(way=[far, far, [0.0, 0.0, 0.0]], turns=[askew, still, still])
    assert replay(record).sound, replay(record).failures
    step.update(way=[far, [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]], turns=[askew, askew, still])
    assert "sweep" in replay(record).failures
    step.update(way=[far, [0.0, 0.0, 0.0]], turns=[still, askew])
    assert "way" in replay(record).failures


def test_times_are_those_of_the_table() -> None:
    times = AssemblyChoice("top", 1, 1.0, 2.0, 0.0, 4.0, 8.0, 16.0, 32.0, 64.0, 0.1)
    result, _ = judged(replace(small_design(), assembly=times))
    # By hand: five plates fetched and brought in, four joints closed, looked over and pinned.
    assert sum(s.minutes for s in result.steps) == 5 * (1 + 2) + 4 * (4 + 8 + 64)
    schedule = schedule_steps(result)
    assert schedule.total == schedule.bound == schedule.work
    assert schedule.stations == 1
    # A tenth of 4, of 1 and of 4 pins, rounded up.
    assert spare_parts(result) == {"A": 1, "B": 1, "pins": 1}


def test_two_teams_work_side_by_side() -> None:
    result = two_halves()
    one, two = (schedule_steps(result, teams) for teams in (1, 2))
    assert two.total < one.total
    assert two.bound <= two.total <= 1.5 * two.bound  # Graham 1969: 2 - 1/2 times the best
    assert two.stations == 2
    assert one.stations == 1


def test_a_joint_beside_its_plates_is_planned_all_the_same() -> None:
    # What a design that is not sound may come to: the place of a joint has no sheet about it.
    sound = build(small_design())
    first = sound.joints[0]
    aside = replace(first, centre=first.centre + 500.0 * first.insertion)
    result = planned(replace(sound, joints=(aside, *sound.joints[1:])))
    assert sorted(j for step in result.steps for j in step.close) == [0, 1, 2, 3]


def test_rings_of_laps_say_that_they_are_proved_locked_and_free_ways_do_not() -> None:
    result = planned(build(read_design(EXAMPLES / "frost-stars.toml")))
    locked = [step for step in result.steps if not step.free]
    assert locked
    assert all("It is proved that cross-laps lock" in step.why for step in locked)
    assert not any(step.why for step in result.steps if step.free)
    # The first of them close a ring of three plates by three laps. Its plates move apart only by
    # opening x way, summed round the ring to nothing; three independent ways allow that for no
    # opening but 0 (linear algebra; numpy tells the rank).
    there: set[int] = set()
    for step in result.steps[: locked[0].n]:
        there |= set(step.add)
    ring = [joint for joint in result.joints if set(joint.plates) <= there]
    assert len(there) == len(ring) == 3
    assert np.linalg.matrix_rank(np.array([joint.insertion for joint in ring]), tol=1e-6) == 3
