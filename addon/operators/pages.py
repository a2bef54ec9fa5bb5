# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Write pages to print, one after another, while the window stays alive."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import bpy
from bpy.props import BoolProperty, EnumProperty, IntProperty, StringProperty

from ...core.errors import OutputError, PinwrightError
from .. import operating, plan_pages, plan_view, tags
from ..words import worded
from .plan import needs_plan

__all__ = ["CLASSES"]

_BEAT = 0.05  # seconds between two pages, for the window


class PINWRIGHT_OT_make_pages(bpy.types.Operator):
    """Render a page for each step and module of the plan, to print and hand out"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.make_pages"
    bl_label = "Make Pages"
    bl_options = {"REGISTER"}

    directory: StringProperty(name="Folder", subtype="DIR_PATH")
    filter_folder: BoolProperty(default=True, options={"HIDDEN"})
    what: EnumProperty(
        name="Pages",
        items=(
            (plan_pages.BOTH, "Modules and Steps", "A page for each module, then for each step"),
            (plan_view.MODULES, "Modules", "A page for each module"),
            (plan_view.STEPS, "Steps", "A page for each step"),
        ),
        default=plan_pages.BOTH,
    )
    width: IntProperty(name="Width", description="Pixels of a page", default=1754, min=300)
    height: IntProperty(name="Height", description="Pixels of a page", default=1240, min=200)
    with_labels: BoolProperty(name="Labels", description="Label the plates", default=True)

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return needs_plan(cls, context) and operating.needs_own_sculpture(cls, context)

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if not self.directory and bpy.data.filepath:
            self.directory = str(Path(bpy.data.filepath).parent)
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        folder = Path(bpy.path.abspath(self.directory or "//"))
        if not folder.is_dir():
            raise OutputError(f"There is no folder {folder}; choose one that is there.")
        choice = plan_pages.PageChoice(self.what, (self.width, self.height), self.with_labels)
        self._done, self._total = 0, plan_pages.count(root, choice)
        self._folder = folder
        self._pages: Iterator[Path] = plan_pages.make(root, folder, choice)
        window = context.window_manager
        window.progress_begin(0, self._total)
        if bpy.app.background or context.window is None:
            try:
                for _ in self._pages:
                    self._done += 1
            finally:
                window.progress_end()
            return self._told()
        self._timer = window.event_timer_add(_BEAT, window=context.window)
        window.modal_handler_add(self)
        return {"RUNNING_MODAL"}

    def modal(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if event.type == "ESC":
            self._end(context)
            self.report(
                {"WARNING"},
                worded("Stopped after {done} of {total} pages", done=self._done, total=self._total),
            )
            return {"CANCELLED"}
        if event.type != "TIMER":
            return {"RUNNING_MODAL"}
        try:
            next(self._pages)
        except StopIteration:
            self._end(context)
            return self._told()
        except (PinwrightError, ReferenceError) as error:
            self._end(context)
            self.report({"ERROR"}, str(error))
            return {"CANCELLED"}
        self._done += 1
        context.window_manager.progress_update(self._done)
        text = "Page {done} of {total} is written; Esc stops"
        context.workspace.status_text_set(worded(text, done=self._done, total=self._total))
        return {"RUNNING_MODAL"}

    def _end(self, context: bpy.types.Context) -> None:
        self._pages.close()
        context.window_manager.event_timer_remove(self._timer)
        context.window_manager.progress_end()
        context.workspace.status_text_set(None)

    def _told(self) -> set[str]:
        self.report(
            {"INFO"}, worded("Wrote {done} pages to {folder}", done=self._done, folder=self._folder)
        )
        return {"FINISHED"}


CLASSES = (PINWRIGHT_OT_make_pages,)
