# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Mesh data-blocks of a build: one for each part and each size of pin, shared by all copies."""

from __future__ import annotations

import bpy

from ..core.results import Build, Part, Pin
from . import convert, prisms, tags

__all__ = ["PinSize", "part_mesh", "pin_mesh", "pin_size", "pin_sizes"]

PinSize = tuple[float, float]


def pin_size(pin: Pin) -> PinSize:
    """Return what makes two pins one size: diameter and length, to a thousandth of a mm."""
    return (round(pin.diameter, 3), round(pin.length, 3))


def pin_sizes(build: Build) -> list[PinSize]:
    """Return the sizes of pins that a build needs, smallest first."""
    return sorted({pin_size(joint.pin) for joint in build.joints if joint.pin is not None})


def part_mesh(part: Part, unit: float) -> bpy.types.Mesh:
    """Make the mesh of a part; material 0 is the sheet's face, material 1 its cut edge."""
    mesh = bpy.data.meshes.new(f"Part {part.mark}")
    convert.fill_mesh(mesh, prisms.prism(part.outline, part.thickness), unit)
    mesh[tags.PART] = part.mark
    return mesh


def pin_mesh(size: PinSize, unit: float) -> bpy.types.Mesh:
    """Make the mesh of a pin, along z."""
    diameter, length = size
    mesh = bpy.data.meshes.new(f"Pin {diameter:g} x {length:g}")
    convert.fill_mesh(mesh, prisms.cylinder(diameter, length), unit)
    mesh[tags.PIN] = [diameter, length]
    return mesh
