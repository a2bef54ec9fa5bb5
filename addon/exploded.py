# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates and modules pulled apart: one factor, written into the objects' delta location.

Deltas are added in the root's space and leave location, rotation and animation to the user.
"""

from __future__ import annotations

import bpy
from mathutils import Vector

from . import tags

__all__ = ["ALL", "MODULES", "apply"]

MODULES = "MODULES"
ALL = "ALL"


def apply(root: bpy.types.Object, factor: float, what: str = ALL) -> None:
    """Move every plate and pin of a sculpture to its exploded place.

    Parameters
    ----------
    root : the sculpture's Empty
    factor : 0 together, 1 fully apart
    what : `MODULES` keeps each module together; `ALL` moves its plates too
    """
    unit = root.get(tags.UNIT, 0.001)
    for piece in tags.pieces(root):
        way = Vector(piece[tags.EXPLODE_MODULE])
        if what == ALL:
            way += Vector(piece[tags.EXPLODE])
        piece.delta_location = way * (factor * unit)
