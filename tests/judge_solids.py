# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Solids of a build.json for its judge: parts, fasteners and pins as manifolds of manifold3d."""

from __future__ import annotations

from typing import Any

import manifold3d
import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

__all__ = ["extruded", "pin_pose", "pin_solid", "polygon_of", "standing"]

Floats = npt.NDArray[np.float64]
Record = dict[str, Any]

PIN_SIDES = 64


def polygon_of(part: Record) -> Polygon:
    return Polygon(part["outline"]["exterior"], part["outline"]["interiors"])


def standing(part: Record) -> manifold3d.Manifold:
    """Return the part's solid without what is bent: that stands with the fasteners."""
    flat = extruded(part)
    for ring in part["flaps"]:
        hull = [(x, y, z) for x, y in ring for z in (-part["thickness"], part["thickness"])]
        flat -= manifold3d.Manifold.hull_points(np.array(hull))
    return flat


def extruded(part: Record) -> manifold3d.Manifold:
    """Walls and caps, the caps triangulated by manifold3d: corners stay where they are written."""
    outline = shapely.geometry.polygon.orient(polygon_of(part))
    rings = [np.asarray(r.coords)[:-1] for r in (outline.exterior, *outline.interiors)]
    flat = np.concatenate(rings)
    caps = np.asarray(manifold3d.triangulate(rings))
    n, half = len(flat), part["thickness"] / 2
    here = np.arange(n)
    splits = np.cumsum([len(ring) for ring in rings])[:-1]
    after = np.concatenate([np.roll(run, -1) for run in np.split(here, splits)])
    walls = np.column_stack([here, after, after + n, here, after + n, here + n]).reshape(-1, 3)
    corners = np.column_stack([np.tile(flat, (2, 1)), np.repeat([-half, half], n)])
    faces = np.concatenate([caps[:, ::-1], caps + n, walls])
    return manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=corners, tri_verts=faces.astype(np.uint64))
    )


def pin_solid(pin: Record, extra: float = 0.0) -> manifold3d.Manifold:
    """Return the pin along z: a prism round the cylinder, never thinner than it."""
    radius = (pin["diameter"] + extra) / 2 / np.cos(np.pi / PIN_SIDES)
    return manifold3d.Manifold.cylinder(pin["length"], radius, radius, PIN_SIDES, True)


def pin_pose(pin: Record) -> Floats:
    """Return where the pin stands (4, 4)."""
    z = np.array(pin["axis"])
    x = np.cross(np.eye(3)[np.argmin(np.abs(z))], z)
    x = x / np.linalg.norm(x)
    pose = np.eye(4)
    pose[:3] = np.column_stack([x, np.cross(z, x), z, pin["centre"]])
    return pose
