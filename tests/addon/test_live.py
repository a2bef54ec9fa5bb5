# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Following settings: bodies at once, joints at rest, and all that the artist changed stays.

Without a window no timers run, so the stages are called here; the walk through Blender's window
drags for real.
"""

from __future__ import annotations

import gc
from pathlib import Path

import numpy as np
import pytest
import shapely

bpy = pytest.importorskip("bpy")

from pinwright.addon import collector, live, making, scene, store, tags  # noqa: E402
from pinwright.core import pipeline  # noqa: E402
from pinwright.core.rough import rough  # noqa: E402


def coarse(root, **changes) -> bool:
    for name, value in changes.items():
        setattr(root.pinwright, name, value)
    return live.coarse(root, live.design_of(root))


def plates(root) -> dict:
    return {piece[tags.PLATE]: piece for piece in tags.pieces(root) if tags.PLATE in piece}


def blocks() -> list[set[str]]:
    return [{block.name for block in kind} for kind in (bpy.data.objects, bpy.data.meshes)]


def assert_shows(root, build) -> None:
    """Every plate stands where a fresh build puts it, with a mesh of its part's volume."""
    found = plates(root)
    assert found.keys() == {plate.id for plate in build.plates}
    for plate in build.plates:
        piece = found[plate.id]
        place = np.array(piece.matrix_basis.translation) * 1000
        np.testing.assert_allclose(place, plate.world_from_part[:3, 3], atol=1e-3)
        outline = build.parts[plate.part].outline
        corners = sum(len(r.coords) - 1 for r in (outline.exterior, *outline.interiors))
        assert len(piece.data.vertices) == 2 * corners


def test_bodies_come_first_in_the_meshes_that_are_there(root) -> None:
    before = blocks()
    assert coarse(root, thickness=4.0)
    assert blocks() == before
    assert root[tags.COARSE]
    plate = plates(root)["B01"]
    assert len(plate.data.vertices) == 8  # a rectangle without its four slots
    deep = 2 * max(vertex.co.z for vertex in plate.data.vertices)
    assert deep * 1000 == pytest.approx(4.0, abs=1e-4)
    assert not plate.data.validate()


def test_bodies_stand_where_core_has_them() -> None:
    bpy.ops.pinwright.build_sculpture(solid="CUBE")
    root = bpy.context.active_object
    assert coarse(root, diameter=700.0)
    found = rough(live.design_of(root))
    places, bodies = found.places(), found.bodies()
    for piece in plates(root).values():
        motif, _, element = piece[tags.KEY].rpartition(":")
        corners = np.array([piece.matrix_basis @ v.co for v in piece.data.vertices]) * 1000
        flat = np.c_[corners, np.ones(len(corners))] @ np.linalg.inv(places[motif, int(element)]).T
        np.testing.assert_allclose(abs(flat[:, 2]), 1.5, atol=1e-3)
        rim = shapely.distance(shapely.points(flat[:, :2]), bodies[motif].boundary)
        assert rim.max() < 1e-3
        assert len(corners) == 2 * (len(bodies[motif].exterior.coords) - 1)


def test_joints_come_when_the_hand_rests(root) -> None:
    before = blocks()
    assert coarse(root, thickness=4.0)
    assert live.full(root)
    assert blocks() == before
    assert tags.COARSE not in root
    assert not root.pinwright.stale
    assert root.pinwright.figures.thickness == 4.0
    assert_shows(root, pipeline.build(live.design_of(root)))


def test_what_cannot_be_built_shows_the_last_good_one_and_says_why(root) -> None:
    good = making.build_of(root)
    kept = root[tags.DESIGN]
    coarse(root, use_tab_width=True, tab_width=500.0)
    assert not live.full(root)
    assert "pieces" in root.pinwright.fault
    assert root[tags.DESIGN] == kept
    assert_shows(root, good)
    root.pinwright.tab_width = 20.0
    assert live.full(root)
    assert root.pinwright.fault == ""


def test_the_artists_own_changes_stay(root) -> None:
    mine = bpy.data.materials.new("Mine")
    plates(root)["B01"].data.materials[0] = mine
    aside = bpy.data.collections.new("Aside")
    bpy.context.scene.collection.children.link(aside)
    moved = plates(root)["A02"]
    for place in moved.users_collection:
        place.objects.unlink(moved)
    aside.objects.link(moved)
    named = plates(root)["A03"]
    named.name = "Left Wing"
    named.data.name = "Wing Mesh"
    named.modifiers.new("Soft", "BEVEL")
    root.name = "Lobby"
    bpy.data.objects.remove(plates(root)["A04"])
    assert coarse(root, thickness=4.0)
    assert live.full(root)
    assert plates(root)["B01"].data.materials[0] == mine
    assert [place.name for place in moved.users_collection] == ["Aside"]
    assert (named.name, named.data.name, named[tags.PLATE]) == ("Left Wing", "Wing Mesh", "A03")
    assert [modifier.name for modifier in named.modifiers] == ["Soft"]
    assert root.name == "Lobby"
    assert "A04" not in plates(root)  # deleted by hand
    assert bpy.ops.pinwright.rebuild_sculpture() == {"FINISHED"}
    assert "A04" in plates(root)  # asked for, it comes back
    assert named.name == "Left Wing"
    scene.change_look(root, "birch-plywood", "SHEET")
    assert plates(root)["B01"].data.materials[0] == mine


def test_where_plates_come_and_go_all_is_done_at_once() -> None:
    bpy.ops.pinwright.build_sculpture(solid="CUBE")
    root = bpy.context.active_object
    assert not coarse(root, solid="DODECAHEDRON")
    assert live.full(root)
    build = pipeline.build(live.design_of(root))
    assert_shows(root, build)
    assert len({piece.data for piece in plates(root).values()}) == len(build.parts)
    assert len([mesh for mesh in bpy.data.meshes if tags.PART in mesh]) == len(build.parts)


def test_a_copy_of_one_plate_is_the_artists(root) -> None:
    plate = plates(root)["B01"]
    copy = plate.copy()
    copy.data = plate.data.copy()
    bpy.context.scene.collection.objects.link(copy)
    count = len(copy.data.vertices)
    assert coarse(root, thickness=4.0)
    assert live.full(root)
    assert len(copy.data.vertices) == count
    assert copy.name in bpy.data.objects


def duplicate(root, *, linked: bool):
    for obj in bpy.context.selected_objects:
        obj.select_set(False)
    for obj in (root, *tags.pieces(root)):
        obj.select_set(True)
    bpy.context.view_layer.objects.active = root
    assert bpy.ops.object.duplicate(linked=linked) == {"FINISHED"}
    bpy.context.view_layer.update()
    return bpy.context.active_object


@pytest.mark.parametrize("linked", [False, True])
def test_a_duplicated_sculpture_changes_alone(root, linked: bool) -> None:
    before = {name: len(piece.data.vertices) for name, piece in plates(root).items()}
    other = duplicate(root, linked=linked)
    assert other != root
    assert len(tags.pieces(other)) == len(tags.pieces(root))
    other.pinwright.thickness = 5.0
    assert bpy.ops.pinwright.rebuild_sculpture() == {"FINISHED"}
    assert store.stored_design(other).sheet.thickness == 5.0
    assert store.stored_design(root).sheet.thickness == 3.0
    deep = [max(v.co.z for v in plates(r)["B01"].data.vertices) for r in (root, other)]
    assert deep == pytest.approx([0.0015, 0.0025])
    assert before == {name: len(piece.data.vertices) for name, piece in plates(root).items()}
    assert len({piece.data for piece in plates(other).values()}) == 2  # one mesh for each part
    assert not set(other.users_collection) & set(root.users_collection)
    bpy.context.view_layer.objects.active = other
    assert bpy.ops.pinwright.remove_sculpture() == {"FINISHED"}
    assert len(tags.pieces(root)) == 9


def test_a_sculpture_is_appended_from_another_file(root, tmp_path: Path) -> None:
    path = tmp_path / "library.blend"
    home = root.users_collection[0].name
    text = root[tags.DESIGN]
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    bpy.ops.wm.read_homefile(use_empty=True)
    with bpy.data.libraries.load(str(path), link=False) as (_, wanted):
        wanted.collections = [home]
    bpy.context.scene.collection.children.link(wanted.collections[0])
    bpy.context.view_layer.update()
    (there,) = tags.roots(bpy.context.scene)
    assert there[tags.DESIGN] == text
    assert there.pinwright.figures.plates == 5
    bpy.context.view_layer.objects.active = there
    there.pinwright.thickness = 4.0
    assert live.full(there)
    assert_shows(there, pipeline.build(live.design_of(there)))
    assert bpy.ops.pinwright.remove_sculpture() == {"FINISHED"}
    assert not bpy.data.objects


def test_a_file_of_an_older_version_is_followed_too(root) -> None:
    for piece in tags.pieces(root):  # as they were before pieces had keys
        for key in (tags.KEY, tags.NAME):
            del piece[key]
    for key in (tags.KEYS, tags.NAME):
        del root[key]
    names = {piece.name for piece in tags.pieces(root)}
    root.pinwright.thickness = 4.0
    assert bpy.ops.pinwright.rebuild_sculpture() == {"FINISHED"}
    assert {piece.name for piece in tags.pieces(root)} == names
    assert_shows(root, pipeline.build(live.design_of(root)))


def test_two_sculptures_are_followed_each_for_itself(root) -> None:
    bpy.ops.pinwright.build_sculpture(solid="CUBE", recipe="RINGS", diameter=200.0)
    other = bpy.context.active_object
    places = {piece.name: piece.matrix_basis.copy() for piece in tags.pieces(other)}
    assert coarse(root, thickness=4.0)
    assert live.full(root)
    assert {piece.name: piece.matrix_basis.copy() for piece in tags.pieces(other)} == places
    assert live.full(other)
    assert store.stored_design(other).recipe is not None


def test_no_garbage_is_collected_while_a_build_is_shown(root, monkeypatch) -> None:
    seen = []
    building = pipeline.build

    def watched(*args, **kwargs):
        seen.append(gc.isenabled())
        return building(*args, **kwargs)

    monkeypatch.setattr(making, "build_design", watched)
    assert gc.isenabled()
    root.pinwright.thickness = 4.0
    assert live.full(root)
    root.pinwright.use_tab_width, root.pinwright.tab_width = True, 500.0
    assert not live.full(root)  # a fault, after which it goes on all the same
    assert seen == [False, False]
    assert gc.isenabled()
    with collector.held():
        with collector.held():
            pass
        assert not gc.isenabled()
    assert gc.isenabled()
    gc.disable()
    try:
        with collector.held():
            pass
        assert not gc.isenabled()  # somebody else's wish is kept
    finally:
        gc.enable()
