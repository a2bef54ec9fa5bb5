# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The search from Blender: it runs apart, keeps what it found, and leaves nothing running.

What a find is worth is tested with core/search; here only that it comes, is shown and is built.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

bpy = pytest.importorskip("bpy")

import pinwright  # noqa: E402
from pinwright.addon import search_finds, search_run, tags  # noqa: E402
from pinwright.addon.search_settings import wanted_of  # noqa: E402
from pinwright.core.design.read import read_design  # noqa: E402
from pinwright.core.search.finds import Wanted  # noqa: E402
from pinwright.core.search.rank import WEIGHTS, score  # noqa: E402
from pinwright.core.search.state import read_state  # noqa: E402

LONG = 300.0  # s; a few are enough, but not on a machine that has much else to do


def until(met: Callable[[], bool]) -> None:
    """Look after the search as Blender's timer does, until something is so."""
    limit = time.monotonic() + LONG
    while not met():
        assert time.monotonic() < limit, search_run.told()
        search_run.poll()
        time.sleep(0.05)


def ended() -> bool:
    return not search_run.running()


def alive(pid: int) -> bool:
    """Tell whether a process runs; one that waits to be collected does not."""
    try:
        os.kill(pid, 0)
    except OSError:
        return False
    status = Path(f"/proc/{pid}/stat")
    return not status.exists() or status.read_text().rsplit(")", 1)[1].split()[0] != "Z"


def children(pid: int) -> set[int]:
    """Return the processes that one has started, and those that they have."""
    found = set()
    for entry in Path("/proc").glob("[0-9]*/stat"):
        try:
            parent = int(entry.read_text().rsplit(")", 1)[1].split()[1])
        except OSError:
            continue
        if parent == pid:
            child = int(entry.parent.name)
            found |= {child} | children(child)
    return found


def job(folder: Path, **more: object) -> search_run.Job:
    """Return a search that finds something soon, in one process."""
    folder.mkdir()
    wanted = {"group": "O", "motifs": 2, "clearance": 5.0}
    chosen = {"designs": 2, "count": 2, "workers": 0, **more}
    return search_run.Job(folder, wanted, seconds=LONG, **chosen)


@pytest.fixture(scope="module")
def searched(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a search that was carried through, once for all tests that only look at it."""
    folder = tmp_path_factory.mktemp("searches") / "one"
    search_run.start(job(folder))
    until(ended)
    assert search_run.fault() == ""
    search_finds.close()
    return folder


def test_finds_come_with_designs_and_pictures(searched: Path) -> None:
    search_finds.show(searched)
    told, finds = search_run.told(), search_finds.finds()
    assert (told.found, told.stage) == (2, "done")
    assert [find.number for find in finds] == [1, 2]
    for find in finds:
        assert read_design(find.file).name == find.name
        assert find.picture.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"  # ISO/IEC 15948, 5.2


def test_chosen_find_is_built_and_exchanged(searched: Path) -> None:
    assert bpy.ops.pinwright.open_search(directory=str(searched)) == {"FINISHED"}
    first, second = search_finds.finds()
    bpy.context.scene.cursor.location = (1.0, 0.0, 0.0)
    assert bpy.ops.pinwright.build_find() == {"FINISHED"}
    root = bpy.context.active_object
    assert root.name == first.name
    assert root.pinwright.figures.plates == first.merits.plates
    assert all(finding.ok for finding in root.pinwright.figures.findings)
    count = len(bpy.data.objects)
    bpy.ops.pinwright.step_find()
    root.location = (0.0, 2.0, 0.0)
    assert bpy.ops.pinwright.exchange_find() == {"FINISHED"}
    assert tags.roots(bpy.context.scene) == [root]
    assert (root.name, root.location.y) == (second.name, 2.0)
    assert root.pinwright.figures.plates == second.merits.plates
    assert (count == len(bpy.data.objects)) == (first.merits.plates == second.merits.plates)
    # Adjusting the last operation must not take another find, whatever was chosen since.
    bpy.ops.pinwright.build_find(filepath=str(first.file))
    assert bpy.context.active_object[tags.DESIGN].count(first.name)


def test_orders_and_weights_put_finds_in_a_row(searched: Path) -> None:
    search_finds.show(searched)
    shown = bpy.context.window_manager.pinwright_finds
    assert {*search_finds.ORDERS, "DIFFERENT", "SCORE"} == {
        item.identifier for item in shown.bl_rna.properties["order"].enum_items
    }
    for name, figure in search_finds.ORDERS.items():
        shown.order = name
        row = [figure(find.merits) for find in search_finds.finds()]
        assert row == sorted(row, reverse=True)
    shown.order = "SCORE"
    shown.weights.clearance, shown.weights.web = 0.0, 3.0
    weights = {**WEIGHTS, "clearance": 0.0, "web": 3.0}
    row = [find.score for find in search_finds.finds()]
    assert row == sorted(row, reverse=True)
    assert row[0] == score(search_finds.finds()[0].merits, weights)
    bpy.ops.wm.read_homefile(use_empty=True)
    shown = bpy.context.window_manager.pinwright_finds
    assert (shown.order, shown.weights.web) == ("SCORE", 3.0)
    assert {p.identifier for p in shown.weights.bl_rna.properties} - {"name", "rna_type"} == {
        *WEIGHTS
    }


def test_pictures_are_a_choice(searched: Path) -> None:
    search_finds.show(searched)
    shown = bpy.context.window_manager.pinwright_finds
    first, second = search_finds.finds()
    assert shown.chosen == first.name
    shown.chosen = second.name
    assert search_finds.chosen() == second
    search_finds.step(1)
    assert shown.chosen == first.name
    assert search_finds.icon(first) == search_finds.icon(first)


def test_stopped_search_keeps_its_finds_and_can_be_resumed(tmp_path: Path) -> None:
    folder = tmp_path / "one"
    search_run.start(job(folder, designs=None))
    until(lambda: search_run.told().found > 0)
    with pytest.raises(RuntimeError, match="runs already"):
        bpy.ops.pinwright.start_search()
    bpy.ops.wm.read_homefile(use_empty=True)  # another file, as when the user opens one
    assert bpy.ops.pinwright.stop_search() == {"FINISHED"}
    until(ended)
    assert search_run.fault() == ""
    kept = [one.name for one in read_state(folder).found]
    assert kept
    assert search_finds.folder() == folder
    assert search_finds.finds()
    assert bpy.ops.pinwright.resume_search() == {"FINISHED"}
    until(lambda: search_run.told().stage == "search")
    bpy.ops.pinwright.stop_search()
    bpy.ops.pinwright.stop_search()  # and do not wait for pictures
    until(ended)
    assert search_run.fault() == ""
    assert [one.name for one in read_state(folder).found][: len(kept)] == kept


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="asks /proc for processes")
@pytest.mark.parametrize("way", ["the extension goes", "the search is killed"])
def test_nothing_runs_on(way: str, tmp_path: Path) -> None:
    search_run.start(job(tmp_path / "one", designs=None, workers=1))
    process = search_run._now.child.process
    until(lambda: len(children(process.pid)) >= 2)  # a worker, and what counts its locks
    everyone = {process.pid} | children(process.pid)
    if way == "the extension goes":
        pinwright.unregister()
        assert not search_run.running()
    else:
        process.kill()
        until(ended)
        assert "broke off" in search_run.fault()
    until(lambda: not any(alive(pid) for pid in everyone))


def test_refusals_are_told(tmp_path: Path) -> None:
    (tmp_path / "index.json").write_text("{}")
    search_run.start(search_run.Job(tmp_path, {"group": "T", "motifs": 1}, workers=0))
    until(ended)
    assert "holds a search already" in search_run.fault()
    with pytest.raises(RuntimeError, match="no folder of a search"):
        bpy.ops.pinwright.open_search(directory=str(tmp_path / "none"))
    for name in ("build_find", "exchange_find", "step_find"):
        with pytest.raises(RuntimeError, match="Nothing is found yet"):
            getattr(bpy.ops.pinwright, name)()
    bpy.context.scene.pinwright_search.folder = "//searches"
    with pytest.raises(RuntimeError, match="is not saved yet"):
        bpy.ops.pinwright.start_search()
    (tmp_path / "file").write_text("")
    bpy.context.scene.pinwright_search.folder = str(tmp_path / "file")
    with pytest.raises(RuntimeError, match="cannot be made"):
        bpy.ops.pinwright.start_search()
    assert not search_run.running()


def test_settings_become_wishes_of_the_core() -> None:
    settings = bpy.context.scene.pinwright_search
    settings.clearance = 7.3
    assert Wanted(**wanted_of(settings)) == Wanted("I", 2, clearance=7.3)
    settings.use_width, settings.width = True, 22.2
    assert wanted_of(settings)["width"] == 22.2


def test_each_search_has_a_folder_beside_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[search_run.Job] = []
    monkeypatch.setattr(search_run, "start", asked.append)
    bpy.ops.pinwright.start_search()
    assert Path(bpy.app.tempdir) in asked[0].folder.parents
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "lamp.blend"))
    for _ in range(2):
        bpy.ops.pinwright.start_search()
    assert [entry.folder.relative_to(tmp_path).as_posix() for entry in asked[1:]] == [
        "lamp-searches/I2-seed-1",
        "lamp-searches/I2-seed-1-2",
    ]
    assert asked[0].workers == os.cpu_count()
