# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A plain figure of a person, for scale: no face, no clothes, a matt grey mannequin standing.

Heights of the joints are shares of the body height as drawing manuals give them (from memory).
"""

from __future__ import annotations

import bpy
import numpy as np

from . import nodes

__all__ = ["FIGURE", "HEIGHT_MM", "add_figure"]

FIGURE = "pinwright_figure"
HEIGHT_MM = 1700.0  # between the usual means of women and men
_RGB = (0.13, 0.135, 0.145)
_SIDES = 20

# Limbs as lists of (x, y, z, half breadth, half depth), shares of the height; feet at z = 0.
_TRUNK = (
    (0.0, 0.0, 0.43, 0.020, 0.020),
    (0.0, 0.0, 0.452, 0.070, 0.050),
    (0.0, 0.0, 0.48, 0.092, 0.061),
    (0.0, 0.0, 0.52, 0.098, 0.064),
    (0.0, 0.0, 0.61, 0.080, 0.056),
    (0.0, 0.0, 0.72, 0.098, 0.066),
    (0.0, 0.0, 0.79, 0.108, 0.058),
    (0.0, 0.0, 0.826, 0.072, 0.044),
    (0.0, -0.004, 0.86, 0.032, 0.034),
    (0.0, -0.006, 0.885, 0.034, 0.040),
    (0.0, -0.008, 0.925, 0.045, 0.057),
    (0.0, -0.006, 0.965, 0.043, 0.055),
    (0.0, -0.002, 0.992, 0.024, 0.032),
    (0.0, 0.0, 1.0, 0.002, 0.003),
)
_LEG = (
    (0.052, -0.055, 0.012, 0.020, 0.020),
    (0.052, -0.030, 0.016, 0.026, 0.050),
    (0.052, 0.000, 0.035, 0.023, 0.030),
    (0.052, 0.004, 0.10, 0.022, 0.024),
    (0.052, 0.006, 0.20, 0.032, 0.036),
    (0.052, 0.000, 0.28, 0.031, 0.033),
    (0.050, 0.000, 0.40, 0.044, 0.050),
    (0.046, 0.000, 0.49, 0.040, 0.046),
)
_ARM = (
    (0.138, -0.024, 0.385, 0.010, 0.018),
    (0.138, -0.018, 0.43, 0.013, 0.024),
    (0.135, -0.010, 0.475, 0.015, 0.016),
    (0.130, 0.000, 0.56, 0.021, 0.022),
    (0.124, 0.004, 0.62, 0.021, 0.022),
    (0.114, 0.002, 0.72, 0.027, 0.028),
    (0.104, 0.000, 0.785, 0.033, 0.034),
    (0.092, 0.000, 0.815, 0.028, 0.030),
    (0.080, 0.000, 0.828, 0.012, 0.014),
)


def add_figure(
    collection: bpy.types.Collection, unit: float, place: tuple[float, float, float]
) -> bpy.types.Object:
    """Stand a figure at a place (scene units) of a collection, looking along -y.

    unit : scene units in one mm
    """
    mesh: bpy.types.Mesh | None = bpy.data.meshes.get("Figure")
    if mesh is None or FIGURE not in mesh or abs(mesh[FIGURE] - unit) > 1e-9 * unit:
        mesh = _mesh(unit)
    figure = bpy.data.objects.new("Figure", mesh)
    figure[FIGURE] = True
    figure.location = place
    collection.objects.link(figure)
    return figure


def _mesh(unit: float) -> bpy.types.Mesh:
    vertices: list[np.ndarray] = []
    faces: list[tuple[int, ...]] = []
    mirrored = [(limb, side) for limb in (_LEG, _ARM) for side in (1.0, -1.0)]
    for limb, side in ((_TRUNK, 1.0), *mirrored):
        _tube(np.array(limb), side, vertices, faces)
    mesh = bpy.data.meshes.new("Figure")
    mesh.from_pydata((np.concatenate(vertices) * HEIGHT_MM * unit).tolist(), [], faces)
    mesh.polygons.foreach_set("use_smooth", [True] * len(mesh.polygons))
    mesh.materials.append(nodes.matt("Figure", _RGB))
    mesh[FIGURE] = unit
    return mesh


def _tube(
    rings: np.ndarray, side: float, vertices: list[np.ndarray], faces: list[tuple[int, ...]]
) -> None:
    """Skin a row of level ellipses, closed at both ends; a smooth curve runs through them."""
    from scipy.interpolate import PchipInterpolator

    along = np.linspace(0.0, 1.0, len(rings))
    fine = PchipInterpolator(along, rings)(np.linspace(0.0, 1.0, 6 * len(rings)))
    first = sum(len(one) for one in vertices)
    angle = side * 2 * np.pi * np.arange(_SIDES) / _SIDES
    for x, y, z, breadth, depth in fine:
        ring = np.column_stack(
            [side * x + breadth * np.cos(angle), y + depth * np.sin(angle), np.full(_SIDES, z)]
        )
        vertices.append(ring)
    for row in range(len(fine) - 1):
        base = first + row * _SIDES
        for k in range(_SIDES):
            after = (k + 1) % _SIDES
            corners = (base + k, base + after, base + _SIDES + after, base + _SIDES + k)
            faces.append(corners if side > 0 else corners[::-1])
    bottom, top = first, first + (len(fine) - 1) * _SIDES
    down, up = range(bottom + _SIDES - 1, bottom - 1, -1), range(top, top + _SIDES)
    faces += [tuple(down), tuple(up)] if side > 0 else [tuple(down)[::-1], tuple(up)[::-1]]
