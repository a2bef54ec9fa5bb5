# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The right-angle search: what to look for, how far it is, and the finds in pictures."""

from __future__ import annotations

import bpy

from ...core.search.rank import WEIGHTS
from .. import search_finds, search_run
from ..search_settings import PinwrightSearch
from ..words import worded
from . import shared

__all__ = ["CLASSES"]

_UNIT = 20.0  # pixels of a button's height at a resolution scale of 1
_LEAST, _MOST = 5.0, 16.0  # of the picture's side, buttons


class PINWRIGHT_PT_search(shared.SidebarPanel, bpy.types.Panel):
    """Wishes, and a button that starts."""

    bl_label = "Right-Angle Search"
    bl_order = 1  # below the sculpture
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        settings = context.scene.pinwright_search
        if search_run.running():
            _draw_running(layout)
            return
        _draw_wishes(layout, settings)
        column = layout.column(align=True)
        row = column.row(align=True)
        row.scale_y = 1.4
        row.operator("pinwright.start_search", icon="VIEWZOOM")
        row = column.row(align=True)
        row.operator("pinwright.resume_search")
        row.operator("pinwright.open_search")
        _draw_outcome(layout, context)
        # Of the sculpture that is active, so it has its place also when no finds are shown.
        layout.operator("pinwright.turn_motif", icon="DRIVER_ROTATIONAL_DIFFERENCE")


class PINWRIGHT_PT_finds(shared.SidebarPanel, bpy.types.Panel):
    """The finds of a search in pictures."""

    bl_label = "Finds"
    bl_parent_id = "PINWRIGHT_PT_search"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return search_finds.chosen() is not None

    def draw_header_preset(self, context: bpy.types.Context) -> None:
        row = self.layout.row(align=True)
        name = row.row()
        name.active = False
        name.label(text=search_finds.folder().name)
        row.operator("pinwright.open_sheet", text="", icon="URL", emboss=False)

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        find = search_finds.chosen()
        shown = context.window_manager.pinwright_finds
        layout.prop(shown, "order", text="")
        column = layout.column(align=True)
        side = context.region.width / (_UNIT * context.preferences.system.ui_scale) - 3.5
        side = min(max(side, _LEAST), _MOST)
        column.template_icon_view(shown, "chosen", show_labels=True, scale=side, scale_popup=4.5)
        _draw_steps(column.row(align=True), find.number, len(search_finds.finds()))
        _draw_figures(layout, find)
        row = layout.row(align=True)
        row.scale_y = 1.4
        row.operator("pinwright.build_find", text="Build", icon="ADD")
        row.operator("pinwright.exchange_find", text="Exchange", icon="FILE_REFRESH")


class PINWRIGHT_PT_weights(shared.SidebarPanel, bpy.types.Panel):
    """What counts how much in the score."""

    bl_label = "Weights"
    bl_parent_id = "PINWRIGHT_PT_finds"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        weights = context.window_manager.pinwright_finds.weights
        column = layout.column()
        for name in WEIGHTS:
            column.prop(weights, name)


def _draw_wishes(layout: bpy.types.UILayout, settings: PinwrightSearch) -> None:
    column = layout.column()
    column.prop(settings, "group")
    column.prop(settings, "motifs")
    if settings.motifs > 1:
        column.prop(settings, "linked")
    column = layout.column()
    column.prop(settings, "diameter")
    column.prop(settings, "material", text="")  # alone in its row: titles are long
    column.prop(settings, "thickness")
    column.prop(settings, "clearance")
    shared.optional(column, settings, "width")
    column = layout.column()
    column.prop(settings, "seconds")
    column.prop(settings, "seed")
    shared.optional(column, settings, "cores")
    column.prop(settings, "folder")


def _draw_running(layout: bpy.types.UILayout) -> None:
    told = search_run.told()
    count = f"{told.found} {'Find' if told.found == 1 else 'Finds'}"
    names = {"start": "Starting", "search": count, "pictures": "Drawing Pictures", "done": count}
    layout.progress(factor=told.share, text=names[told.stage])
    row = layout.row()
    row.scale_y = 1.4
    text = "Leave Out Pictures" if search_run.ending() else "Stop"
    row.operator("pinwright.stop_search", text=text, icon="CANCEL")
    column = layout.column(align=True)
    column.scale_y = 0.9
    shared.figure(column, "Judged", f"{told.judged:,}")
    shared.figure(column, "Sets of Planes", f"{told.normals}")


def _draw_outcome(layout: bpy.types.UILayout, context: bpy.types.Context) -> None:
    fault = search_run.fault()
    if fault:
        box = layout.box()
        box.label(text="Search Failed", icon="ERROR")
        shared.wrapped(box, context, fault)
    state = search_finds.state()
    if state is None:
        return
    drawn, found = len(search_finds.finds()), len(state.found)
    if found == 0 and not fault:
        text = "Nothing found: give it more time, thinner strips or less clearance."
        if not state.next_batch:
            text = "Not one batch of candidates was finished: give it more time."
        shared.wrapped(layout, context, text)
    elif drawn < found:
        layout.label(
            text=worded("{found:,} found, the best {drawn} drawn", found=found, drawn=drawn),
            icon="INFO",
        )


def _draw_steps(row: bpy.types.UILayout, number: int, count: int) -> None:
    """Draw arrows to the next find and, where not all fit on one page, to the next page."""
    page = search_finds.PAGE
    if count > page:
        row.operator("pinwright.step_find", text="", icon="REW").by = -page
    row.operator("pinwright.step_find", text="", icon="TRIA_LEFT").by = -1
    middle = row.row()
    middle.alignment = "CENTER"
    middle.label(text=worded("{number} of {count}", number=number, count=count))
    row.operator("pinwright.step_find", text="", icon="TRIA_RIGHT").by = 1
    if count > page:
        row.operator("pinwright.step_find", text="", icon="FF").by = page


def _draw_figures(layout: bpy.types.UILayout, find: search_finds.Find) -> None:
    merits = find.merits
    column = layout.column(align=True)
    column.scale_y = 0.9
    shared.figure(column, "Design", find.name)
    shared.figure(column, "Score", f"{find.score:.3f}")
    shared.figure(column, "Clearance", f"{merits.clearance:.1f} mm")
    shared.figure(column, "Strips", f"{merits.length:.0f} x {merits.width:.1f} mm")
    shared.figure(column, "Least Web", f"{merits.web:.1f} mm")
    shared.figure(column, "Plates", f"{merits.plates}")
    shared.figure(column, "Outlines", f"{merits.parts}")
    shared.figure(column, "Linked Rotors", f"{merits.linked}")
    if merits.sprung is not None:
        sprung = f"{100 * merits.sprung:.0f} % of strength" if merits.sprung > 0 else "Not Needed"
        shared.figure(column, "Springing", sprung)


CLASSES = (PINWRIGHT_PT_search, PINWRIGHT_PT_finds, PINWRIGHT_PT_weights)
