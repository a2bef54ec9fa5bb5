# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The command line keeps its contract: exit statuses, one JSON object, refusals without a trace."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from pinwright.core import pipeline
from pinwright.core.cli.main import main

HEAD = 'schema = "pinwright-design/1"\nname = "Lattice [one]"\n'
# One motif of the tetrahedral group with two square joint classes: nothing runs into anything.
SOUND = HEAD + (
    'sheet = {thickness = 3, material = "steel-s235"}\n'
    'frame = {group = "T", diameter = 1000}\n'
    'recipe = {kind = "right-angle orbit", pattern = "rotor + two-fold", width = 24}\n'
)
# The same with more free room asked for than a sculpture of 1 m has.
CROWDED = SOUND + "joints = {gap = 2000}\n"
HEAVY = ("numpy", "scipy", "shapely", "rich", "tomlkit", "ezdxf", "networkx", "pinwright.addon")


@pytest.fixture(autouse=True)
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no narrow window of who runs the tests break the lines."""
    monkeypatch.setenv("COLUMNS", "110")


@pytest.fixture
def sound(tmp_path: Path) -> Path:
    file = tmp_path / "lattice.toml"
    file.write_text(SOUND, encoding="utf-8")
    return file


@pytest.fixture
def crowded(tmp_path: Path) -> Path:
    file = tmp_path / "crowded.toml"
    file.write_text(CROWDED, encoding="utf-8")
    return file


def answer(capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """Return the one JSON object on standard output; there must be nothing on standard error."""
    captured = capsys.readouterr()
    assert captured.err == ""
    record = json.loads(captured.out)
    assert isinstance(record, dict)
    return record


def python(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, check=False, timeout=120
    )


def test_help_imports_nothing_that_takes_time() -> None:
    code = (
        "import sys\n"
        "from pinwright.core.cli.main import main\n"
        "try:\n    main(['build', '--help'])\n"
        "except SystemExit as end:\n    assert end.code == 0\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules])\n"
    )
    ran = python("-c", code)
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.splitlines()[0].startswith("usage: pinwright build")
    assert ran.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize(
    "command", ["build", "check", "plan", "frames", "new", "materials", "fields"]
)
def test_every_command_explains_itself(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as end:
        main([command, "--help"])
    assert end.value.code == 0
    assert f"usage: pinwright {command}" in capsys.readouterr().out


def test_it_runs_as_a_module_and_from_any_folder(tmp_path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "pinwright.core.cli", "--version"],
        capture_output=True,
        text=True,
        check=True,
        cwd=tmp_path,
        timeout=120,
    )
    assert ran.stdout.startswith("pinwright 0.")


def test_no_command_shows_the_help_and_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    assert "usage: pinwright" in capsys.readouterr().err


def test_build_of_a_sound_design(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["build", str(sound), "--out", str(out)]) == 0
    captured = capsys.readouterr()
    assert captured.err == ""
    assert (out / "build.json").is_file()
    assert len(list((out / "cut").glob("*.dxf"))) == 1
    for said in (
        "Lattice [one]",
        "group T",
        "steel-s235, 3 mm",
        "12 plates",
        "Written to",
        "Safety",
    ):
        assert said in captured.out
    assert "NOT OK" not in captured.out


def test_build_tells_a_program_what_the_build_file_says(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["build", str(sound), "--out", str(out), "--json"]) == 0
    record = answer(capsys)
    written = json.loads((out / "build.json").read_text(encoding="utf-8"))
    assert record["ok"] is True
    assert record["totals"] == written["totals"]
    assert record["checks"] == written["checks"]
    assert record["group"] == {"name": "T", "order": 12}
    assert sorted(record["files"]) == sorted(str(p) for p in out.rglob("*") if p.is_file())


def test_a_failed_check_is_told_loudly_and_written_nevertheless(
    crowded: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert main(["build", str(crowded), "--out", str(out)]) == 1
    said = capsys.readouterr().out
    assert "NOT OK: clearance" in said
    assert "2000 mm" in said
    assert f"The files were written to {out} nevertheless" in said
    assert (out / "build.json").is_file()


def test_a_failed_check_can_be_accepted(crowded: Path, tmp_path: Path) -> None:
    assert main(["build", str(crowded), "--out", str(tmp_path / "a"), "--accept"]) == 0


def test_quiet_says_only_what_went_wrong(
    sound: Path, crowded: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", str(sound), "--out", str(tmp_path / "a"), "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")
    assert main(["build", str(crowded), "--out", str(tmp_path / "b"), "--quiet"]) == 1
    assert capsys.readouterr().out.strip().startswith("NOT OK: clearance")


def test_check_judges_and_writes_nothing(
    sound: Path, crowded: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = sorted(tmp_path.rglob("*"))
    assert main(["check", str(sound), "--json"]) == 0
    assert answer(capsys)["ok"] is True
    assert main(["check", str(crowded), "--json"]) == 1
    failed = [check["name"] for check in answer(capsys)["checks"] if not check["ok"]]
    assert failed == ["clearance"]
    assert main(["check", str(crowded)]) == 1
    assert "nevertheless" not in capsys.readouterr().out
    assert sorted(tmp_path.rglob("*")) == before


def test_kerf_changes_the_cut_files_only(sound: Path, tmp_path: Path) -> None:
    true, wider = tmp_path / "true", tmp_path / "wider"
    assert main(["build", str(sound), "--out", str(true), "--quiet"]) == 0
    assert main(["build", str(sound), "--out", str(wider), "--quiet", "--kerf"]) == 0
    assert (true / "build.json").read_bytes() == (wider / "build.json").read_bytes()
    assert (true / "cut" / "A.dxf").read_bytes() != (wider / "cut" / "A.dxf").read_bytes()


REFUSED = [
    (["build"], "DESIGN.toml, --out"),
    (["build", "x.toml"], "--out"),
    (["build", "x.toml", "--out", "o", "--frob"], "--frob"),
    (["frobnicate"], "frobnicate"),
    (["check", "none.toml"], "none.toml: there is no such file"),
    (["check", "."], "is a folder"),
    (["frames", "dodecahedrom"], "dodecahedr"),
    (["frames", "cube", "--diameter", "nan"], "--diameter: found nan"),
    (["frames", "cube", "--diameter", "-1"], "--diameter: found -1.0"),
    (["new", "n.toml", "--recipe", "spiral"], "edge-rotor"),
    (["new", "n.toml", "--thickness", "0"], "--thickness: found 0.0"),
    (["new", "n.toml", "--material", "tin"], "sheet.material: found 'tin'"),
    (["new", "n.toml", "--frame", "dodecahedrom"], "dodecahedr"),
    (["new", "n.toml", "--frame", "cube", "--width", "3"], "width (of the narrowest strip)"),
    (["new", "none/n.toml", "--frame", "cube"], "cannot be written"),
]


@pytest.mark.parametrize(("arguments", "said"), REFUSED, ids=lambda item: str(item)[:40])
def test_refusals_are_one_message_and_write_nothing(
    arguments: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(arguments) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("pinwright: ")
    assert said in captured.err
    assert "Traceback" not in captured.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("text", "field"),
    [
        (SOUND.replace("thickness = 3", "thickness = -3"), "sheet.thickness"),
        (SOUND.replace("24}", "24"), "d.toml line 5"),
    ],
)
def test_refusals_of_a_design_name_the_field(
    text: str, field: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "d.toml"
    file.write_text(text, encoding="utf-8")
    status = main(["build", str(file), "--out", str(tmp_path / "out"), "--json"])
    record = answer(capsys)
    assert status == 2
    assert record["error"]["kind"] == "DesignError"
    assert record["error"]["field"] == field
    assert record["error"]["message"].startswith(field)
    assert not (tmp_path / "out").exists()


def test_usage_errors_answer_in_json_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--json"]) == 2
    assert "DESIGN.toml" in answer(capsys)["error"]["message"]


def test_a_folder_that_cannot_be_written_is_refused(
    sound: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    assert main(["build", str(sound), "--out", str(blocked)]) == 2
    assert capsys.readouterr().err.startswith("pinwright: ")
    assert blocked.read_text() == "in the way"


def test_ctrl_c_stops_without_a_trace(
    sound: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(pipeline, "build", stopped)
    assert main(["build", str(sound), "--out", str(tmp_path / "out")]) == 130
    captured = capsys.readouterr()
    assert captured.err.strip() == "pinwright: stopped; nothing was written"
    assert not (tmp_path / "out").exists()
    assert main(["check", str(sound), "--json"]) == 130
    assert answer(capsys)["error"]["kind"] == "Stopped"


def test_ctrl_c_after_the_files_are_in_place_says_so(
    sound: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from pinwright.core.cli import report

    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(report, "print_report", stopped)
    assert main(["build", str(sound), "--out", str(tmp_path / "out")]) == 130
    assert "are complete" in capsys.readouterr().err
    assert (tmp_path / "out" / "build.json").is_file()


def test_a_fault_of_the_program_is_not_blamed_on_the_design(
    sound: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("seven")

    monkeypatch.setattr(pipeline, "build", broken)
    assert main(["check", str(sound)]) == 70
    assert "a fault of the program itself (ZeroDivisionError: seven)" in capsys.readouterr().err


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device stands for a full disk")
def test_a_full_disk_is_no_fault_of_the_program(sound: Path) -> None:
    with Path("/dev/full").open("w") as full:
        ran = subprocess.run(
            [sys.executable, "-m", "pinwright.core.cli", "check", str(sound)],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert ran.returncode == 74  # EX_IOERR of sysexits.h
    assert "cannot be written where it is sent: No space left on device" in ran.stderr
    assert "Traceback" not in ran.stderr


@pytest.mark.skipif(os.name != "posix", reason="closing the reading end is an error of its own")
def test_a_reader_that_goes_away_is_no_fault() -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "pinwright.core.cli", "fields"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0
