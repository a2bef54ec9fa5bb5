# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The folder of a build: complete, all or nothing, and careful with what others left there."""

from __future__ import annotations

import errno
import json
import os
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
from shapely import Polygon, box

from pinwright.core.errors import OutputError
from pinwright.core.export.build_json import build_json
from pinwright.core.export.files import build_files, write_build
from pinwright.core.export.folder import write_all
from pinwright.core.results import Build
from tests.builders import circle_ring, small_build

NAMES = {
    "build.json",
    "README.txt",
    "parts.csv",
    "plates.csv",
    "joints.csv",
    "cut/A.dxf",
    "cut/A.svg",
    "cut/B.dxf",
    "cut/B.svg",
}


def _tree(folder: Path) -> dict[str, bytes]:
    """Return every file and folder below, hidden ones too."""
    return {
        path.relative_to(folder).as_posix(): b"" if path.is_dir() else path.read_bytes()
        for path in folder.rglob("*")
    }


def _renamed(build: Build, old: str, new: str) -> Build:
    parts = tuple(replace(p, mark=new) if p.mark == old else p for p in build.parts)
    return replace(build, parts=parts)


def test_all_files_are_there_and_nothing_else(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    paths = write_build(small_build(), folder)
    assert {path.relative_to(folder).as_posix() for path in paths} == NAMES
    assert set(_tree(folder)) == NAMES | {"cut"}
    assert (folder / "build.json").read_bytes() == build_json(small_build())
    assert not ezdxf.readfile(folder / "cut" / "A.dxf").audit().has_errors


def test_writing_twice_gives_the_same_folder(tmp_path: Path) -> None:
    write_build(small_build(), tmp_path)
    before = _tree(tmp_path)
    write_build(small_build(), str(tmp_path))
    assert _tree(tmp_path) == before


def test_kerf_changes_cut_files_and_the_readme_only() -> None:
    plain, compensated = build_files(small_build()), build_files(small_build(), kerf=True)
    different = {name for name in plain if plain[name] != compensated[name]}
    assert different == {"README.txt"} | {name for name in NAMES if name.startswith("cut/")}


def test_the_readme_says_what_to_cut_and_what_to_beware_of() -> None:
    text = build_files(small_build())["README.txt"].decode()
    lines = text.splitlines()
    assert max(map(len, lines)) <= 100
    assert "aluminium-5052, 3 mm" in text
    assert "NOT included" in text
    assert "IS included" in build_files(small_build(), kerf=True)["README.txt"].decode()
    assert any(line.split() == ["A", "cut", "4", "cut/A.dxf"] for line in lines)
    assert any(line.split() == ["B", "cut", "1", "cut/B.dxf"] for line in lines)
    assert "4 of diameter 3 mm, length 13 mm" in text
    for word in ("Deburr", "gloves", "PVC", "extraction", "rated hardware", "independent"):
        assert word in text
    for word in ("licensed rigger or engineer", "local code", "turned over"):
        assert word in " ".join(text.split())


def test_the_readme_names_failed_checks_and_marks_without_room() -> None:
    build = small_build()
    check = replace(build.checks[0], ok=False, message="Joint J001 is not square.")
    narrow = replace(build.parts[1], outline=box(0.0, 0.0, 100.0, 4.5))
    text = build_files(replace(build, checks=(check,), parts=(build.parts[0], narrow)))
    notes = text["README.txt"].decode()
    assert "FAILED: Joint J001 is not square." in notes
    assert "Part B: no room to engrave its mark" in notes


@pytest.mark.parametrize("kept", [0, 1, 4, 8])
@pytest.mark.parametrize("again", [False, True])
def test_a_failure_midway_leaves_all_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kept: int, again: bool
) -> None:
    if again:
        write_build(_renamed(small_build(), "B", "C"), tmp_path / "out", kerf=True)
        (tmp_path / "out" / "own.txt").write_text("mine")
    before = _tree(tmp_path)
    moves = iter(range(99))
    replace_file = os.replace

    def fail_late(source: Path, target: Path) -> None:
        if next(moves) >= kept:
            raise OSError(errno.EIO, "Input/output error", str(target))
        replace_file(source, target)

    monkeypatch.setattr(os, "replace", fail_late)
    with pytest.raises(OutputError, match="Input/output error") as caught:
        write_build(small_build(), tmp_path / "out")
    assert str(tmp_path / "out") in str(caught.value)
    assert "Nothing was written" in str(caught.value)
    assert _tree(tmp_path) == before


def test_a_full_disk_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    writes = iter(range(99))
    write_bytes = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if next(writes) >= 3:
            raise OSError(errno.ENOSPC, "No space left on device", str(self))
        return write_bytes(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OutputError, match="Free some space"):
        write_build(small_build(), tmp_path / "x" / "y")
    assert _tree(tmp_path) == {}


def test_an_interrupt_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "replace", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_build(small_build(), tmp_path / "out")
    assert _tree(tmp_path) == {}


@pytest.mark.parametrize("way", ["out", "out/cut", "above"])
def test_a_file_in_the_way_is_said(tmp_path: Path, way: str) -> None:
    blocked = tmp_path / way
    blocked.parent.mkdir(exist_ok=True)
    blocked.write_text("mine")
    folder = tmp_path / ("above/out" if way == "above" else "out")
    before = _tree(tmp_path)
    with pytest.raises(OutputError, match="in the way") as caught:
        write_build(small_build(), folder)
    assert str(folder) in str(caught.value)
    assert _tree(tmp_path) == before


def test_a_folder_where_a_file_should_stand_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "README.txt").mkdir()
    (tmp_path / "README.txt" / "mine").write_text("mine")
    before = _tree(tmp_path)
    with pytest.raises(OutputError, match="cannot be written"):
        write_all(tmp_path, build_files(small_build()))
    assert _tree(tmp_path) == before


def test_files_of_the_users_own_are_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "README.txt").write_text("my own")
    with pytest.raises(OutputError, match=r"holds files that are no earlier build: README\.txt"):
        write_build(small_build(), tmp_path)
    assert [path.read_text() for path in tmp_path.iterdir()] == ["my own"]
    (tmp_path / "README.txt").rename(tmp_path / "notes.txt")
    write_build(small_build(), tmp_path)
    write_build(small_build(), tmp_path)  # its own files it may replace
    assert (tmp_path / "notes.txt").read_text() == "my own"


def test_old_files_that_cannot_be_put_back_are_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_all(tmp_path, {"a": b"old", "b": b"old"})
    moves = iter(range(99))
    replace_file = os.replace

    def fail_late(source: Path, target: Path) -> None:
        if next(moves):
            raise OSError(errno.EIO, "Input/output error")
        replace_file(source, target)

    def fail(*_: object) -> None:
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(os, "replace", fail_late)
    monkeypatch.setattr(os, "rename", fail)
    with pytest.raises(OutputError, match="The files that were there are in") as caught:
        write_all(tmp_path, {"a": b"new", "b": b"new"})
    (kept,) = tmp_path.glob(".writing-*")
    assert str(kept) in str(caught.value)
    assert (kept / "old0").read_bytes() == b"old"


def test_cut_files_of_an_earlier_build_go_and_others_stay(tmp_path: Path) -> None:
    write_build(_renamed(small_build(), "B", "C"), tmp_path)
    (tmp_path / "cut" / "own.dxf").write_text("mine")
    assert (tmp_path / "cut" / "C.dxf").exists()
    write_build(small_build(), tmp_path)
    assert set(_tree(tmp_path)) == NAMES | {"cut", "cut/own.dxf"}


def test_what_a_build_file_of_another_kind_lists_is_left_alone(tmp_path: Path) -> None:
    write_build(_renamed(small_build(), "B", "C"), tmp_path)
    record = json.loads((tmp_path / "build.json").read_text(encoding="utf-8"))
    record["schema"] = "somebody-else/1"
    (tmp_path / "build.json").write_text(json.dumps(record), encoding="utf-8")
    before = _tree(tmp_path)
    with pytest.raises(OutputError, match="no earlier build"):
        write_build(small_build(), tmp_path)
    assert _tree(tmp_path) == before


def test_a_mark_of_an_earlier_build_cannot_reach_outside(tmp_path: Path) -> None:
    out, outside = tmp_path / "out", tmp_path / "precious.dxf"
    write_build(small_build(), out)
    outside.write_text("mine")
    record = json.loads((out / "build.json").read_text(encoding="utf-8"))
    record["parts"] += [{"mark": "../../precious"}, {"mark": 7}, "what"]
    (out / "build.json").write_text(json.dumps(record), encoding="utf-8")
    write_build(small_build(), out)
    assert outside.read_text() == "mine"
    assert set(_tree(out)) == NAMES | {"cut"}


def test_a_feature_lost_to_the_kerf_writes_nothing(tmp_path: Path) -> None:
    build = small_build()
    outline = build.parts[0].outline
    pinhole = Polygon(outline.exterior, [circle_ring(-40.0, 0.0, 0.1)])
    lost = replace(build, parts=(replace(build.parts[0], outline=pinhole), build.parts[1]))
    with pytest.raises(OutputError, match="Part A"):
        write_build(lost, tmp_path / "out", kerf=True)
    assert _tree(tmp_path) == {}
    assert len(write_build(lost, tmp_path / "out")) == len(NAMES)
