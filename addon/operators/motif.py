# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Draw a motif by hand: its path or outline as a curve."""

from __future__ import annotations

import bpy
from bpy.props import StringProperty

from ...core.rough import written_out
from .. import making, motif_curves, operating, store, tags

__all__ = ["CLASSES"]


class PINWRIGHT_OT_edit_path(bpy.types.Operator):
    """Make a curve of the motif's path or outline; the sculpture follows while it is edited"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.edit_path"
    bl_label = "Edit Path as Curve"
    bl_options = {"REGISTER", "UNDO"}

    motif: StringProperty(
        name="Motif", description="Empty: that of the active plate", options={"SKIP_SAVE"}
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_own_sculpture(cls, context)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        operating.to_object_mode(context)
        root = tags.root_of(context.active_object)
        stored = store.stored_design(root)
        design = written_out(stored, making.frame_for(root, stored))
        motif = self.motif or motif_curves.motif_of(context.active_object) or design.motifs[0].name
        curve = motif_curves.add(root, design, motif)
        if stored.recipe is not None:
            making.own_motifs(root, design)
            self.report({"INFO"}, "The recipe's motifs are the sculpture's own now")
        operating.show_only(context, curve)
        return {"FINISHED"}


CLASSES = (PINWRIGHT_OT_edit_path,)
