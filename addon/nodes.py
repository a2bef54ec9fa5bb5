# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plain materials of rooms, figures and letters: one node each."""

from __future__ import annotations

import bpy

__all__ = ["glowing", "matt"]

_TAG = "pinwright_plain"


def matt(name: str, rgb: tuple[float, float, float], roughness: float = 0.9) -> bpy.types.Material:
    """Return a material of one colour, linear, made once and then shared."""
    return _kept(name, rgb, "ShaderNodeBsdfPrincipled", "Base Color", roughness)


def glowing(name: str, rgb: tuple[float, float, float]) -> bpy.types.Material:
    """Return a material that shines by itself and looks the same in any light."""
    return _kept(name, rgb, "ShaderNodeEmission", "Color", None)


def _kept(
    name: str, rgb: tuple[float, float, float], kind: str, socket: str, roughness: float | None
) -> bpy.types.Material:
    for known in bpy.data.materials:
        if known.get(_TAG) == name:
            return known
    material = bpy.data.materials.new(name)
    material[_TAG] = name
    if bpy.app.version < (5, 0, 0):
        material.use_nodes = True
    tree = material.node_tree
    tree.nodes.clear()
    shader, output = tree.nodes.new(kind), tree.nodes.new("ShaderNodeOutputMaterial")
    output.location = (300, 0)
    shader.inputs[socket].default_value = (*rgb, 1.0)
    if roughness is not None:
        shader.inputs["Roughness"].default_value = roughness
    tree.links.new(shader.outputs[0], output.inputs["Surface"])
    material.diffuse_color = (*rgb, 1.0)
    return material
