# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The sculpture step by step: who is there, who comes, and how far from its place it is shown."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from pinwright.core.assembly.plan import planned
from pinwright.core.assembly.stage import first_step_of, module_steps, shown_pose, stage_at
from pinwright.core.design.model import Design, EdgeRotor, FrameChoice, ModuleChoice, Sheet
from pinwright.core.export.build_json import build_to_dict
from pinwright.core.pipeline import build


def step(n: int, module: str | None, add: list[str], close: list[str], **more: Any) -> Any:
    record = {"n": n, "module": module, "add": add, "close": close, "pin": close, "spring": []}
    return {**record, **more}


# Two modules of two plates, joined by J3; then a plate alone. By hand.
JOINTS = {"J1": ("A", "B"), "J2": ("C", "D"), "J3": ("B", "C"), "J4": ("D", "E")}
STEPS = [
    step(1, "M1", ["A"], []),
    step(2, "M1", ["B"], ["J1"]),
    step(3, None, ["A", "B"], []),
    step(4, "M2", ["C"], []),
    step(5, "M2", ["D"], ["J2"], spring=[{"plate": "C"}]),
    step(6, None, ["C", "D"], ["J3"]),
    step(7, None, ["E"], ["J4"]),
]


def test_tables_and_the_whole_are_places_of_their_own() -> None:
    assert stage_at(STEPS, JOINTS, 0).role("A") is None
    at_table = stage_at(STEPS, JOINTS, 5)
    assert (at_table.module, at_table.coming) == ("M2", ("D",))
    roles = {plate: at_table.role(plate) for plate in "ABCDE"}
    assert roles == {
        "A": "elsewhere",
        "B": "elsewhere",
        "C": "bends",
        "D": "coming",
        "E": None,
    }
    assert at_table.pinned == frozenset()
    assert at_table.pinning == {"J2"}


def test_a_module_comes_in_with_its_locks() -> None:
    joined = stage_at(STEPS, JOINTS, 6)
    assert joined.module is None
    assert joined.coming == ("C", "D")
    assert {plate: joined.role(plate) for plate in "ABCD"} == {
        "A": "stands",
        "B": "holds",
        "C": "coming",
        "D": "coming",
    }
    assert joined.pinned == {"J1", "J2"}
    assert joined.pinning == {"J3"}
    last = stage_at(STEPS, JOINTS, 99)
    assert last.n == 7
    assert last.there == set("ABCD")
    assert last.pinned == {"J1", "J2", "J3"}


def test_modules_in_the_order_of_work() -> None:
    members = {"A": "M1", "B": "M1", "C": "M2", "D": "M2", "E": "M3"}
    assert module_steps(STEPS, members) == ["M1", "M2", "M3"]
    assert [first_step_of(STEPS, members, name) for name in ("M1", "M2", "M3")] == [1, 4, 7]


def test_the_end_of_a_way_is_shown() -> None:
    way = [[0.0, 0.0, 900.0], [0.0, 0.0, 100.0], [0.0, 0.0, 0.0]]
    turns = [[0.0, 0.0, 0.0, 1.0]] * 3
    record = step(1, None, ["A"], [], way=way, turns=turns, pivot=[0.0, 0.0, 0.0], free=True)
    for share, height in ((0.0, 300.0), (0.5, 150.0), (1.0, 0.0), (7.0, 0.0)):
        np.testing.assert_allclose(
            shown_pose(record, share, 300.0)[:3, 3], [0.0, 0.0, height], atol=1e-9
        )
    assert shown_pose(record, 0.0, 5000.0)[2, 3] == pytest.approx(900.0)
    still = {**record, "way": [[0.0, 0.0, 0.0]], "turns": turns[:1]}
    np.testing.assert_allclose(shown_pose(still, 0.0, 300.0), np.eye(4))


def test_every_step_of_a_real_plan_adds_what_it_says() -> None:
    design = Design(
        "tetra",
        Sheet(3.0),
        FrameChoice(500.0, solid="tetrahedron"),
        EdgeRotor(width=36.0),
        modules=ModuleChoice("joints", count=2),
    )
    record = build_to_dict(planned(build(design)))
    joints = {joint["id"]: joint["plates"] for joint in record["joints"]}
    standing: set[str] = set()
    for one in record["steps"]:
        now = stage_at(record["steps"], joints, one["n"])
        if now.module is None:
            assert now.there == standing
            standing |= set(now.coming)
    assert standing == {plate["id"] for plate in record["plates"]}
    assert now.pinned | now.pinning == {j["id"] for j in record["joints"] if j["pins"]}
