# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Build files that were changed after they were written: every fault is found, named and located.

The faults are put in by tests/faults.py, with shapely and numpy alone; tests/bench/
injected_faults.py does the same at many places of all examples.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from pinwright.core.cli.main import main
from pinwright.core.design.model import Design, FrameChoice, RightAngleOrbit, Sheet
from pinwright.core.errors import PinwrightError
from pinwright.core.export.build_json import build_json, build_to_dict
from pinwright.core.pipeline import build
from pinwright.core.recheck import recheck
from pinwright.core.results import Build
from tests.bench.injected_faults import really_hits
from tests.builders import small_build, small_design
from tests.faults import FAULTS, Spoiler, harmless, reported

Record = dict[str, Any]

#: Tenons and cross-laps of a group; by hand, without.
DESIGNS: dict[str, Design] = {
    "by hand": small_design(),
    "laps": Design(
        "laps", Sheet(3.0), FrameChoice(600.0, group="T"),
        RightAngleOrbit(30.0, pattern="rotor + two-fold"),
    ),
}  # fmt: skip


@pytest.fixture(scope="module", params=list(DESIGNS))
def fresh(request: pytest.FixtureRequest) -> Build:
    return build(DESIGNS[request.param])


@pytest.fixture(scope="module")
def record(fresh: Build) -> Record:
    found: Record = json.loads(build_json(fresh))
    return found


def judged(changed: Record, fresh: Build) -> list[Record]:
    checks: list[Record] = build_to_dict(recheck(changed, fresh=fresh))["checks"]
    return checks


def test_what_was_not_changed_gives_no_finding(record: Record, fresh: Build) -> None:
    assert [check for check in judged(record, fresh) if not check["ok"]] == []
    same = harmless(record, np.random.default_rng(5))
    assert same["plates"] != record["plates"]
    assert [check for check in judged(same, fresh) if not check["ok"]] == []


@pytest.mark.parametrize("name", list(FAULTS))
def test_each_fault_is_found_named_and_located(name: str, record: Record, fresh: Build) -> None:
    rng = np.random.default_rng(7)
    fault = FAULTS[name](record, rng)
    for _ in range(50):
        if fault is None or name != "plate moved into another":
            break
        if really_hits(fault.record, fault.names[0]):  # manifold3d's word
            break
        fault = FAULTS[name](record, rng)
    if fault is None:
        pytest.skip("the design has no such joint")
    checks = judged(fault.record, fresh)
    found = reported(fault, checks)
    assert found is not None, [(c["name"], c["where"]) for c in checks if not c["ok"]]


def test_the_design_in_the_file_is_built_anew(record: Record) -> None:
    assert recheck(record).ok
    changed = json.loads(json.dumps(record))
    changed["design"]["sheet"]["clearance"] += 0.1
    names = {check.name for check in recheck(changed).checks if not check.ok}
    assert {"record", "seat", "as designed"} <= names


def test_a_file_made_by_hand_is_judged_without_a_design() -> None:
    record: Record = json.loads(build_json(small_build()))
    found = {check.name: check for check in recheck(record, against_design=False).checks}
    assert found["seat"].ok, found["seat"].where
    assert found["clash"].ok
    assert "as designed" not in found


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("plates/0/transform", [[1, 0], [0, 1]], "plates[0].transform: found [[1, 0], [0, 1]]"),
        ("parts/0/outline/exterior", [[0, 0], [1, 1]], "parts[0].outline.exterior"),
        ("joints/0/kind", "glue", "joints[0].kind: found 'glue', allowed is one of tenon"),
        ("joints/0/line", [3.0, 0.0, 0.0], "joints[0].line"),
        ("parts/0/thickness", -3, "parts[0].thickness: found -3, allowed is a number above 0"),
        ("design/sheet/kerf", -1, "design.sheet.kerf"),
        ("group/name", "Q", "group.name"),
        ("totals/mass", "much", "totals.mass: found 'much', allowed is a number"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_place(
    path: str, value: object, told: str, record: Record
) -> None:
    changed = json.loads(json.dumps(record))
    *way, last = path.split("/")
    place = changed
    for step in way:
        place = place[int(step) if step.isdigit() else step]
    place[last] = value
    with pytest.raises(PinwrightError) as refusal:
        recheck(changed)
    assert told in str(refusal.value)


def test_parts_that_fall_apart_are_told_with_the_place(record: Record, fresh: Build) -> None:
    s = Spoiler(record, np.random.default_rng(1))
    part = s.record["parts"][0]
    ring = part["outline"]["exterior"]
    (x0, y0), (x1, y1) = np.min(ring, axis=0), np.max(ring, axis=0)
    middle = (x0 + x1) / 2
    # A cut right through, thinner than any blade: the outline touches itself all along it.
    part["outline"]["interiors"].append(
        [[middle, y0 - 5], [middle, y1 + 5], [middle + 1, y1 + 5], [middle + 1, y0 - 5]]
    )
    (check,) = (c for c in judged(s.record, fresh) if c["name"] == "in one piece")
    assert not check["ok"]
    assert f"part {part['mark']}: falls into" in check["where"][0]
    assert " at (" in check["where"][0]


def test_the_command_judges_a_build_file(
    tmp_path: Path, record: Record, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "build.json"
    file.write_text(json.dumps(record), encoding="utf-8")
    assert main(["check", str(file)]) == 0
    assert "as designed" in capsys.readouterr().out
    record = json.loads(json.dumps(record))
    record["joints"] = record["joints"][1:]
    file.write_text(json.dumps(record), encoding="utf-8")
    assert main(["check", str(file), "--json"]) == 1
    failed = {c["name"] for c in json.loads(capsys.readouterr().out)["checks"] if not c["ok"]}
    assert {"record", "as designed"} <= failed
    file.write_text("{}", encoding="utf-8")
    assert main(["check", str(file)]) == 2
