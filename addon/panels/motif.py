# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The motif of the active plate: drawn by hand, with the lines on which others cross it."""

from __future__ import annotations

from typing import Any

import bpy

from .. import motif_curves, section_lines
from ..properties import settings_of
from . import shared

__all__ = ["CLASSES"]


class PINWRIGHT_PT_motif(shared.SidebarPanel, bpy.types.Panel):
    """Path as a curve, section lines."""

    bl_label = "Motif"
    bl_parent_id = shared.PARENT
    bl_order = 1

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return settings_of(context)[1] is not None

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        settings = settings_of(context)[0]
        motif = motif_curves.motif_of(context.active_object)
        column = layout.column()
        shared.figure(column, "Motif", motif or "Select a Plate")
        layout.operator("pinwright.edit_path", icon="CURVE_BEZCURVE")
        layout.prop(settings, "sections")
        if settings.sections:
            column = layout.box().column(align=True)
            column.scale_y = 0.9
            icon: Any
            for icon, words in section_lines.legend():
                column.label(text=words, icon=icon)


CLASSES = (PINWRIGHT_PT_motif,)
