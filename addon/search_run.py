# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The one search that may run: starts its process, looks after it now and then, ends it.

Nothing of Blender's is kept here, so undo, saving and loading files do not touch a running search.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import bpy

from ..core.errors import OutputError, PinwrightError
from . import redraw, search_finds
from .child_process import Child

__all__ = [
    "Job",
    "end",
    "ending",
    "fault",
    "forget_fault",
    "poll",
    "running",
    "start",
    "stop",
    "told",
]

_CHILD = Path(__file__).with_name("search_child.py")
_POLL_EVERY = 0.3  # seconds
_LAST_WORDS = 3.0  # seconds that a process has to put its finds away before it is killed


@dataclass(frozen=True, slots=True)
class Job:
    """What a search is to do.

    folder : of this search alone; wanted : fields of core's `Wanted`, None: go on with the search
    that is in the folder; seconds : how long; designs : or until so many are found; workers :
    processes; count : pictures
    """

    folder: Path
    wanted: Mapping[str, Any] | None
    seed: int = 1
    seconds: float = 60.0
    designs: int | None = None
    workers: int = 1
    count: int = search_finds.PAGE


@dataclass(slots=True)
class Told:
    """What the process said last: stage (search, pictures, done), share of it done, totals."""

    stage: str = "start"
    share: float = 0.0
    found: int = 0
    normals: int = 0
    judged: int = 0


@dataclass(slots=True)
class _Run:
    job: Job
    child: Child
    told: Told = field(default_factory=Told)
    stopped: bool = False
    done: bool = False


_now: _Run | None = None
_last = Told()  # of the last search
_fault = ""  # of the last search


def running() -> bool:
    """Tell whether a search runs."""
    return _now is not None


def told() -> Told:
    """Return what the search that runs, or ran last, has told."""
    return _last if _now is None else _now.told


def fault() -> str:
    """Return why the last search failed, or nothing."""
    return _fault


def forget_fault(text: str = "") -> None:
    """Put another text, or none, in the place of the last search's fault."""
    global _fault
    _fault = text


def start(job: Job) -> None:
    """Start a search.

    Raises
    ------
    OutputError : one runs already, or Blender's Python cannot be started.
    """
    global _now
    if _now is not None:
        raise OutputError("A search runs already; stop it first.")
    child = Child(_CHILD, "search")
    forget_fault()
    _now = _Run(job, child)
    child.say(json.dumps(_as_record(job)))
    if not bpy.app.timers.is_registered(poll):
        bpy.app.timers.register(poll, first_interval=_POLL_EVERY, persistent=True)


def stop() -> None:
    """Ask the search to end and keep what it found; if it is about to, leave out the pictures."""
    if _now is None:
        return
    if ending():
        _now.child.process.kill()
        _now.done = True  # on purpose: not a fault
        return
    _now.stopped = True
    _now.child.say("stop")
    redraw.sidebars()


def ending() -> bool:
    """Tell whether the search was asked to end or has come to its pictures."""
    return _now is not None and (_now.stopped or _now.told.stage in ("pictures", "done"))


def end() -> None:
    """End the search now (the extension goes, or Blender does); what it found is in its folder."""
    if bpy.app.timers.is_registered(poll):
        bpy.app.timers.unregister(poll)
    if _now is None:
        return
    _now.child.hang_up()
    try:
        _now.child.process.wait(_LAST_WORDS)
    except subprocess.TimeoutExpired:
        _now.child.process.kill()
        _now.child.process.wait()
    _put_away(_now)


def poll() -> float | None:
    """Look after the search: called by a timer, returns when to call again (None: no more)."""
    if _now is None:
        return None
    ended = _now.child.process.poll() is not None
    before = (_now.told, search_finds.stamp())
    _read(_now)
    try:
        if _now.told.found or (ended and not _fault):
            search_finds.follow(_now.job.folder)
    except (PinwrightError, OSError) as error:
        forget_fault(_fault or str(error))
    if ended:
        _close(_now)
    if ended or (told(), search_finds.stamp()) != before:
        redraw.sidebars()
    return None if ended else _POLL_EVERY


# ---------------------------------------------------------------- the process


def _as_record(job: Job) -> dict[str, Any]:
    return {
        "path": sys.path,
        "folder": str(job.folder),
        "wanted": None if job.wanted is None else dict(job.wanted),
        "resume": job.wanted is None,
        "seed": job.seed,
        "seconds": job.seconds,
        "designs": job.designs,
        "workers": job.workers,
        "count": job.count,
    }


def _read(run: _Run) -> None:
    """Take in the lines that were written since the last time."""
    for record in run.child.heard():
        if "error" in record:
            forget_fault(record["error"])
        elif "done" in record:
            run.done = True
        else:
            run.told = Told(**record)


def _close(run: _Run) -> None:
    """Put away a search that has ended, and note why if it failed."""
    if not run.done and not _fault:
        forget_fault(f"The search broke off: {run.child.last_words()}")
    _put_away(run)


def _put_away(run: _Run) -> None:
    global _now, _last
    _last, _now = run.told, None
    run.child.put_away()
