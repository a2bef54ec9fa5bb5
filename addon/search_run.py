# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The one search that may run: starts its process, looks after it now and then, ends it.

Nothing of Blender's is kept here, so undo, saving and loading files do not touch a running search.
The process writes what it has to say into a file of its own, which is read as it grows: reading a
pipe would block the window on some systems.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import bpy

from ..core.errors import OutputError, PinwrightError
from . import search_finds

__all__ = [
    "Job",
    "end",
    "ending",
    "fault",
    "forget_fault",
    "poll",
    "redraw",
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
    process: subprocess.Popen
    papers: Path  # folder with what the process writes
    told: Told = field(default_factory=Told)
    read: int = 0  # bytes of it
    rest: bytes = b""  # of a line that was not whole yet
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
    papers = Path(tempfile.mkdtemp(prefix="search-", dir=bpy.app.tempdir or None))
    try:
        process = _started(papers)
    except OSError as error:
        shutil.rmtree(papers, ignore_errors=True)
        where = sys.executable or "(unknown)"
        raise OutputError(f"Blender's Python at {where} cannot be started: {error}.") from error
    forget_fault()
    _now = _Run(job, process, papers)
    _say(_now, json.dumps(_as_record(job)))
    if not bpy.app.timers.is_registered(poll):
        bpy.app.timers.register(poll, first_interval=_POLL_EVERY, persistent=True)


def stop() -> None:
    """Ask the search to end and keep what it found; if it is about to, leave out the pictures."""
    if _now is None:
        return
    if ending():
        _now.process.kill()
        _now.done = True  # on purpose: not a fault
        return
    _now.stopped = True
    _say(_now, "stop")
    redraw()


def ending() -> bool:
    """Tell whether the search was asked to end or has come to its pictures."""
    return _now is not None and (_now.stopped or _now.told.stage in ("pictures", "done"))


def end() -> None:
    """End the search now (the extension goes, or Blender does); what it found is in its folder."""
    if bpy.app.timers.is_registered(poll):
        bpy.app.timers.unregister(poll)
    if _now is None:
        return
    with suppress(OSError):
        _now.process.stdin.close()  # tells the process that nobody is there any more
    try:
        _now.process.wait(_LAST_WORDS)
    except subprocess.TimeoutExpired:
        _now.process.kill()
        _now.process.wait()
    _put_away(_now)


def poll() -> float | None:
    """Look after the search: called by a timer, returns when to call again (None: no more)."""
    if _now is None:
        return None
    ended = _now.process.poll() is not None
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
        redraw()
    return None if ended else _POLL_EVERY


# ---------------------------------------------------------------- the process


def _started(papers: Path) -> subprocess.Popen:
    options: dict[str, Any] = {}
    if sys.platform == "win32":
        options["creationflags"] = (
            subprocess.CREATE_NO_WINDOW | subprocess.BELOW_NORMAL_PRIORITY_CLASS
        )
    with open(papers / "told", "wb") as told_file, open(papers / "faults", "wb") as faults:
        process = subprocess.Popen(
            # -I: neither this folder nor the user's own packages come before Blender's.
            [sys.executable, "-I", str(_CHILD)],
            stdin=subprocess.PIPE,
            stdout=told_file,
            stderr=faults,
            **options,
        )
    if hasattr(os, "setpriority"):
        with suppress(OSError):  # the window comes first
            os.setpriority(os.PRIO_PROCESS, process.pid, 10)
    return process


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


def _say(run: _Run, line: str) -> None:
    with suppress(OSError):  # it has ended: the next poll tells why
        run.process.stdin.write(line.encode("ascii") + b"\n")
        run.process.stdin.flush()


def _read(run: _Run) -> None:
    """Take in the lines that were written since the last time."""
    with open(run.papers / "told", "rb") as file:
        file.seek(run.read)
        text = file.read()
    run.read += len(text)
    *lines, run.rest = (run.rest + text).split(b"\n")
    for line in lines:
        record = json.loads(line)
        if "error" in record:
            forget_fault(record["error"])
        elif "done" in record:
            run.done = True
        else:
            run.told = Told(**record)


def _close(run: _Run) -> None:
    """Put away a search that has ended, and note why if it failed."""
    if not run.done and not _fault:
        words = (run.papers / "faults").read_text("utf-8", "replace").strip()
        sys.stderr.write(words + "\n")
        last = words.splitlines()[-1] if words else f"exit status {run.process.returncode}"
        forget_fault(f"The search broke off: {last}")
    _put_away(run)


def _put_away(run: _Run) -> None:
    global _now, _last
    with suppress(OSError):
        run.process.stdin.close()
    _last, _now = run.told, None
    shutil.rmtree(run.papers, ignore_errors=True)


def redraw() -> None:
    """Draw the sidebars again."""
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                for region in area.regions:
                    if region.type == "UI":
                        region.tag_redraw()
