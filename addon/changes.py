# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Who is told when a setting changes: settings know of no building, so it listens here."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from .properties import PinwrightSettings

__all__ = ["listen", "note", "paused"]

Listener = Callable[["PinwrightSettings", bool], None]
_listeners: list[Listener] = []
_pauses = 0


def listen(listener: Listener | None) -> None:
    """Set who is told of changes: called with the settings, and whether the frame is another."""
    _listeners[:] = [] if listener is None else [listener]


def note(settings: PinwrightSettings, *, frame: bool = False) -> None:
    """Tell of a change that the user made; frame : what the sculpture hangs on is another."""
    if not _pauses:
        for listener in _listeners:
            listener(settings, frame)


@contextmanager
def paused() -> Iterator[None]:
    """Write settings without anything being built: they follow what was built already."""
    global _pauses
    _pauses += 1
    try:
        yield
    finally:
        _pauses -= 1
