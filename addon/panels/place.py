# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the sculpture hangs or stands, and how near the things round it are."""

from __future__ import annotations

import bpy

from .. import clearance_lines
from ..properties import settings_of
from . import shared

__all__ = ["CLASSES"]


class PINWRIGHT_PT_place(shared.SidebarPanel, bpy.types.Panel):
    """Hang, stand, clearances."""

    bl_label = "Place"
    bl_parent_id = shared.PARENT
    bl_order = 5
    bl_options = {"DEFAULT_CLOSED"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return settings_of(context)[1] is not None

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        settings, root = settings_of(context)
        column = layout.column(align=True)
        column.operator("pinwright.hang", icon="EMPTY_SINGLE_ARROW")
        column.operator("pinwright.stand", icon="TRIA_DOWN_BAR")
        layout.operator("pinwright.measure_clearances", icon="DRIVER_DISTANCE")
        if settings.clearances:
            box = layout.box()
            if clearance_lines.moved(root):
                box.label(text="Moved since it was measured", icon="INFO")
            column = box.column(align=True)
            for row in settings.clearances:
                shared.figure(column, row.name, clearance_lines.told(context.scene, row.distance))
            box.prop(settings, "show_clearances")
        box = layout.box()
        box.label(text="It hangs over people", icon="ERROR")
        shared.wrapped(
            box,
            context,
            "Have hang points, chains and what they hang from judged by a licensed engineer; "
            "local codes come first. Nobody stands below while it is lifted.",
        )


CLASSES = (PINWRIGHT_PT_place,)
