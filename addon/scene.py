# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A build as objects of the scene: one mesh for each part, linked objects, a collection per module.

Everything hangs on one Empty, so that the sculpture is placed, turned and scaled as one thing.
All new data-blocks are noted while they are made; when anything fails they are removed again.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import bpy
import numpy as np

from ..core.results import Build, Joint
from . import convert, looks, meshes, tags

__all__ = ["add_sculpture", "change_look", "rebuild_sculpture", "remove_sculpture"]

_LOOSE = "Between Modules"
_PULL = 1.6  # pins are pulled out by this share of their length


def add_sculpture(
    scene: bpy.types.Scene, build: Build, *, look: str = looks.SHEET
) -> bpy.types.Object:
    """Make a sculpture at the scene's 3D cursor and return its root Empty."""
    with _undone_on_error() as made:
        root = _noted(made, bpy.data.objects.new(build.design.name, None))
        root.location = scene.cursor.location
        collection = _noted(made, bpy.data.collections.new(build.design.name))
        scene.collection.children.link(collection)
        collection.objects.link(root)
        root[tags.DESIGN] = ""
        _fill(made, scene, root, collection, build, look)
    return root


def rebuild_sculpture(
    scene: bpy.types.Scene, root: bpy.types.Object, build: Build, *, look: str = looks.SHEET
) -> None:
    """Replace the plates and pins of a sculpture; its root keeps place, name and animation."""
    old = _belongings(root)
    collection = next(iter(root.users_collection), scene.collection)
    with _undone_on_error() as made:
        _fill(made, scene, root, collection, build, look)
    _clear(old, collection)
    for block in made:  # the names were taken while the old ones stood
        block.name = block.name.rsplit(".", 1)[0] if _numbered(block.name) else block.name


def remove_sculpture(root: bpy.types.Object) -> None:
    """Take a sculpture out of the file, with its meshes and collections."""
    old = _belongings(root)
    collection = next(iter(root.users_collection), None)
    bpy.data.objects.remove(root)
    _clear(old, collection)
    if collection is not None and collection.library is None and _is_ours(collection):
        _hand_up(collection)
        bpy.data.collections.remove(collection)
    _drop_unused_materials()


def change_look(root: bpy.types.Object, material: str, look: str) -> None:
    """Give the parts of a sculpture another look."""
    unit = root.get(tags.UNIT, 0.001)
    for mesh in {piece.data for piece in tags.pieces(root) if tags.PLATE in piece}:
        if isinstance(mesh, bpy.types.Mesh):
            looks.dress(mesh, mesh.get(tags.PART_INDEX, 0), look, material, unit)
    _drop_unused_materials()


# ---------------------------------------------------------------- making


def _fill(
    made: list[bpy.types.ID],
    scene: bpy.types.Scene,
    root: bpy.types.Object,
    collection: bpy.types.Collection,
    build: Build,
    look: str,
) -> None:
    unit = convert.unit_per_mm(scene)
    places = [_module_collection(made, collection, module.id) for module in build.modules]
    part_meshes = []
    for index, part in enumerate(build.parts):
        mesh = _noted(made, meshes.part_mesh(part, unit))
        mesh[tags.PART_INDEX] = index
        looks.dress(mesh, index, look, build.design.sheet.material, unit)
        part_meshes.append(mesh)
    for plate in build.plates:
        piece = _piece(made, plate.id, part_meshes[plate.part], root, places[plate.module])
        piece.matrix_basis = convert.matrix_from_mm(plate.world_from_part, unit)
        piece[tags.PLATE] = plate.id
        piece[tags.PART] = build.parts[plate.part].mark
        piece[tags.MODULE] = build.modules[plate.module].id
        piece[tags.EXPLODE] = plate.explode.tolist()
        piece[tags.EXPLODE_MODULE] = build.modules[plate.module].explode.tolist()
    _add_pins(made, root, collection, places, build, unit)
    root[tags.UNIT] = unit
    root.empty_display_type = "PLAIN_AXES"
    root.empty_display_size = 0.15 * build.totals.diameter * unit
    collection[tags.MODULE] = ""


def _add_pins(
    made: list[bpy.types.ID],
    root: bpy.types.Object,
    collection: bpy.types.Collection,
    places: list[bpy.types.Collection],
    build: Build,
    unit: float,
) -> None:
    shared = {}
    for size in meshes.pin_sizes(build):
        shared[size] = _noted(made, meshes.pin_mesh(size, unit))
        shared[size].materials.append(looks.pin_material(unit))
    loose = None
    for joint in build.joints:
        if joint.pin is None:
            continue
        tab_plate = build.plates[joint.plates[0]]
        if joint.within_module:
            place = places[tab_plate.module]
        else:
            loose = loose or _module_collection(made, collection, _LOOSE)
            place = loose
        for number, pin in enumerate(joint.pins, start=1):
            name = f"{joint.id} Pin" if number == 1 else f"{joint.id} Pin {number}"
            piece = _piece(made, name, shared[meshes.pin_size(pin)], root, place)
            piece.matrix_basis = convert.pin_matrix(pin.centre, pin.axis, unit)
            piece[tags.JOINT] = joint.id
            piece[tags.MODULE] = build.modules[tab_plate.module].id
            piece[tags.EXPLODE] = _pin_way(build, joint).tolist()
            piece[tags.EXPLODE_MODULE] = build.modules[tab_plate.module].explode.tolist()


def _pin_way(build: Build, joint: Joint) -> np.ndarray:
    """Return a pin's own way (3,) in mm: with its tab's plate, and out of the tab."""
    outward = 1.0 if float(joint.pin.axis @ joint.pin.centre) >= 0 else -1.0
    pull = outward * _PULL * joint.pin.length * joint.pin.axis
    return build.plates[joint.plates[0]].explode + pull


def _piece(
    made: list[bpy.types.ID],
    name: str,
    mesh: bpy.types.Mesh,
    root: bpy.types.Object,
    place: bpy.types.Collection,
) -> bpy.types.Object:
    piece = _noted(made, bpy.data.objects.new(name, mesh))
    piece.rotation_mode = "QUATERNION"
    piece.parent = root
    place.objects.link(piece)
    return piece


def _module_collection(
    made: list[bpy.types.ID], parent: bpy.types.Collection, name: str
) -> bpy.types.Collection:
    collection = _noted(made, bpy.data.collections.new(name))
    collection[tags.MODULE] = name
    parent.children.link(collection)
    return collection


@contextmanager
def _undone_on_error() -> Iterator[list[bpy.types.ID]]:
    """Give a list to note new data-blocks in; on any exception remove them and pass it on."""
    made: list[bpy.types.ID] = []
    try:
        yield made
    except BaseException:
        bpy.data.batch_remove(made)
        _drop_unused_materials()
        raise


def _noted(made: list[bpy.types.ID], block):
    made.append(block)
    return block


# ---------------------------------------------------------------- removing


def _belongings(root: bpy.types.Object) -> list[bpy.types.ID]:
    """Return pieces, their meshes and the module collections of a sculpture."""
    pieces = tags.pieces(root)
    shared = list({piece.data for piece in pieces})
    collections = [
        child for place in root.users_collection for child in place.children if tags.MODULE in child
    ]
    return [*pieces, *shared, *collections]


def _clear(old: list[bpy.types.ID], home: bpy.types.Collection | None) -> None:
    """Remove what belonged to a sculpture; what the user put beside it moves to `home`."""
    going = set(old)
    for block in old:
        if isinstance(block, bpy.types.Collection):
            _move_strangers(block, going, home)
    keep = [b for b in old if isinstance(b, bpy.types.Mesh) and _used_elsewhere(b, going)]
    bpy.data.batch_remove([block for block in old if block not in keep])
    _drop_unused_materials()


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


def _used_elsewhere(mesh: bpy.types.Mesh, going: set) -> bool:
    """Tell whether the user's own objects share a part's mesh."""
    return mesh.users > sum(1 for block in going if getattr(block, "data", None) == mesh)


def _numbered(name: str) -> bool:
    """Tell whether Blender put a number behind a name that was taken."""
    stem, dot, number = name.rpartition(".")
    return bool(stem and dot) and number.isdigit() and len(number) >= 3


def _is_ours(collection: bpy.types.Collection) -> bool:
    return tags.MODULE in collection


def _hand_up(collection: bpy.types.Collection) -> None:
    """Move what is left in a collection to the collections that hold it."""
    holders = [
        holder
        for holder in [scene.collection for scene in bpy.data.scenes] + list(bpy.data.collections)
        if collection.name in holder.children
    ]
    for holder in holders:
        _move_strangers(collection, set(), holder)


def _drop_unused_materials() -> None:
    unused = [m for m in bpy.data.materials if "pinwright_look" in m and m.users == 0]
    if unused:
        bpy.data.batch_remove(unused)
