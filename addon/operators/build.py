# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Build a sculpture, build it again, remove it."""

from __future__ import annotations

import bpy

from .. import making, operating, scene, tags
from ..properties import settings_of

__all__ = ["CLASSES"]


class PINWRIGHT_OT_build_sculpture(bpy.types.Operator):
    """Make a new sculpture at the 3D cursor from the settings shown in the sidebar"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.build_sculpture"
    bl_label = "Build Sculpture"
    bl_options = {"REGISTER", "UNDO"}

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        settings, base = settings_of(context)
        with operating.progress(context) as told:
            root = making.add(context, settings, base, told)
        operating.to_object_mode(context)
        operating.stay_in_local_view(context, root)
        operating.show_only(context, root)
        operating.calm_view(context)
        _tell(self, root)
        return {"FINISHED"}


class PINWRIGHT_OT_rebuild_sculpture(bpy.types.Operator):
    """Build the active sculpture again from its settings, in its place"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.rebuild_sculpture"
    bl_label = "Rebuild Sculpture"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_own_sculpture(cls, context)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        with operating.progress(context) as told:
            making.rebuild(context, root, told)
        operating.to_object_mode(context)
        operating.stay_in_local_view(context, root)
        operating.show_only(context, root)
        _tell(self, root)
        return {"FINISHED"}


class PINWRIGHT_OT_remove_sculpture(bpy.types.Operator):
    """Take the active sculpture out of the file, with its meshes and collections"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.remove_sculpture"
    bl_label = "Remove Sculpture"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_own_sculpture(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        operating.to_object_mode(context)
        scene.remove_sculpture(tags.root_of(context.active_object))
        return {"FINISHED"}


def _tell(operator: bpy.types.Operator, root: bpy.types.Object) -> None:
    """Report figures, and as a warning how many checks failed."""
    figures = root.pinwright.figures
    failed = [finding.name for finding in figures.findings if not finding.ok]
    counts = (("plate", figures.plates), ("part", figures.parts), ("pin", figures.pins))
    size = ", ".join(f"{count} {noun}{'' if count == 1 else 's'}" for noun, count in counts)
    if failed:
        operator.report({"WARNING"}, f"{size}; not met: {', '.join(failed)}")
    else:
        operator.report({"INFO"}, size)


CLASSES = (
    PINWRIGHT_OT_build_sculpture,
    PINWRIGHT_OT_rebuild_sculpture,
    PINWRIGHT_OT_remove_sculpture,
)
