# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Modules: what each gathers round, and how far all comes apart."""

from __future__ import annotations

import bpy

from ..menu_items import GROUPS
from ..properties import settings_of
from . import shared

__all__ = ["CLASSES"]


class PINWRIGHT_PT_modules(shared.SidebarPanel, bpy.types.Panel):
    """What modules gather round; ways at full explosion."""

    bl_label = "Modules"
    bl_parent_id = shared.PARENT
    bl_order = 3
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        settings, root = settings_of(context)
        column = layout.column()
        column.prop(settings, "about")
        column.prop(settings, "way_modules")
        column.prop(settings, "way_plates")
        if root is None:
            return
        column = layout.column(align=True)
        column.operator("pinwright.gather_plates", icon="GROUP")
        column.operator("pinwright.cut_modules", icon="MOD_EXPLODE")
        figures = settings.figures
        column = layout.column(align=True)
        column.scale_y = 0.9
        shared.figure(column, "Modules", str(figures.modules))
        shared.figure(column, "Joints Inside", str(figures.joints - figures.between))
        shared.figure(column, "Joints Between", str(figures.between))
        shared.figure(column, "Symmetry", _GROUPS.get(figures.group[:1], figures.group))
        shared.figure(column, "Rotations", str(figures.order))


_GROUPS = {letter: name for letter, name, _ in GROUPS}

CLASSES = (PINWRIGHT_PT_modules,)
