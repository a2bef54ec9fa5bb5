# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Steps of the walk in awkward places: edit mode, hidden collections, local view, linked files."""

from __future__ import annotations

import time

import bpy

from tests.gui import hands
from tests.gui.hands import Wait
from tests.gui.steps import Notes, part, pieces, sculpture

LONGEST = 240.0  # s that a loaded machine may take for a build


def rebuild() -> None:
    """Press Rebuild Sculpture."""
    assert bpy.ops.pinwright.rebuild_sculpture("INVOKE_DEFAULT", True) == {"FINISHED"}


def edit_mode(notes: Notes) -> Wait:
    """built anew while a plate is being edited: object mode is back, the plate is whole"""
    plate = next(piece for piece in pieces() if "pinwright_plate" in piece)
    part_mark, vertices = plate["pinwright_part"], len(plate.data.vertices)
    with hands.here():
        bpy.context.view_layer.objects.active = plate
        bpy.ops.object.mode_set(mode="EDIT")
        bpy.ops.mesh.select_all(action="SELECT")
        bpy.ops.mesh.subdivide()
    yield 0.3
    with hands.here():
        rebuild()
        assert bpy.context.mode == "OBJECT"
    yield 0.3
    same = [piece for piece in pieces() if piece.get("pinwright_part") == part_mark]
    assert {len(piece.data.vertices) for piece in same} == {vertices}


def local_view(notes: Notes) -> Wait:
    """built anew in a view that shows chosen objects only: the pieces stay in sight"""
    with hands.here():
        for piece in pieces():
            piece.select_set(True)
        bpy.ops.view3d.localview()
    yield 0.5
    space = hands.area().spaces[0]
    assert space.local_view is not None
    with hands.here():
        bpy.context.view_layer.objects.active = sculpture()
        rebuild()
    yield 0.5
    scene = bpy.context.evaluated_depsgraph_get()  # the others do not know of local view
    assert all(piece.evaluated_get(scene).visible_in_viewport_get(space) for piece in pieces())
    with hands.here():
        bpy.ops.view3d.localview()
    yield 0.3


def hidden_collections(notes: Notes) -> Wait:
    """modules that are hidden or excluded: built anew, and what is hidden is not selected"""
    home = bpy.context.view_layer.layer_collection.children[sculpture().users_collection[0].name]
    first, second = list(home.children)[:2]
    first.exclude = True
    second.hide_viewport = True
    yield 0.3
    with hands.here():
        plate = next(p for p in pieces() if p.name in first.collection.objects)
        mark = plate.get("pinwright_plate") or plate["pinwright_joint"]
        nothing = bpy.ops.pinwright.select_pieces("INVOKE_DEFAULT", True, ids=mark)
        assert nothing == {"CANCELLED"}
        rebuild()
    yield 0.3
    plates = sum(1 for piece in pieces() if "pinwright_plate" in piece)
    assert plates == sculpture().pinwright.figures.plates


def linked(notes: Notes) -> Wait:
    """a sculpture linked from a file, then overridden: nothing breaks, the tool-tip says why not"""
    library = str(notes.out / "library.blend")
    ours = sculpture()
    home = ours.users_collection[0]
    bpy.data.libraries.write(library, {home}, fake_user=True)
    with bpy.data.libraries.load(library, link=True) as (there, wanted):
        wanted.collections = [name for name in there.collections if name == home.name]
    (other,) = wanted.collections
    bpy.context.scene.collection.children.link(other)
    yield 0.3
    yield from _refused(next(obj for obj in other.objects if "pinwright_design" in obj))
    yield from notes.shoot("linked-panels", side=True)
    override = other.override_hierarchy_create(bpy.context.scene, bpy.context.view_layer)
    yield 0.3
    yield from _refused(next(obj for obj in override.objects if "pinwright_design" in obj))
    for obj in [o for o in bpy.data.objects if o.library or o.override_library]:
        bpy.data.objects.remove(obj)
    for collection in [c for c in bpy.data.collections if c.library or c.override_library]:
        bpy.data.collections.remove(collection)
    bpy.data.libraries.remove(bpy.data.libraries[0])
    with hands.here():
        bpy.context.view_layer.objects.active = sculpture()
    yield 0.3


def _refused(root: bpy.types.Object) -> Wait:
    """Look whether a sculpture of another file is shown, and left alone."""
    with hands.here():
        bpy.context.view_layer.objects.active = root
        assert part("addon.tags").is_foreign(root)
        for name in ("rebuild_sculpture", "remove_sculpture"):
            operator = getattr(bpy.ops.pinwright, name)
            assert not operator.poll()
            said = ""
            try:
                operator()
            except RuntimeError as error:
                said = str(error)
            assert "another file" in said, said
        assert bpy.ops.pinwright.save_design.poll()
    yield 0.5


def two_sculptures(notes: Notes) -> Wait:
    """a second sculpture: each keeps its settings; renaming and deleting by hand are borne"""
    first = sculpture()
    name = first.name
    with hands.here():
        bpy.context.view_layer.objects.active = None
        assert bpy.ops.pinwright.build_sculpture("INVOKE_DEFAULT", True) == {"FINISHED"}
        second = bpy.context.active_object
    assert second.name != name
    second.pinwright.explode = 1.0
    assert bpy.data.objects[name].pinwright.explode != 1.0
    second.name = "Another Name"
    bpy.data.objects.remove(part("addon.tags").pieces(second)[0])
    with hands.here():
        rebuild()
    yield 0.5
    second = bpy.data.objects["Another Name"]
    assert len(part("addon.tags").pieces(second)) == 90  # 30 plates, 60 pins
    yield from notes.shoot("two-window", unlike="demo-window")
    with hands.here():
        bpy.ops.pinwright.remove_sculpture("INVOKE_DEFAULT", True)
        bpy.context.view_layer.objects.active = bpy.data.objects[name]
    yield 0.3
    assert sculpture().name == name


def long_build(notes: Notes) -> Wait:
    """edges that all differ: built beside Blender, Esc leaves nothing, one undo takes it back"""
    first = sculpture().name
    with hands.here():
        bpy.ops.mesh.primitive_ico_sphere_add(subdivisions=2, radius=0.5, location=(2, 0, 0))
        frame = bpy.context.active_object
        frame.name = "Uneven"
        for vertex in frame.data.vertices:
            x, y, z = vertex.co
            vertex.co = (x + 0.31 * y, 1.13 * y + 0.17 * z, 1.29 * z + 0.07 * x)
        frame.data.update()
        bpy.ops.ed.undo_push(message="Uneven")  # what undo goes back to
    yield 0.3
    before = sorted(obj.name for obj in bpy.data.objects), len(bpy.data.meshes)
    _begin()
    yield 1.0
    yield from notes.shoot("building-window")
    assert _building(), "it was built before Esc could be pressed"
    yield from hands.press("ESC")
    assert not _building()
    assert before == (sorted(obj.name for obj in bpy.data.objects), len(bpy.data.meshes))
    _begin()
    began = time.monotonic()
    at, longest = time.thread_time(), 0.0
    while _building():
        assert time.monotonic() - began < LONGEST
        yield 0.02
        now = time.thread_time()
        longest, at = max(longest, now - at), now
    root = _root_of(bpy.context.active_object)
    # Each face of an icosahedron's 20 divided in four: 80 faces, 120 edges by Euler's formula.
    assert root.pinwright.figures.plates == root.pinwright.figures.parts == 120
    name = root.name
    took = time.monotonic() - began
    notes.say(f"built in {took:.1f} s; the window stood still for {longest:.2f} s at most")
    yield 0.5
    yield from hands.undo()
    assert name not in bpy.data.objects
    bpy.data.objects.remove(bpy.data.objects["Uneven"])
    with hands.here():
        bpy.context.view_layer.objects.active = bpy.data.objects[first]
    yield 0.3


def _begin() -> None:
    with hands.here():
        done = bpy.ops.pinwright.build_sculpture("INVOKE_DEFAULT", True, start="OBJECT")
        assert done == {"RUNNING_MODAL"}


def _building() -> bool:
    running = [operator.bl_idname for operator in hands.window().modal_operators]
    return "PINWRIGHT_OT_build_sculpture" in running


def _root_of(obj: bpy.types.Object) -> bpy.types.Object:
    return part("addon.tags").root_of(obj)


STEPS = (edit_mode, local_view, hidden_collections, linked, two_sculptures, long_build)
