# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Joints that take long to cut when the hand rests: made beside Blender, one sculpture at a time.

No modal operator: the artist goes on working, and another change of a setting begins it anew.
Nothing of Blender's is kept, so undo, saving and loading files do not touch it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import bpy

from . import making, pieces, redraw
from .building import LOOK_EVERY, Building
from .words import worded

__all__ = ["end", "running", "start", "stop", "told"]

_BIT = 0.04  # s of work between two looks at the window

Done = Callable[[int, Building], None]


@dataclass(slots=True)
class _Run:
    """root : session uid; bits : the solids that are being made when the build is there."""

    root: int
    building: Building
    done: Done
    bits: Iterator[float] | None = None


_now: _Run | None = None


def running(root: int | None = None) -> bool:
    """Tell whether joints are being cut, of one root or of any."""
    return _now is not None and root in (None, _now.root)


def told(root: int) -> tuple[str, float] | None:
    """Return what is being done for a root and the share of it that is done, 0 to 1."""
    return (_now.building.stage, _now.building.share) if running(root) and _now else None


def start(root: int, order: making.Order, done: Done) -> None:
    """Begin; `done` is called with the root's uid and the building when that has ended.

    Raises
    ------
    OutputError : Blender's Python cannot be started.
    """
    global _now
    stop()
    _now = _Run(root, Building(order), done)
    _say()
    if not bpy.app.timers.is_registered(_look):
        bpy.app.timers.register(_look, first_interval=LOOK_EVERY, persistent=True)


def stop(root: int | None = None) -> bool:
    """Give up what is being cut, of one root or of any; False: nothing was."""
    global _now
    if _now is None or root not in (None, _now.root):
        return False
    run, _now = _now, None
    if run.bits is None:
        run.building.stop()
    pieces.forget_ready()
    _say()
    return True


def end() -> None:
    """End at once (the extension goes, or Blender does)."""
    stop()
    if bpy.app.timers.is_registered(_look):
        bpy.app.timers.unregister(_look)


def _look() -> float | None:
    """Look after it: called by a timer; returns when to call again (None: no more)."""
    global _now
    run = _now
    if run is None:
        return None
    if run.bits is None:
        before = run.building.stage, run.building.share
        ended = run.building.look()
        if (run.building.stage, run.building.share) != before:
            _say()
        if not ended:
            return LOOK_EVERY
        run.bits = iter(()) if run.building.build is None else pieces.made_ready(run.building.build)
    until = time.monotonic() + _BIT
    for _ in run.bits:
        if time.monotonic() > until:
            return 0.01
    _now = None
    try:
        run.done(run.root, run.building)
    finally:
        pieces.forget_ready()
        _say()
    return None if _now is None else LOOK_EVERY


def _say() -> None:
    """Show in the status bar and the sidebar how far it is."""
    text = None
    if _now is not None:
        made = _now.building
        done = {"share": 100 * made.share, "stage": worded(made.stage)}
        text = worded("Cutting joints: {share:.0f} % ({stage})   Esc stops", **done)
    for window in bpy.context.window_manager.windows:
        window.workspace.status_text_set(text)
    redraw.sidebars()
