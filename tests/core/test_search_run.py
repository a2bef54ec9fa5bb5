# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whole searches: same finds for any number of workers, every find proved, the sheet in order."""

from __future__ import annotations

import threading
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from pinwright.core.design.read import read_design
from pinwright.core.errors import DesignError, OutputError, PinwrightError
from pinwright.core.frame.group import rotation_group
from pinwright.core.pipeline import build
from pinwright.core.search import run as searching
from pinwright.core.search.finds import Wanted
from pinwright.core.search.links import linking_numbers, rotor_loops
from pinwright.core.search.rank import WEIGHTS, Merits, parse_weights, score, shares
from pinwright.core.search.run import Plan, begin, search
from pinwright.core.search.shape import Shape, shape_of
from pinwright.core.search.sheet import ranked
from pinwright.core.search.state import State, read_state

WANTED = Wanted("T", 2, width=75.0, clearance=8.0)  # wide strips: few finds, quick batches
BATCHES = 2


def run(folder: Path, plan: Plan, resume: bool = False, seed: int = 3) -> State:
    return search(begin(folder, WANTED, seed, resume), folder, plan)


def texts(folder: Path) -> dict[str, str]:
    return {p.name: p.read_text(encoding="utf-8") for p in (folder / "designs").iterdir()}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A search in this process, six batches."""
    place = tmp_path_factory.mktemp("search")
    run(place, Plan(None, batches=BATCHES, workers=0))
    return place


def test_something_is_found(folder: Path) -> None:
    state = read_state(folder)
    assert len(state.found) >= 2
    assert state.next_batch == BATCHES
    assert state.judged > 1e6
    assert {f"{one.name}.toml" for one in state.found} == set(texts(folder))


def test_workers_change_nothing(folder: Path, tmp_path: Path) -> None:
    run(tmp_path, Plan(None, batches=BATCHES, workers=2))
    assert texts(tmp_path) == texts(folder)


def test_a_resumed_search_finds_the_same(folder: Path, tmp_path: Path) -> None:
    stops = iter([False, True])
    state = begin(tmp_path, WANTED, 3, resume=False)
    search(state, tmp_path, Plan(None, batches=BATCHES, workers=0), cancelled=lambda: next(stops))
    assert read_state(tmp_path).next_batch == 2
    run(tmp_path, Plan(None, batches=BATCHES, workers=0), resume=True)
    assert texts(tmp_path) == texts(folder)
    ours, theirs = read_state(tmp_path), read_state(folder)
    assert (ours.judged, ours.laid, ours.built) == (theirs.judged, theirs.laid, theirs.built)


def test_what_was_found_stays_when_the_search_is_stopped(folder: Path, tmp_path: Path) -> None:
    def stop(state: State) -> None:
        if len(state.found) > 0:
            raise KeyboardInterrupt

    state = begin(tmp_path, WANTED, 3, resume=False)
    with pytest.raises(KeyboardInterrupt):
        search(state, tmp_path, Plan(None, batches=BATCHES, workers=0), progress=stop)
    kept = read_state(tmp_path)
    assert len(kept.found) >= 1
    assert {one.name for one in kept.found} <= {one.name for one in read_state(folder).found}


class _Hurried(ProcessPoolExecutor):
    """A pool whose thread learns of the end from the workers that are gone: the rarer order."""

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        pass


def test_workers_are_stopped_without_a_word(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Batches that still run when the search ends are thrown away quietly."""
    monkeypatch.setattr(searching, "ProcessPoolExecutor", _Hurried)
    before = set(threading.enumerate())
    state = begin(tmp_path, WANTED, 3, resume=False)
    search(state, tmp_path, Plan(0.5, workers=2))
    for thread in set(threading.enumerate()) - before:
        thread.join(30)
    said = capfd.readouterr()
    assert (said.out, said.err) == ("", "")
    assert read_state(tmp_path).next_batch == state.next_batch


def test_another_seed_finds_something_else(folder: Path, tmp_path: Path) -> None:
    run(tmp_path, Plan(None, batches=1, workers=0), seed=4)
    assert read_state(tmp_path).judged != read_state(folder).judged
    with pytest.raises(DesignError, match="as the search began"):
        begin(folder, WANTED, 4, resume=True)
    with pytest.raises(OutputError, match="holds a search already"):
        begin(folder, WANTED, 3, resume=False)


def test_every_find_is_proved_by_a_build(folder: Path) -> None:
    for one in read_state(folder).found:
        built = build(read_design(folder / one.file))
        assert built.ok
        assert max(abs(joint.angle - 90.0) for joint in built.joints) < 1e-6
        clearance = next(check for check in built.checks if check.name == "clearance")
        assert clearance.figure >= WANTED.clearance - 1e-6
        assert clearance.figure == pytest.approx(one.merits.clearance, abs=1e-4)
        assert built.totals.diameter <= WANTED.diameter + 1e-6
        assert built.totals.diameter > 0.95 * WANTED.diameter


def some_shape(folder: Path, k: int = 0) -> Shape:
    design = read_design(folder / read_state(folder).found[k].file)
    return shape_of(design, rotation_group("T"))


def test_loops_of_rotors_run_through_their_joints(folder: Path) -> None:
    group = rotation_group("T")
    for k in range(len(read_state(folder).found)):
        shape = some_shape(folder, k)
        loops = rotor_loops(shape.motifs, shape.classes, group)
        rotors = [
            joint
            for joint in shape.classes
            if joint.a == joint.b and group.element_order(joint.element) > 2
        ]
        for (first, axes), joint in zip(loops, rotors, strict=True):
            order = group.element_order(joint.element)
            assert len(first) * order == group.order
            assert len(axes) == len(first)
            for power in range(order):
                turned = np.linalg.matrix_power(group.matrices[joint.element], power) @ joint.centre
                assert np.linalg.norm(first[0] - turned, axis=1).min() < 1e-9
            for second, _ in loops:
                numbers = linking_numbers(first[0], second)
                assert np.abs(numbers - np.rint(numbers)).max() < 1e-9  # as Gauss says


def merits(**changes: float) -> Merits:
    given = {
        "clearance": 40.0, "web": 8.0, "width": 25.0, "length": 300.0, "slenderness": 12.0,
        "openness": 0.45, "evenness": 1.0, "roundness": 1.0, "parts": 1, "plates": 60,
        "square": 1.0, "linked": 10, "linked_on_axis": 10,
        "sprung": 0.0,
    }  # fmt: skip
    return Merits(**{**given, **changes})  # type: ignore[arg-type]


def test_score_is_one_at_best_and_weighs() -> None:
    assert set(shares(merits())) == set(WEIGHTS)
    assert score(merits()) == pytest.approx(1.0)
    assert score(merits(clearance=20.0), {n: float(n == "clearance") for n in WEIGHTS}) == 0.5
    only = {n: float(n == "evenness") for n in WEIGHTS}
    assert score(merits(evenness=0.3, clearance=0.0), only) == pytest.approx(0.3)
    assert parse_weights("evenness=3, linked=0") == {"evenness": 3.0, "linked": 0.0}


@pytest.mark.parametrize("text", ["beauty=1", "linked=-1", "linked=lots", "linked"])
def test_weights_that_are_none_are_refused(text: str) -> None:
    with pytest.raises(DesignError, match="clearance, web"):
        parse_weights(text)


def test_ranking_puts_the_best_first(folder: Path) -> None:
    state = read_state(folder)
    order = ranked(state)
    assert [value for _, value, _ in order] == sorted((v for _, v, _ in order), reverse=True)
    assert {one.name for one, _, _ in order} == {one.name for one in state.found}


def test_resuming_nothing_is_refused(tmp_path: Path) -> None:
    for place in (tmp_path, tmp_path / "none"):
        with pytest.raises(OutputError, match=r"no search to go on with .*Leave --resume out"):
            begin(place, WANTED, 3, resume=True)
    assert list(tmp_path.iterdir()) == []


def test_a_scheduler_that_does_not_answer_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("distributed", reason="the extra `search` is not installed")
    monkeypatch.setattr(searching, "_ANSWER", 0.3)
    state = begin(tmp_path / "found", WANTED, 3, resume=False)
    with pytest.raises(PinwrightError, match=r"No Dask scheduler answers at tcp://127\.0\.0\.1:9 "):
        search(state, tmp_path / "found", Plan(scheduler="tcp://127.0.0.1:9"))
    assert list(tmp_path.iterdir()) == []


def test_a_missing_library_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> None:
        raise ImportError(name)

    monkeypatch.setattr(searching.importlib, "import_module", missing)
    state = begin(tmp_path / "found", WANTED, 3, resume=False)
    with pytest.raises(PinwrightError, match=r"install pinwright\[search\]"):
        search(state, tmp_path / "found", Plan(scheduler="tcp://127.0.0.1:9"))
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_made_is_refused(tmp_path: Path) -> None:
    (tmp_path / "found").write_text("in the way", encoding="utf-8")
    state = begin(tmp_path / "found", WANTED, 3, resume=False)
    with pytest.raises(OutputError, match="cannot be made"):
        search(state, tmp_path / "found", Plan(None, batches=1, workers=0))


def test_time_is_kept_for_the_pictures() -> None:
    plan = Plan(100.0, workers=2, pictures=60)
    free = Plan(100.0, workers=2)
    assert free.searching(1000) == 100.0
    assert Plan(None, pictures=60).searching(5) is None
    # More finds, more pictures, less time to search, up to the number of pictures wanted.
    left = [plan.searching(found) for found in (0, 10, 60, 1000)]
    assert left == sorted(left, reverse=True)
    assert left[2] == left[3] > 80
    assert left[0] > 95
    # A slow computer needs more of it, several pictures at a time less.
    assert plan.searching(60, 1.0) < left[2] < Plan(100.0, workers=8, pictures=60).searching(60)
    # The pictures never take all of a short time.
    assert Plan(4.0, workers=1, pictures=60).searching(1000) == pytest.approx(2.4)


def test_an_index_that_is_none_is_refused(tmp_path: Path) -> None:
    (tmp_path / "index.json").write_text('{"schema": "other"}', encoding="utf-8")
    with pytest.raises(PinwrightError, match="no index of a search"):
        begin(tmp_path, WANTED, 3, resume=True)


def test_dask_finds_the_same(folder: Path, tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed", reason="the extra `search` is not installed")
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None
    ) as cluster:
        run(tmp_path, Plan(None, batches=BATCHES, workers=1, scheduler=cluster.scheduler_address))
    assert texts(tmp_path) == texts(folder)
