# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Animation and pictures: what moves, the frames, and where a picture is taken."""

from __future__ import annotations

import bpy

from .. import animate, pictures, shoot, tags
from . import shared

__all__ = ["CLASSES"]


class PINWRIGHT_PT_animation(shared.SidebarPanel, bpy.types.Panel):
    """What moves, for how long, and how it is seen."""

    bl_label = "Animation and Pictures"
    bl_parent_id = shared.PARENT
    bl_order = 7
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        settings = context.scene.pinwright_film
        column = layout.column()
        column.prop(settings, "what")
        column.prop(settings, "seconds")
        column.prop(settings, "camera")
        if settings.what == shoot.ASSEMBLY:
            row = column.row()
            row.active = settings.camera != shoot.KEEP
            row.prop(settings, "captions")
            shared.optional(column, settings, "drop")
        root = tags.root_of(context.active_object)
        if root is not None and animate.is_animated(root) and not animate.fits(root):
            layout.label(text="Animated before it was changed", icon="ERROR")
        row = layout.row(align=True)
        row.operator("pinwright.animate", icon="KEYFRAME_HLT")
        row.operator("pinwright.clear_animation", text="", icon="X")


class PINWRIGHT_PT_frames(shared.SidebarPanel, bpy.types.Panel):
    """Where it is rendered, and the files."""

    bl_label = "Render"
    bl_parent_id = "PINWRIGHT_PT_animation"
    bl_order = 0

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        scene = context.scene
        settings = scene.pinwright_film
        column = layout.column()
        column.prop(settings, "place")
        if settings.place == pictures.OWN_SCENE:
            if scene.camera is None:
                column.label(text="This scene has no camera", icon="ERROR")
            elif not pictures.has_light(scene):
                column.label(text="Nothing lights this scene", icon="ERROR")
        column.prop(settings, "transparent")
        column.operator("pinwright.make_picture", icon="RENDER_STILL")
        column.separator()
        column.prop(settings, "folder")
        row = column.row()
        row.enabled = settings.place != pictures.ROOM
        row.operator("pinwright.render_frames", icon="RENDER_ANIMATION")
        column.operator("pinwright.join_frames", icon="FILE_MOVIE")
        column.separator()
        column.operator("pinwright.add_figure", icon="USER")
        column.operator("pinwright.add_dimensions", icon="DRIVER_DISTANCE")


CLASSES = (PINWRIGHT_PT_animation, PINWRIGHT_PT_frames)
