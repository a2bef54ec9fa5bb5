# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The only border of units and types: core's millimetres and arrays, Blender's units and meshes.

A scene's length unit is `scale_length` metres. The function `unit_per_mm` gives the factor once;
nobody else multiplies by 0.001.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import bpy
import numpy as np
from mathutils import Matrix, Vector

from ..core.errors import FrameError
from .prisms import Prism

if TYPE_CHECKING:
    import numpy.typing as npt

__all__ = [
    "fill_mesh",
    "matrices_from_mm",
    "matrix_from_mm",
    "mesh_in_mm",
    "unit_per_mm",
    "vector_from_mm",
]


def unit_per_mm(scene: bpy.types.Scene) -> float:
    """Return how many scene units one millimetre is."""
    return 0.001 / scene.unit_settings.scale_length


# ---------------------------------------------------------------- core to Blender


def vector_from_mm(vector: npt.ArrayLike, unit: float) -> Vector:
    """Return a (3,) place or way in mm as a vector in scene units."""
    return Vector((np.asarray(vector, dtype=float) * unit).tolist())


def matrix_from_mm(transform: npt.ArrayLike, unit: float) -> Matrix:
    """Return a (4, 4) rigid transform in mm as a matrix in scene units."""
    scaled = np.array(transform, dtype=float)
    scaled[:3, 3] *= unit
    return Matrix(scaled.tolist())


def matrices_from_mm(transforms: npt.NDArray[np.float64], unit: float) -> list[Matrix]:
    """Return (n, 4, 4) rigid transforms in mm as matrices in scene units."""
    scaled = transforms.copy()
    scaled[:, :3, 3] *= unit
    return [Matrix(rows) for rows in scaled.tolist()]


def fill_mesh(mesh: bpy.types.Mesh, prism: Prism, unit: float) -> None:
    """Write a prism (mm) into a mesh data-block: faces, materials 0 and 1, flat map.

    What the mesh held goes; its materials stay. Arrays go straight into the attributes: that is
    four times as fast as through the properties of vertices, corners and faces.
    """
    if len(mesh.vertices):
        mesh.clear_geometry()
    mesh.vertices.add(len(prism.vertices))
    mesh.loops.add(len(prism.corners))
    mesh.polygons.add(len(prism.starts))
    co = (prism.vertices * unit).astype(np.float32)
    _attribute(mesh, "position", "FLOAT_VECTOR", "POINT").foreach_set("vector", co.ravel())
    corners = prism.corners.astype(np.int32)
    _attribute(mesh, ".corner_vert", "INT", "CORNER").foreach_set("value", corners)
    mesh.polygons.foreach_set("loop_start", prism.starts.astype(np.int32))
    sides = prism.is_side.astype(np.int32)
    _attribute(mesh, "material_index", "INT", "FACE").foreach_set("value", sides)
    _attribute(mesh, "sharp_face", "BOOLEAN", "FACE").foreach_set("value", ~prism.is_smooth)
    mesh.update(calc_edges=True)
    layer = mesh.uv_layers.new(name="Flat", do_init=False)
    layer.uv.foreach_set("vector", (prism.flat_map * unit).astype(np.float32).ravel())


def _attribute(mesh: bpy.types.Mesh, name: str, kind: Any, domain: Any) -> Any:
    """Return the data of an attribute, made if it is not there; use it before the next one."""
    layer: Any = mesh.attributes.get(name)
    return (layer or mesh.attributes.new(name, kind, domain)).data


# ---------------------------------------------------------------- Blender to core


def mesh_in_mm(
    obj: bpy.types.Object, scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph
) -> tuple[npt.NDArray[np.float64], list[tuple[int, ...]]]:
    """Return an object's mesh as it is seen: modifiers applied, at world size, mm.

    Returns
    -------
    vertices : (n, 3) float, mm, about the object's own origin
    faces : one tuple of vertex indices for each polygon

    Raises
    ------
    FrameError : the object has no surface.
    """
    evaluated = obj.evaluated_get(depsgraph)
    mesh = evaluated.to_mesh()
    try:
        if mesh is None or not mesh.polygons:
            raise FrameError(f"The object '{obj.name}' has no faces; choose a closed mesh.")
        vertices = np.empty(3 * len(mesh.vertices), dtype=np.float32)
        mesh.vertices.foreach_get("co", vertices)
        faces = [tuple(face.vertices) for face in mesh.polygons]
    finally:
        evaluated.to_mesh_clear()
    world = np.array(evaluated.matrix_world, dtype=float)[:3, :3]
    seen = vertices.reshape(-1, 3).astype(float) @ world.T
    if np.linalg.det(world) < 0:  # a mirrored object shows its faces the other way round
        faces = [face[::-1] for face in faces]
    return seen / unit_per_mm(scene), faces
