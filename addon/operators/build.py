# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Build a sculpture, build it again, remove it."""

from __future__ import annotations

from typing import Any

import bpy
from bpy.props import EnumProperty, StringProperty

from ...core.errors import PinwrightError
from .. import (
    changes,
    convert,
    esc_key,
    joints_beside,
    live,
    making,
    menu_items,
    operating,
    properties,
    scene,
    store,
    tags,
)
from ..lengths import length
from ..properties import settings_of
from ..words import worded
from .beside import BuildsBeside

__all__ = ["CLASSES", "STARTS", "draw_starts"]

# Starts that look good without a number typed: what each sets of the scene's settings.
STARTS = {
    "EDGES": (
        "Edge Rotors",
        "A strip on each edge of an icosahedron; each goes through its neighbor",
        "MESH_ICOSPHERE",
        {"frame_from": "SOLID", "solid": "ICOSAHEDRON", "recipe": "EDGE_ROTOR"},
    ),
    "SQUARE": (
        "Right-Angle Orbit",
        "One curved strip, sixty times; all of its joints are square",
        "FORCE_VORTEX",
        {
            "frame_from": "SOLID",
            "solid": "ICOSAHEDRON",
            "recipe": "RIGHT_ANGLE",
            "bend": "SMOOTH",
        },
    ),
    "RINGS": (
        "Crossing Rings",
        "Flat rings through the center of a cube, slotted into one another",
        "MESH_TORUS",
        {"frame_from": "SOLID", "solid": "CUBE", "recipe": "RINGS", "axes": "4"},
    ),
    "OBJECT": (
        "From Selected Mesh",
        "A strip on each edge of the active closed mesh, at its size and place",
        "OBJECT_DATA",
        {"frame_from": "OBJECT", "frame_object": None, "recipe": "EDGE_ROTOR"},
    ),
}
_SHEETS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0)  # mm, as usually sold
_ADJUSTED = ("solid", "recipe", "diameter", "width", "thickness", "material")


_BY_RECIPE = tuple(item for item in menu_items.RECIPES if item[0] not in ("MOTIFS", "OTHER"))


def _choice(name: str, items: tuple, default: str, description: str) -> EnumProperty:
    return EnumProperty(
        name=name, items=items, default=default, description=description, options={"SKIP_SAVE"}
    )


class PINWRIGHT_OT_build_sculpture(BuildsBeside, bpy.types.Operator):
    """Make a new sculpture at the 3D cursor from the settings shown in the sidebar"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.build_sculpture"
    bl_label = "Build Sculpture"
    bl_options = {"REGISTER", "UNDO"}

    start: EnumProperty(
        name="Start",
        description="What to begin with instead of the settings shown",
        items=(
            ("SETTINGS", "Settings", "What the sidebar shows"),
            *((key, *start[:2]) for key, start in STARTS.items()),
        ),
        default="SETTINGS",
        options={"SKIP_SAVE", "HIDDEN"},
    )
    # What can be changed in the panel of the last operation; those not set are the settings'.
    solid: _choice("Solid", menu_items.SOLIDS, "ICOSAHEDRON", "What everything hangs on")
    recipe: _choice("Recipe", _BY_RECIPE, "EDGE_ROTOR", "How the plates are found from the frame")
    diameter: length("Diameter", 600.0, "Of the sphere through the frame's vertices", least=1.0)
    width: length("Strip Width", 30.0, "Width of the strips", least=0.01, step=0.2)
    thickness: length("Thickness", 3.0, "Of the sheet, as measured", least=0.01)
    material: _choice("Material", menu_items.SHEETS, menu_items.SHEETS[0][0], "Kind of sheet")

    @classmethod
    def description(cls, context: bpy.types.Context, wanted: bpy.types.OperatorProperties) -> str:
        if wanted.start != "SETTINGS":
            return STARTS[wanted.start][1]
        return cls.__doc__ or ""

    def order(self, context: bpy.types.Context) -> making.Order:
        settings, base = self._chosen(context)
        with changes.paused():
            kept = self._enter(context, settings)
            try:
                known = store.stored_design(base) if base is not None else None
                return making.ordered(context, kept, known, base)
            finally:
                self._leave(kept)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        operating.to_object_mode(context)
        settings, base = self._chosen(context)
        with changes.paused():
            kept = self._enter(context, settings)
            try:
                with operating.progress(context) as told:
                    root = making.add(context, kept, base, told)
            except PinwrightError:
                self._leave(kept)
                raise
            self._leave(kept)
            self._show(root.pinwright)
        operating.stay_in_local_view(context, root)
        operating.show_only(context, root)
        operating.calm_view(context)
        _tell(self, root)
        return {"FINISHED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.use_property_split = True
        settings, root = settings_of(context)
        for name in _ADJUSTED:
            if name == "solid" and root is not None and settings.frame_from != "SOLID":
                continue
            if name == "diameter" and root is not None and settings.frame_from == "OBJECT":
                continue
            layout.prop(self, name)

    def _chosen(
        self, context: bpy.types.Context
    ) -> tuple[properties.PinwrightSettings, bpy.types.Object | None]:
        """Return the settings to build from and the sculpture that they belong to, if any."""
        return settings_of(context) if self.start == "SETTINGS" else (context.scene.pinwright, None)

    def _enter(
        self, context: bpy.types.Context, settings: properties.PinwrightSettings
    ) -> properties.PinwrightSettings:
        """Lay the start and what was adjusted over the settings; returns those to build from."""
        wanted = {}
        if self.start != "SETTINGS":
            wanted = {**STARTS[self.start][3], **_sizes(context, self.start)}
        for name in _ADJUSTED:
            if self.properties.is_property_set(name):
                wanted[name] = getattr(self, name)
        if wanted.get("solid", settings.solid) != settings.solid:
            wanted["frame_from"] = "SOLID"
        self._before = {name: getattr(settings, name) for name in wanted}
        for name, value in wanted.items():
            setattr(settings, name, value)
        return settings

    def _leave(self, settings: properties.PinwrightSettings) -> None:
        for name, value in self._before.items():
            setattr(settings, name, value)

    def _show(self, settings: properties.PinwrightSettings) -> None:
        """Show in the panel of the last operation what was built."""
        for name in _ADJUSTED:
            if name == "recipe" and settings.recipe in ("MOTIFS", "OTHER"):
                continue
            setattr(self, name, getattr(settings, name))


def _sizes(context: bpy.types.Context, start: str) -> dict[str, float]:
    """Return sizes that suit a start: strips in proportion, the sheet as it is sold."""
    size = 600.0
    if start == "OBJECT" and context.active_object is not None:
        size = context.active_object.dimensions.length / convert.unit_per_mm(context.scene)
    size = max(size, 10.0)
    thickness = min(_SHEETS, key=lambda one: abs(one - size / 200))
    return {"diameter": size, "width": float(f"{size / 20:.2g}"), "thickness": thickness}


class PINWRIGHT_OT_rebuild_sculpture(BuildsBeside, bpy.types.Operator):
    """Build the active sculpture again from its settings, in its place"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.rebuild_sculpture"
    bl_label = "Rebuild Sculpture"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_own_sculpture(cls, context)

    def order(self, context: bpy.types.Context) -> making.Order:
        root = tags.root_of(context.active_object)
        return making.ordered(context, root.pinwright, store.stored_design(root), root)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        with operating.progress(context) as told:
            making.rebuild(context, root, told)
        operating.stay_in_local_view(context, root)
        operating.show_only(context, root)
        _tell(self, root)
        return {"FINISHED"}


class PINWRIGHT_OT_show_joints(bpy.types.Operator):
    """Show a sculpture with the joints that were cut beside Blender"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.show_joints"
    bl_label = "Show Joints"
    bl_options = {"UNDO", "INTERNAL"}

    root: StringProperty(options={"HIDDEN", "SKIP_SAVE"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        root: Any = bpy.data.objects.get(self.root)
        return {"FINISHED"} if root is not None and live.full(root) else {"CANCELLED"}


class PINWRIGHT_OT_stop_building(esc_key.EndedByEsc, bpy.types.Operator):
    """Give up cutting the joints; the sculpture is left as it is seen"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.stop_building"
    bl_label = "Stop Cutting Joints"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not joints_beside.running():
            cls.poll_message_set("No joints are being cut just now")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> set[str]:
        joints_beside.stop()
        self.report({"INFO"}, "Stopped; rebuild the sculpture to cut its joints")
        return {"FINISHED"}


class PINWRIGHT_MT_add(bpy.types.Menu):
    """Starts of a sculpture"""  # noqa: D400 - a tooltip

    bl_idname = "PINWRIGHT_MT_add"
    bl_label = "Sheet Sculpture"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.operator_context = "INVOKE_REGION_WIN"
        draw_starts(layout)
        layout.separator()
        layout.operator("pinwright.build_sculpture", text="From Settings", icon="PREFERENCES")
        layout.operator("pinwright.open_design", text="From Design File...", icon="FILE_FOLDER")
        layout.operator("pinwright.open_search", text="From a Search...", icon="VIEWZOOM")


def draw_starts(layout: bpy.types.UILayout) -> None:
    """Draw a button for each start."""
    icon: Any
    for key, (words, _, icon, _) in STARTS.items():
        layout.operator("pinwright.build_sculpture", text=words, icon=icon).start = key


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
        operator.report(
            {"WARNING"}, worded("{size}; not met: {checks}", size=size, checks=", ".join(failed))
        )
    else:
        operator.report({"INFO"}, size)


CLASSES = (
    PINWRIGHT_MT_add,
    PINWRIGHT_OT_build_sculpture,
    PINWRIGHT_OT_rebuild_sculpture,
    PINWRIGHT_OT_remove_sculpture,
    PINWRIGHT_OT_show_joints,
    PINWRIGHT_OT_stop_building,
)
