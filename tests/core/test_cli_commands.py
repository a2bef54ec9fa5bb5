# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the sub-commands say: parts and checks in the terminal, frames, sheets, first designs."""

from __future__ import annotations

import dataclasses
import io
import json
import math
from pathlib import Path

import pytest
from rich.console import Console

from pinwright.core.cli.main import main
from pinwright.core.cli.report import build_record, print_failures, print_report
from pinwright.core.design.materials import MATERIALS
from pinwright.core.design.model import EdgeRotor, RightAngleOrbit, Rings
from pinwright.core.design.read import read_design
from pinwright.core.design.reference import field_reference
from pinwright.core.pipeline import build
from pinwright.core.results import Build, Check
from tests.builders import small_build


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no narrow window of who runs the tests break the lines."""
    monkeypatch.setenv("COLUMNS", "110")


def told(result: Build, written: str | None = None, width: int = 110) -> str:
    text = io.StringIO()
    out = Console(file=text, width=width, markup=False, highlight=False)
    print_report(out, result)
    print_failures(out, result, written)
    return text.getvalue()


def test_parts_are_listed_with_what_a_cutter_needs_to_know() -> None:
    result = small_build()
    said = told(result)
    rows = {
        line.split()[0]: line for line in said.splitlines() if line[:1] in "AB" and "mm" in line
    }
    # By hand (see tests/builders.py): every plate A has one tab, plate B has four slots.
    assert "1 tab" in rows["A"]
    assert "4 slots" in rows["B"]
    assert rows["A"].split()[1] == "4"
    assert rows["B"].split()[1] == "1"
    # A: body from -80 to the shoulder, tab beyond: 80 + 9.1 long, 40 wide.
    left, _, right, top = result.parts[0].outline.bounds
    assert f"{right - left:.1f} mm" in rows["A"]
    assert f"{2 * top:.1f} mm" in rows["A"]
    assert f"{1000 * result.parts[0].mass:.3g} g" in rows["A"]
    assert "5 plates, 4 joints, 4 pins" in said


def test_checks_are_ok_or_loud() -> None:
    good = Check("web", True, 4.0, "mm", 3.0, "webs of 4 mm")
    places = tuple(f"P{n} and Q{n}" for n in range(7))
    bad = Check("clash", False, 12.5, "mm3", 0.001, "two plates [A01] share room", places)
    result = dataclasses.replace(small_build(), checks=(good, bad), warnings=("tight fit",))
    said = told(result, "out")
    lines = said.splitlines()
    assert any(line.split()[:4] == ["ok", "web", "4", "mm"] for line in lines)
    assert any(line.startswith("NOT OK   clash") and "12.5 mm3" in line for line in lines)
    assert "NOT OK: clash" in lines
    assert lines[lines.index("    P3 and Q3") + 1] == "    and 3 more"
    assert "[A01]" in said
    assert "note: tight fit" in said
    assert lines[-1].startswith("The files were written to out nevertheless")
    assert build_record(result)["ok"] is False


def test_nothing_is_shouted_when_all_is_well() -> None:
    good = Check("web", True, 4.0, "mm", 3.0, "webs of 4 mm")
    assert "NOT OK" not in told(dataclasses.replace(small_build(), checks=(good,)), "out")


def test_figures_without_end_become_null_in_json() -> None:
    from pinwright.core.cli.answers import print_json

    with pytest.MonkeyPatch.context() as patch:
        text = io.StringIO()
        patch.setattr("sys.stdout", text)
        print_json({"figure": math.inf, "where": [math.nan, 1.5]})
    assert json.loads(text.getvalue()) == {"figure": None, "where": [None, 1.5]}


def test_the_catalogue_is_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["frames"]) == 0
    rows = [line.split() for line in capsys.readouterr().out.splitlines()]
    # Vertices, edges, faces: MathWorld, Archimedean Solid.
    assert ["truncated", "icosahedron", "60", "90", "32", "I"] in rows
    assert main(["frames", "--json"]) == 0
    entries = {entry["name"]: entry for entry in json.loads(capsys.readouterr().out)["frames"]}
    assert entries["snub cube"]["edges"] == 60
    assert entries["snub cube"]["handed"] is True
    assert entries["prism n"]["vertices"] == "2 n"


CUBE = (
    "v 0 0 0\nv 40 0 0\nv 40 40 0\nv 0 40 0\nv 0 0 40\nv 40 0 40\nv 40 40 40\nv 0 40 40\n"
    "f 4 3 2 1\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8\n"
)


def test_a_mesh_file_is_measured(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "box.obj"
    file.write_text(CUBE)
    assert main(["frames", str(file), "--json"]) == 0
    frame = json.loads(capsys.readouterr().out)["frame"]
    # A cube of edge 40: 8 vertices, 12 edges, 6 faces, 24 rotations, space diagonal 40 sqrt(3).
    assert (frame["vertices"], frame["edges"], frame["faces"]) == (8, 12, 6)
    assert frame["group"] == {"name": "O", "order": 24}
    assert frame["shortest_edge"] == pytest.approx(40.0)
    assert frame["diameter"] == pytest.approx(40.0 * math.sqrt(3.0))
    assert main(["frames", str(file), "--diameter", "100"]) == 0
    said = capsys.readouterr().out
    assert "8, 12, 6" in said
    assert f"{100.0 / math.sqrt(3.0):.3f} mm" in said


def test_a_bare_group_has_no_edges(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["frames", "D5", "--json"]) == 0
    frame = json.loads(capsys.readouterr().out)["frame"]
    assert frame["group"]["order"] == 10
    assert frame["shortest_edge"] is None


def test_all_sheets_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["materials"]) == 0
    said = capsys.readouterr().out
    assert all(name in said for name in MATERIALS)
    assert main(["materials", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["materials"]
    assert [row["name"] for row in rows] == list(MATERIALS)


def test_fields_prints_the_reference(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fields"]) == 0
    assert capsys.readouterr().out == field_reference()


@pytest.mark.parametrize(
    ("recipe", "frame", "kind"),
    [
        ("edge-rotor", "dodecahedron", EdgeRotor),
        ("edge-rotor", "truncated cube", EdgeRotor),
        ("rings", "I", Rings),
        ("rings", "octahedron", Rings),
        ("right-angle-orbit", "tetrahedron", RightAngleOrbit),
        ("right-angle-orbit", "I", RightAngleOrbit),
    ],
)
def test_a_new_design_reads_and_builds(
    recipe: str, frame: str, kind: type, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "first try.toml"
    assert main(["new", str(file), "--recipe", recipe, "--frame", frame, "--thickness", "2.8"]) == 0
    said = capsys.readouterr().out
    design = read_design(file)
    assert design.name == "first try"
    assert design.sheet.thickness == 2.8
    assert isinstance(design.recipe, kind)
    result = build(design)
    assert f"{result.totals.plates} plates" in said
    assert result.ok == ("NOT OK" not in said)


def test_an_older_file_is_kept_unless_forced(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "star.toml"
    file.write_text("mine")
    assert main(["new", str(file), "--frame", "cube"]) == 2
    assert "--force" in capsys.readouterr().err
    assert file.read_text() == "mine"
    assert main(["new", str(file), "--frame", "cube", "--width", "40", "--force"]) == 0
    recipe = read_design(file).recipe
    assert recipe is not None
    assert recipe.width == 40.0


def test_the_path_of_a_mesh_starts_at_the_design_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "meshes").mkdir()
    (tmp_path / "designs").mkdir()
    (tmp_path / "meshes" / "box.obj").write_text(CUBE)
    monkeypatch.chdir(tmp_path)
    assert main(["new", "designs/box.toml", "--frame", "meshes/box.obj"]) == 0
    design = read_design(tmp_path / "designs" / "box.toml")
    assert design.frame.mesh == "../meshes/box.obj"
    monkeypatch.chdir("/")
    assert build(design).group.order == 24


def test_the_crossed_bars_of_the_reference_are_two_plates_and_one_joint(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = field_reference().split("```toml\n")[2].split("```")[0]
    file = tmp_path / "bars.toml"
    file.write_text(text, encoding="utf-8")
    assert main(["check", str(file)]) == 0
    # By hand: a bar through the centre and its copy turned by 180 degrees, crossing once.
    assert "2 plates, 1 joint, 0 pins" in capsys.readouterr().out
