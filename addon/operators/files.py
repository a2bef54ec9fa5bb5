# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Design files in and out, cut files out."""

from __future__ import annotations

from pathlib import Path

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy_extras.io_utils import ExportHelper, ImportHelper

from ...core.design.read import read_design
from ...core.errors import OutputError
from ...core.export.files import write_build
from .. import making, operating, store, tags
from ..properties import settings_of
from ..words import worded
from .beside import BuildsBeside

__all__ = ["CLASSES"]


class PINWRIGHT_OT_open_design(BuildsBeside, bpy.types.Operator, ImportHelper):
    """Read a design file and build its sculpture at the 3D cursor"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.open_design"
    bl_label = "Open Design"
    bl_options = {"REGISTER", "UNDO"}

    filename_ext = ".toml"
    filter_glob: StringProperty(default="*.toml", options={"HIDDEN"})
    # Not remembered, so that it is set only when a file was dropped.
    filepath: StringProperty(subtype="FILE_PATH", options={"SKIP_SAVE", "HIDDEN"})

    def order(self, context: bpy.types.Context) -> making.Order:
        return making.order_of(read_design(self.filepath))

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        asked, self._asked = getattr(self, "_asked", False), False
        if asked and self.takes_long(self.order(context)):
            # Here from the file browser, where nothing can be waited for: begin once more.
            bpy.ops.pinwright.open_design("INVOKE_DEFAULT", True, filepath=self.filepath)
            return {"FINISHED"}
        design = read_design(self.filepath)
        look = settings_of(context)[0].look
        with operating.progress(context) as told:
            root = making.add_design(context, design, look, told)
        operating.to_object_mode(context)
        operating.stay_in_local_view(context, root)
        operating.show_only(context, root)
        operating.calm_view(context)
        self.report(
            {"INFO"},
            worded("Built {name} from {file}", name=design.name, file=Path(self.filepath).name),
        )
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        if self.filepath:
            return BuildsBeside.invoke(self, context, event)
        self._asked = True
        return ImportHelper.invoke(self, context, event)


class PINWRIGHT_OT_save_design(bpy.types.Operator, ExportHelper):
    """Write the design of the active sculpture, as it was last built, to a design file"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.save_design"
    bl_label = "Save Design"
    bl_options = {"REGISTER"}

    filename_ext = ".toml"
    filter_glob: StringProperty(default="*.toml", options={"HIDDEN"})

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_sculpture(cls, context)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        written = store.write_design_files(tags.root_of(context.active_object), Path(self.filepath))
        self.report({"INFO"}, "Wrote " + ", ".join(path.name for path in written))
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        self.filepath = operating.suggested_path(context, ".toml")
        return ExportHelper.invoke(self, context, event)


class PINWRIGHT_OT_export_cut_files(bpy.types.Operator):
    """Write cut files, tables and the build file of the active sculpture into a folder"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.export_cut_files"
    bl_label = "Export Cut Files"
    bl_options = {"REGISTER"}

    directory: StringProperty(name="Folder", subtype="DIR_PATH")
    filter_folder: BoolProperty(default=True, options={"HIDDEN"})
    kerf: BoolProperty(
        name="Compensate Kerf",
        description="Move the cut lines by half the kerf, so that the plates come out true",
        default=False,
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_sculpture(cls, context)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        if not self.directory:
            raise OutputError("No folder is chosen; choose where the cut files shall go.")
        folder = Path(bpy.path.abspath(self.directory))
        with operating.progress(context) as told:
            build = making.build_of(tags.root_of(context.active_object), told)
        written = write_build(build, folder, kerf=self.kerf)
        self.report(
            {"INFO"}, worded("Wrote {count} files to {folder}", count=len(written), folder=folder)
        )
        return {"FINISHED"}

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}


class PINWRIGHT_FH_design_toml(bpy.types.FileHandler):
    """Lets design files be dropped into the 3D view."""

    bl_idname = "PINWRIGHT_FH_design_toml"
    bl_label = "Sculpture Design"
    bl_import_operator = "pinwright.open_design"
    bl_file_extensions = ".toml"

    @classmethod
    def poll_drop(cls, context: bpy.types.Context) -> bool:
        return context.area is not None and context.area.type == "VIEW_3D"


CLASSES = (
    PINWRIGHT_OT_open_design,
    PINWRIGHT_OT_save_design,
    PINWRIGHT_OT_export_cut_files,
    PINWRIGHT_FH_design_toml,
)
