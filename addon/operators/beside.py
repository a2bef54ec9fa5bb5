# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators that build: in a window a build that takes long is made beside Blender, and Esc stops.

Until it is there the scene is not touched, so there is nothing to put back, and all that comes of
it is one undo step. The view can be turned meanwhile; nothing else is let through.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import bpy

from ...core.errors import PinwrightError
from .. import building, making, pieces
from ..words import worded

__all__ = ["BuildsBeside"]

_BIT = 0.04  # s of work between two looks at the window
_LET_THROUGH = (
    "MOUSEMOVE", "INBETWEEN_MOUSEMOVE", "MIDDLEMOUSE", "WHEEL", "TRACKPAD", "NDOF", "NUMPAD",
    "TIMER", "WINDOW", "MOUSEROTATE", "MOUSESMARTZOOM",
)  # fmt: skip


class BuildsBeside:
    """What such an operator inherits: `order` says what is built, `execute` builds and shows it."""

    def order(self, context: bpy.types.Context) -> making.Order:
        """Return what is to be built.

        Raises
        ------
        PinwrightError : nothing can be built; `execute` reports it.
        """
        raise NotImplementedError

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        """Build at once, or begin to."""
        try:
            order = self.order(context)
            if not self.takes_long(order):
                return self.execute(context)
            self._building = building.Building(order)
        except PinwrightError:
            return self.execute(context)  # which says what is wrong
        self._bits: Iterator[float] | None = None
        manager = context.window_manager
        manager.progress_begin(0, 100)
        self._timer = manager.event_timer_add(building.LOOK_EVERY, window=context.window)
        operator: Any = self
        manager.modal_handler_add(operator)
        self._tell(context)
        return {"RUNNING_MODAL"}

    def takes_long(self, order: making.Order) -> bool:
        """Tell whether a build would hold up a window."""
        return not bpy.app.background and building.seconds_of(order) > building.PATIENCE

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        """Look whether the build is there; then make its solids, bit by bit."""
        if event.type == "ESC":
            self.cancel(context)
            self.report({"INFO"}, "Stopped; nothing was changed")
            return {"CANCELLED"}
        if event.type != "TIMER":
            through = event.type.startswith(_LET_THROUGH)
            return {"PASS_THROUGH"} if through else {"RUNNING_MODAL"}
        if self._bits is None:
            ended = self._building.look()
            self._tell(context)
            if not ended:
                return {"RUNNING_MODAL"}
            if self._building.build is None:
                self._put_away(context)
                self.report({"ERROR"}, self._building.fault)
                return {"CANCELLED"}
            self._bits = pieces.made_ready(self._building.build)
        until = time.monotonic() + _BIT
        for share in self._bits:
            if time.monotonic() > until:
                self._say(
                    context, worded("Making solids: {share:.0f} %   Esc stops", share=100 * share)
                )
                return {"RUNNING_MODAL"}
        self._put_away(context)
        try:
            return self.execute(context)
        finally:
            pieces.forget_ready()

    def cancel(self, context: bpy.types.Context) -> None:
        """Give up: the user wants it, or Blender opens another file."""
        if self._building.build is None and not self._building.fault:
            self._building.stop()
        self._put_away(context)

    def _tell(self, context: bpy.types.Context) -> None:
        now = self._building
        context.window_manager.progress_update(100 * now.share)
        text = worded(
            "Building: {share:.0f} % ({stage})   Esc stops",
            stage=worded(now.stage),
            share=100 * now.share,
        )
        self._say(context, text)

    def _say(self, context: bpy.types.Context, text: str) -> None:
        context.workspace.status_text_set(text)

    def _put_away(self, context: bpy.types.Context) -> None:
        context.window_manager.progress_end()
        context.workspace.status_text_set(None)
        context.window_manager.event_timer_remove(self._timer)
