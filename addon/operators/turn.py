# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Turn a motif of a found sculpture along its family: all joints stay square."""

from __future__ import annotations

import math

import bpy
from bpy.props import FloatProperty, StringProperty

from ...core.search.sliders import sliders, turned
from .. import making, operating, store, tags
from ..words import worded

__all__ = ["CLASSES"]


class PINWRIGHT_OT_turn_motif(bpy.types.Operator):
    """Turn the plates of one motif; the others follow so that every joint stays square"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.turn_motif"
    bl_label = "Turn Motif"
    bl_options = {"REGISTER", "UNDO"}

    motif: StringProperty(
        name="Motif", description="Empty: the first that can be turned", options={"SKIP_SAVE"}
    )
    angle: FloatProperty(
        name="Angle",
        description="By how much its plane turns",
        subtype="ANGLE",
        default=math.radians(2),
        soft_min=math.radians(-20),
        soft_max=math.radians(20),
        step=25,
        options={"SKIP_SAVE"},
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not operating.needs_own_sculpture(cls, context):
            return False
        design = store.stored_design(tags.root_of(context.active_object))
        if design.recipe is not None or design.frame.group is None:
            cls.poll_message_set("Only sculptures of the search have motifs that can be turned")
            return False
        return True

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        design = store.stored_design(root)
        known = sliders(design)
        if not known:
            self.report({"INFO"}, "The joints fix all planes: nothing can be turned")
            return operating.CANCELLED
        slider = next((one for one in known if one.motif == self.motif), known[0])
        self.motif = slider.motif
        there = turned(design, slider.motif, math.degrees(self.angle))
        with operating.progress(context) as said:
            making.exchange_design(context, root, there, said)
        operating.to_object_mode(context)
        operating.show_only(context, root)
        self.report(
            {"INFO"},
            worded(
                "Motif {motif} has room from {low:g} to {high:+g} degrees",
                motif=slider.motif,
                low=slider.low,
                high=slider.high,
            ),
        )
        return {"FINISHED"}


CLASSES = (PINWRIGHT_OT_turn_motif,)
