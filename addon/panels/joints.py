# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Sizes that all joints share, and the joint classes of the last build."""

from __future__ import annotations

import bpy

from ..properties import settings_of
from . import shared

__all__ = ["CLASSES"]


class PINWRIGHT_PT_joints(shared.SidebarPanel, bpy.types.Panel):
    """Sizes of tabs, pins and webs; joint classes."""

    bl_label = "Joints"
    bl_parent_id = shared.PARENT
    bl_order = 2
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        settings, root = settings_of(context)
        column = layout.column()
        for name in ("tab_width", "pin_diameter", "pin_length", "web"):
            shared.optional(column, settings, name)
        column = layout.column()
        for name in ("pin_play", "hole_play", "corner_radius", "gap"):
            column.prop(settings, name)
        if root is None:
            return
        column = layout.column(align=True)
        column.scale_y = 0.9
        for row in settings.figures.joint_classes:
            kind = row.kind.replace("-", " ").title().replace(" ", "-")
            shared.figure(column, row.name, f"{row.count} \u00d7 {kind}, {row.angle:.4g}\u00b0")


CLASSES = (PINWRIGHT_PT_joints,)
