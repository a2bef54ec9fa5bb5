# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A build as objects of the scene: one mesh for each part, linked objects, a collection per module.

Everything hangs on one Empty, so that the sculpture is placed, turned and scaled as one thing.
What stands is changed in place, so the artist's names, materials and collections stay. All is
worked out before the scene is touched; should anything fail later, new data-blocks go again.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import bpy
import numpy as np
from mathutils import Matrix

from ..core.results import Build
from . import convert, looks, meshes, pieces, standing, tags
from .prisms import Prism

__all__ = ["add_sculpture", "change_look", "rebuild_sculpture", "remove_sculpture"]


def add_sculpture(
    scene: bpy.types.Scene, build: Build, *, look: str = looks.SHEET
) -> bpy.types.Object:
    """Make a sculpture at the scene's 3D cursor and return its root Empty."""
    plan = _Plan.of(build, look, convert.unit_per_mm(scene))
    with _undone_on_error() as made:
        root = _noted(made, bpy.data.objects.new(build.design.name, None))
        root.location = scene.cursor.location
        collection = _noted(made, bpy.data.collections.new(build.design.name))
        collection[tags.MODULE] = ""
        collection.objects.link(root)
        root[tags.DESIGN] = ""
        root[tags.NAME] = build.design.name
        _fill(made, root, collection, plan)
        scene.collection.children.link(collection)  # last: a scene looks after what is in it
    return root


def rebuild_sculpture(
    scene: bpy.types.Scene,
    root: bpy.types.Object,
    build: Build,
    *,
    look: str = looks.SHEET,
    whole: bool = True,
) -> None:
    """Make a sculpture show another build: its root keeps place, name and animation.

    whole : pieces that were deleted come back, and meshes that were edited by hand are made anew;
        False leaves the ones away and touches only meshes whose shape changes
    """
    plan = _Plan.of(build, look, convert.unit_per_mm(scene), whole)
    with _undone_on_error() as made:
        home = standing.own_home(root, scene)
        _fill(made, root, home, plan)


def remove_sculpture(root: bpy.types.Object) -> None:
    """Take a sculpture out of the file, with its meshes and collections."""
    home = next(iter(root.users_collection), None)
    own = standing.Standing.of(root)
    drawn = [child for child in root.children if tags.PATH in child]
    lines = [curve.data for curve in drawn]
    bpy.data.objects.remove(root)
    standing.clear([*own.objects, *own.meshes(), *own.homes.values(), *drawn, *lines], home)
    if home is not None and home.library is None and tags.MODULE in home:
        standing.hand_up(home)
        bpy.data.collections.remove(home)
    _drop_unused_materials()


def change_look(root: bpy.types.Object, material: str, look: str) -> None:
    """Give the parts of a sculpture another look."""
    unit = root.get(tags.UNIT, 0.001)
    for mesh in {piece.data for piece in tags.pieces(root)}:
        if isinstance(mesh, bpy.types.Mesh) and meshes.is_ours(mesh) and tags.PART in mesh:
            meshes.dress(mesh, mesh.get(tags.PART_INDEX, 0), look, material, unit)
    _drop_unused_materials()


# ---------------------------------------------------------------- making


@dataclass(frozen=True, slots=True, eq=False)
class _Plan:
    """What is to be shown, worked out: matrices in scene units, solids in mm.

    solids : made ones, so far; matrices : (N, 4, 4)
    """

    wanted: pieces.Wanted
    matrices: np.ndarray
    solids: dict[int, Prism]
    look: str
    material: str
    unit: float
    size: float
    whole: bool

    @classmethod
    def of(cls, build: Build, look: str, unit: float, whole: bool = True) -> _Plan:
        wanted = pieces.wanted_of(build)
        matrices = np.array([piece.world for piece in wanted.pieces])
        if len(matrices):
            matrices[:, :3, 3] *= unit
        size = 0.15 * build.totals.diameter * unit
        plan = cls(wanted, matrices, {}, look, build.design.sheet.material, unit, size, whole)
        if whole:
            for index in range(len(wanted.shapes)):
                plan.solid(index)
        return plan

    def solid(self, index: int) -> Prism:
        """Return the solid of a shape, made once."""
        if index not in self.solids:
            self.solids[index] = self.wanted.shapes[index].make()
        return self.solids[index]


def _fill(
    made: list[bpy.types.ID],
    root: bpy.types.Object,
    home: bpy.types.Collection,
    plan: _Plan,
) -> None:
    """Make objects and meshes agree with the plan: change what stands, add and take away."""
    wanted = plan.wanted
    own = standing.Standing.of(root)
    shape_meshes = _meshes(made, own, plan)
    homes = _homes(made, home, own, wanted)
    known = set(root.get(tags.KEYS, "").split("\n"))
    matrices = [Matrix(rows) for rows in plan.matrices.tolist()]
    kept = set()
    renamed = []
    for piece, matrix in zip(wanted.pieces, matrices, strict=True):
        obj = own.by_key.get(piece.key)
        if obj is None:
            if not plan.whole and piece.key in known:
                continue  # deleted by hand
            obj = _noted(made, bpy.data.objects.new(piece.name, shape_meshes[piece.shape]))
            obj.rotation_mode = "QUATERNION"
            obj.parent = root
            homes[piece.home].objects.link(obj)
            obj[tags.NAME] = piece.name
        else:
            kept.add(obj)
            _exchange(obj, piece, shape_meshes[piece.shape], own, homes)
            if obj[tags.NAME] != piece.name or standing.numbered(obj.name):
                renamed.append((obj, piece.name))
        obj.matrix_basis = matrix
        for key, value in piece.tags.items():
            obj[key] = value
        obj[tags.KEY] = piece.key
    gone: list[bpy.types.ID] = [obj for obj in own.by_key.values() if obj not in kept]
    used = set(shape_meshes)
    gone += [mesh for mesh in own.meshes() if mesh not in used]
    gone += [place for place in own.homes.values() if place not in set(homes.values())]
    standing.clear(gone, home)
    _rename([*renamed, *((block, block[tags.NAME]) for block in made if tags.NAME in block)])
    root[tags.KEYS] = "\n".join(piece.key for piece in wanted.pieces)
    root[tags.UNIT] = plan.unit
    root.empty_display_type = "PLAIN_AXES"
    root.empty_display_size = plan.size
    root.pop(tags.COARSE, None)


def _meshes(made: list[bpy.types.ID], own: standing.Standing, plan: _Plan) -> list[bpy.types.Mesh]:
    """Return a mesh for each shape: the one that most of its pieces have had, or a new one."""
    chosen: list[bpy.types.Mesh | None] = [None] * len(plan.wanted.shapes)
    taken = set()
    for piece in plan.wanted.pieces:
        obj = own.by_key.get(piece.key)
        mesh = obj.data if obj is not None else None
        if chosen[piece.shape] is None and meshes.is_ours(mesh) and mesh not in taken:
            taken.add(mesh)
            chosen[piece.shape] = mesh
    for index, shape in enumerate(plan.wanted.shapes):
        mesh = chosen[index]
        if mesh is None:
            mesh = _noted(made, meshes.new_mesh(shape))
        elif own.shared(mesh):  # a copy of the sculpture shows it too, and stays as it is
            mesh = _noted(made, mesh.copy())
        if plan.whole or mesh.get(tags.DIGEST) != meshes.digest_of(shape, plan.unit):
            meshes.fill(mesh, shape, plan.solid(index), plan.unit)
        part = shape.index if shape.stuff == pieces.SHEET else None
        meshes.dress(mesh, part, plan.look, plan.material, plan.unit)
        chosen[index] = mesh
    return chosen


def _homes(
    made: list[bpy.types.ID],
    home: bpy.types.Collection,
    own: standing.Standing,
    wanted: pieces.Wanted,
) -> dict[str, bpy.types.Collection]:
    """Return the collection of each module, and of what is between them, made where missing."""
    names = list(wanted.modules)
    if any(piece.home == pieces.LOOSE for piece in wanted.pieces):
        names.append(pieces.LOOSE)
    homes = {}
    for name in names:
        place = own.homes.get(name)
        if place is None:
            place = _noted(made, bpy.data.collections.new(name))
            place[tags.MODULE] = name
            home.children.link(place)
        homes[name] = place
    return homes


def _exchange(
    obj: bpy.types.Object,
    piece: pieces.Piece,
    mesh: bpy.types.Mesh,
    own: standing.Standing,
    homes: dict[str, bpy.types.Collection],
) -> None:
    """Give a piece that stands its mesh, and its module's collection if it is in one of them."""
    if obj.data is not mesh and obj.data != mesh and meshes.is_ours(obj.data):
        obj.data = mesh
    place = homes[piece.home]
    was = own.home_of(obj)
    if was is not None and was != place:
        place.objects.link(obj)
        was.objects.unlink(obj)


def _rename(pairs: list[tuple[bpy.types.ID, str]]) -> None:
    """Give names that Blender had to number, or that are no longer true, once all are free.

    A name that the artist chose stays.
    """
    for block, name in pairs:
        if standing.plain(block.name) == block[tags.NAME] and block.name != name:
            block.name = name
        block[tags.NAME] = name
    for block, name in pairs:
        bumped = block.name != name and standing.plain(block.name) == name
        if bumped and name not in bpy.data.objects:
            block.name = name


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


def _drop_unused_materials() -> None:
    unused = [m for m in bpy.data.materials if "pinwright_look" in m and m.users == 0]
    if unused:
        bpy.data.batch_remove(unused)
