# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Keyframes in bulk, in any Blender: what differs between versions of actions stands here only.

From 4.4 on an action has slots, and all objects of a sculpture share one; before, each object has
an action of its own. An object that the artist has animated keeps its action: curves are added.
"""

from __future__ import annotations

from collections.abc import Iterable

import bpy
import numpy as np

from ..core.assembly.tracks import EASE, JUMP, LINE

__all__ = ["ACTION", "Keys", "curves_of", "remove_curves"]

ACTION = "pinwright_action"  # on actions that were made here
_INTERPOLATION = {JUMP: 0, LINE: 1, EASE: 2}  # CONSTANT, LINEAR, BEZIER of Keyframe.interpolation
_FREE = 0  # of Keyframe.handle_left_type


class Keys:
    """Writes keys of one animation; `name` is that of its action."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.shared: bpy.types.Action | None = None

    def write(
        self,
        obj: bpy.types.Object,
        path: str,
        index: int,
        frames: Iterable[float],
        values: Iterable[float],
        kinds: Iterable[int],
    ) -> None:
        """Write keys of one channel; keys that stood in the same stretch of time are replaced.

        frames : (k,) ascending; values : (k,); kinds : (k - 1,) of tracks.py, between two keys
        """
        x, y = np.array(list(frames), dtype=float), np.array(list(values), dtype=float)
        how = np.array([_INTERPOLATION[int(kind)] for kind in kinds] + [1], dtype=int)
        curve = self._curve(obj, path, index)
        old = _read(curve)
        kept = (old[0] < x[0] - 1e-6) | (old[0] > x[-1] + 1e-6)
        order = np.argsort(np.concatenate([old[0][kept], x]), kind="stable")
        frames_all = np.concatenate([old[0][kept], x])[order]
        values_all = np.concatenate([old[1][kept], y])[order]
        how_all = np.concatenate([old[2][kept], how])[order]
        _fill(curve, frames_all, values_all, how_all)

    def _curve(self, obj: bpy.types.Object, path: str, index: int) -> bpy.types.FCurve:
        data = obj.animation_data or obj.animation_data_create()
        if data.action is None:
            self._take_action(obj, data)
        action = data.action
        if hasattr(action, "fcurve_ensure_for_datablock"):
            if data.action_slot is None:
                data.action_slot = action.slots.new(id_type="OBJECT", name=obj.name)
            return action.fcurve_ensure_for_datablock(obj, path, index=index)
        found = action.fcurves.find(path, index=index)
        return found if found is not None else action.fcurves.new(path, index=index)

    def _take_action(self, obj: bpy.types.Object, data: bpy.types.AnimData) -> None:
        layered = "fcurve_ensure_for_datablock" in bpy.types.Action.bl_rna.functions
        if not layered or self.shared is None:
            name = self.name if layered else f"{self.name} {obj.name}"
            self.shared = bpy.data.actions.new(name)
            self.shared[ACTION] = True
        data.action = self.shared
        if layered:
            data.action_slot = self.shared.slots.new(id_type="OBJECT", name=obj.name)


def curves_of(obj: bpy.types.Object) -> list[bpy.types.FCurve]:
    """Return the F-curves that move an object."""
    holder = _holder(obj)
    return [] if holder is None else list(holder)


def remove_curves(obj: bpy.types.Object, paths: Iterable[str]) -> None:
    """Remove the curves of an object whose path begins so; an action of ours that is empty goes."""
    holder = _holder(obj)
    if holder is None:
        return
    for curve in list(holder):
        if curve.data_path.startswith(tuple(paths)):
            holder.remove(curve)
    action = obj.animation_data.action
    if len(holder) == 0 and ACTION in action:
        slot = getattr(obj.animation_data, "action_slot", None)
        obj.animation_data.action = None
        if slot is not None:
            action.slots.remove(slot)
        if not len(getattr(action, "slots", ())):
            bpy.data.actions.remove(action)
        if obj.animation_data is not None and not obj.animation_data.nla_tracks:
            obj.animation_data_clear()


def _holder(obj: bpy.types.Object):
    """Return the collection of F-curves that an object uses, or None."""
    data = obj.animation_data
    if data is None or data.action is None:
        return None
    slot = getattr(data, "action_slot", None)
    if slot is None:
        return getattr(data.action, "fcurves", None)
    for layer in data.action.layers:
        for strip in layer.strips:
            bag = strip.channelbag(slot)
            if bag is not None:
                return bag.fcurves
    return None


def _read(curve: bpy.types.FCurve) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    count = len(curve.keyframe_points)
    places, how = np.empty(2 * count, dtype=np.float32), np.empty(count, dtype=np.int32)
    curve.keyframe_points.foreach_get("co", places)
    curve.keyframe_points.foreach_get("interpolation", how)
    return places[::2].astype(float), places[1::2].astype(float), how.astype(int)


def _fill(curve: bpy.types.FCurve, x: np.ndarray, y: np.ndarray, how: np.ndarray) -> None:
    """Write all keys of a curve: handles are level and reach a third of the way to the next key."""
    points = curve.keyframe_points
    points.clear()
    points.add(len(x))
    back = np.diff(x, prepend=x[0]) / 3
    ahead = np.diff(x, append=x[-1]) / 3

    def pairs(first: np.ndarray) -> np.ndarray:
        return np.column_stack([first, y]).astype(np.float32).ravel()

    points.foreach_set("co", pairs(x))
    points.foreach_set("interpolation", how.astype(np.int32))
    for side in ("handle_left_type", "handle_right_type"):
        points.foreach_set(side, np.full(len(x), _FREE, dtype=np.int32))
    points.foreach_set("handle_left", pairs(x - back))
    points.foreach_set("handle_right", pairs(x + ahead))
    curve.update()
