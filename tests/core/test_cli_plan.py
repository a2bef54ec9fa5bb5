# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright plan`: the plan as a table and as JSON, the same plan as in the build file."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import pytest

from pinwright.core.cli.main import main
from pinwright.core.design.model import AssemblyChoice, Design, EdgeRotor, FrameChoice, Sheet
from pinwright.core.design.write import format_design
from tests.builders import small_design
from tests.interlocks import three_planks
from tests.plan_judge import replay


@pytest.fixture
def small(tmp_path: Path) -> str:
    times = AssemblyChoice(teams=1, fetch=10.0, insert=0.0, close=0.0, pin=0.0, check=0.0)
    path = tmp_path / "small.toml"
    design = dataclasses.replace(small_design(), assembly=times)
    path.write_text(format_design(design), encoding="utf-8")
    return str(path)


def test_the_table_tells_every_step_and_the_time(
    small: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", small]) == 0
    said = capsys.readouterr().out
    # By hand: five plates at ten minutes each by one team: the last begins after 40 minutes.
    assert "0:40" in said
    assert "0:50 hours; no schedule takes less than 0:50" in " ".join(said.split())
    for plate in ("A01", "A02", "A03", "A04"):
        assert plate in said
    assert "NOT" not in said


def test_json_and_the_build_file_have_one_plan(
    small: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", small, "--json", "--teams", "2"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["schedule"]["teams"] == 2
    assert answer["schedule"]["least_minutes"] <= answer["schedule"]["minutes"]
    main(["build", small, "--out", str(tmp_path / "out"), "--plan", "--quiet"])
    record = json.loads((tmp_path / "out" / "build.json").read_text(encoding="utf-8"))
    assert record["steps"] == answer["steps"]
    # By hand, as above: one team, five plates at ten minutes, no faster way.
    schedule = record["schedule"]
    assert (schedule["teams"], schedule["minutes"], schedule["least_minutes"]) == (1, 50.0, 50.0)
    assert [turn["n"] for turn in schedule["turns"]] == [step["n"] for step in record["steps"]]
    assert replay(record).sound


def test_what_is_not_proved_is_said_loudly(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "planks.toml"
    path.write_text(format_design(three_planks()), encoding="utf-8")
    assert main(["plan", str(path)]) == 1
    assert "NOT PROVED" in capsys.readouterr().out


def test_a_number_of_teams_out_of_range_is_refused(
    small: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", small, "--teams", "0"]) == 2
    assert "from 1 to 20" in capsys.readouterr().err


def test_ways_of_cutting_into_modules_are_compared(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # An edge rotor on a tetrahedron: 6 strips, 12 joints, three at each of 4 vertices. A face's
    # three strips are joined at its three corners; by hand: half turns pair opposite edges, which
    # never meet.
    path = tmp_path / "tetra.toml"
    design = Design(
        "tetra", Sheet(3.0), FrameChoice(500.0, solid="tetrahedron"), EdgeRotor(width=36.0)
    )
    path.write_text(format_design(design), encoding="utf-8")
    assert main(["plan", str(path), "--modules", "--json"]) == 0
    rows = {row["about"]: row for row in json.loads(capsys.readouterr().out)["modules"]}
    assert rows["none"]["modules"] == 1
    assert rows["none"]["inside"] == 12
    assert all(row["inside"] + row["between"] == 12 for row in rows.values())
    pairs = rows["edges"]
    assert (pairs["modules"], pairs["least"], pairs["most"]) in {(3, 2, 2), (6, 1, 1)}
    assert pairs["inside"] == 0
    assert main(["plan", str(path), "--modules"]) == 0
    assert "late" in capsys.readouterr().out
