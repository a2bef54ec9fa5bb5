# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates that stand aside for a tab: a Displace modifier whose strength is keyed.

Its weights lie on the part's mesh, which all equal plates share: one group for each place on a part
where a joint springs. It is a picture of the bending, with the plan's deflection at the joint; the
sheet's own curve is that of core/assembly/springing.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import bpy
import numpy as np

from ..core.assembly.timeline import Timeline
from ..core.assembly.tracks import EASE
from ..core.results import Build
from . import tags
from .actions import Keys
from .pieces import place_key

if TYPE_CHECKING:
    from .animate import Clock

__all__ = ["PATH", "baking", "clear"]

_NAME = "Spring"
PATH = f'modifiers["{_NAME}'
_REACH = 0.3  # of the plate's length to each side, over which it is bent


def baking(
    keys: Keys,
    known: dict[str, bpy.types.Object],
    build: Build,
    film: Timeline,
    clock: Clock,
    unit: float,
) -> Iterator[float]:
    """Give the plates that spring their modifiers and keys, yielding the share that is done."""
    for number, bend in enumerate(film.bends):
        yield number / len(film.bends)
        plate = build.plates[bend.plate]
        obj = known.get(place_key(plate.motif, plate.element)) or known.get(plate.id)
        if obj is None or obj.library is not None:
            continue
        pose = plate.world_from_part
        place = (pose[:3, :3].T @ (build.joints[bend.joint].centre - pose[:3, 3]))[:2]
        group = _group(obj, place * unit)
        name = f"{_NAME} {build.joints[bend.joint].id}"
        modifier = obj.modifiers.get(name) or obj.modifiers.new(name, "DISPLACE")
        modifier.vertex_group = group
        modifier.direction = "Z"
        modifier.mid_level = 0.0
        modifier.strength = 0.0
        modifier.show_in_editmode = modifier.show_expanded = False
        frames = clock.frames(np.array([bend.start, bend.full, bend.landed]))
        height = bend.height * unit
        path = f'{PATH} {build.joints[bend.joint].id}"].strength'
        keys.write(obj, path, 0, frames, [0.0, height, 0.0], [EASE, EASE])


def clear(root: bpy.types.Object) -> None:
    """Take all of it out again."""
    for obj in tags.pieces(root):
        for modifier in [one for one in obj.modifiers if one.name.startswith(f"{_NAME} ")]:
            obj.modifiers.remove(modifier)
        if obj.library is None and getattr(obj.data, "library", None) is None:
            for group in [one for one in obj.vertex_groups if one.name.startswith(f"{_NAME} ")]:
                obj.vertex_groups.remove(group)


def _group(obj: bpy.types.Object, place: np.ndarray) -> str:
    """Return the name of the group of weights about a place (2,) of the part, scene units."""
    mesh = obj.data
    flat = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    mesh.vertices.foreach_get("co", flat)
    points = flat.reshape(-1, 3)[:, :2].astype(float)
    span = float(np.linalg.norm(np.ptp(points, axis=0)))
    cell = np.round(place / (0.002 * span)).astype(int)
    name = f"{_NAME} {cell[0]} {cell[1]}"
    if name in obj.vertex_groups:
        return name
    group = obj.vertex_groups.new(name=name)
    share = np.clip(1 - np.linalg.norm(points - place, axis=1) / (_REACH * span), 0.0, 1.0)
    weights = share * share * (3 - 2 * share)
    levels = np.round(weights * 32).astype(int)  # equal ones are written together
    for level in np.unique(levels[levels > 0]):
        group.add(np.flatnonzero(levels == level).tolist(), float(level) / 32, "REPLACE")
    return name
