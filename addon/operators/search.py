# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Start and stop a search, look through its finds, build the chosen one."""

from __future__ import annotations

import os
from pathlib import Path

import bpy
from bpy.props import BoolProperty, IntProperty, StringProperty

from ...core.design.read import read_design
from ...core.search.sheet import PAGE
from .. import esc_key, making, operating, redraw, search_finds, search_run, tags
from ..properties import settings_of
from ..search_folders import new_folder
from ..search_settings import PinwrightSearch, wanted_of
from ..words import worded
from .beside import BuildsBeside

__all__ = ["CLASSES"]


class PINWRIGHT_OT_start_search(bpy.types.Operator):
    """Look for designs whose every joint is square, while you go on working"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.start_search"
    bl_label = "Search"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return _no_search(cls)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        settings = context.scene.pinwright_search
        folder = new_folder(settings)
        search_run.start(
            search_run.Job(
                folder,
                wanted_of(settings),
                settings.seed,
                float(settings.seconds),
                workers=_cores(settings),
            )
        )
        search_finds.clear()  # or they would give way to the new ones under somebody's hands
        return {"FINISHED"}


class PINWRIGHT_OT_resume_search(bpy.types.Operator):
    """Go on with the search whose finds are shown, for the time that is set"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.resume_search"
    bl_label = "Search Further"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if search_finds.folder() is None:
            cls.poll_message_set("No search is open")
            return False
        return _no_search(cls)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        settings = context.scene.pinwright_search
        search_run.start(
            search_run.Job(
                search_finds.folder(),
                None,
                seconds=float(settings.seconds),
                workers=_cores(settings),
            )
        )
        return {"FINISHED"}


class PINWRIGHT_OT_stop_search(esc_key.EndedByEsc, bpy.types.Operator):
    """End the search and keep what it found"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.stop_search"
    bl_label = "Stop Search"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not search_run.running():
            cls.poll_message_set("No search runs")
            return False
        return True

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if self.from_key and search_run.ending():  # it must not cut off what a first press began
            return {"PASS_THROUGH"}
        return super().invoke(context, event)

    def execute(self, context: bpy.types.Context) -> set[str]:
        search_run.stop()
        self.report({"INFO"}, "The search is ended; its finds are kept")
        return {"FINISHED"}


class PINWRIGHT_OT_open_search(bpy.types.Operator):
    """Show the finds of an earlier search: choose its folder"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.open_search"
    bl_label = "Open Search"

    directory: StringProperty(name="Folder", subtype="DIR_PATH")
    filter_folder: BoolProperty(default=True, options={"HIDDEN"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return _no_search(cls)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        search_finds.show(Path(bpy.path.abspath(self.directory)))
        search_run.forget_fault()
        redraw.sidebars()
        count = len(search_finds.finds())
        self.report({"INFO"}, worded("{count} finds with pictures", count=count))
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        shown = search_finds.folder()
        if shown is not None:
            self.directory = str(shown.parent) + os.sep
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}


class PINWRIGHT_OT_step_find(bpy.types.Operator):
    """Show another find"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.step_find"
    bl_label = "Next Find"

    by: IntProperty(name="Places", description="How many places on in the order", default=1)

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return _has_find(cls)

    def execute(self, context: bpy.types.Context) -> set[str]:
        search_finds.step(self.by)
        return {"FINISHED"}


class PINWRIGHT_OT_open_sheet(bpy.types.Operator):
    """Open the contact sheet of the search in the web browser"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.open_sheet"
    bl_label = "Open Contact Sheet"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        shown = search_finds.folder()
        if shown is None or not (shown / PAGE).is_file():
            cls.poll_message_set("The sheet is written when the search ends")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> set[str]:
        return bpy.ops.wm.path_open(filepath=str(search_finds.folder() / PAGE))


class PINWRIGHT_OT_build_find(BuildsBeside, bpy.types.Operator):
    """Build the find that is shown at the 3D cursor, as a sculpture of its own"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.build_find"
    bl_label = "Build Find"
    bl_options = {"REGISTER", "UNDO"}

    filepath: StringProperty(
        name="Design File",
        description="Of the find; empty takes the one that is shown",
        options={"HIDDEN", "SKIP_SAVE"},
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return _has_find(cls)

    def order(self, context: bpy.types.Context) -> making.Order:
        return _order(self)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        # The path is kept: adjusting the last operation builds the same find again.
        self.filepath = self.filepath or str(search_finds.chosen().file)
        design = read_design(self.filepath)
        look = settings_of(context)[0].look
        with operating.progress(context) as said:
            root = making.add_design(context, design, look, said)
        operating.to_object_mode(context)
        operating.show_only(context, root)
        operating.calm_view(context)
        self.report({"INFO"}, worded("Built {name}", name=design.name))
        return {"FINISHED"}


class PINWRIGHT_OT_exchange_find(BuildsBeside, bpy.types.Operator):
    """Put the find that is shown in the place of the active sculpture"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.exchange_find"
    bl_label = "Exchange Sculpture"
    bl_options = {"REGISTER", "UNDO"}

    filepath: StringProperty(
        name="Design File",
        description="Of the find; empty takes the one that is shown",
        options={"HIDDEN", "SKIP_SAVE"},
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return _has_find(cls) and operating.needs_sculpture(cls, context)

    def order(self, context: bpy.types.Context) -> making.Order:
        return _order(self)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        self.filepath = self.filepath or str(search_finds.chosen().file)
        design = read_design(self.filepath)
        root = tags.root_of(context.active_object)
        with operating.progress(context) as said:
            making.exchange_design(context, root, design, said)
        operating.to_object_mode(context)
        operating.show_only(context, root)
        self.report({"INFO"}, worded("Built {name} in its place", name=design.name))
        return {"FINISHED"}


# ---------------------------------------------------------------- helpers


def _order(
    operator: PINWRIGHT_OT_build_find | PINWRIGHT_OT_exchange_find,
) -> making.Order:
    """Return what is to be built of the find that an operator is for."""
    operator.filepath = operator.filepath or str(search_finds.chosen().file)
    return making.order_of(read_design(operator.filepath))


def _no_search(cls: type) -> bool:
    if search_run.running():
        cls.poll_message_set("A search runs already; stop it first")
        return False
    return True


def _has_find(cls: type) -> bool:
    if search_finds.chosen() is None:
        cls.poll_message_set("Nothing is found yet")
        return False
    return True


def _cores(settings: PinwrightSearch) -> int:
    return settings.cores if settings.use_cores else os.cpu_count() or 1


CLASSES = (
    PINWRIGHT_OT_start_search,
    PINWRIGHT_OT_resume_search,
    PINWRIGHT_OT_stop_search,
    PINWRIGHT_OT_open_search,
    PINWRIGHT_OT_step_find,
    PINWRIGHT_OT_open_sheet,
    PINWRIGHT_OT_build_find,
    PINWRIGHT_OT_exchange_find,
)
