# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The one planning that may run: starts its process, looks after it now and then, ends it.

Nothing of Blender's is kept here, so undo, saving and loading files do not touch it.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import bpy

from ..core.errors import OutputError
from . import redraw
from .child_process import Child

__all__ = ["Job", "end", "fault", "poll", "running", "share", "start", "stop"]

_CHILD = Path(__file__).with_name("plan_child.py")
_POLL_EVERY = 0.2  # seconds


@dataclass(frozen=True, slots=True)
class Job:
    """What is planned. key : of the design, see `plan_store.key_of`; record : for the process."""

    key: str
    record: dict[str, Any]


@dataclass(slots=True)
class _Run:
    job: Job
    child: Child
    done: Callable[[str, dict[str, Any]], None]
    share: float = 0.0
    plan: dict[str, Any] | None = None
    stopped: bool = False


_now: _Run | None = None
_fault = ""


def running() -> bool:
    """Tell whether something is planned just now."""
    return _now is not None


def share() -> float:
    """Return how much of the planning is done, 0 to 1."""
    return 0.0 if _now is None else _now.share


def fault() -> str:
    """Return why the last planning failed, or nothing."""
    return _fault


def start(job: Job, done: Callable[[str, dict[str, Any]], None]) -> None:
    """Start planning; `done` is called with the job's key and the plan when it is ready.

    Raises
    ------
    OutputError : one runs already, or Blender's Python cannot be started.
    """
    global _now, _fault
    if _now is not None:
        raise OutputError("A plan is being made already; stop that first.")
    child = Child(_CHILD, "plan")
    _fault = ""
    _now = _Run(job, child, done)
    child.say(json.dumps({**job.record, "path": sys.path}))
    if not bpy.app.timers.is_registered(poll):
        bpy.app.timers.register(poll, first_interval=_POLL_EVERY, persistent=True)
    redraw.views()


def stop() -> None:
    """Give up the planning."""
    if _now is not None:
        _now.stopped = True
        _now.child.process.kill()


def end() -> None:
    """End at once (the extension goes, or Blender does)."""
    if bpy.app.timers.is_registered(poll):
        bpy.app.timers.unregister(poll)
    if _now is not None:
        _now.child.process.kill()
        _now.child.process.wait()
        _put_away(_now)


def poll() -> float | None:
    """Look after the planning: called by a timer; returns when to call again (None: no more)."""
    global _fault
    if _now is None:
        return None
    ended = _now.child.process.poll() is not None  # before reading: nothing is written after it
    before = _now.share
    _read(_now)
    if not ended:
        if _now.share != before:
            redraw.views()
        return _POLL_EVERY
    run = _now
    if run.plan is None and not run.stopped and not _fault:
        _fault = f"The planning broke off: {run.child.last_words()}"
    _put_away(run)
    if run.plan is not None:
        run.done(run.job.key, run.plan)
    redraw.views()
    return None


def _read(run: _Run) -> None:
    """Take in the lines that were written since the last time."""
    global _fault
    for record in run.child.heard():
        if "error" in record:
            _fault = record["error"]
        elif "plan" in record:
            run.plan = record["plan"]
        else:
            run.share = record["share"]


def _put_away(run: _Run) -> None:
    global _now
    _now = None
    run.child.put_away()
