# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Files in and out."""

from __future__ import annotations

import bpy

from . import shared

__all__ = ["CLASSES"]


class PINWRIGHT_PT_files(shared.SidebarPanel, bpy.types.Panel):
    """Designs and cut files."""

    bl_label = "Files"
    bl_parent_id = shared.PARENT
    bl_order = 6

    def draw(self, context: bpy.types.Context) -> None:
        column = self.layout.column(align=True)
        column.operator("pinwright.open_design", icon="FILE_FOLDER")
        column.operator("pinwright.save_design", icon="FILE_TICK")
        column.separator()
        column.operator("pinwright.export_cut_files", icon="EXPORT")


CLASSES = (PINWRIGHT_PT_files,)
