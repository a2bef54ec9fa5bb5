# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The main panel: build, look, frame and recipe."""

from __future__ import annotations

import bpy

from .. import joints_beside, live, tags
from ..menu_items import PRISMS
from ..properties import PinwrightSettings, settings_of
from ..words import worded
from . import shared

__all__ = ["CLASSES"]


class PINWRIGHT_PT_sculpture(shared.SidebarPanel, bpy.types.Panel):
    """Build, look, frame and recipe."""

    bl_label = "Sculpture"

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        settings, root = settings_of(context)
        if root is None:
            row = layout.row(align=True)
            row.scale_y = 1.4
            row.operator("pinwright.build_sculpture", icon="ADD")
            row.menu("PINWRIGHT_MT_add", text="", icon="DOWNARROW_HLT")
        else:
            if tags.is_foreign(root):
                layout.label(text="Comes from another file", icon="LINKED")
            _draw_built(layout, context, settings)
        _draw_frame(layout.column(), settings)
        _draw_recipe(layout.column(), settings)


def _draw_built(
    layout: bpy.types.UILayout, context: bpy.types.Context, settings: PinwrightSettings
) -> None:
    row = layout.row(align=True)
    row.scale_y = 1.4
    row.operator(
        "pinwright.rebuild_sculpture",
        icon="FILE_REFRESH",
        depress=settings.stale and not settings.live,
    )
    row.operator("pinwright.build_sculpture", text="", icon="ADD")
    row.operator("pinwright.remove_sculpture", text="", icon="TRASH")
    layout.prop(settings, "live")
    cutting = joints_beside.told(settings.id_data.session_uid)
    if cutting is not None:
        stage, share = cutting
        row = layout.row(align=True)
        row.progress(factor=share, text=worded("Cutting Joints: {stage}", stage=worded(stage)))
        row.operator("pinwright.stop_building", text="", icon="X")
    elif settings.fault:
        box = layout.box()
        box.label(text="Cannot Be Built", icon="ERROR")
        shared.wrapped(box, context, settings.fault)
        box.label(text="The last good one is shown")
    elif tags.COARSE in settings.id_data and not live.waiting():
        layout.label(text="Joints are not cut yet: rebuild it", icon="INFO")
    elif settings.stale and not live.waiting():
        layout.label(text="Settings changed since the last build", icon="INFO")
    view = layout.column()
    view.prop(settings, "explode", slider=True)
    view.prop(settings, "apart")
    view.prop(settings, "look")
    figures = settings.figures
    column = layout.column(align=True)
    column.scale_y = 0.9
    shared.figure(column, "Plates", str(figures.plates))
    shared.figure(column, "Parts", str(figures.parts))
    shared.figure(column, "Pins", str(figures.pins))
    shared.figure(column, "Mass", f"{figures.mass:.2f} kg")
    shared.figure(column, "Extent", worded("{extent:.0f} mm across", extent=figures.diameter))
    failed = sum(1 for finding in figures.findings if not finding.ok)
    row = shared.named(column, "Checks")
    if failed:
        row.label(text=worded("{failed} Not Met", failed=failed), icon="ERROR")
    else:
        row.label(text="All Met", icon="CHECKMARK")


def _draw_frame(layout: bpy.types.UILayout, settings: PinwrightSettings) -> None:
    layout.separator()
    layout.prop(settings, "title")
    layout.prop(settings, "frame_from")
    if settings.frame_from == "SOLID":
        layout.prop(settings, "solid")
        if settings.solid in PRISMS:
            layout.prop(settings, "sides")
        elif settings.solid in _HANDED:
            layout.prop(settings, "left")
    elif settings.frame_from == "OBJECT":
        layout.prop(settings, "frame_object")
        return  # its size is the object's
    elif settings.frame_from == "FILE":
        row = layout.row()
        row.enabled = False
        row.prop(settings, "mesh")
    else:
        layout.prop(settings, "group")
        if settings.group in ("C", "D"):
            layout.prop(settings, "order")
    layout.prop(settings, "diameter")


def _draw_recipe(layout: bpy.types.UILayout, settings: PinwrightSettings) -> None:
    layout.separator()
    layout.prop(settings, "recipe")
    if settings.recipe in ("MOTIFS", "OTHER"):
        return
    layout.prop(settings, "width")
    if settings.recipe == "RINGS":
        layout.prop(settings, "axes")
        return
    if settings.recipe == "EDGE_ROTOR":
        layout.prop(settings, "hand")
        shared.optional(layout, settings, "engagement")
    else:
        layout.prop(settings, "pattern")
        layout.prop(settings, "offset")
        layout.prop(settings, "places")
        layout.prop(settings, "swap")
    layout.prop(settings, "bend")
    if settings.bend == "ROUND":
        layout.prop(settings, "bend_radius")


_HANDED = frozenset(
    ("SNUB_CUBE", "SNUB_DODECAHEDRON", "PENTAGONAL_ICOSITETRAHEDRON", "PENTAGONAL_HEXECONTAHEDRON")
)


CLASSES = (PINWRIGHT_PT_sculpture,)
