# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The search as a process of its own, so that Blender's window stays free and all cores work.

Blender's Python runs this file as a program, and the search's workers run it once more before they
begin. What stands at its foot therefore holds in all of these processes: the package gets one name,
whatever Blender calls it, and a worker ends when the process that wanted its work has gone.

Standard input: the job as one line of JSON, later perhaps the line ``stop``. When the input ends,
Blender has gone. Standard output: lines of JSON, see `search_run`. Nothing here imports bpy.
"""

from __future__ import annotations

import importlib
import importlib.util
import multiprocessing
import os
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

__all__ = ["main"]

_NAME = "pinwright_search"  # of the package, here and in the workers
_ROOT = Path(__file__).resolve().parent.parent
_LOOK_EVERY = 0.3  # seconds
_DRAW_EVERY = 12.0  # seconds between pictures while the search goes on
_DRAW_SHARE = 0.2  # of the time that such pictures may take
_DRAW_MOST = 4  # of them at a time
_PICTURES = 15.0  # seconds for pictures of a search that was stopped
_PATIENCE = 1.0  # seconds that a stopped search has to end by itself
_GRACE = 5.0  # seconds to put things away when Blender has gone


class _Orders(threading.Thread):
    """Listens to Blender: whether to stop, and whether it is there at all."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.stop = threading.Event()
        self.gone = threading.Event()

    def run(self) -> None:
        for line in sys.stdin:
            if line.strip() == "stop":
                self.stop.set()
        self.gone.set()
        self.stop.set()
        time.sleep(_GRACE)
        os._exit(1)


class _Gone(Exception):
    """Blender has gone; nobody wants more pictures."""


def main() -> None:
    """Search as the first line of standard input says. Never returns: threads may still wait."""
    _core("beside.answers").serve("The search", _work)


def _work(job: dict[str, Any]) -> None:
    """Search; tell that it is done, if there is anybody to tell."""
    orders = _Orders()
    orders.start()
    try:
        _search(job, orders)
    except _Gone:
        return
    _core("beside.answers").tell(done=True)


def _search(job: dict[str, Any], orders: _Orders) -> None:
    folder = Path(job["folder"])
    run, sheet = _core("search.run"), _core("search.sheet")
    if job["resume"]:
        state = _core("search.state").read_state(folder)
    else:
        wanted = _core("search.finds").Wanted(**job["wanted"])
        state = run.begin(folder, wanted, job["seed"], False)
    until = time.monotonic() + job["seconds"]
    plan = run.Plan(
        seconds=job["seconds"],
        designs=job["designs"],
        workers=job["workers"],
        pictures=job["count"],
    )
    work = _Work(lambda told: run.search(state, folder, plan, told, orders.stop.is_set), state)
    work.start()
    _watch(work, orders, job, folder)
    found = work.latest
    if orders.gone.is_set():
        found.write(folder)
        raise _Gone

    def drawing(_text: str, share: float) -> None:
        if orders.gone.is_set():
            raise _Gone
        _tell_state("pictures", share, found)

    if orders.stop.is_set():
        until = min(until, time.monotonic() + _PICTURES)
    if found.found or work.fault is None:
        drawing("", 0.0)
        workers = max(job["workers"], 1)
        sheet.write_sheet(found, folder, None, job["count"], drawing, workers, until)
    if work.fault is not None:
        raise work.fault
    _tell_state("done", 1.0, found)


class _Work(threading.Thread):
    """The search itself, which waits for its workers; `latest` is what it has found so far."""

    def __init__(self, search: Callable[[Callable[[Any], None]], Any], state: Any) -> None:
        super().__init__(daemon=True)
        self.latest = _copy(state)
        self.fault: Exception | None = None
        self._search, self._state = search, state

    def run(self) -> None:
        try:
            self._search(self._take)
        except Exception as error:
            self.fault = error
        self._take(self._state)

    def _take(self, state: Any) -> None:
        self.latest = _copy(state)


def _copy(state: Any) -> Any:
    """Return a state that does not grow while it is written."""
    return replace(state, found=list(state.found))


def _watch(work: _Work, orders: _Orders, job: dict[str, Any], folder: Path) -> None:
    """Tell how far the search is, and draw the best finds now and then, until it ends."""
    start = time.monotonic()
    next_picture = start
    while work.is_alive():
        work.join(_LOOK_EVERY)
        now = time.monotonic()
        shares = [(now - start) / job["seconds"]]
        if job["designs"] is not None:
            shares.append(len(work.latest.found) / job["designs"])
        _tell_state("search", min(max(shares), 1.0), work.latest)
        if orders.stop.is_set():
            # Its workers may be in the midst of a batch; what they did is not in the state yet.
            work.join(_PATIENCE)
            return
        if now >= next_picture and work.latest.found:
            _draw_some(work.latest, folder, job["count"])
            cost = time.monotonic() - now
            next_picture = now + max(_DRAW_EVERY, cost / _DRAW_SHARE)


def _draw_some(state: Any, folder: Path, count: int) -> None:
    """Draw a few of the best finds that have no picture yet."""
    sheet = _core("search.sheet")
    order = [one for one, _, _ in sheet.ranked(state)]
    best = _core("search.variety").choose([one.signature for one in order], count)
    cards = folder / sheet.CARDS
    fresh = [order[i] for i in best if not (cards / f"{order[i].name}.png").exists()][:_DRAW_MOST]
    if not fresh:
        return
    # A sheet of these few alone, beside the search's own folder: pictures then come in whole.
    with tempfile.TemporaryDirectory(dir=folder, prefix=".") as name:
        draft = Path(name)
        for one in fresh:
            copy = draft / one.file
            copy.parent.mkdir(exist_ok=True)
            copy.write_bytes((folder / one.file).read_bytes())
        sheet.write_sheet(replace(state, found=fresh), draft, None, len(fresh))
        cards.mkdir(exist_ok=True)
        for picture in (draft / sheet.CARDS).iterdir():
            picture.replace(cards / picture.name)


# ---------------------------------------------------------------- telling Blender


def _tell_state(stage: str, share: float, state: Any) -> None:
    _core("beside.answers").tell(
        stage=stage,
        share=round(share, 4),
        found=len(state.found),
        normals=state.normals,
        judged=state.judged,
    )


# ---------------------------------------------------------------- in every process


def _core(module: str) -> Any:
    return importlib.import_module(f"{_NAME}.core.{module}")


def _name_package() -> None:
    """Make the package that this file belongs to importable under a name of our own."""
    spec = importlib.util.spec_from_file_location(
        _NAME, _ROOT / "__init__.py", submodule_search_locations=[str(_ROOT)]
    )
    package = importlib.util.module_from_spec(spec)
    sys.modules[_NAME] = package
    spec.loader.exec_module(package)


def _end_with_parent() -> None:
    """Leave when the process that started this worker has gone: nobody would ever end it."""
    while multiprocessing.parent_process() is None:  # it is known only a little later
        time.sleep(0.05)
    multiprocessing.parent_process().join()
    os._exit(1)


if __name__ in ("__main__", "__mp_main__"):
    _name_package()
if __name__ == "__mp_main__":
    threading.Thread(target=_end_with_parent, daemon=True).start()
if __name__ == "__main__":
    main()
