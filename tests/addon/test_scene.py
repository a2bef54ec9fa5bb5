# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A build becomes objects: places, meshes, collections, and nothing left over."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

import bmesh  # noqa: E402

from pinwright.addon import exploded, looks, scene, tags  # noqa: E402
from tests.builders import small_build  # noqa: E402


def add(**settings):
    root = scene.add_sculpture(bpy.context.scene, small_build(), **settings)
    bpy.context.view_layer.update()
    return root


def plates(root) -> dict:
    return {piece[tags.PLATE]: piece for piece in tags.pieces(root) if tags.PLATE in piece}


def pins(root) -> dict:
    return {piece[tags.JOINT]: piece for piece in tags.pieces(root) if tags.JOINT in piece}


def world(piece) -> np.ndarray:
    return np.array(piece.matrix_world, dtype=float)


def counts() -> tuple[int, ...]:
    kinds = ("objects", "meshes", "collections", "materials")
    return tuple(len(getattr(bpy.data, kind)) for kind in kinds)


def test_one_mesh_for_each_part_and_pin_size() -> None:
    build = small_build()
    root = add()
    assert len(bpy.data.meshes) == len(build.parts) + 1  # all four pins are of one size
    assert set(plates(root)) == {plate.id for plate in build.plates}
    assert set(pins(root)) == {joint.id for joint in build.joints}
    for plate in build.plates:
        piece = plates(root)[plate.id]
        assert piece.data["pinwright_part"] == build.parts[plate.part].mark
        assert piece[tags.PART] == build.parts[plate.part].mark
        assert piece[tags.MODULE] == build.modules[plate.module].id


def test_a_collection_for_each_module_under_one_for_the_sculpture() -> None:
    build = small_build()
    root = add()
    (home,) = root.users_collection
    assert home.name == build.design.name
    assert {child.name for child in home.children} == {"M01", "M02", "M03", "Between Modules"}
    for module in build.modules:
        inside = {piece.get(tags.PLATE) for piece in bpy.data.collections[module.id].objects}
        assert inside - {None} == {build.plates[index].id for index in module.plates}


@pytest.mark.parametrize("scale_length", [1.0, 0.001, 0.0254])
def test_plates_stand_where_the_build_says_in_any_unit(scale_length: float) -> None:
    bpy.context.scene.unit_settings.scale_length = scale_length
    build = small_build()
    root = add()
    metres = scale_length  # a scene unit is so many metres (Blender's manual, scene units)
    for plate in build.plates:
        found = world(plates(root)[plate.id])
        found[:3, 3] *= 1000 * metres
        np.testing.assert_allclose(found, plate.world_from_part, atol=1e-3)
    sizes = np.array(plates(root)["B01"].dimensions) * 1000 * metres
    np.testing.assert_allclose(sizes, (160.0, 60.0, 3.0), atol=1e-3)


def test_pins_lie_on_their_axes() -> None:
    build = small_build()
    root = add()
    for joint in build.joints:
        found = world(pins(root)[joint.id])
        np.testing.assert_allclose(1000 * found[:3, 3], joint.pin.centre, atol=1e-3)
        np.testing.assert_allclose(found[:3, 2], joint.pin.axis, atol=1e-6)


def test_meshes_are_closed_and_have_the_volume_of_their_parts() -> None:
    build = small_build()
    add()
    for part in build.parts:
        mesh = next(m for m in bpy.data.meshes if m.get("pinwright_part") == part.mark)
        assert not mesh.validate()  # True would mean that Blender had to mend it
        solid = bmesh.new()
        solid.from_mesh(mesh)
        assert all(edge.is_manifold and edge.is_contiguous for edge in solid.edges)
        volume = solid.calc_volume(signed=True) * 1e9
        solid.free()
        assert volume == pytest.approx(part.outline.area * part.thickness, rel=1e-5)


def test_explode_moves_by_the_builds_ways_and_back_exactly() -> None:
    build = small_build()
    root = add()
    before = {piece.name: world(piece) for piece in tags.pieces(root)}
    exploded.apply(root, 1.0)
    bpy.context.view_layer.update()
    for plate in build.plates:
        moved = 1000 * world(plates(root)[plate.id])[:3, 3] - plate.world_from_part[:3, 3]
        way = plate.explode + build.modules[plate.module].explode
        np.testing.assert_allclose(moved, way, atol=1e-3)
    exploded.apply(root, 0.0)
    bpy.context.view_layer.update()
    for piece in tags.pieces(root):
        assert (world(piece) == before[piece.name]).all()


def test_by_modules_plates_and_pins_of_a_module_keep_together() -> None:
    build = small_build()
    root = add()
    before = {piece.name: world(piece) for piece in tags.pieces(root)}
    exploded.apply(root, 0.5, exploded.MODULES)
    bpy.context.view_layer.update()
    for module in build.modules:
        for piece in tags.pieces(root):
            if piece[tags.MODULE] == module.id:
                moved = 1000 * (world(piece) - before[piece.name])[:3, 3]
                np.testing.assert_allclose(moved, module.explode / 2, atol=1e-3)


def test_pins_are_drawn_out_along_their_axes() -> None:
    build = small_build()
    root = add()
    exploded.apply(root, 1.0)
    bpy.context.view_layer.update()
    for joint in build.joints:
        plate = build.plates[joint.plates[0]]
        way = plate.explode + build.modules[plate.module].explode
        moved = 1000 * world(pins(root)[joint.id])[:3, 3] - joint.pin.centre
        own = moved - way
        np.testing.assert_allclose(np.cross(own, joint.pin.axis), 0, atol=1e-3)
        assert np.linalg.norm(own) > joint.pin.length  # wholly out of its hole


def test_the_root_carries_all() -> None:
    root = add()
    before = {piece.name: world(piece) for piece in tags.pieces(root)}
    root.location = (1.0, 2.0, 3.0)
    root.rotation_euler = (0.3, 0.2, 0.1)
    root.scale = (2.0, 2.0, 2.0)
    bpy.context.view_layer.update()
    for piece in tags.pieces(root):
        np.testing.assert_allclose(world(piece), world(root) @ before[piece.name], atol=1e-5)


def test_two_sculptures_share_no_mesh() -> None:
    first, second = add(), add()
    assert len(tags.roots(bpy.context.scene)) == 2
    meshes = [{piece.data for piece in tags.pieces(root)} for root in (first, second)]
    assert not meshes[0] & meshes[1]
    scene.remove_sculpture(first)
    assert len(tags.pieces(second)) == 9
    bpy.context.view_layer.update()
    np.testing.assert_allclose(
        1000 * world(plates(second)["A01"])[:3, 3], small_build().plates[0].world_from_part[:3, 3],
        atol=1e-3,
    )  # fmt: skip


def test_rebuilding_leaves_nothing_behind_and_keeps_names_and_root() -> None:
    root = add()
    root.location = (1.0, 0.0, 0.0)
    root.keyframe_insert("location", frame=1)
    before = counts()
    names = {piece.name for piece in tags.pieces(root)}
    scene.rebuild_sculpture(bpy.context.scene, root, small_build())
    assert counts() == before
    assert {piece.name for piece in tags.pieces(root)} == names
    assert root.location.x == 1.0
    assert root.animation_data.action is not None
    assert {child.name for child in root.users_collection[0].children} == {
        "M01", "M02", "M03", "Between Modules",
    }  # fmt: skip


def test_removing_leaves_nothing_behind() -> None:
    before = counts()
    scene.remove_sculpture(add())
    assert counts() == before


def test_what_the_user_put_beside_a_sculpture_stays() -> None:
    root = add()
    own = bpy.data.objects.new("Own", None)
    bpy.data.collections["M01"].objects.link(own)
    scene.rebuild_sculpture(bpy.context.scene, root, small_build())
    assert own.name in bpy.context.scene.objects
    scene.remove_sculpture(root)
    assert own.name in bpy.context.scene.objects


def test_an_error_half_way_leaves_nothing_behind() -> None:
    build = small_build()
    broken = replace(build, plates=(*build.plates[:3], replace(build.plates[3], part=7)))
    before = counts()
    with pytest.raises(IndexError):
        scene.add_sculpture(bpy.context.scene, broken)
    assert counts() == before
    root = add()
    standing = counts()
    with pytest.raises(IndexError):
        scene.rebuild_sculpture(bpy.context.scene, root, broken)
    assert counts() == standing


def test_looks_have_a_face_and_an_edge_and_leave_no_old_ones() -> None:
    root = add(look=looks.PARTS)
    faces = {plates(root)[name].data.materials[0].name for name in ("A01", "B01")}
    assert len(faces) == 2
    scene_materials = len(bpy.data.materials)
    scene.change_look(root, "birch-plywood", looks.SHEET)
    assert {mesh.materials[0].name for mesh in (plates(root)[n].data for n in ("A01", "B01"))} == {
        "Birch plywood"
    }
    assert len(bpy.data.materials) < scene_materials
    mesh = plates(root)["B01"].data
    sides = [face for face in mesh.polygons if face.material_index == 1]
    assert len(sides) == 4 + 4 * 4  # rectangle and four slots


def test_part_colors_are_the_published_palette_and_never_repeat() -> None:
    # Okabe and Ito's eight colours, hexadecimal as in the khroma package.
    assert set(looks.OKABE_ITO) == {
        "000000", "E69F00", "56B4E9", "009E73", "F0E442", "0072B2", "D55E00", "CC79A7",
    }  # fmt: skip
    colors = [looks.part_rgb(index) for index in range(32)]
    assert len({tuple(np.round(color, 4)) for color in colors}) == 32
