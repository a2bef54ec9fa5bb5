# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A plain room of our own for proposals: boards, plaster, a tall window, a person for scale.

Like the studio it is a scene of its own: the sculpture is linked in, and the room is built round
the place where it hangs, so that nothing of the artist's scene is touched.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import numpy as np
from mathutils import Matrix, Vector

from . import dimensions, figure, looks, nodes, prisms, studio, tags

__all__ = ["RoomChoice", "open_room"]

_CLEAR_MM = 2300.0  # free height below what hangs: heads and raised hands pass, from experience
_ABOVE_MM = 700.0  # from the sculpture to the ceiling, at least
_EYE_MM = 1600.0
_PLASTER, _CEILING = (0.30, 0.285, 0.262), (0.55, 0.54, 0.52)
_BOARDS = ((0.21, 0.125, 0.066), (0.135, 0.078, 0.04))
_FRAME, _SKY = (0.10, 0.105, 0.11), (1.38, 1.49, 1.6)
_WATTS = 34.0
_LENS_DEG = 54.0  # of the longer side
_EDGE = 0.04  # free share of the picture at each side


@dataclass(frozen=True, slots=True)
class RoomChoice:
    """What stands in the room beside the sculpture; standing : on the floor, not hung."""

    person: bool = True
    measures: bool = True
    metric: bool = True
    standing: bool = False


@dataclass(frozen=True, slots=True)
class _Space:
    """Sizes in scene units, world axes: the window is in the wall at the left, -x."""

    unit: float
    low: np.ndarray
    high: np.ndarray
    floor: float
    ceiling: float
    left: float
    right: float
    front: float
    back: float

    @property
    def middle(self) -> np.ndarray:
        return (self.low + self.high) / 2


def open_room(
    root: bpy.types.Object, *, size: tuple[int, int], choice: RoomChoice | None = None
) -> studio.Studio:
    """Build a room round a sculpture as it stands."""
    made: list[bpy.types.ID] = []
    try:
        return _open(root, size, choice or RoomChoice(), made)
    except BaseException:
        bpy.data.batch_remove(made)
        raise


def _open(
    root: bpy.types.Object, size: tuple[int, int], choice: RoomChoice, made: list[bpy.types.ID]
) -> studio.Studio:
    scene = bpy.data.scenes.new("Room")
    made.append(scene)
    scene[tags.STUDIO] = True
    scene.unit_settings.scale_length = bpy.context.scene.unit_settings.scale_length
    for collection in root.users_collection:
        scene.collection.children.link(collection)
    scene.frame_current = bpy.context.scene.frame_current  # what is animated stays as it is seen
    scene.view_layers[0].update()
    points = studio.points_of(root)
    space = _space(points, root.get(tags.UNIT, 0.001), choice)
    before = {kind: set(getattr(bpy.data, kind)) for kind in ("objects", "meshes", "curves")}
    _walls(scene, space)
    _cords(scene, space, points, choice)
    seen = [points]
    if choice.person:
        seen.append(_person(scene, space))
    if choice.measures:
        seen.append(_measures(scene, space, choice))
    for kind, known in before.items():
        made.extend(block for block in getattr(bpy.data, kind) if block not in known)
    _window_light(scene, made, space)
    _air(scene, made)
    _camera(scene, made, space, np.concatenate(seen), size)
    return studio.Studio(scene, made)


def _space(points: np.ndarray, unit: float, choice: RoomChoice) -> _Space:
    low, high = points.min(axis=0), points.max(axis=0)
    middle = (low + high) / 2
    broad = float(max(high[0] - low[0], high[1] - low[1]))
    floor = float(low[2]) - (0.0 if choice.standing else _CLEAR_MM * unit)
    ceiling = float(high[2]) + max(_ABOVE_MM * unit, 0.35 * broad)
    ceiling = max(ceiling, floor + 2800.0 * unit)
    half = max(1.6 * broad, 2600.0 * unit)
    return _Space(
        unit,
        low,
        high,
        floor,
        ceiling,
        float(middle[0]) - 1.1 * half,
        float(middle[0]) + 1.25 * half,
        float(middle[1]) - 3.2 * half,
        float(middle[1]) + 1.15 * half,
    )


# ---------------------------------------------------------------- what it is built of


def _walls(scene: bpy.types.Scene, s: _Space) -> None:
    l, r, f, b, z0, z1 = s.left, s.right, s.front, s.back, s.floor, s.ceiling  # noqa: E741
    floor = _panel(scene, "Floor", [(l, f, z0), (r, f, z0), (r, b, z0), (l, b, z0)])
    floor.data.materials.append(looks.floor_boards(*_BOARDS, s.unit))
    uv = floor.data.uv_layers.new(name="Flat")
    for loop, (x, y) in zip(uv.data, ((l, f), (r, f), (r, b), (l, b)), strict=True):
        loop.uv = (y, x)
    ceiling = [(l, b, z1), (r, b, z1), (r, f, z1), (l, f, z1)]
    _panel(scene, "Ceiling", ceiling).data.materials.append(nodes.matt("Room Ceiling", _CEILING))
    plaster = nodes.matt("Room Plaster", _PLASTER)
    back = [(l, b, z0), (r, b, z0), (r, b, z1), (l, b, z1)]
    right = [(r, b, z0), (r, f, z0), (r, f, z1), (r, b, z1)]
    front = [(r, f, z0), (l, f, z0), (l, f, z1), (r, f, z1)]
    for name, corners in (("Back Wall", back), ("Right Wall", right), ("Front Wall", front)):
        wall = _panel(scene, name, corners)
        wall.data.materials.append(plaster)
        wall.visible_camera = name != "Front Wall"
    for (y0, y1), (za, zb) in _left_wall(s):
        corners = [(l, y0, za), (l, y1, za), (l, y1, zb), (l, y0, zb)]
        _panel(scene, "Left Wall", corners).data.materials.append(plaster)
    skirting = nodes.matt("Room Skirting", (0.42, 0.40, 0.37))
    high, deep = 90.0 * s.unit, 15.0 * s.unit
    for name, low, top in (
        ("Skirting", (l, b - deep, z0), (r, b, z0 + high)),
        ("Skirting", (r - deep, f, z0), (r, b, z0 + high)),
        ("Skirting", (l, f, z0), (l + deep, b, z0 + high)),
    ):
        _box(scene, name, low, top).data.materials.append(skirting)
    bars = nodes.matt("Room Window Frame", _FRAME, 0.4)
    thick = 50.0 * s.unit
    y0, y1, za, zb = _window(s)
    uprights = np.linspace(y0, y1, 4)
    levels = (za, za + 0.68 * (zb - za), zb)
    for y in uprights:
        low, top = (l - thick, y - thick / 2, za), (l + thick / 2, y + thick / 2, zb)
        _box(scene, "Window Bar", low, top).data.materials.append(bars)
    for z in levels:
        low, top = (l - thick, y0, z - thick / 2), (l + thick / 2, y1, z + thick / 2)
        _box(scene, "Window Bar", low, top).data.materials.append(bars)
    sky = [(l - 2 * thick, y0, za), (l - 2 * thick, y1, za), (l - 2 * thick, y1, zb),
           (l - 2 * thick, y0, zb)]  # fmt: skip
    pane = _panel(scene, "Sky", sky)
    pane.data.materials.append(nodes.glowing("Room Sky", _SKY))
    pane.visible_shadow = False


def _window(s: _Space) -> tuple[float, float, float, float]:
    """Return the window's sides: near, far, sill, head."""
    deep = s.back - s.front
    return (
        s.back - 0.48 * deep,
        s.back - 0.08 * deep,
        s.floor + 500 * s.unit,
        s.ceiling - 350 * s.unit,
    )


def _left_wall(s: _Space) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    y0, y1, za, zb = _window(s)
    return [
        ((s.front, y0), (s.floor, s.ceiling)),
        ((y1, s.back), (s.floor, s.ceiling)),
        ((y0, y1), (s.floor, za)),
        ((y0, y1), (zb, s.ceiling)),
    ]


def _cords(scene: bpy.types.Scene, s: _Space, points: np.ndarray, choice: RoomChoice) -> None:
    """Hang the sculpture on three thin steel cords from its highest places."""
    if choice.standing:
        return
    top = points[points[:, 2] > s.high[2] - 0.08 * (s.high[2] - s.low[2])]
    middle = s.middle[:2]
    chosen = []
    for angle in np.radians((90.0, 210.0, 330.0)):
        way = np.array([np.cos(angle), np.sin(angle)])
        chosen.append(top[np.argmax((top[:, :2] - middle) @ way)])
    steel = looks.pin_material(s.unit)
    for end in chosen:
        cord = _rod(scene, "Cord", end, np.array([end[0], end[1], s.ceiling]), 1.5 * s.unit)
        cord.data.materials.append(steel)


def _person(scene: bpy.types.Scene, s: _Space) -> np.ndarray:
    aside = 0.5 * (s.high[0] - s.low[0]) + 450.0 * s.unit
    place = (float(s.middle[0] - aside), float(s.middle[1] - 250.0 * s.unit), s.floor)
    person = figure.add_figure(scene.collection, s.unit, place)
    person.rotation_euler.z = float(np.radians(35.0))
    high, half = figure.HEIGHT_MM * s.unit, 300.0 * s.unit
    return np.array([[place[0] + dx, place[1], place[2] + dz] for dx in (-half, half)
                     for dz in (0.0, high)])  # fmt: skip


def _measures(scene: bpy.types.Scene, s: _Space, choice: RoomChoice) -> np.ndarray:
    """Draw breadth below, height at the right, and the free height under the sculpture."""
    toward = Vector((0.0, -1.0, 0.0))
    y = float(s.middle[1])
    scale = max(0.9 * float(s.high[0] - s.low[0]), 1400.0 * s.unit)
    gap = 0.14 * scale
    right, left = float(s.high[0]), float(s.low[0])
    low, high = float(s.low[2]), float(s.high[2])

    def text(length: float) -> str:
        return dimensions.length_text(length / s.unit, choice.metric)

    def draw(a: tuple[float, float], b: tuple[float, float], off: tuple[float, float]) -> None:
        ends = (Vector((a[0], y, a[1])), Vector((b[0], y, b[1])))
        length = (ends[1] - ends[0]).length
        dimensions.add_dimension(
            scene.collection, ends, Vector((off[0], 0.0, off[1])), toward, text(length), scale
        )

    draw((left, low), (right, low), (0.0, -gap))
    draw((right, low), (right, high), (gap, 0.0))
    if not choice.standing:
        draw((right, s.floor), (right, low), (gap, 0.0))
    return np.array(
        [[right + 1.7 * gap, y, low], [right + 1.7 * gap, y, high], [left, y, low - gap]]
    )


# ---------------------------------------------------------------- light and camera


def _window_light(scene: bpy.types.Scene, made: list[bpy.types.ID], s: _Space) -> None:
    y0, y1, za, zb = _window(s)
    data = bpy.data.lights.new("Window Light", "AREA")
    made.append(data)
    data.shape = "RECTANGLE"
    data.size, data.size_y = y1 - y0, zb - za
    data.energy = _WATTS * (y1 - y0) * (zb - za)  # for each m2 of window, at any scale
    data.color = (0.95, 0.98, 1.0)
    light = bpy.data.objects.new("Window Light", data)
    made.append(light)
    light[tags.STUDIO] = True
    scene.collection.objects.link(light)
    place = Vector((s.left + 60.0 * s.unit, (y0 + y1) / 2, (za + zb) / 2))
    turn = Vector((1.0, 0.12, -0.22)).to_track_quat("-Z", "Y").to_matrix().to_4x4()
    light.matrix_world = Matrix.Translation(place) @ turn


def _air(scene: bpy.types.Scene, made: list[bpy.types.ID]) -> None:
    """Let a little light come from everywhere: what things outside the picture throw back."""
    world = bpy.data.worlds.new("Room Air")
    made.append(world)
    if bpy.app.version < (5, 0, 0):
        world.use_nodes = True
    tree = world.node_tree
    tree.nodes.clear()
    air, output = tree.nodes.new("ShaderNodeBackground"), tree.nodes.new("ShaderNodeOutputWorld")
    air.inputs["Color"].default_value = (0.07, 0.072, 0.078, 1.0)
    tree.links.new(air.outputs[0], output.inputs["Surface"])
    world.color = (0.07, 0.072, 0.078)
    scene.world = world


def _camera(
    scene: bpy.types.Scene,
    made: list[bpy.types.ID],
    s: _Space,
    points: np.ndarray,
    size: tuple[int, int],
) -> None:
    """Stand at eye height and look level: uprights stay upright, the lens is shifted instead.

    The nearest place is sought from which breadth and height of all that counts fit the picture.
    """
    half = np.tan(np.radians(_LENS_DEG) / 2) * np.array(size, dtype=float) / max(size)
    eye = s.floor + _EYE_MM * s.unit
    x = float(points[:, 0].min() + points[:, 0].max()) / 2
    feet = np.array([[x, float(points[:, 1].mean()), s.floor]])
    every = np.concatenate([points, feet])
    near, far = float(every[:, 1].min()) - 100.0 * s.unit, s.front + 50.0 * s.unit

    def seen(y: float) -> tuple[np.ndarray, np.ndarray]:
        depth = every[:, 1] - y
        across = (every[:, 0] - x) / depth
        up = (every[:, 2] - eye) / depth
        return np.array([across.min(), up.min()]), np.array([across.max(), up.max()])

    for _ in range(60):
        middle = (near + far) / 2
        low, high = seen(middle)
        if ((high - low) / 2 <= half * (1 - 2 * _EDGE)).all():
            far = middle
        else:
            near = middle
    low, high = seen(far)
    data = bpy.data.cameras.new("Room Camera")
    made.append(data)
    data.lens_unit, data.sensor_fit = "FOV", "AUTO"
    data.angle = float(np.radians(_LENS_DEG))
    shift = (low + high) / 2 / (2 * half.max())
    data.shift_x, data.shift_y = float(shift[0]), float(shift[1])
    data.clip_start, data.clip_end = 10.0 * s.unit, 1e5 * s.unit
    camera = bpy.data.objects.new("Room Camera", data)
    made.append(camera)
    camera[tags.STUDIO] = True
    scene.collection.objects.link(camera)
    camera.location = (x, far, eye)
    camera.rotation_euler = (np.pi / 2, 0.0, 0.0)
    scene.camera = camera


# ---------------------------------------------------------------- small things


def _panel(scene: bpy.types.Scene, name: str, corners: list[tuple]) -> bpy.types.Object:
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(corners, [], [tuple(range(len(corners)))])
    return _linked(scene, name, mesh)


def _box(scene: bpy.types.Scene, name: str, low: tuple, high: tuple) -> bpy.types.Object:
    (x0, y0, z0), (x1, y1, z1) = low, high
    corners = [(x, y, z) for z in (z0, z1) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    faces = [(3, 2, 1, 0), (4, 5, 6, 7)]
    faces += [(k, (k + 1) % 4, 4 + (k + 1) % 4, 4 + k) for k in range(4)]
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(corners, [], faces)
    return _linked(scene, name, mesh)


def _rod(
    scene: bpy.types.Scene, name: str, a: np.ndarray, b: np.ndarray, radius: float
) -> bpy.types.Object:
    length = float(np.linalg.norm(b - a))
    solid = prisms.cylinder(2 * radius, length)
    mesh = bpy.data.meshes.new(name)
    faces = np.split(solid.corners, solid.starts[1:])
    mesh.from_pydata(solid.vertices.tolist(), [], [face.tolist() for face in faces])
    rod = _linked(scene, name, mesh)
    turn = Vector((b - a).tolist()).to_track_quat("Z", "Y").to_matrix().to_4x4()
    rod.matrix_world = Matrix.Translation(Vector(((a + b) / 2).tolist())) @ turn
    return rod


def _linked(scene: bpy.types.Scene, name: str, mesh: bpy.types.Mesh) -> bpy.types.Object:
    obj = bpy.data.objects.new(name, mesh)
    obj[tags.STUDIO] = True
    scene.collection.objects.link(obj)
    return obj
