# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Python's collector of cyclic garbage, kept out of work that a hand waits for.

A build makes so many small records that Python looks for garbage meanwhile, now and then through
all that Blender and its add-ons hold: some hundred thousand objects, which took 0.16 s in the midst
of a rebuild of 0.15 s (measured in 4.3). The records hold no cycles worth the search. The collector
works again when the hand has rested for a moment: at once would be in the same step of a slider.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Iterator
from contextlib import contextmanager

import bpy

__all__ = ["give_back", "held"]

_REST = 0.6  # s after the last work
_holders = 0
_owed = False  # it worked before, so it shall work again
_until = 0.0


@contextmanager
def held() -> Iterator[None]:
    """Keep the collector from working until a moment after this; also a decorator. Nests.

    Without a window it works again at once; one that somebody else has switched off stays off.
    """
    global _holders, _owed, _until
    _owed = _owed or gc.isenabled()
    gc.disable()
    _holders += 1
    try:
        yield
    finally:
        _holders -= 1
        _until = time.monotonic() + _REST
        if not _holders and _owed:
            if bpy.app.background:
                give_back()
            elif not bpy.app.timers.is_registered(_rested):
                bpy.app.timers.register(_rested, first_interval=_REST, persistent=True)


def _rested() -> float | None:
    left = _until - time.monotonic()
    if _holders or left > 0.005:
        return max(left, 0.05)
    _give_back()
    return None


def give_back() -> None:
    """Let the collector work again now, if it did before."""
    if bpy.app.timers.is_registered(_rested):
        bpy.app.timers.unregister(_rested)
    _give_back()


def _give_back() -> None:
    global _owed
    if _owed:
        gc.enable()
        _owed = False
