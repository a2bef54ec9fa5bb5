# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Select plates, and bring them into view: those that a check found, or a whole module."""

from __future__ import annotations

from typing import Any

import bpy
from bpy.props import BoolProperty, StringProperty

from .. import operating, tags
from ..words import worded

__all__ = ["CLASSES"]


class PINWRIGHT_OT_select_pieces(bpy.types.Operator):
    """Select the plates and pins with these marks"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.select_pieces"
    bl_label = "Select Pieces"
    bl_options = {"REGISTER", "UNDO"}

    ids: StringProperty(
        name="Marks",
        description="Marks of plates, joints, parts or modules, separated by blanks",
        options={"SKIP_SAVE"},
    )

    frame: BoolProperty(
        name="Frame",
        description="Bring the pieces into view",
        default=False,
        options={"SKIP_SAVE"},
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_sculpture(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        wanted = {
            word.strip(",:;") for word in self.ids.split()
        }  # checks write "A01 and A38: 2 mm"
        root = tags.root_of(context.active_object)
        found = [
            piece
            for piece in tags.pieces(root)
            if wanted.intersection(piece.get(key) for key in _KEYS)
            and piece.visible_get(view_layer=context.view_layer)
        ]
        if not found:
            self.report({"WARNING"}, "No visible piece has such a mark")
            return {"CANCELLED"}
        operating.to_object_mode(context)
        operating.show_only(context, found[0])
        for piece in found:
            piece.select_set(True)
        show: Any = bpy.ops.view3d.view_selected
        if self.frame and show.poll():
            show()
        text = "Selected one piece" if len(found) == 1 else "Selected {count} pieces"
        self.report({"INFO"}, worded(text, count=len(found)))
        return {"FINISHED"}


_KEYS = (tags.PLATE, tags.JOINT, tags.PART, tags.MODULE)

CLASSES = (PINWRIGHT_OT_select_pieces,)
