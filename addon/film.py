# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The camera that frames what happens, and captions that stand before it: ordinary objects.

The camera is fitted to what is seen at many moments; its keys are the way between. Captions are
text objects that hang on the camera and are shown for their time by keys.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import bpy
import numpy as np
from mathutils import Matrix, Quaternion, Vector

from ..core.assembly.captions import Caption
from ..core.assembly.timeline import Timeline
from ..core.assembly.tracks import JUMP, LINE
from . import framing, nodes, tags
from .actions import Keys, remove_curves
from .animate import Clock

__all__ = [
    "CAMERA", "FOLLOW", "ORBIT", "STILL", "VIEW", "add_camera", "add_captions", "film_points",
    "home", "own_camera", "remove", "scene_box", "scene_points",
]  # fmt: skip

FOLLOW = "FOLLOW"
STILL = "STILL"
ORBIT = "ORBIT"
CAMERA = "pinwright_film"  # camera, captions and their collection: the name of the root

Floats = np.ndarray
# Plates on their first way are not framed: the margin is theirs.
VIEW = framing.View(elevation_deg=14.0, angle_of_view_deg=24.0, margin=0.13)
_LOOKS = 48  # moments at which the camera is fitted
_CALM = 0.09  # share of the film over which its place is averaged
_TEXT = 0.032  # height of a caption's letters, share of the picture's width
_DEPTH = 0.3  # of a caption before the camera, share of the least distance of what is seen


def film_points(root: bpy.types.Object, film: Timeline) -> Callable[[float], Floats]:
    """Return what gives for a moment, s, the points (n, 3) that are to be in the picture."""
    unit = root.get(tags.UNIT, 0.001)
    world = np.array(_rest_world(root), dtype=float)
    sides = np.concatenate([np.eye(3), -np.eye(3)])

    def points(moment: float) -> Floats:
        centres, radii = film.balls(moment, flying=False)
        risen = film.lift.at(moment)[0] - film.lift.shifts[0]
        if risen.any():  # the camera does not rise with it: it sees from where it is lifted
            centres, radii = np.concatenate([centres, centres - risen]), np.tile(radii, 2)
        local = unit * (centres[:, None] + radii[:, None, None] * sides[None]).reshape(-1, 3)
        return local @ world[:3, :3].T + world[:3, 3]

    return points


def _rest_world(root: bpy.types.Object) -> Matrix:
    """Return where a root stands without its deltas, which the animation writes."""
    if root.rotation_mode == "QUATERNION":
        turn = root.rotation_quaternion
    elif root.rotation_mode == "AXIS_ANGLE":
        angle, *axis = root.rotation_axis_angle
        turn = Quaternion(axis, angle)
    else:
        turn = root.rotation_euler
    local = Matrix.LocRotScale(root.location, turn, root.scale)
    if root.parent is None:
        return local
    return root.parent.matrix_world @ root.matrix_parent_inverse @ local


def scene_points(
    scene: bpy.types.Scene, root: bpy.types.Object, clock: Clock
) -> Callable[[float], Floats]:
    """Return what `film_points` returns, of any animation: the scene is played and looked at."""

    def points(moment: float) -> Floats:
        frame = clock.start + moment * clock.rate
        scene.frame_set(int(frame), subframe=frame % 1)
        return _corners(root)

    return points


def scene_box(scene: bpy.types.Scene, root: bpy.types.Object) -> Floats:
    """Return the corners (8, 3) of the box that holds all that is seen in the scene's frames."""
    here = scene.frame_current
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    for frame in np.linspace(scene.frame_start, scene.frame_end, _LOOKS).round().astype(int):
        scene.frame_set(int(frame))
        seen = _corners(root)
        low, high = np.minimum(low, seen.min(axis=0)), np.maximum(high, seen.max(axis=0))
    scene.frame_set(here)
    return _box(low, high)


def _corners(root: bpy.types.Object) -> Floats:
    """Return the corners of the pieces that are seen now, world; of all, if none is."""
    pieces = tags.pieces(root)
    seen = [piece for piece in pieces if not piece.hide_render] or pieces
    boxes = np.array([piece.bound_box for piece in seen], dtype=float)
    world = np.array([piece.matrix_world for piece in seen], dtype=float)
    placed = np.einsum("nij,nkj->nki", world[:, :3, :3], boxes) + world[:, None, :3, 3]
    return placed.reshape(-1, 3)


def _box(low: Floats, high: Floats) -> Floats:
    return np.array([[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1])
                     for z in (low[2], high[2])])  # fmt: skip


def add_camera(
    scene: bpy.types.Scene,
    root: bpy.types.Object,
    points: Callable[[float], Floats],
    seconds: float,
    clock: Clock,
    *,
    how: str = FOLLOW,
    view: framing.View | None = None,
    size: tuple[int, int] = (1920, 1080),
) -> bpy.types.Object:
    """Make a camera with keys; it becomes the scene's. An older one of this sculpture goes.

    how : `FOLLOW` comes nearer where little is seen, `STILL` sees all from one place, `ORBIT` goes
        a quarter round
    """
    remove(root)
    view = view or VIEW
    moments = np.linspace(0.0, seconds, _LOOKS)
    turns = view.azimuth_deg + (np.linspace(-45.0, 45.0, _LOOKS) if how == ORBIT else 0 * moments)
    seen = [points(t) for t in moments]
    if how == STILL:
        seen = [np.concatenate(seen)] * _LOOKS
    places = np.array(
        [
            framing.fit(one, replace(view, azimuth_deg=float(turn)), size)
            for one, turn in zip(seen, turns, strict=True)
        ]
    )
    if how == FOLLOW:
        places = _calmed(places, framing.axes(view))
    data = bpy.data.cameras.new(f"{root.name} Camera")
    data.lens_unit, data.sensor_fit = "FOV", "AUTO"
    data.angle = float(np.radians(view.angle_of_view_deg))
    away = min(
        float(np.linalg.norm(one - place, axis=1).min())
        for one, place in zip(seen, places, strict=True)
    )
    data.clip_start, data.clip_end = 0.02 * away, 100 * away
    camera = bpy.data.objects.new(data.name, data)
    camera[CAMERA] = root.name
    camera["pinwright_near"] = away
    camera.rotation_mode = "QUATERNION"
    home(scene, root).objects.link(camera)
    _key_camera(
        camera, places, [replace(view, azimuth_deg=float(t)) for t in turns], moments, clock
    )
    scene.camera = camera
    return camera


def add_captions(
    scene: bpy.types.Scene,
    root: bpy.types.Object,
    camera: bpy.types.Object,
    lines: Sequence[Caption],
    clock: Clock,
    size: tuple[int, int] = (1920, 1080),
) -> list[bpy.types.Object]:
    """Hang text objects before the camera, each shown in its time."""
    depth = _DEPTH * camera["pinwright_near"]
    width = 2 * depth * np.tan(camera.data.angle / 2) * size[0] / max(size)
    height = width * size[1] / size[0]
    keys = Keys(f"{root.name} Captions")
    material = nodes.glowing("Caption", (0.9, 0.9, 0.9))
    place = home(scene, root)
    made = []
    for line in lines:
        curve = bpy.data.curves.new("Caption", "FONT")
        curve.body = line.text
        curve.align_x = "CENTER"
        curve.size = min(_TEXT, 1.7 / max(len(line.text), 1)) * width
        curve.materials.append(material)
        text = bpy.data.objects.new(f"Caption {line.steps[0]:03d}", curve)
        text[CAMERA] = root.name
        text.parent = camera
        text.location = (0.0, -0.43 * height, -depth)
        for ray in ("diffuse", "glossy", "transmission", "volume_scatter", "shadow"):
            setattr(text, f"visible_{ray}", False)
        text.display.show_shadows = False
        place.objects.link(text)
        frames = [clock.start, *clock.frames(np.array([line.start, line.end]))]
        for path in ("hide_viewport", "hide_render"):
            if line.start <= 0:
                keys.write(text, path, 0, frames[1:], [0.0, 1.0], [JUMP])
            else:
                keys.write(text, path, 0, frames, [1.0, 0.0, 1.0], [JUMP, JUMP])
        made.append(text)
    if made and made[-1].animation_data:  # the last one stays
        for path in ("hide_viewport", "hide_render"):
            line = lines[-1]
            keys.write(made[-1], path, 0, [float(clock.frames(np.array(line.end)))], [0.0], [])
    return made


def own_camera(root: bpy.types.Object) -> bpy.types.Object | None:
    """Return the camera that was made for a sculpture's film, if it still is there."""
    for obj in bpy.data.objects:
        if obj.get(CAMERA) == root.name and obj.type == "CAMERA":
            return obj
    return None


def remove(root: bpy.types.Object) -> None:
    """Take camera and captions of a sculpture out of the file."""
    old = [obj for obj in bpy.data.objects if obj.get(CAMERA) == root.name]
    for obj in old:
        remove_curves(obj, ("",))
    data = [obj.data for obj in old]
    places = [one for one in bpy.data.collections if one.get(CAMERA) == root.name]
    bpy.data.batch_remove([*old, *places])
    bpy.data.batch_remove([one for one in data if one.users == 0])


def home(scene: bpy.types.Scene, root: bpy.types.Object) -> bpy.types.Collection:
    """Return the collection of a film's camera and captions, in this scene."""
    for collection in bpy.data.collections:
        if collection.get(CAMERA) == root.name:
            break
    else:
        collection = bpy.data.collections.new(f"{root.name} Film")
        collection[CAMERA] = root.name
    if collection.name not in scene.collection.children:
        scene.collection.children.link(collection)
    return collection


def _calmed(places: Floats, axes: Floats) -> Floats:
    """Let the camera move gently: as far back as ever needed nearby in time, then averaged."""
    local = places @ axes.T
    wide = max(1, round(_CALM * len(places)))
    padded = np.pad(local, ((wide, wide), (0, 0)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * wide + 1, axis=0)
    back = windows[:, 2].max(axis=1)
    smooth = windows[:, :2].mean(axis=2)
    again = np.pad(back, wide, mode="edge")
    calm = np.lib.stride_tricks.sliding_window_view(again, 2 * wide + 1).mean(axis=1)
    return np.column_stack([smooth, calm]) @ axes


def _key_camera(
    camera: bpy.types.Object,
    places: Floats,
    views: Sequence[framing.View],
    moments: Floats,
    clock: Clock,
) -> None:
    keys = Keys(f"{camera.name} Way")
    frames = clock.frames(moments)
    turns = [Matrix(framing.axes(view).T.tolist()).to_quaternion() for view in views]
    for one, before in zip(turns[1:], turns[:-1], strict=True):
        one.make_compatible(before)
    camera.location = Vector(places[0].tolist())
    camera.rotation_quaternion = turns[0]
    if np.ptp(places, axis=0).max() > 1e-6:
        kinds = [LINE] * (len(frames) - 1)
        for axis in range(3):
            keys.write(camera, "location", axis, frames, places[:, axis], kinds)
        values = np.array([(turn.w, turn.x, turn.y, turn.z) for turn in turns])
        if np.ptp(values, axis=0).max() > 1e-6:
            for axis in range(4):
                keys.write(camera, "rotation_quaternion", axis, frames, values[:, axis], kinds)
