# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A collection for each step: linked to what comes in at it, so that steps can be shown by hand.

The pieces stay in their modules' collections too; only links are added and taken away.
"""

from __future__ import annotations

from typing import Any

import bpy

from . import tags

__all__ = ["make", "remove"]

_STEP = "pinwright_step"  # collection: number of the step; 0: the one that holds all


def make(root: bpy.types.Object, record: dict[str, Any]) -> int:
    """Make the collections of a plan under the sculpture's own; return how many."""
    home = next(iter(root.users_collection))
    holder = bpy.data.collections.new(f"{root.name} Steps")
    holder[_STEP] = 0
    home.children.link(holder)
    plates, locks = _pieces(root)
    digits = len(str(len(record["steps"])))
    for step in record["steps"]:
        place = step["module"] or "Whole"
        collection = bpy.data.collections.new(f"Step {step['n']:0{digits}d} {place}")
        collection[_STEP] = step["n"]
        holder.children.link(collection)
        for piece in [
            *(piece for plate in step["add"] for piece in plates.get(plate, ())),
            *(piece for joint in step["pin"] for piece in locks.get(joint, ())),
        ]:
            collection.objects.link(piece)
    return len(record["steps"])


def remove(root: bpy.types.Object) -> None:
    """Take the collections of steps away, of this sculpture alone."""
    for home in root.users_collection:
        for holder in [child for child in home.children if child.get(_STEP) == 0]:
            steps = [child for child in holder.children if _STEP in child]
            strangers = [child for child in holder.children if _STEP not in child]
            for stranger in strangers:
                home.children.link(stranger)
            for place in [*steps, holder]:
                for obj in place.objects:
                    if len(obj.users_collection) == 1:  # the user's own, put in by hand
                        home.objects.link(obj)
            bpy.data.batch_remove([*steps, holder])


def _pieces(
    root: bpy.types.Object,
) -> tuple[dict[str, list[bpy.types.Object]], dict[str, list[bpy.types.Object]]]:
    plates: dict[str, list[bpy.types.Object]] = {}
    locks: dict[str, list[bpy.types.Object]] = {}
    for piece in tags.pieces(root):
        if tags.PLATE in piece:
            plates.setdefault(piece[tags.PLATE], []).append(piece)
        else:
            locks.setdefault(piece.get(tags.JOINT, ""), []).append(piece)
    return plates, locks
