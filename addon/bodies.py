# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The coarse stage of following a setting: what stands gets bodies without joints, in new places.

Nothing comes or goes: that is left to a build, which knows all joints. It takes some hundredths of
a second for a few hundred pieces, so it can keep up with a hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import bpy
import numpy as np
import shapely.affinity
from shapely import Polygon

from ..core.joints.fasteners import Fasteners
from ..core.results import Build
from ..core.rough import Rough, rough
from . import convert, making, meshes, pieces, standing, tags
from .prisms import prism

__all__ = ["Layout", "layout_of", "show"]

Floats = np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """How the pieces of a build are known.

    names : objects by key; poses : by motif, (4, 4) plane from part; parts : by motif
    plates : key and motif of each; fasteners : as they were, held : their keys
    """

    names: dict[str, str]
    poses: dict[str, Floats]
    parts: dict[str, int]
    plates: tuple[tuple[str, str], ...]
    fasteners: Fasteners | None
    held: tuple[str, ...]

    def held_by(self, found: Rough) -> tuple[str, ...]:
        """Return the keys of fasteners; mostly they are the same, in other places."""
        new, old = found.fasteners, self.fasteners
        if new is None:
            return ()
        same = old is not None and np.array_equal(new.joint, old.joint) and new.kind == old.kind
        return self.held if same else _fastener_keys(new)


def show(root: bpy.types.Object, layout: Layout, found: Rough) -> bool | None:
    """Show plates without joints.

    Returns False where plates or pins come or go, None where a piece was renamed or deleted since
    the layout was made; nothing was done then.
    """
    names = [motif.name for motif in found.motifs]
    which = found.orbits.motif.tolist()
    keys = [
        pieces.place_key(names[m], element)
        for m, element in zip(which, found.orbits.element.tolist(), strict=True)
    ]
    held = layout.held_by(found)
    get = bpy.data.objects.get
    objects: dict[str, Any] = {key: get(name) for key, name in layout.names.items()}
    if any(obj is None or obj.get(tags.KEY) != key for key, obj in objects.items()):
        return None
    same_plates = len(keys) == len(layout.plates) and all(name in layout.poses for name in names)
    if not same_plates or (found.fasteners is not None and held != layout.held):
        return False
    bodies = _bodies(found, layout)
    if bodies is None:
        return False
    unit = root.get(tags.UNIT, 0.001)
    _reshape(layout, objects, bodies, found.thickness, unit)
    part_poses = np.array([layout.poses[name] for name in names])
    _move(objects, keys, found.orbits.transforms @ part_poses[found.orbits.motif], unit)
    if found.fasteners is not None:
        _move(objects, held, found.fasteners.world, unit)
    root[tags.COARSE] = True
    return True


def layout_of(root: bpy.types.Object, build: Build) -> Layout:
    """Return how the pieces of a build are known that stand on a root."""
    own = standing.Standing.of(root)
    there = rough(build.design, making.frame_for(root, build.design))
    places = there.places()
    poses: dict[str, Floats] = {}
    parts: dict[str, int] = {}
    for plate in build.plates:
        if plate.motif not in poses:
            plane = places[plate.motif, plate.element]
            poses[plate.motif] = np.linalg.inv(plane) @ plate.world_from_part
            parts[plate.motif] = plate.part
    held = () if there.fasteners is None else _fastener_keys(there.fasteners)
    names = {key: obj.name for key, obj in own.by_key.items()}
    plates = tuple((pieces.place_key(p.motif, p.element), p.motif) for p in build.plates)
    return Layout(names, poses, parts, plates, there.fasteners, held)


def _fastener_keys(fasteners: Fasteners) -> tuple[str, ...]:
    keys = []
    counts: dict[tuple[int, str], int] = {}
    for joint, kind in zip(fasteners.joint.tolist(), fasteners.kind, strict=True):
        counts[joint, kind] = number = counts.get((joint, kind), 0) + 1
        keys.append(pieces.fastener_key(joint, kind, number))
    return tuple(keys)


def _bodies(found: Rough, layout: Layout) -> dict[int, tuple[str, Polygon]] | None:
    """Return for each part a motif and its body in the part's plane; None: motifs part company."""
    chosen: dict[int, tuple[str, Polygon]] = {}
    for motif, body in found.bodies().items():
        part = layout.parts[motif]
        if part not in chosen:
            part_from_plane = np.linalg.inv(layout.poses[motif])
            (a, b), (d, e) = part_from_plane[:2, :2].tolist()
            x, y = part_from_plane[:2, 3].tolist()
            chosen[part] = motif, shapely.affinity.affine_transform(body, (a, b, d, e, x, y))
        elif abs(chosen[part][1].area / body.area - 1) > 1e-3:
            return None
    return chosen


def _reshape(
    layout: Layout,
    objects: dict[str, bpy.types.Object],
    bodies: dict[int, tuple[str, Polygon]],
    thickness: float,
    unit: float,
) -> None:
    """Fill the mesh of each part with its uncut body."""
    filled = set()
    for key, motif in layout.plates:
        name, body = bodies[layout.parts[motif]]
        if name != motif or key not in objects:
            continue
        mesh: Any = objects[key].data
        if mesh not in filled and meshes.is_ours(mesh):
            filled.add(mesh)
            convert.fill_mesh(mesh, prism(body, thickness), unit)
            mesh[tags.DIGEST] = "coarse"


def _move(objects: dict[str, Any], keys: Sequence[str], world: Floats, unit: float) -> None:
    """Put the pieces of some keys, those that are there, to their places (n, 4, 4) in mm."""
    for key, matrix in zip(keys, convert.matrices_from_mm(world, unit), strict=True):
        if key in objects:
            objects[key].matrix_basis = matrix
