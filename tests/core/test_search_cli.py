# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright search` as it is called: files, answers, exit statuses, what it refuses."""

from __future__ import annotations

import json
import pickle
import time
from pathlib import Path

import pytest

from pinwright.core.cli import search as command
from pinwright.core.cli.main import main
from pinwright.core.errors import DesignError
from pinwright.core.search import run as searching
from pinwright.core.search import sheet as sheets
from pinwright.core.search.batch import BatchResult
from pinwright.core.search.rank import WEIGHTS
from pinwright.core.search.state import State
from tests.found import found_state

ONE_BATCH = ["--seed", "3", "--workers", "0", "--batches", "1"]


def test_designs_index_and_sheet_are_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "found"
    given = ["search", "T", "--motifs", "2", "--out", str(out), *ONE_BATCH, "--width", "75"]
    status = main([*given, "--sheet", "3", "--json"])
    answer = json.loads(capsys.readouterr().out)
    assert status == 0
    assert answer["designs"] == len(list((out / "designs").glob("*.toml"))) >= 3
    assert (answer["shown"], answer["pictures"]) == (3, 3)
    assert all(Path(file).is_file() for file in answer["files"])
    index = json.loads((out / "index.json").read_text(encoding="utf-8"))
    assert all({"score", "like", "figures", "file"} <= set(one) for one in index["designs"])
    page = (out / "sheet.html").read_text(encoding="utf-8")
    drawn = [path.stem for path in (out / "pictures").glob("*.png")]
    assert len(drawn) == 3
    assert all(name in page for name in drawn)
    # The same again is refused, going on is not: here there is nothing left to do but the sheet.
    assert main(given) == 2
    assert "holds a search already" in capsys.readouterr().err
    assert main([*given, "--sheet", "1", "--resume"]) == 0
    said = capsys.readouterr().out
    assert (
        f"Going on with the search in {out}: {answer['designs']} designs so far, 1 batches" in said
    )


def test_no_design_is_exit_status_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(searching, "run_batch", lambda wanted, seed, batch: BatchResult(batch))
    out = tmp_path / "found"
    given = ["search", "T", "--out", str(out), *ONE_BATCH]
    assert main(given) == 1
    said = capsys.readouterr().out
    assert "0 designs of 0 different sets of planes" in said
    assert "more time, thinner strips or less clearance" in said
    assert json.loads((out / "index.json").read_text(encoding="utf-8"))["designs"] == []
    assert not (out / "sheet.html").exists()


def test_ctrl_c_keeps_what_was_found_and_writes_the_sheet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(state: State, folder: Path, *_: object) -> None:
        state.found += found_state(folder).found
        raise KeyboardInterrupt

    monkeypatch.setattr(searching, "search", stopped)
    assert main(["search", "T", "--out", str(tmp_path)]) == 130
    said = capsys.readouterr().err
    assert f"stopped; 1 design in {tmp_path} is kept (go on with --resume)" in said
    assert (tmp_path / "sheet.html").is_file()

    def twice(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(sheets, "write_sheet", twice)
    monkeypatch.setattr(searching, "begin", lambda *_: found_state(tmp_path))
    assert main(["search", "T", "--out", str(tmp_path), "--resume"]) == 130
    assert "the sheet is not done (--resume writes it)" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("more", "named"),
    [
        (["D4"], "T, O or I"),
        (["O", "--motifs", "1"], "one motif"),
        (["I", "--clearance", "-1"], "--clearance"),
        (["I", "--designs", "0"], "--designs"),
        (["I", "--weights", "beauty=1"], "--weights"),
        (["I", "--motifs", "4"], "--motifs"),
        (["I", "--resume"], "no search to go on with"),
        (["I", "--scheduler", "tcp://127.0.0.1:9"], "scheduler"),
    ],
)
def test_what_cannot_be_done_is_refused_and_leaves_nothing(
    more: list[str],
    named: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(searching, "_ANSWER", 0.3)
    assert main(["search", *more, "--out", str(tmp_path / "none")]) == 2
    assert named in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_help_lists_weights_and_exit_statuses(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["search", "--help"])
    said = capsys.readouterr().out
    for name, weight in WEIGHTS.items():
        assert f"  {name}={weight:g} " in said
    for status in ("  0 ", "  1 ", "  2 ", "  130 "):
        assert f"\n{status}" in said
    assert "pictures included" in " ".join(said.split())


def test_progress_says_designs_planes_candidates_and_time_left(tmp_path: Path) -> None:
    state = found_state(tmp_path, 3)
    told: list[tuple[str, float]] = []
    args = command_line("--time", "100", "--out", str(tmp_path))
    plan = command._plan(args, 1.5)
    assert plan.seconds == pytest.approx(98.5)  # what has gone before the search is part of it
    assert plan.pictures == 60
    start = time.monotonic()
    tell = command._teller(lambda *said: told.append(said), args, plan, start + 98.5)
    tell(state)
    text, share = told[0]
    assert text.startswith("3 designs, 3 sets of planes, 2.8 M candidates")
    assert 0 <= share < 0.05
    assert command._progress(state, 95.0) == (
        "3 designs, 3 sets of planes, 2.8 M candidates, 1:35 left"
    )


def command_line(*given: str) -> object:
    import argparse

    parser = argparse.ArgumentParser()
    command.register(parser.add_subparsers())
    return parser.parse_args(["search", "T", *given])


def test_patterns_and_normals_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    # The counts are held by Burnside's lemma and a brute force in the tests of listing and normals.
    assert main(["search", "T", "--motifs", "1", "--list", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert [one["patterns"] for one in answer["patterns"]] == [3, 2]
    assert [one["up_to_turns"] for one in answer["patterns"]] == [2, 1]
    assert sum(one["directions"] for one in answer["normals"]) == 33
    assert all(len(one["square"]) >= 2 for one in answer["normals"])
    assert main(["search", "I", "--motifs", "2", "--list"]) == 0
    said = capsys.readouterr().out
    line = next(line for line in said.splitlines() if "two rotors, linked both ways" in line)
    assert line.split()[-3:] == ["481", "481", "0"]
    assert main(["search", "C7", "--list"]) == 2
    assert "T, O, I, or D3" in capsys.readouterr().err


def test_a_search_without_a_folder_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["search", "T"]) == 2
    assert "--out" in capsys.readouterr().err


def test_errors_pass_from_worker_processes_whole() -> None:
    error = DesignError("sheet.thickness", 0.0, "more than 0 mm", "Take a real sheet.")
    again = pickle.loads(pickle.dumps(error))
    assert str(again) == str(error)
    assert (again.field, again.found) == ("sheet.thickness", 0.0)


@pytest.mark.parametrize(
    ("option", "value"),
    [
        ("--time", "inf"), ("--time", "nan"), ("--seed", "-1"), ("--clearance", "400"),
        ("--width", "900"), ("--workers", "-1"),
    ],
)  # fmt: skip
def test_wishes_that_cannot_be_met_are_refused_and_nothing_is_written(
    option: str, value: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "found"
    assert main(["search", "I", option, value, "--out", str(out)]) == 2
    assert option in capsys.readouterr().err
    assert not out.exists()
