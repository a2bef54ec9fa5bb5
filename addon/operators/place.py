# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Place a sculpture in an existing scene: hang it, stand it, measure how near all else is."""

from __future__ import annotations

import bpy
import numpy as np
from bpy.props import BoolProperty, FloatVectorProperty
from mathutils import Vector

from ...core.errors import PinwrightError
from .. import clearance_lines, convert, making, operating, surroundings, tags
from ..lengths import length
from ..words import worded

__all__ = ["CLASSES"]


class _Placing:
    """What the operators share."""

    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_own_sculpture(cls, context)


class PINWRIGHT_OT_hang(_Placing, bpy.types.Operator):
    """Hang the sculpture below another selected object, or below the 3D cursor"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.hang"
    bl_label = "Hang from Point"

    drop: length("Drop", 300.0, "From the point straight down to where the sculpture is held")
    use_point: BoolProperty(options={"HIDDEN", "SKIP_SAVE"})
    point: FloatVectorProperty(
        name="Point", description="Where it hangs", subtype="XYZ_LENGTH", options={"SKIP_SAVE"}
    )

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        other = _other(context)
        self.point = context.scene.cursor.location if other is None else _foot(other)
        self.use_point = True
        return self.execute(context)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        if not self.use_point:
            other = _other(context)
            self.point = context.scene.cursor.location if other is None else _foot(other)
        ours = _ours(context, root)
        unit = convert.unit_per_mm(context.scene)
        held = surroundings.hang_point(root, making.build_of(root), ours)
        target = np.array(self.point) / unit - (0.0, 0.0, self.drop)
        _move(root, (target - held) * unit)
        self.report({"INFO"}, "Have what it hangs from judged by a licensed engineer")
        return {"FINISHED"}


class PINWRIGHT_OT_stand(_Placing, bpy.types.Operator):
    """Let the sculpture down onto another selected object, or onto what lies below it"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.stand"
    bl_label = "Stand on Surface"

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        other = _other(context)
        depsgraph = context.evaluated_depsgraph_get()
        round_it = surroundings.others(root, context.scene, depsgraph, other)
        ours = _ours(context, root)
        theirs = list(round_it.values())
        drop = None
        if theirs:
            flat = np.concatenate(theirs)
            drop = surroundings.drop_onto(ours, flat, above=other is not None)
        if drop is None:
            there = "below the sculpture" if other is None else f"of '{other.name}' below it"
            raise PinwrightError(f"There is no surface {there}: move it above one first.")
        _move(root, np.array((0.0, 0.0, -drop)) * convert.unit_per_mm(context.scene))
        self.report({"INFO"}, worded("Moved by {drop:.1f} mm", drop=drop))
        return {"FINISHED"}


class PINWRIGHT_OT_measure_clearances(_Placing, bpy.types.Operator):
    """Find the objects of the scene that are nearest to the sculpture, and how near they are"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.measure_clearances"
    bl_label = "Measure Clearances"

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        depsgraph = context.evaluated_depsgraph_get()
        with operating.progress(context) as told:
            told("clearances", 0.1)
            found = surroundings.clearances(root, context.scene, depsgraph)
        rows = root.pinwright.clearances
        rows.clear()
        for one in found:
            row = rows.add()
            row.name, row.distance = one.name, one.distance
            row.ours, row.theirs = one.ours, one.theirs
        root.pinwright.measured_at = _flat(root)
        if not found:
            self.report({"INFO"}, "There is nothing else to be seen in the scene")
        else:
            gap = clearance_lines.told(context.scene, found[0].distance)
            self.report({"INFO"}, worded("{name} is nearest: {gap}", name=found[0].name, gap=gap))
        return {"FINISHED"}


def _flat(root: bpy.types.Object) -> list[float]:
    return [value for row in root.matrix_world for value in row]


def _other(context: bpy.types.Context) -> bpy.types.Object | None:
    """Return the selected object that is no part of the active sculpture."""
    root = tags.root_of(context.active_object)
    return next((obj for obj in context.selected_objects if tags.root_of(obj) != root), None)


def _foot(obj: bpy.types.Object) -> Vector:
    return obj.matrix_world.translation.copy()


def _ours(context: bpy.types.Context, root: bpy.types.Object) -> np.ndarray:
    """Return the sculpture's triangles in the world, mm."""
    found = surroundings.sculpture_triangles(root, context.scene, context.evaluated_depsgraph_get())
    if not len(found):
        raise PinwrightError("No piece of the sculpture is visible: show it first.")
    return found


def _move(root: bpy.types.Object, way: np.ndarray) -> None:
    """Move a root in the world, whatever it hangs on."""
    world = root.matrix_world.copy()
    world.translation += Vector(way.tolist())
    root.matrix_world = world


CLASSES = (PINWRIGHT_OT_hang, PINWRIGHT_OT_stand, PINWRIGHT_OT_measure_clearances)
