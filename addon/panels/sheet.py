# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The sheet that everything is cut from."""

from __future__ import annotations

import bpy

from ...core.design.materials import MATERIALS, Finish
from ..properties import settings_of
from . import shared

__all__ = ["CLASSES"]


class PINWRIGHT_PT_sheet(shared.SidebarPanel, bpy.types.Panel):
    """Material, thickness and fit of the sheet."""

    bl_label = "Sheet"
    bl_parent_id = shared.PARENT
    bl_order = 1

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        settings, root = settings_of(context)
        column = layout.column()
        column.prop(settings, "material", text="")  # alone in its row: titles are long
        column.prop(settings, "thickness")
        column.prop(settings, "clearance")
        column.prop(settings, "kerf")
        column.prop(settings, "one_sided")
        sheet = MATERIALS[settings.material]
        column = layout.column(align=True)
        column.scale_y = 0.9
        shared.figure(column, "Density", f"{sheet.density:.0f} kg/m\u00b3")
        shared.figure(column, "Looks Like", _FINISHES[sheet.finish])
        if root is not None:
            shared.figure(column, "Net Area", f"{settings.figures.area:.3f} m\u00b2")
            shared.figure(column, "Cut Length", f"{settings.figures.cut:.1f} m")


_FINISHES = {
    Finish.METAL: "Brushed Metal",
    Finish.WOOD: "Wood with Burnt Edges",
    Finish.CLEAR: "Clear, Bright Edges",
    Finish.CARD: "Matt Card",
}

CLASSES = (PINWRIGHT_PT_sheet,)
