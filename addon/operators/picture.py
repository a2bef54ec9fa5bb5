# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Render a picture of a sculpture."""

from __future__ import annotations

from pathlib import Path

import bpy
from bpy.props import BoolProperty, EnumProperty, FloatProperty, IntProperty, StringProperty
from bpy_extras.io_utils import ExportHelper

from .. import framing, operating, pictures, tags

__all__ = ["CLASSES"]


class PINWRIGHT_OT_make_picture(bpy.types.Operator, ExportHelper):
    """Render the active sculpture in a studio of its own; the scene stays as it is"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.make_picture"
    bl_label = "Make Picture"
    bl_options = {"REGISTER", "UNDO"}

    filename_ext = ".png"
    filter_glob: StringProperty(default="*.png", options={"HIDDEN"})
    width: IntProperty(
        name="Width", description="In pixels", default=1600, min=16, max=16384, subtype="PIXEL"
    )
    height: IntProperty(
        name="Height", description="In pixels", default=1200, min=16, max=16384, subtype="PIXEL"
    )
    engine: EnumProperty(
        name="Quality",
        items=(
            (pictures.CYCLES, "Fine", "Light and metal as in a photograph; takes minutes"),
            (pictures.WORKBENCH, "Draft", "Plain shading; takes seconds"),
        ),
        default=pictures.CYCLES,
    )
    samples: IntProperty(
        name="Most Samples",
        description="For each pixel of a fine picture; calm pixels stop earlier",
        default=64,
        min=1,
        max=4096,
    )
    azimuth: FloatProperty(
        name="Turn",
        description="Degrees round the sculpture from the front, counterclockwise from above",
        default=framing.View().azimuth_deg,
        min=-360.0,
        max=360.0,
    )
    elevation: FloatProperty(
        name="Height of View",
        description="Degrees above the horizon; below it the view is from under the sculpture",
        default=framing.View().elevation_deg,
        min=-80.0,
        max=80.0,
    )
    keep_studio: BoolProperty(
        name="Keep Studio",
        description="Leave the scene with camera, lights and backdrop in the file",
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_sculpture(cls, context)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        path = Path(bpy.path.ensure_ext(bpy.path.abspath(self.filepath), ".png"))
        pictures.make_picture(
            root,
            path,
            pictures.PictureChoice(
                size=(self.width, self.height),
                engine=self.engine,
                samples=self.samples,
                view=framing.View(self.azimuth, self.elevation),
                keep_studio=self.keep_studio,
            ),
        )
        self.report({"INFO"}, f"Wrote {path}")
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        self.filepath = operating.suggested_path(context, ".png")
        return ExportHelper.invoke(self, context, event)


CLASSES = (PINWRIGHT_OT_make_picture,)
