# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the sculpture hangs or stands, and how near the things round it are."""

from __future__ import annotations

import bpy

from ..properties import settings_of
from . import shared

__all__ = ["CLASSES"]

_MOVED = 1e-5  # scene units


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
            if _moved(settings, root):
                box.label(text="Moved since it was measured", icon="INFO")
            column = box.column(align=True)
            for row in settings.clearances:
                shared.figure(column, row.name, _told(row.distance))
        box = layout.box()
        box.label(text="It hangs over people", icon="ERROR")
        shared.wrapped(
            box,
            context,
            "Have hang points, chains and what they hang from judged by a licensed engineer; "
            "local codes come first. Nobody stands below while it is lifted.",
        )


def _moved(settings: bpy.types.PropertyGroup, root: bpy.types.Object) -> bool:
    now = [value for row in root.matrix_world for value in row]
    return max(abs(a - b) for a, b in zip(now, settings.measured_at, strict=True)) > _MOVED


def _told(distance: float) -> str:
    return "Touches" if distance <= 0 else f"{distance:.0f} mm"


CLASSES = (PINWRIGHT_PT_place,)
