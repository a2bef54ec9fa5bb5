# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Exploded views of example designs, opened from their build files by an independent judge.

`tests/bench/judge_exploded.py` does the same for all examples.
"""

from __future__ import annotations

import copy
import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from pinwright.core.assembly.explode_order import exploded
from pinwright.core.assembly.explode_pins import lock_way
from pinwright.core.assembly.explode_straight import placed_at, ways_of
from pinwright.core.assembly.plan import planned
from pinwright.core.design.read import read_design
from pinwright.core.export.build_json import build_json
from pinwright.core.pipeline import build
from pinwright.core.results import Build
from tests.exploded_judge import judge_exploded, place

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
Record = dict[str, Any]


@cache
def _planned() -> Build:
    return exploded(planned(build(read_design(EXAMPLES / "edge-rotor.toml"))))


@cache
def _text() -> bytes:
    return build_json(_planned())


def _record() -> Record:
    record: Record = json.loads(_text())
    return record


def test_a_planned_view_opens_without_a_clash_but_at_sprung_joints() -> None:
    record = _record()
    assert record["exploded"]["in_order"]
    found = judge_exploded(record)
    assert found.uneven == []
    assert set(found.why.values()) <= {"sprung"}
    sprung = {spring["joint"] for step in record["steps"] for spring in step["spring"]}
    named = {joint for snag in record["exploded"]["snags"] for joint in snag["joints"]}
    assert named <= sprung


def test_between_the_tenths_only_what_is_named_clashes() -> None:
    record = _record()
    middles = set()  # of moves that are under way
    for plate in record["plates"]:
        way = np.array(plate["explode_way"])
        moved = np.linalg.norm(np.diff(way[:, 1:], axis=0), axis=1) > 1e-6
        middles |= set(np.round(((way[1:, 0] + way[:-1, 0]) / 2)[moved], 6).tolist())
    found = judge_exploded(record, sorted(middles)[:: max(len(middles) // 12, 1)])
    assert found.unnamed == []


def test_the_judge_finds_a_view_that_lies() -> None:
    """Half the ways turned round, or nothing named: the judge says so."""
    record = _record()
    plates = record["plates"]
    turned = copy.deepcopy(record)
    for plate in turned["plates"][::2]:
        plate["explode_way"] = [[f, -x, -y, -z] for f, x, y, z in plate["explode_way"]]
    assert judge_exploded(turned, [0.95]).unnamed
    longer = copy.deepcopy(record)
    longer["plates"][0]["explode"] = [2 * x for x in plates[0]["explode"]]
    assert judge_exploded(longer, [0.0]).uneven == [plates[0]["motif"]]


def test_all_ends_where_its_own_way_and_its_modules_lead() -> None:
    built = _planned()
    ends = np.array([p.explode + built.modules[p.module].explode for p in built.plates])
    np.testing.assert_allclose(placed_at(built, 1.0), ends, atol=1e-9)
    np.testing.assert_allclose(placed_at(built, 0.0), 0.0, atol=1e-12)
    record = _record()
    for plate, way in zip(record["plates"], ways_of(built), strict=True):
        factors = way[:, 0]
        assert factors[0] == 0.0
        assert factors[-1] == 1.0
        assert (np.diff(factors) > 0.0).all()
        moved = place(plate, 0.37)[:3, 3] - np.array(plate["transform"])[:3, 3]
        expected = [np.interp(0.37, factors, way[:, axis]) for axis in (1, 2, 3)]
        np.testing.assert_allclose(moved, expected, atol=1e-9)


def test_modules_stand_whole_at_the_split() -> None:
    built = _planned()
    assert built.exploded is not None
    at = placed_at(built, built.exploded.split)
    for number, module in enumerate(built.modules):
        bodies = [
            step.add
            for step in built.steps
            if step.module is None and built.plates[step.add[0]].module == number
        ]
        body = list(max(bodies, key=len))  # but for what the plan keeps out of it
        if len(body) > 1:
            there = np.tile(module.explode, (len(body), 1))
            np.testing.assert_allclose(at[body], there, atol=1e-9)


def test_what_comes_in_last_leaves_first() -> None:
    built = _planned()
    steps = [step for step in built.steps if step.module is None]
    begins = [_begins(built, step.add[0]) for step in steps[::-1]]
    assert begins == sorted(begins)
    assert begins[0] < begins[-1]


def _begins(built: Build, plate: int) -> float:
    """The factor at which a plate begins to move."""
    way = ways_of(built)[plate]
    moved = np.linalg.norm(way[:, 1:], axis=1) > 1e-9
    return float(way[int(moved.argmax()) - 1, 0])


def test_a_pin_is_out_before_its_joint_opens() -> None:
    built = _planned()
    for joint in built.joints:
        rows = lock_way(built, joint)
        assert rows is not None
        first, second = (ways_of(built)[p] for p in joint.plates)
        out = float(rows[int((rows[:, 4] > 1.0 - 1e-9).argmax()), 0])
        for share in np.linspace(0.0, out, 5):
            at = [
                [np.interp(share, way[:, 0], way[:, axis]) for axis in (1, 2, 3)]
                for way in (first, second)
            ]
            np.testing.assert_allclose(at[0], at[1], atol=1e-6)


def test_without_a_plan_all_that_clashes_is_named() -> None:
    built = exploded(build(read_design(EXAMPLES / "first-knot.toml")))
    record: Record = json.loads(build_json(built))
    assert not record["exploded"]["in_order"]
    found = judge_exploded(record, [0.01, 0.02, 0.04, 0.08, 0.61, 0.63, 0.67, 0.75, 1.0])
    seeds = {frozenset(snag["plates"]) for snag in record["exploded"]["snags"]}
    # One plate of each motif is tried; the group carries what is found round.
    motif = {plate["id"]: plate["motif"] for plate in record["plates"]}
    named = {frozenset(motif[p] for p in pair) for pair in seeds}
    assert found.clashes
    assert {frozenset(motif[p] for p in pair) for pair in found.clashes} <= named
    assert set(found.why.values()) <= {"straight", ""}
    firsts = {p["motif"]: p["id"] for p in reversed(record["plates"])}
    for pair in found.unnamed:
        assert not set(pair) & set(firsts.values())


def test_modules_that_would_meet_go_farther_than_was_chosen() -> None:
    """The densest example: its modules stand apart, whole and emptied; as chosen they would not."""
    design = read_design(EXAMPLES / "tide-whirl.toml")
    record = json.loads(build_json(build(design)))
    assert judge_exploded(record, [0.6, 1.0]).clashes == {}
    away = {m["id"]: np.array(m["explode"]) for m in record["modules"]}
    lengths = [float(np.linalg.norm(way)) for way in away.values()]
    chosen = design.modules.explode * 500.0  # mm, of the frame's radius
    assert np.ptp(lengths) < 1e-6
    assert lengths[0] > 1.05 * chosen
    for plate in record["plates"]:
        way = chosen / lengths[0] * away[plate["module"]]
        plate["explode_way"] = [[0.0, 0.0, 0.0, 0.0], [1.0, *way]]
    assert judge_exploded(record, [1.0]).clashes
