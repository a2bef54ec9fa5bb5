# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What stands of a sculpture in the scene: its pieces by key, meshes, collections; and removing.

Copies that the artist made of single pieces are the artist's own: they are left as they are.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import bpy

from . import meshes, tags

__all__ = ["Standing", "clear", "hand_up", "numbered", "own_home", "plain"]


@dataclass(slots=True, eq=False)
class Standing:
    """The pieces of a sculpture as they are found.

    objects : all of them; by_key : those that a build may change, by their keys
    homes : the collections of modules by name
    """

    objects: list[bpy.types.Object]
    by_key: dict[str, bpy.types.Object]
    homes: dict[str, bpy.types.Collection]
    uses: Counter = field(default_factory=Counter)
    places: dict[bpy.types.Object, bpy.types.Collection] = field(default_factory=dict)

    @classmethod
    def of(cls, root: bpy.types.Object) -> Standing:
        """Look round a root."""
        objects = tags.pieces(root)
        uses = Counter(obj.data for obj in objects)
        by_key: dict[str, bpy.types.Object] = {}
        for obj in objects:
            key = key_of(obj)
            other = by_key.get(key)
            if other is None or _rank(obj, uses) < _rank(other, uses):
                by_key[key] = obj
        homes: dict[str, bpy.types.Collection] = {}
        places = [child for place in root.users_collection for child in place.children]
        seen = {place for place in places if place.get(tags.MODULE)}
        for place in seen:
            homes.setdefault(place[tags.MODULE], place)
        # Blender looks through all collections to tell those of one object: ask it seldom.
        inside = {obj for place in seen for obj in place.objects}
        for obj in objects:  # a module's collection that the artist hung elsewhere
            if obj not in inside:
                for place in obj.users_collection:
                    if place.get(tags.MODULE):
                        seen.add(place)
                        homes.setdefault(place[tags.MODULE], place)
        in_home = {obj: place for place in homes.values() for obj in place.objects}
        return cls(objects, by_key, homes, uses, in_home)

    def meshes(self) -> list[bpy.types.Mesh]:
        """Return the meshes of the pieces that were made by this extension."""
        return [mesh for mesh in self.uses if meshes.is_ours(mesh)]

    def shared(self, mesh: bpy.types.Mesh) -> bool:
        """Tell whether something beside this sculpture uses one of its meshes."""
        return mesh.users - mesh.use_fake_user > self.uses[mesh]

    def home_of(self, obj: bpy.types.Object) -> bpy.types.Collection | None:
        """Return the module's collection that a piece is in; None: the artist put it elsewhere."""
        return self.places.get(obj)


def key_of(obj: bpy.types.Object) -> str:
    """Return what a piece is known by; older files have only the id."""
    return obj.get(tags.KEY) or obj.get(tags.PLATE) or plain(obj.name)


def _rank(obj: bpy.types.Object, uses: Counter) -> tuple[int, int, str]:
    """Of two pieces with one key the first made one comes first: it shares its mesh."""
    return (-uses[obj.data], len(obj.name), obj.name)


def own_home(root: bpy.types.Object, scene: bpy.types.Scene) -> bpy.types.Collection:
    """Return the collection that a sculpture lives in; a copy of one gets one of its own."""
    home = next(iter(root.users_collection), scene.collection)
    others = [obj for obj in home.objects if tags.DESIGN in obj and obj != root]
    if not others or not numbered(root.name) or tags.MODULE not in home:
        return home
    fresh = bpy.data.collections.new(plain(root.name))
    fresh[tags.MODULE] = ""
    scene.collection.children.link(fresh)
    ours = {home, *(child for child in home.children if tags.MODULE in child)}
    for obj in (root, *tags.pieces(root)):
        for place in [place for place in obj.users_collection if place in ours]:
            place.objects.unlink(obj)
        if not obj.users_collection:
            fresh.objects.link(obj)
    return fresh


def numbered(name: str) -> bool:
    """Tell whether Blender put a number behind a name that was taken."""
    stem, dot, number = name.rpartition(".")
    return bool(stem and dot) and number.isdigit() and len(number) >= 3


def plain(name: str) -> str:
    """Return a name without the number that Blender put behind it."""
    return name.rpartition(".")[0] if numbered(name) else name


# ---------------------------------------------------------------- removing


def clear(old: list[bpy.types.ID], home: bpy.types.Collection | None) -> None:
    """Remove what belonged to a sculpture; what the artist put beside it moves to `home`."""
    if not old:
        return
    going = set(old)
    counts = Counter(getattr(block, "data", None) for block in old)
    for block in old:
        if isinstance(block, bpy.types.Collection):
            _move_strangers(block, going, home)
    kept = {
        block for block in old if isinstance(block, bpy.types.Mesh) and block.users > counts[block]
    }
    bpy.data.batch_remove([block for block in old if block not in kept])


def hand_up(collection: bpy.types.Collection) -> None:
    """Move what is left in a collection to the collections that hold it."""
    holders = [
        holder
        for holder in [scene.collection for scene in bpy.data.scenes] + list(bpy.data.collections)
        if collection.name in holder.children
    ]
    for holder in holders:
        _move_strangers(collection, set(), holder)


def _move_strangers(
    collection: bpy.types.Collection, going: set, home: bpy.types.Collection | None
) -> None:
    if home is None:
        return
    for obj in [obj for obj in collection.objects if obj not in going]:
        if obj.name not in home.objects:
            home.objects.link(obj)
    for child in list(collection.children):
        if child.name not in home.children:
            home.children.link(child)
