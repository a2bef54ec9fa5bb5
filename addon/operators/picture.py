# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Render a picture of a sculpture; stand a person and measures beside it."""

from __future__ import annotations

from pathlib import Path

import bpy
from bpy.props import BoolProperty, EnumProperty, FloatProperty, IntProperty, StringProperty
from bpy_extras.io_utils import ExportHelper

from .. import convert, dimensions, figure, framing, operating, pictures, room, tags
from ..film_settings import PLACES
from ..render_job import RenderJob, needs_idle_renderer
from ..words import worded

__all__ = ["CLASSES"]


class PINWRIGHT_OT_make_picture(bpy.types.Operator, ExportHelper, RenderJob):
    """Render the active sculpture in this scene, a studio or a room; the scene stays as it is"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.make_picture"
    bl_label = "Make Picture"
    bl_options = {"REGISTER"}

    filename_ext = ".png"
    filter_glob: StringProperty(default="*.png", options={"HIDDEN"})
    place: EnumProperty(
        name="Place", items=PLACES, default=pictures.STUDIO, description="Where it is rendered"
    )
    transparent: BoolProperty(
        name="No Background", description="For a photo montage: a clear background"
    )
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
        return operating.needs_sculpture(cls, context) and needs_idle_renderer(cls)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        path = Path(bpy.path.ensure_ext(bpy.path.abspath(self.filepath), ".png"))
        choice = pictures.PictureChoice(
            size=(self.width, self.height),
            engine=self.engine,
            samples=self.samples,
            view=framing.View(self.azimuth, self.elevation),
            keep_studio=self.keep_studio,
            place=self.place,
            transparent=self.transparent,
            around=room.RoomChoice(metric=_is_metric(context.scene)),
        )
        self._sitting = pictures.sit(root, path, choice, context.scene)
        return self.render(context, self._sitting.scene.name)

    def job_ended(self, context: bpy.types.Context) -> set[str]:
        if not pictures.finish(self._sitting, True):
            self.report({"INFO"}, "No picture was made")
            return {"CANCELLED"}
        self.report({"INFO"}, worded("Wrote {path}", path=self._sitting.path))
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        self.filepath = operating.suggested_path(context, ".png")
        settings = context.scene.pinwright_film
        self.place, self.transparent = settings.place, settings.transparent
        self.width, self.height = pictures.size_of(context.scene)
        return ExportHelper.invoke(self, context, event)


class PINWRIGHT_OT_add_figure(bpy.types.Operator):
    """Stand a plain figure of a person, 1.70 m high, at the 3D cursor"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.add_figure"
    bl_label = "Add Scale Figure"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: bpy.types.Context) -> set[str]:
        operating.to_object_mode(context)
        unit = convert.unit_per_mm(context.scene)
        x, y, z = (context.scene.cursor.location[k] for k in range(3))
        person = figure.add_figure(context.collection, unit, (x, y, z))
        if person.name in context.view_layer.objects:
            operating.show_only(context, person)
        return {"FINISHED"}


class PINWRIGHT_OT_add_dimensions(bpy.types.Operator):
    """Draw dimension lines of the breadth and the height beside the active sculpture"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.add_dimensions"
    bl_label = "Add Dimension Lines"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_sculpture(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        operating.to_object_mode(context)
        root, scene = tags.root_of(context.active_object), context.scene
        dimensions.about(root, context.collection, convert.unit_per_mm(scene), _is_metric(scene))
        return {"FINISHED"}


def _is_metric(scene: bpy.types.Scene) -> bool:
    return scene.unit_settings.system != "IMPERIAL"


CLASSES = (PINWRIGHT_OT_make_picture, PINWRIGHT_OT_add_figure, PINWRIGHT_OT_add_dimensions)
