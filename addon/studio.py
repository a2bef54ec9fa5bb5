# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A photographer's studio in a scene of its own: camera, three lights, a seamless backdrop.

The sculpture's collection is only linked into that scene. The user's own scene, with its camera,
lights and render settings, is never touched, so there is nothing to put back.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import numpy as np
from mathutils import Matrix, Vector

from . import framing, tags

__all__ = ["Studio", "close_studio", "light", "open_studio", "points_of"]

_NAME = "Studio"
_BACKDROP = (0.125, 0.117, 0.109)  # linear; warm grey
_WALL = 5.2  # of the backdrop behind the sculpture's centre, in its radii
_AIR = (0.022, 0.023, 0.025)  # what is reflected where there is no lamp


@dataclass(frozen=True, slots=True)
class _Lamp:
    """An area light; way and distance in radii of the sculpture, in the camera's axes."""

    name: str
    way: tuple[float, float, float]  # right, up (of the world), back towards the camera
    size: tuple[float, float]
    watts: float  # for a radius of one unit
    rgb: tuple[float, float, float]
    spread_deg: float  # full angle of the cone of light, so that it does not stain the backdrop


_LAMPS = (
    _Lamp("Key", (-2.4, 3.0, 2.4), (3.8, 3.8), 120.0, (1.0, 0.96, 0.91), 110.0),
    _Lamp("Fill", (4.2, 0.2, 1.6), (2.4, 5.0), 26.0, (0.90, 0.95, 1.0), 90.0),
    _Lamp("Rim", (2.6, 2.4, -2.6), (3.0, 5.0), 75.0, (1.0, 0.97, 0.93), 90.0),
    _Lamp("Backdrop", (0.0, 3.0, -1.2), (2.0, 1.0), 62.0, (1.0, 0.95, 0.88), 120.0),
)
_BLUR = 0.0035  # of the farthest point, share of the picture's width: the near side stands out


@dataclass(slots=True)
class Studio:
    """A scene ready to be rendered and all that was made for it."""

    scene: bpy.types.Scene
    made: list[bpy.types.ID]


def open_studio(
    root: bpy.types.Object,
    *,
    size: tuple[int, int],
    view: framing.View | None = None,
    points: np.ndarray | None = None,
    backdrop: bool = True,
) -> Studio:
    """Build a studio round a sculpture.

    points : (n, 3) world, scene units, what is to be in the picture; None: the sculpture as it
        stands now (exploded or not)
    backdrop : False leaves it out, for pictures without background
    """
    view = view or framing.View()
    made: list[bpy.types.ID] = []
    try:
        return _open(root, size, view, made, points, backdrop)
    except BaseException:
        bpy.data.batch_remove(made)
        raise


def close_studio(studio: Studio) -> None:
    """Take the studio out of the file again."""
    bpy.data.batch_remove(studio.made)


def _open(
    root: bpy.types.Object,
    size: tuple[int, int],
    view: framing.View,
    made: list[bpy.types.ID],
    points: np.ndarray | None,
    backdrop: bool,
) -> Studio:
    scene = bpy.data.scenes.new(_NAME)
    made.append(scene)
    scene[tags.STUDIO] = True
    for collection in root.users_collection:
        scene.collection.children.link(collection)
    scene.frame_current = bpy.context.scene.frame_current  # what is animated stays as it is seen
    scene.view_layers[0].update()
    if points is None:
        points = points_of(root)
    centre = (points.min(axis=0) + points.max(axis=0)) / 2
    radius = float(np.linalg.norm(points - centre, axis=1).max())
    _camera(scene, made, points, view, size)
    world_up = np.array([0.0, 0.0, 1.0])
    right = framing.axes(view)[0]
    ahead = np.cross(world_up, right)  # level, away from the camera
    for lamp in _LAMPS:
        sideways, up, back = lamp.way
        place = centre + radius * (sideways * right + up * world_up - back * ahead)
        aim = centre + (_WALL * radius * ahead if lamp.name == "Backdrop" else 0)
        light(scene, made, lamp, place, aim, radius)
    if backdrop:
        low = float(points[:, 2].min())
        _backdrop(scene, made, centre, low, radius, right, ahead)
    _world(scene, made)
    return Studio(scene, made)


def points_of(root: bpy.types.Object) -> np.ndarray:
    """Return all vertices of a sculpture (n, 3), world, scene units."""
    local: dict[bpy.types.Mesh, np.ndarray] = {}
    placed = []
    for piece in tags.pieces(root):
        mesh = piece.data
        if mesh not in local:
            flat = np.empty(3 * len(mesh.vertices), dtype=np.float32)
            mesh.vertices.foreach_get("co", flat)
            local[mesh] = flat.reshape(-1, 3).astype(float)
        world = np.array(piece.matrix_world, dtype=float)
        placed.append(local[mesh] @ world[:3, :3].T + world[:3, 3])
    return np.concatenate(placed)


def _camera(
    scene: bpy.types.Scene,
    made: list[bpy.types.ID],
    points: np.ndarray,
    view: framing.View,
    size: tuple[int, int],
) -> None:
    data = bpy.data.cameras.new("Studio Camera")
    made.append(data)
    data.lens_unit = "FOV"
    data.sensor_fit = "AUTO"  # the angle counts for the longer side
    data.angle = float(np.radians(view.angle_of_view_deg))
    place = framing.fit(points, view, size)
    away = np.linalg.norm(points - place, axis=1)
    data.clip_start = 0.1 * float(away.min())
    data.clip_end = 20 * float(away.max())
    _focus(data, points, place, framing.axes(view)[2], view)
    camera = _object(scene, made, "Studio Camera", data)
    turn = Matrix(framing.axes(view).T.tolist()).to_4x4()
    camera.matrix_world = Matrix.Translation(Vector(place.tolist())) @ turn
    scene.camera = camera


def _focus(
    data: bpy.types.Camera,
    points: np.ndarray,
    place: np.ndarray,
    back: np.ndarray,
    view: framing.View,
) -> None:
    """Make the near half sharp and let the far side go soft, whatever the sculpture's size.

    A point at depth z is a disc of aperture * |z - focus| / z in the plane of focus (thin lens).
    """
    depth = (place - points) @ back
    near, far = float(depth.min()), float(depth.max())
    focus = near + 0.2 * (far - near)
    width = 2 * focus * np.tan(np.radians(view.angle_of_view_deg) / 2)
    aperture = _BLUR * width * far / max(far - focus, 1e-9)
    data.dof.use_dof = True
    data.dof.focus_distance = focus
    data.dof.aperture_fstop = float(np.clip(data.lens * 1e-3 / aperture, 0.1, 128.0))


def light(
    scene: bpy.types.Scene,
    made: list[bpy.types.ID],
    lamp: _Lamp,
    place: np.ndarray,
    aim: np.ndarray,
    radius: float,
) -> None:
    """Hang an area light at a place (3,), turned to what it shines on; `radius` scales it."""
    data = bpy.data.lights.new(f"Studio {lamp.name}", "AREA")
    made.append(data)
    data.shape = "RECTANGLE"
    data.size, data.size_y = (radius * side for side in lamp.size)
    data.energy = lamp.watts * radius**2  # the same brightness at any size
    data.color = lamp.rgb
    data.spread = float(np.radians(lamp.spread_deg))
    light = _object(scene, made, f"Studio {lamp.name}", data)
    turn = Vector((aim - place).tolist()).to_track_quat("-Z", "Y").to_matrix().to_4x4()
    light.matrix_world = Matrix.Translation(Vector(place.tolist())) @ turn


def _backdrop(
    scene: bpy.types.Scene,
    made: list[bpy.types.ID],
    centre: np.ndarray,
    low: float,
    radius: float,
    right: np.ndarray,
    ahead: np.ndarray,
) -> None:
    """Roll out a sheet: floor below the sculpture, a wide curve, a wall behind it."""
    floor = low - 0.42 * radius - centre[2]
    bend, wall = 3.0 * radius, 14 * radius
    start, turn_at = -9 * radius, (_WALL - 3.0) * radius
    steps = np.radians(np.linspace(0, 90, 33))
    way = np.array([start, *(turn_at + bend * np.sin(steps)), turn_at + bend])
    height = floor + np.array([0, *(bend - bend * np.cos(steps)), wall])
    side = 16 * radius
    rows = [
        centre + y * ahead + z * np.array([0.0, 0.0, 1.0]) + x * right
        for y, z in zip(way, height, strict=True)
        for x in (-side, side)
    ]
    faces = [(2 * k, 2 * k + 1, 2 * k + 3, 2 * k + 2) for k in range(len(way) - 1)]
    mesh = bpy.data.meshes.new("Studio Backdrop")
    made.append(mesh)
    mesh.from_pydata([tuple(row) for row in rows], [], faces)
    mesh.polygons.foreach_set("use_smooth", [True] * len(faces))
    material = bpy.data.materials.new("Studio Backdrop")
    made.append(material)
    if bpy.app.version < (5, 0, 0):
        material.use_nodes = True
    nodes = material.node_tree.nodes
    nodes.clear()
    paper, output = nodes.new("ShaderNodeBsdfDiffuse"), nodes.new("ShaderNodeOutputMaterial")
    paper.inputs["Color"].default_value = (*_BACKDROP, 1.0)
    material.node_tree.links.new(paper.outputs[0], output.inputs["Surface"])
    material.diffuse_color = (*_BACKDROP, 1.0)
    mesh.materials.append(material)
    _object(scene, made, "Studio Backdrop", mesh)


def _world(scene: bpy.types.Scene, made: list[bpy.types.ID]) -> None:
    world = bpy.data.worlds.new("Studio Air")
    made.append(world)
    if bpy.app.version < (5, 0, 0):
        world.use_nodes = True
    nodes = world.node_tree.nodes
    nodes.clear()
    air, output = nodes.new("ShaderNodeBackground"), nodes.new("ShaderNodeOutputWorld")
    air.inputs["Color"].default_value = (*_AIR, 1.0)
    world.node_tree.links.new(air.outputs[0], output.inputs["Surface"])
    world.color = _AIR
    scene.world = world


def _object(
    scene: bpy.types.Scene, made: list[bpy.types.ID], name: str, data: bpy.types.ID
) -> bpy.types.Object:
    obj = bpy.data.objects.new(name, data)
    made.append(obj)
    obj[tags.STUDIO] = True
    scene.collection.objects.link(obj)
    return obj
