# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Custom properties by which the objects of a sculpture are known, never by their names."""

from __future__ import annotations

import bpy

__all__ = [
    "COARSE",
    "DESIGN",
    "DIGEST",
    "EXPLODE",
    "EXPLODE_MODULE",
    "EXPLODE_WAY",
    "FASTENER",
    "FOLDER",
    "FRAME",
    "HOLDER",
    "JOINT",
    "KEY",
    "KEYS",
    "MODULE",
    "NAME",
    "PART",
    "PART_INDEX",
    "PATH",
    "PIN",
    "PLATE",
    "SPLIT",
    "STUDIO",
    "UNIT",
    "VERSION",
    "is_foreign",
    "is_piece",
    "pieces",
    "root_of",
    "roots",
]

DESIGN = "pinwright_design"  # root: the design as TOML text
FRAME = "pinwright_frame"  # root: the frame's mesh as JSON text, when it came from a mesh
FOLDER = "pinwright_folder"  # root: where the design's mesh paths start
VERSION = "pinwright_version"  # root: of the way in which all this is stored
UNIT = "pinwright_unit"  # root: scene units in one mm, when it was built
PART = "pinwright_part"  # plate, mesh: mark of its part
PART_INDEX = "pinwright_index"  # mesh: number of its part in the build, from 0
PLATE = "pinwright_plate"  # plate: its id
PIN = "pinwright_pin"  # mesh: diameter and length of a pin, mm
MODULE = "pinwright_module"  # plate, pin, collection: id of the module
JOINT = "pinwright_joint"  # pin: id of its joint
FASTENER = "pinwright_fastener"  # mesh: kind of what holds a tab and is no pin
DIGEST = "pinwright_digest"  # mesh: of the solid that it was filled with
KEY = "pinwright_key"  # plate, pin: what it is known by when the sculpture is built anew
KEYS = "pinwright_keys"  # root: the keys of all pieces that the last build made, one a line
NAME = "pinwright_name"  # root, plate, pin: the name that it was given; another one is the artist's
PATH = "pinwright_path"  # curve: name of the motif whose path or outline it draws
COARSE = "pinwright_coarse"  # root: bodies without joints stand for the plates just now
EXPLODE = "pinwright_explode"  # plate, pin: (3,) mm, its own way at full explosion
EXPLODE_MODULE = "pinwright_explode_module"  # plate, pin: (3,) mm, its module's
EXPLODE_WAY = "pinwright_explode_way"  # plate, pin: f, x, y, z one after another, with a plan
HOLDER = "pinwright_holder"  # pin: id of the plate whose tab it locks
SPLIT = "pinwright_split"  # root: the factor at which the modules stand apart, whole
STUDIO = "pinwright_studio"  # everything that a picture's studio is made of


def root_of(obj: bpy.types.Object | None) -> bpy.types.Object | None:
    """Return the root Empty of the sculpture that an object belongs to, or None."""
    while obj is not None:
        if DESIGN in obj:
            return obj
        obj = obj.parent
    return None


def roots(scene: bpy.types.Scene) -> list[bpy.types.Object]:
    """Return the sculptures of a scene."""
    return [obj for obj in scene.objects if DESIGN in obj]


def is_foreign(root: bpy.types.Object) -> bool:
    """Tell whether a sculpture is linked from another file, overridden here or not."""
    return root.library is not None or root.override_library is not None


def is_piece(obj: bpy.types.Object) -> bool:
    """Tell whether an object is a plate or a pin of a sculpture."""
    return PLATE in obj or JOINT in obj


def pieces(root: bpy.types.Object) -> list[bpy.types.Object]:
    """Return the plates and pins that hang on a root."""
    return [child for child in root.children_recursive if is_piece(child)]
