# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A sculpture in an existing scene: as triangles in mm, and everything round it as triangles too.

All is taken as it is seen: modifiers, instances and the exploded view count, what is hidden not.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import numpy as np

from ..core.checks.triangle_gap import Nearest, nearest
from . import convert, tags

__all__ = [
    "Clearance", "clearances", "drop_onto", "hang_point", "others", "sculpture_triangles",
    "triangles",
]  # fmt: skip

Floats = np.ndarray
_KINDS = frozenset(("MESH", "CURVE", "SURFACE", "FONT", "META"))
MOST = 5  # clearances that are told


@dataclass(frozen=True, slots=True, eq=False)
class Clearance:
    """How near a sculpture is to one object: name, mm, and where (3,) in scene units."""

    name: str
    distance: float
    ours: Floats
    theirs: Floats


def triangles(
    scene: bpy.types.Scene,
    depsgraph: bpy.types.Depsgraph,
    wanted,
) -> dict[str, Floats]:
    """Return triangles (n, 3, 3) in mm of all visible objects for which wanted(object) is true."""
    unit = convert.unit_per_mm(scene)
    found: dict[str, list[Floats]] = {}
    for instance in depsgraph.object_instances:
        obj = instance.object
        original = obj.original
        if obj.type not in _KINDS or not wanted(original, instance):
            continue
        mesh = obj.to_mesh()
        try:
            flat = _of(mesh)
        finally:
            obj.to_mesh_clear()
        if len(flat):
            world = np.array(instance.matrix_world, dtype=float)
            there = (flat @ world[:3, :3].T + world[:3, 3]) / unit
            found.setdefault(original.name, []).append(there)
    return {name: np.concatenate(parts) for name, parts in found.items()}


def _of(mesh: bpy.types.Mesh | None) -> Floats:
    if mesh is None or not len(mesh.polygons):
        return np.zeros((0, 3, 3))
    mesh.calc_loop_triangles()
    corners = np.empty(3 * len(mesh.loop_triangles), dtype=np.int32)
    mesh.loop_triangles.foreach_get("vertices", corners)
    places = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    mesh.vertices.foreach_get("co", places)
    return places.reshape(-1, 3).astype(float)[corners.reshape(-1, 3)]


def sculpture_triangles(
    root: bpy.types.Object, scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph
) -> Floats:
    """Return all triangles (n, 3, 3) of a sculpture in mm, in the world."""
    parts = triangles(
        scene,
        depsgraph,
        lambda obj, instance: not instance.is_instance and _belongs(obj, root),
    )
    return np.concatenate(list(parts.values())) if parts else np.zeros((0, 3, 3))


def others(
    root: bpy.types.Object,
    scene: bpy.types.Scene,
    depsgraph: bpy.types.Depsgraph,
    only: bpy.types.Object | None = None,
) -> dict[str, Floats]:
    """Return the triangles of what is round a sculpture, by object; `only` : of one object."""

    def wanted(obj: bpy.types.Object, instance: bpy.types.DepsgraphObjectInstance) -> bool:
        if only is not None and obj != only:
            return False
        if tags.STUDIO in obj:
            return False
        parent = instance.parent.original if instance.is_instance else None
        return not _belongs(obj, root) and not _belongs(parent, root)

    return triangles(scene, depsgraph, wanted)


def _belongs(obj: bpy.types.Object | None, root: bpy.types.Object) -> bool:
    return obj is not None and tags.root_of(obj) == root


def clearances(
    root: bpy.types.Object, scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph
) -> list[Clearance]:
    """Return the objects that are nearest to a sculpture, the nearest first."""
    ours = sculpture_triangles(root, scene, depsgraph)
    unit = convert.unit_per_mm(scene)
    found: list[tuple[Nearest, str]] = []
    for name, theirs in others(root, scene, depsgraph).items():
        bound = found[MOST - 1][0].distance if len(found) >= MOST else np.inf
        near = nearest(ours, theirs, bound)
        if near is not None:
            found.append((near, name))
            found.sort(key=lambda one: one[0].distance)
    return [
        Clearance(name, near.distance, near.a * unit, near.b * unit) for near, name in found[:MOST]
    ]


def hang_point(root: bpy.types.Object, build, ours: Floats) -> Floats:
    """Return where a sculpture is held, (3,) mm in the world: above its hang points, or its top.

    ours : its triangles in the world, mm
    """
    links = [joint.centre for joint in build.joints if joint.lock == "chain link"]
    if not links:
        corners = ours.reshape(-1, 3)
        return corners[int(corners[:, 2].argmax())]
    unit = root.get(tags.UNIT, 0.001)
    world = np.array(root.matrix_world, dtype=float)
    there = np.array(links) @ world[:3, :3].T + world[:3, 3] / unit
    return np.array([*there[:, :2].mean(axis=0), there[:, 2].max()])


def drop_onto(ours: Floats, theirs: Floats, *, above: bool) -> float | None:
    """Return how far a sculpture has to come down until it stands on triangles, mm.

    above : the surface is looked for from above, so a sculpture that is too low comes up
    (negative); otherwise only what lies below it counts. None: there is nothing.
    """
    from mathutils.bvhtree import BVHTree

    if not len(ours) or not len(theirs):
        return None
    origin = theirs.reshape(-1, 3).mean(axis=0)  # single precision likes small numbers
    flat = (theirs - origin).reshape(-1, 3)
    tree = BVHTree.FromPolygons(
        flat.tolist(), np.arange(len(flat)).reshape(-1, 3).tolist(), all_triangles=True
    )
    top = float(flat[:, 2].max()) + 1.0
    least: float | None = None
    corners = np.unique(np.round(ours.reshape(-1, 3) - origin, 3), axis=0)
    lowest = corners[np.argsort(corners[:, 2])]
    for x, y, z in lowest.tolist():
        if least is not None and not above and z - lowest[0, 2] > least + np.ptp(flat[:, 2]):
            break  # whatever lies below this corner cannot be nearer
        start = top if above else z + 1e-3
        hit = tree.ray_cast((x, y, start), (0.0, 0.0, -1.0))[0]
        if hit is not None and (least is None or z - hit.z < least):
            least = z - hit.z
    return least
