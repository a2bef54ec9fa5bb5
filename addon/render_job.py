# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rendering while the window stays alive: Blender's own render job, with its progress and Esc.

An operator that inherits from `RenderJob` starts it by `render` and gets `job_ended` called when
it has ended, finished or not. Without a window it is simply waited for.
"""

from __future__ import annotations

import bpy

from ..core.errors import PinwrightError

__all__ = ["RenderJob", "needs_idle_renderer"]

_TICK = 0.25  # s


def needs_idle_renderer(cls: type) -> bool:
    """Tell whether nothing is being rendered; says so in the tooltip otherwise."""
    if bpy.app.is_job_running("RENDER"):
        cls.poll_message_set("Something is being rendered already")
        return False
    return True


class RenderJob:
    """What operators that render share; `job_ended(context)` returns the operator's answer."""

    _timer: bpy.types.Timer | None = None

    def render(self, context: bpy.types.Context, scene: str) -> set[str]:
        """Render the animation of a scene, by name."""
        if bpy.app.background or context.window is None:
            bpy.ops.render.render(animation=True, scene=scene)
            return self.job_ended(context)
        bpy.ops.render.render("INVOKE_DEFAULT", animation=True, scene=scene)
        self._timer = context.window_manager.event_timer_add(_TICK, window=context.window)
        context.window_manager.modal_handler_add(self)  # type: ignore[arg-type]
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        """Wait for the render job; everything else goes on."""
        if event.type != "TIMER" or bpy.app.is_job_running("RENDER"):
            return {"PASS_THROUGH"}
        context.window_manager.event_timer_remove(self._timer)
        try:
            return self.job_ended(context)
        except PinwrightError as error:
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        except ReferenceError:  # undone meanwhile: scene and objects are gone
            return {"CANCELLED"}
