# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a sculpture comes nearest to the things round it, drawn in the 3D view with the distances.

What was measured is kept with the sculpture (properties.py); here it is only drawn, and no more
once the sculpture has moved: then the places are wrong.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
from mathutils import Vector

from . import tags
from .words import worded

__all__ = ["Line", "lines", "moved", "register", "told", "unregister"]

_MOVED = 1e-5  # scene units
_COLOR = (0.95, 0.9, 0.25, 1.0)  # the yellow of the palette that color-blind people tell apart
_PIXELS = 2.0
_DOT = 7.0  # pixels, at both ends: a line that is seen from its end is still seen
_TEXT = 12.0  # points

_handles: list[object] = []


@dataclass(frozen=True, slots=True)
class Line:
    """From the sculpture to another object, scene units in the world, and what is written there."""

    ours: Vector
    theirs: Vector
    text: str


def moved(root: bpy.types.Object) -> bool:
    """Return whether a sculpture stands elsewhere than where its clearances were measured."""
    now = [value for row in root.matrix_world for value in row]
    there = root.pinwright.measured_at
    return max(abs(a - b) for a, b in zip(now, there, strict=True)) > _MOVED


def told(scene: bpy.types.Scene, distance: float) -> str:
    """Return a distance (mm) in the scene's units; without units in mm."""
    if distance <= 0:
        return worded("Touches")
    units = scene.unit_settings
    if units.system == "NONE":
        return f"{distance:.0f} mm"
    return bpy.utils.units.to_string(units.system, "LENGTH", distance / 1000.0, precision=4)


def lines(scene: bpy.types.Scene, obj: bpy.types.Object | None) -> list[Line]:
    """Return what is to be drawn while this object is the active one."""
    root = tags.root_of(obj)
    if root is None or not root.pinwright.show_clearances or not root.pinwright.clearances:
        return []
    if not root.visible_get() or moved(root):
        return []
    return [
        Line(Vector(row.ours), Vector(row.theirs), f"{row.name}: {told(scene, row.distance)}")
        for row in root.pinwright.clearances
    ]


# ---------------------------------------------------------------- drawing


def _draw_lines() -> None:
    found = lines(bpy.context.scene, bpy.context.active_object)
    if not found:
        return
    import gpu  # late: without a window there is no graphics card
    from gpu_extras.batch import batch_for_shader

    ends = [[end.x, end.y, end.z] for line in found for end in (line.ours, line.theirs)]
    scale = bpy.context.preferences.system.ui_scale
    gpu.state.blend_set("ALPHA")
    gpu.state.depth_test_set("NONE")  # what is near may lie behind plates
    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR")
    shader.bind()
    shader.uniform_float("viewportSize", gpu.state.viewport_get()[2:])
    shader.uniform_float("lineWidth", _PIXELS * scale)
    shader.uniform_float("color", _COLOR)
    batch_for_shader(shader, "LINES", {"pos": ends}).draw(shader)
    dots = gpu.shader.from_builtin("UNIFORM_COLOR")
    dots.bind()
    dots.uniform_float("color", _COLOR)
    gpu.state.point_size_set(_DOT * scale)
    batch_for_shader(dots, "POINTS", {"pos": ends}).draw(dots)
    gpu.state.point_size_set(1.0)
    gpu.state.blend_set("NONE")


def _draw_texts() -> None:
    context = bpy.context
    found = lines(context.scene, context.active_object)
    if not found:
        return
    import blf
    from bpy_extras.view3d_utils import location_3d_to_region_2d

    font = 0
    blf.size(font, _TEXT * context.preferences.system.ui_scale)
    blf.color(font, *_COLOR)
    blf.enable(font, blf.SHADOW)
    blf.shadow(font, 5, 0.0, 0.0, 0.0, 0.9)  # readable before bright walls too
    for line in found:
        middle = (line.ours + line.theirs) / 2
        spot = location_3d_to_region_2d(context.region, context.region_data, middle)
        if spot is not None:
            blf.position(font, spot.x + 8, spot.y + 8, 0)
            blf.draw(font, line.text)
    blf.disable(font, blf.SHADOW)


def register() -> None:
    """Draw in every 3D view, where there is a window."""
    if not bpy.app.background:
        add = bpy.types.SpaceView3D.draw_handler_add
        _handles.append(add(_draw_lines, (), "WINDOW", "POST_VIEW"))
        _handles.append(add(_draw_texts, (), "WINDOW", "POST_PIXEL"))


def unregister() -> None:
    """Draw no more."""
    while _handles:
        handle = _handles.pop()
        bpy.types.SpaceView3D.draw_handler_remove(handle, "WINDOW")
