# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Sees when the artist edits a curve that draws a motif, and lets the sculpture follow it.

Blender tells of it in the midst of its own work, so here it is only noted; a timer does the rest a
moment later, also while a point is still being dragged.
"""

from __future__ import annotations

from typing import Any

import bpy
from bpy.app.handlers import persistent

from . import live, tags

__all__ = ["follow", "register", "unregister"]

_changed: set[int] = set()  # session uids of roots


@persistent
def _after_update(scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph) -> None:
    """Note the sculptures whose curves have changed."""
    if not (depsgraph.id_type_updated("CURVE") or depsgraph.id_type_updated("OBJECT")):
        return
    for update in depsgraph.updates:
        kind = update.id.id_type
        if kind == "OBJECT" and update.is_updated_transform:
            _note(update.id.original)
        elif kind == "CURVE":
            data = update.id.original
            for obj in bpy.data.objects:
                if obj.type == "CURVE" and obj.data == data:
                    _note(obj)
    if _changed and not bpy.app.background and not bpy.app.timers.is_registered(follow):
        bpy.app.timers.register(follow, first_interval=0.01)


def _note(obj: Any) -> None:
    if tags.PATH in obj and obj.parent is not None and tags.DESIGN in obj.parent:
        _changed.add(obj.parent.session_uid)


def follow() -> None:
    """Let the sculptures follow whose curves have changed."""
    roots = [obj for obj in bpy.data.objects if obj.session_uid in _changed and tags.DESIGN in obj]
    _changed.clear()
    for root in roots:
        live.follow_curve(root)


def register() -> None:
    """Look at every update of the scene."""
    bpy.app.handlers.depsgraph_update_post.append(_after_update)


def unregister() -> None:
    """Look no more."""
    if _after_update in bpy.app.handlers.depsgraph_update_post:
        bpy.app.handlers.depsgraph_update_post.remove(_after_update)
    if bpy.app.timers.is_registered(follow):
        bpy.app.timers.unregister(follow)
    _changed.clear()
