# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Animations of a sculpture as ordinary keyframes: assembly, unfolding, turntable.

All keys are on delta transforms, in the root's space: location and rotation stay the design's and
the artist's, the end of an assembly is the design, and taking an animation out again leaves no
trace. The file plays and renders anywhere, without this extension.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import bpy
import numpy as np
from mathutils import Quaternion

from ..core.assembly.timeline import Timeline
from ..core.assembly.tracks import EASE, JUMP, LINE, Track
from ..core.results import Build
from . import exploded, plan_store, springs, tags
from .actions import Keys, remove_curves
from .pieces import wanted_of
from .standing import Standing

__all__ = [
    "Clock",
    "bake_assembly",
    "bake_turn",
    "bake_unfolding",
    "baking_assembly",
    "clear",
    "fits",
    "is_animated",
]

BAKED = "pinwright_animated"  # root: first and last frame of its animation
DESIGN = "pinwright_animated_design"  # root: key of the design that it was made for
_PATHS = ("delta_location", "delta_rotation", "hide_viewport", "hide_render", springs.PATH)
_STEPS = 16  # in which the opening of an exploded view is looked at


@dataclass(frozen=True, slots=True)
class Clock:
    """Where on Blender's time line an animation lies: its first frame, frames in a second."""

    start: int
    rate: float

    @classmethod
    def of(cls, scene: bpy.types.Scene, start: int | None = None) -> Clock:
        """Take the rate of a scene; start : None: the scene's first frame."""
        rate = scene.render.fps / scene.render.fps_base
        return cls(scene.frame_start if start is None else start, rate)

    def frames(self, times: np.ndarray) -> np.ndarray:
        """Return the frames (not whole ones) of times in s."""
        return self.start + np.asarray(times, dtype=float) * self.rate

    def last(self, seconds: float) -> int:
        """Return the last frame of so many seconds."""
        return self.start + max(1, round(seconds * self.rate))


def bake_assembly(root: bpy.types.Object, build: Build, film: Timeline, clock: Clock) -> int:
    """Write an assembly as keys; what was animated before is taken out. Returns the last frame."""
    for _ in baking_assembly(root, build, film, clock):
        pass
    return clock.last(film.seconds)


def baking_assembly(
    root: bpy.types.Object, build: Build, film: Timeline, clock: Clock
) -> Iterator[float]:
    """Do what `bake_assembly` does, bit by bit, yielding the share that is done."""
    clear(root)
    unit = root.get(tags.UNIT, 0.001)
    keys = Keys(f"{root.name} Assembly")
    known = Standing.of(root).by_key
    tracks = [*film.plates, *(track for row in film.fasteners for track in row)]
    pieces = wanted_of(build).pieces
    for number, (piece, track) in enumerate(zip(pieces, tracks, strict=True)):
        yield 0.8 * number / len(pieces)
        obj = known.get(piece.key)
        if obj is not None:
            _bake_track(keys, obj, track, clock, unit)
    scale = root.matrix_world.to_scale()
    height = unit * (scale.x + scale.y + scale.z) / 3
    if film.lift.shifts.any():
        frames = clock.frames(film.lift.times)
        keys.write(root, "delta_location", 2, frames, height * film.lift.shifts[:, 2], [LINE, EASE])
    for share in springs.baking(keys, known, build, film, clock, unit):
        yield 0.8 + 0.2 * share
    _note(root, clock, film.seconds)


def bake_unfolding(root: bpy.types.Object, seconds: float, clock: Clock) -> int:
    """Write keys that open the exploded view, hold it, and close it again."""
    settings = root.pinwright
    objects = tags.pieces(root)
    shares = _shares(objects)
    seen = np.zeros((len(shares), len(objects), 3))
    for k, share in enumerate(shares):
        exploded.apply(root, float(share), settings.apart)
        seen[k] = [obj.delta_location for obj in objects]
    exploded.apply(root, settings.explode, settings.apart)
    way = 0.5 - np.sin(np.arcsin(1 - 2 * shares) / 3)  # slow at both ends
    times = seconds * np.concatenate([0.42 * way, 0.58 + 0.42 * (1 - way[::-1])])
    kinds = [LINE] * (2 * len(way) - 1)
    keys = Keys(f"{root.name} Unfolding")
    for number, obj in enumerate(objects):
        path = np.concatenate([seen[:, number], seen[::-1, number]])
        for axis in range(3):
            keys.write(obj, "delta_location", axis, clock.frames(times), path[:, axis], kinds)
    return _note(root, clock, seconds)


def bake_turn(root: bpy.types.Object, seconds: float, clock: Clock, turns: float = 1.0) -> int:
    """Write keys that turn the sculpture about the upright axis, at one speed."""
    keys = Keys(f"{root.name} Turntable")
    frames = clock.frames(np.array([0.0, seconds]))
    if root.rotation_mode == "QUATERNION":
        steps = np.linspace(0.0, 1.0, max(2, int(np.ceil(72 * abs(turns))) + 1))
        halves = np.pi * turns * steps
        frames = clock.frames(seconds * steps)
        for axis, values in ((0, np.cos(halves)), (3, np.sin(halves))):
            path = "delta_rotation_quaternion"
            keys.write(root, path, axis, frames, values, [LINE] * (len(steps) - 1))
    else:
        keys.write(root, "delta_rotation_euler", 2, frames, [0.0, 2 * np.pi * turns], [LINE])
    return _note(root, clock, seconds)


def clear(root: bpy.types.Object) -> None:
    """Take the animation of a sculpture out: all stands as the design and the sliders say."""
    for obj in (root, *tags.pieces(root)):
        remove_curves(obj, _PATHS)
        obj.delta_location = (0.0, 0.0, 0.0)
        obj.delta_rotation_quaternion = (1.0, 0.0, 0.0, 0.0)
        if obj is root:
            obj.delta_rotation_euler = (0.0, 0.0, 0.0)
        if BAKED in root:
            obj.hide_viewport = obj.hide_render = False
    springs.clear(root)
    for name in (BAKED, DESIGN):
        root.pop(name, None)
    exploded.apply(root, root.pinwright.explode, root.pinwright.apart)


def is_animated(root: bpy.types.Object) -> bool:
    """Tell whether a sculpture has an animation made here."""
    return BAKED in root


def _shares(objects: list[bpy.types.Object]) -> np.ndarray:
    """Return the openings, 0 to 1, at which any piece changes its way, and some in between."""
    bends = {0.0, 1.0, exploded.SPLIT}
    for obj in objects:
        bends.update(np.round(list(obj.get(tags.EXPLODE_WAY, ()))[::4], 6).tolist())
    return np.unique(np.concatenate([sorted(bends), np.linspace(0.0, 1.0, _STEPS + 1)]))


def fits(root: bpy.types.Object) -> bool:
    """Tell whether the animation of a sculpture is of the design that stands there."""
    return root.get(DESIGN) == plan_store.key_of(root)


def _note(root: bpy.types.Object, clock: Clock, seconds: float) -> int:
    first, last = clock.start, clock.last(seconds)
    if BAKED in root:
        first, last = min(first, root[BAKED][0]), max(last, root[BAKED][1])
    root[BAKED] = [first, last]
    root[DESIGN] = plan_store.key_of(root)
    return clock.last(seconds)


def _bake_track(keys: Keys, obj: bpy.types.Object, track: Track, clock: Clock, unit: float) -> None:
    frames = clock.frames(track.times)
    place = np.array(obj.location, dtype=float)
    shifts = unit * track.shifts
    if track.turns_about:
        if obj.rotation_mode != "QUATERNION":
            obj.rotation_mode = "QUATERNION"
        turned = [np.array(Quaternion(turn).to_matrix()) @ place for turn in track.turns]
        shifts = shifts + np.array(turned) - place
        for axis in range(4):
            values = track.turns[:, axis]
            keys.write(obj, "delta_rotation_quaternion", axis, frames, values, track.kinds)
    for axis in range(3):
        keys.write(obj, "delta_location", axis, frames, shifts[:, axis], track.kinds)
    hidden = [(clock.start, 1.0), (frames[0], 0.0)] if track.times[0] > 0 else [(frames[0], 0.0)]
    for path in ("hide_viewport", "hide_render"):
        when, values = zip(*hidden, strict=True)
        keys.write(obj, path, 0, when, values, [JUMP] * (len(hidden) - 1))
