# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Labels of plates with leader lines: drawn over the 3D view, or made as objects for pictures.

Where they stand is core's choice (assembly/label_places.py). Those in the view are drawn anew each
time and are no objects; those for pictures are text and a curve that face a camera.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import blf
import bpy
import gpu
import numpy as np
from bpy_extras.object_utils import world_to_camera_view
from bpy_extras.view3d_utils import location_3d_to_region_2d
from gpu_extras.batch import batch_for_shader
from mathutils import Vector

from ..core.assembly.label_places import beside
from . import plan_view, tags

__all__ = [
    "LABEL",
    "anchor_of",
    "bake",
    "drop_unused",
    "end",
    "plane_of",
    "plane_point",
    "remove",
    "start",
    "text_object",
]

LABEL = "pinwright_label"  # objects, collections, curves and materials that labels are made of
_AIR = 36  # pixels between the plates and their labels, at a resolution scale of 1
_WIDE = 0.58  # of a letter of the built-in font, in its size
_LINE = (0.05, 0.05, 0.06)
_handle: list[object] = []


# ---------------------------------------------------------------- in the view


def start() -> None:
    """Draw labels in all 3D views from now on, where a sculpture's settings ask for them."""
    if not _handle:
        _handle.append(bpy.types.SpaceView3D.draw_handler_add(_draw, (), "WINDOW", "POST_PIXEL"))


def end() -> None:
    """Draw none any more."""
    while _handle:
        bpy.types.SpaceView3D.draw_handler_remove(_handle.pop(), "WINDOW")


def _draw() -> None:
    context = bpy.context
    root = tags.root_of(context.active_object)
    space = context.space_data
    if root is None or context.region_data is None or not space.overlay.show_overlays:
        return
    shown = plan_view.labelled(root)
    if not shown:
        return
    plan = root.pinwright_plan
    scale = context.preferences.system.ui_scale
    font, size = 0, plan.label_size * scale
    blf.size(font, size)
    region = context.region
    low, high = _clear(context.area, region)
    points, texts = [], []
    for piece in shown:
        if not piece.visible_get():
            continue
        at = location_3d_to_region_2d(region, context.region_data, anchor_of(piece))
        if at is not None and low <= at.x <= high:
            points.append(at)
            texts.append(piece[tags.PLATE])
    if not points:
        return
    places = np.array([(point.x, point.y) for point in points])
    sizes = np.array([blf.dimensions(font, text) for text in texts], dtype=float)
    sizes[:, 1] = size
    air, widest = _AIR * scale, float(sizes[:, 0].max())
    frame = (
        max(places[:, 0].min() - air - widest, low),
        8.0,
        min(places[:, 0].max() + air + widest, high),
        region.height - 8.0,
    )
    corners, ends = beside(places, sizes, frame, 0.35 * size)
    ends[:, 0] += np.where(ends[:, 0] < places[:, 0], 0.3, -0.3) * size  # off the letters
    theme = context.preferences.themes[0].view_3d.space.text_hi
    color = (theme.r, theme.g, theme.b)
    _draw_lines(ends, places, color, scale)
    blf.color(font, color[0], color[1], color[2], 1.0)
    blf.enable(font, blf.SHADOW)
    blf.shadow(font, 3, 0.0, 0.0, 0.0, 0.8)
    for (x, y), text in zip(corners.tolist(), texts, strict=True):
        blf.position(font, x, y + 0.2 * size, 0.0)
        blf.draw(font, text)
    blf.disable(font, blf.SHADOW)


def _clear(area: bpy.types.Area, region: bpy.types.Region) -> tuple[float, float]:
    """Return from where to where a view is seen beside the tools and the sidebar that lie on it."""
    low, high = 8.0, region.width - 8.0
    for other in area.regions:
        if other.width <= 1 or other.x < region.x or other.x >= region.x + region.width:
            continue
        if other.type == "UI" and other.alignment == "RIGHT":
            high = min(high, other.x - region.x - 8.0)
        elif other.type == "TOOLS" and other.alignment == "LEFT":
            low = max(low, other.x + other.width - region.x + 8.0)
    return low, max(high, low + 1.0)


def _draw_lines(
    ends: np.ndarray, points: np.ndarray, color: tuple[float, ...], scale: float
) -> None:
    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR")
    flat = np.zeros((2 * len(ends), 3), dtype=np.float32)
    flat[0::2, :2], flat[1::2, :2] = ends, points
    batch = batch_for_shader(shader, "LINES", {"pos": flat.tolist()})
    gpu.state.blend_set("ALPHA")
    shader.bind()
    shader.uniform_float("viewportSize", gpu.state.viewport_get()[2:])
    shader.uniform_float("lineWidth", 1.2 * scale)
    shader.uniform_float("color", (*color, 0.75))
    batch.draw(shader)
    gpu.state.blend_set("NONE")


def anchor_of(piece: bpy.types.Object) -> Vector:
    """Return a point on a plate, as it stands, world: the middle of its largest face."""
    mesh = piece.data
    if not len(mesh.polygons):
        return piece.matrix_world.translation.copy()
    areas = np.empty(len(mesh.polygons), dtype=np.float32)
    mesh.polygons.foreach_get("area", areas)
    return piece.matrix_world @ mesh.polygons[int(areas.argmax())].center


# ---------------------------------------------------------------- as objects


@dataclass(frozen=True, slots=True)
class _Plane:
    """A plane square to a camera's view. depth : in front of it; size : (2,) of what it sees."""

    camera: bpy.types.Object
    depth: float
    size: tuple[float, float]


def plane_of(scene: bpy.types.Scene, camera: bpy.types.Object, depth: float) -> _Plane:
    """Return the plane that a camera sees whole at some depth."""
    corners = camera.data.view_frame(scene=scene)
    size = (corners[0].x - corners[2].x, corners[0].y - corners[2].y)
    if camera.data.type != "ORTHO":
        grow = depth / -corners[0].z
        size = (size[0] * grow, size[1] * grow)
    return _Plane(camera, depth, size)


def plane_point(scene: bpy.types.Scene, plane: _Plane, x: float, y: float) -> Vector:
    """Return a point of a plane, world; x, y from 0 to 1 over the picture, y up."""
    corners = plane.camera.data.view_frame(scene=scene)
    low, high = corners[2], corners[0]
    grow = 1.0 if plane.camera.data.type == "ORTHO" else plane.depth / -corners[0].z
    local = Vector(
        (
            (low.x + x * (high.x - low.x)) * grow,
            (low.y + y * (high.y - low.y)) * grow,
            -plane.depth,
        )
    )
    return plane.camera.matrix_world @ local


def bake(
    scene: bpy.types.Scene,
    camera: bpy.types.Object,
    entries: Sequence[tuple[Vector, str]],
    home: bpy.types.Collection,
    size: float,
    frame: tuple[float, float, float, float] = (0.02, 0.03, 0.98, 0.97),
) -> list[bpy.types.ID]:
    """Make text objects and their leaders in front of a camera; return what was made.

    entries : point (world) and text; size : of the letters, share of the picture's height
    frame : of the picture in which labels may stand, shares of it
    """
    seen = [world_to_camera_view(scene, camera, point) for point, _ in entries]
    depth = 0.8 * min((co.z for co in seen), default=1.0)
    plane = plane_of(scene, camera, max(depth, 1.05 * camera.data.clip_start))
    width, height = plane.size
    letters = size * height
    points = np.array([(co.x * width, co.y * height) for co in seen]).reshape(-1, 2)
    sizes = np.array([(_WIDE * letters * len(text), letters) for _, text in entries])
    box = (frame[0] * width, frame[1] * height, frame[2] * width, frame[3] * height)
    corners, ends = beside(points, sizes.reshape(-1, 2), box, 0.35 * letters)
    ends[:, 0] += np.where(ends[:, 0] < points[:, 0], 0.3, -0.3) * letters  # off the letters
    made: list[bpy.types.ID] = []
    for (_, text), corner, extent in zip(entries, corners, sizes, strict=True):
        right = corner[0] < width / 2  # its leader starts at its right
        x = corner[0] + (extent[0] if right else 0.0)
        at = plane_point(scene, plane, x / width, (corner[1] + 0.2 * letters) / height)
        made += text_object(home, camera, text, at, letters, align="RIGHT" if right else "LEFT")
    places = [
        (
            plane_point(scene, plane, end[0] / width, end[1] / height),
            plane_point(scene, plane, point[0] / width, point[1] / height),
        )
        for end, point in zip(ends.tolist(), points.tolist(), strict=True)
    ]
    if places:
        made += _leaders(home, places, 0.03 * letters)
    return made


def text_object(
    home: bpy.types.Collection,
    camera: bpy.types.Object,
    text: str,
    at: Vector,
    size: float,
    *,
    align: str = "LEFT",
    width: float = 0.0,
    color: tuple[float, float, float] = _LINE,
) -> list[bpy.types.ID]:
    """Make a text that faces a camera, now and when it moves; width : to break lines at."""
    curve = bpy.data.curves.new(f"Label {text[:20]}", "FONT")
    curve.body, curve.size, curve.align_x = text, size, align
    if width:
        curve.text_boxes[0].width = width
    obj = bpy.data.objects.new(curve.name, curve)
    obj.location = at
    obj.rotation_euler = camera.matrix_world.to_euler()
    facing = obj.constraints.new("COPY_ROTATION")
    facing.target = camera
    obj.color = (*color, 1.0)
    curve.materials.append(_material(color))
    home.objects.link(obj)
    obj[LABEL] = curve[LABEL] = True
    return [obj, curve]


def _leaders(
    home: bpy.types.Collection, lines: Sequence[tuple[Vector, Vector]], radius: float
) -> list[bpy.types.ID]:
    curve = bpy.data.curves.new("Leaders", "CURVE")
    curve.dimensions = "3D"
    curve.bevel_depth, curve.bevel_resolution = radius, 1
    for start_at, end_at in lines:
        spline = curve.splines.new("POLY")
        spline.points.add(1)
        spline.points[0].co = (*start_at, 1.0)
        spline.points[1].co = (*end_at, 1.0)
    obj = bpy.data.objects.new("Leaders", curve)
    obj.color = (*_LINE, 1.0)
    curve.materials.append(_material(_LINE))
    home.objects.link(obj)
    obj[LABEL] = curve[LABEL] = True
    return [obj, curve]


def _material(color: tuple[float, float, float]) -> bpy.types.Material:
    """Return a plain material of one color, kept for all labels."""
    key = " ".join(f"{value:.3f}" for value in color)
    for material in bpy.data.materials:
        if material.get(LABEL) == key:
            return material
    material = bpy.data.materials.new("Label")
    material[LABEL] = key
    material.diffuse_color = (*color, 1.0)
    if bpy.app.version < (5, 0, 0):
        material.use_nodes = True
    nodes = material.node_tree.nodes
    nodes.clear()
    light = nodes.new("ShaderNodeEmission")
    light.inputs["Color"].default_value = (*color, 1.0)
    output = nodes.new("ShaderNodeOutputMaterial")
    material.node_tree.links.new(light.outputs["Emission"], output.inputs["Surface"])
    return material


def remove(root: bpy.types.Object) -> int:
    """Take the label objects of a sculpture away; return how many collections went."""
    homes = [
        child
        for place in root.users_collection
        for child in place.children
        if child.get(LABEL) and not child.library
    ]
    for home in homes:
        ours = [obj for obj in home.objects if LABEL in obj]
        data = [obj.data for obj in ours]
        for obj in [obj for obj in home.objects if LABEL not in obj]:
            if len(obj.users_collection) == 1:  # the user's own, put in by hand
                for place in root.users_collection[:1]:
                    place.objects.link(obj)
        bpy.data.batch_remove([*ours, *data, home])
    drop_unused()
    return len(homes)


def drop_unused() -> None:
    """Take materials of labels away that nothing uses any more."""
    unused = [m for m in bpy.data.materials if LABEL in m and m.users == 0]
    if unused:
        bpy.data.batch_remove(unused)
