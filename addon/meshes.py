# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Mesh data-blocks of a sculpture: one for each shape, shared by all its copies, filled in place.

A mesh that stands keeps its name, and any material that the artist gave it.
"""

from __future__ import annotations

import bpy

from . import convert, looks, pieces, tags
from .prisms import Prism

__all__ = ["dress", "fill", "is_ours", "new_mesh"]

_LOOK = "pinwright_look"


def new_mesh(shape: pieces.Shape) -> bpy.types.Mesh:
    """Make an empty mesh for a shape."""
    return bpy.data.meshes.new(shape.name)


def fill(mesh: bpy.types.Mesh, shape: pieces.Shape, prism: Prism, unit: float) -> None:
    """Write a shape's solid into its mesh, and what it is known by."""
    convert.fill_mesh(mesh, prism, unit)
    for key in (tags.PART, tags.PART_INDEX, tags.PIN, tags.FASTENER):
        if key in shape.tags:
            mesh[key] = shape.tags[key]
        elif key in mesh:
            del mesh[key]
    mesh[tags.DIGEST] = digest_of(shape, unit)


def digest_of(shape: pieces.Shape, unit: float) -> str:
    """Return what a mesh that was filled with this shape carries."""
    return f"{shape.digest} {unit:g}"


def is_ours(mesh: bpy.types.ID | None) -> bool:
    """Tell whether a mesh was made by this extension, so that it may be filled anew."""
    return isinstance(mesh, bpy.types.Mesh) and (
        tags.PART in mesh or tags.PIN in mesh or tags.FASTENER in mesh
    )


def dress(mesh: bpy.types.Mesh, part: int | None, look: str, material: str, unit: float) -> None:
    """Give a mesh the materials of its look; those that the artist put in their place stay."""
    own = {
        slot: entry
        for slot, entry in enumerate(mesh.materials)
        if entry is not None and _LOOK not in entry
    }
    if part is not None:
        looks.dress(mesh, part, look, material, unit)
    elif not len(mesh.materials):
        tie = "cable tie" in mesh.get(tags.FASTENER, "")
        mesh.materials.append(looks.tie_material() if tie else looks.pin_material(unit))
    for slot, entry in own.items():
        mesh.materials[slot] = entry
