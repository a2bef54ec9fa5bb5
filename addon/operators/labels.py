# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Labels as objects that can be rendered, and without them again."""

from __future__ import annotations

import bpy
from bpy.props import FloatProperty

from .. import labels, operating, plan_view, tags
from ..words import worded
from .plan import needs_plan

__all__ = ["CLASSES"]


class PINWRIGHT_OT_add_labels(bpy.types.Operator):
    """Make labels of what is shown as text objects with leader lines, for the scene's camera"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.add_labels"
    bl_label = "Add Label Objects"
    bl_options = {"REGISTER", "UNDO"}

    size: FloatProperty(
        name="Text Size",
        description="Height of the letters, as a share of the picture's height",
        default=2.5,
        min=0.2,
        max=20.0,
        subtype="PERCENTAGE",
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not needs_plan(cls, context) or not operating.needs_own_sculpture(cls, context):
            return False
        if tags.root_of(context.active_object).pinwright_plan.mode == plan_view.OFF:
            cls.poll_message_set("Show a step or a module first")
            return False
        if context.scene.camera is None:
            cls.poll_message_set("Add a camera that looks at the sculpture first")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        context.view_layer.update()
        labels.remove(root)
        entries = [(labels.anchor_of(p), p[tags.PLATE]) for p in plan_view.labelled(root)]
        if not entries:
            self.report({"WARNING"}, "Nothing is labeled: choose what, under Labels")
            return {"CANCELLED"}
        home = bpy.data.collections.new(f"{root.name} Labels")
        home[labels.LABEL] = True
        next(iter(root.users_collection)).children.link(home)
        labels.bake(context.scene, context.scene.camera, entries, home, self.size / 100)
        self.report(
            {"INFO"},
            worded("{count} labels in the collection {name}", count=len(entries), name=home.name),
        )
        return {"FINISHED"}


class PINWRIGHT_OT_remove_labels(bpy.types.Operator):
    """Take the label objects of the active sculpture away"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.remove_labels"
    bl_label = "Remove Label Objects"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_own_sculpture(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        if not labels.remove(tags.root_of(context.active_object)):
            self.report({"INFO"}, "There are none")
        return {"FINISHED"}


CLASSES = (PINWRIGHT_OT_add_labels, PINWRIGHT_OT_remove_labels)
