# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators from a script: what they make, what they refuse, and that refusing leaves nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import store, tags  # noqa: E402
from pinwright.core.design.read import read_design  # noqa: E402
from pinwright.core.design.write import write_design  # noqa: E402
from pinwright.core.export.build_json import read_build_json  # noqa: E402
from tests.builders import small_design  # noqa: E402

_BAD = """
schema = "pinwright-design/1"
units = {length = "mm", angle = "deg"}
name = "x"
[sheet]
thickness = -3.0
"""


def counts() -> tuple[int, ...]:
    kinds = ("objects", "meshes", "collections", "materials")
    return tuple(len(getattr(bpy.data, kind)) for kind in kinds)


@pytest.fixture
def opened(tmp_path: Path):
    """The small sculpture, built from its design file."""
    path = tmp_path / "small.toml"
    write_design(small_design(), path)
    assert bpy.ops.pinwright.open_design(filepath=str(path)) == {"FINISHED"}
    return bpy.context.active_object


def rings() -> None:
    """Settings of a quick sculpture: three rings about a cube."""
    settings = bpy.context.scene.pinwright
    settings.solid = "CUBE"
    settings.recipe = "RINGS"
    settings.axes = "4"
    settings.diameter = 200.0


def cube(edge: float = 0.2):
    bpy.ops.mesh.primitive_cube_add(size=edge, location=(1.0, 2.0, 3.0))
    return bpy.context.active_object


def test_building_shows_figures_and_makes_the_root_active() -> None:
    rings()
    bpy.context.scene.cursor.location = (0.0, 0.0, 1.5)
    assert bpy.ops.pinwright.build_sculpture() == {"FINISHED"}
    root = bpy.context.active_object
    figures = root.pinwright.figures
    assert (figures.plates, figures.parts, figures.joints) == (
        3,
        len({piece.data for piece in tags.pieces(root)}),
        6,
    )  # three planes meet pairwise on three lines, each crossing both rings twice
    assert root.location.z == 1.5
    assert root.select_get()
    assert not root.pinwright.stale


def test_changing_a_number_makes_figures_stale_until_rebuilt() -> None:
    rings()
    bpy.ops.pinwright.build_sculpture()
    root = bpy.context.active_object
    root.pinwright.width = 21.0
    assert root.pinwright.stale
    assert bpy.ops.pinwright.rebuild_sculpture() == {"FINISHED"}
    assert not root.pinwright.stale
    assert store.stored_design(root).recipe.width == 21.0


def test_rebuilding_keeps_the_explosion(opened) -> None:
    root = opened
    root.pinwright.explode = 0.9  # modules go first, then the plates in them
    moved = {piece.name: piece.delta_location.copy() for piece in tags.pieces(root)}
    assert any(way.length > 0 for way in moved.values())
    bpy.ops.pinwright.rebuild_sculpture()
    for piece in tags.pieces(root):
        assert (piece.delta_location - moved[piece.name]).length < 1e-6


def test_a_plate_speaks_for_its_sculpture(opened) -> None:
    bpy.context.view_layer.objects.active = tags.pieces(opened)[0]
    assert bpy.ops.pinwright.remove_sculpture() == {"FINISHED"}
    assert len(bpy.data.objects) == 0
    assert len(bpy.data.meshes) == 0


def test_opened_design_is_carried_whole(opened) -> None:
    assert store.stored_design(opened).motifs == small_design().motifs
    assert opened.pinwright.recipe == "MOTIFS"
    assert bpy.ops.pinwright.rebuild_sculpture() == {"FINISHED"}
    assert opened.pinwright.figures.plates == 5


def test_refused_design_leaves_nothing_behind(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(_BAD, encoding="utf-8")
    before = counts()
    with pytest.raises(RuntimeError, match=r"sheet\.thickness"):
        bpy.ops.pinwright.open_design(filepath=str(path))
    with pytest.raises(RuntimeError, match="no such file"):
        bpy.ops.pinwright.open_design(filepath=str(tmp_path / "none.toml"))
    assert counts() == before


def test_refused_rebuild_leaves_the_sculpture_standing(opened) -> None:
    before = counts()
    design = opened[tags.DESIGN]
    opened.pinwright.use_tab_width = True
    opened.pinwright.tab_width = 500.0
    with pytest.raises(RuntimeError):
        bpy.ops.pinwright.rebuild_sculpture()
    assert counts() == before
    assert opened[tags.DESIGN] == design
    assert opened.pinwright.stale


def test_empty_selection_is_told() -> None:
    bpy.context.scene.pinwright.frame_from = "OBJECT"
    with pytest.raises(RuntimeError, match="Nothing is selected"):
        bpy.ops.pinwright.build_sculpture()
    for name in ("rebuild_sculpture", "remove_sculpture", "save_design", "make_picture"):
        with pytest.raises(RuntimeError, match="Select a sculpture first"):
            getattr(bpy.ops.pinwright, name)()


def test_what_is_no_mesh_or_open_is_refused() -> None:
    bpy.context.scene.pinwright.frame_from = "OBJECT"
    bpy.ops.object.empty_add()
    before = counts()
    with pytest.raises(RuntimeError, match="is no mesh"):
        bpy.ops.pinwright.build_sculpture()
    assert counts() == before
    bpy.ops.mesh.primitive_grid_add()
    before = counts()
    with pytest.raises(RuntimeError, match="open"):
        bpy.ops.pinwright.build_sculpture()
    assert counts() == before


def test_a_selected_mesh_is_the_frame_at_its_size_and_place() -> None:
    bpy.context.scene.pinwright.frame_from = "OBJECT"
    frame = cube(0.2)
    frame.scale = (2.0, 2.0, 2.0)
    bpy.context.view_layer.update()
    assert bpy.ops.pinwright.build_sculpture() == {"FINISHED"}
    root = bpy.context.active_object
    assert root.pinwright.figures.group == "O"
    # A cube of edge 400 has its corners on a sphere of diameter 400 sqrt(3).
    assert root.pinwright.diameter == pytest.approx(400 * 3**0.5, rel=1e-5)
    assert (root.location - frame.location).length < 1e-5


def test_modifiers_of_a_frame_count() -> None:
    bpy.context.scene.pinwright.frame_from = "OBJECT"
    frame = cube(0.4)
    stretch = frame.modifiers.new("Stretch", "SIMPLE_DEFORM")
    stretch.deform_method = "STRETCH"
    stretch.deform_axis = "Z"
    stretch.factor = 1.0
    assert bpy.ops.pinwright.build_sculpture() == {"FINISHED"}
    assert bpy.context.active_object.pinwright.figures.group == "D4"


def test_a_frame_object_may_be_deleted_after_building() -> None:
    rings()
    bpy.context.scene.pinwright.frame_from = "OBJECT"
    frame = cube()
    bpy.ops.pinwright.build_sculpture()
    root = bpy.context.active_object
    bpy.data.objects.remove(frame)
    assert bpy.ops.pinwright.rebuild_sculpture() == {"FINISHED"}
    assert root.pinwright.figures.plates == 3


def test_saved_design_of_a_mesh_frame_builds_the_same_again(tmp_path: Path) -> None:
    rings()
    bpy.context.scene.pinwright.frame_from = "OBJECT"
    cube()
    bpy.ops.pinwright.build_sculpture()
    first = bpy.context.active_object.pinwright.figures
    path = tmp_path / "rings.toml"
    bpy.ops.pinwright.save_design(filepath=str(path))
    assert {entry.name for entry in tmp_path.iterdir()} == {"rings.toml", "rings-frame.obj"}
    expected = (first.plates, first.mass)
    bpy.ops.pinwright.open_design(filepath=str(path))
    second = bpy.context.active_object.pinwright.figures
    assert second.plates == expected[0]
    assert second.mass == pytest.approx(expected[1], rel=1e-6)


def test_saved_design_is_the_design_that_was_opened(opened, tmp_path: Path) -> None:
    path = tmp_path / "again.toml"
    assert bpy.ops.pinwright.save_design(filepath=str(path)) == {"FINISHED"}
    assert read_design(path).motifs == small_design().motifs


def test_cut_files_are_written(opened, tmp_path: Path) -> None:
    folder = tmp_path / "cut"
    assert bpy.ops.pinwright.export_cut_files(directory=str(folder)) == {"FINISHED"}
    build = read_build_json(folder / "build.json")
    assert build["totals"]["plates"] == 5
    assert list(folder.rglob("*.dxf"))
    with pytest.raises(RuntimeError, match="No folder"):
        bpy.ops.pinwright.export_cut_files(directory="")


def test_pieces_are_selected_by_mark_module_or_part(opened) -> None:
    def selected() -> set[str]:
        return {piece.name for piece in bpy.context.selected_objects}

    bpy.ops.pinwright.select_pieces(ids="A01 A03")
    assert selected() == {"A01", "A03"}
    bpy.ops.pinwright.select_pieces(ids="B")
    assert selected() == {"B01"}
    assert bpy.ops.pinwright.select_pieces(ids="Z99") == {"CANCELLED"}
    assert selected() == {"B01"}


def test_building_from_edit_mode_leaves_it() -> None:
    rings()
    cube()
    bpy.ops.object.mode_set(mode="EDIT")
    assert bpy.ops.pinwright.build_sculpture() == {"FINISHED"}
    assert bpy.context.mode == "OBJECT"


def test_rebuilding_while_plates_are_edited_leaves_edit_mode_and_makes_them_whole(opened) -> None:
    plate = next(piece for piece in tags.pieces(opened) if tags.PLATE in piece)
    vertices = len(plate.data.vertices)
    bpy.context.view_layer.objects.active = plate
    plate.select_set(True)
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.ops.mesh.select_all(action="SELECT")
    bpy.ops.mesh.subdivide()
    assert bpy.ops.pinwright.rebuild_sculpture() == {"FINISHED"}
    assert bpy.context.mode == "OBJECT"
    assert len(plate.data.vertices) == vertices


def test_a_refused_rebuild_does_not_leave_edit_mode(opened) -> None:
    plate = next(piece for piece in tags.pieces(opened) if tags.PLATE in piece)
    bpy.context.view_layer.objects.active = plate
    bpy.ops.object.mode_set(mode="EDIT")
    opened.pinwright.tab_width, opened.pinwright.use_tab_width = 900.0, True
    with pytest.raises(RuntimeError, match="pieces"):
        bpy.ops.pinwright.rebuild_sculpture()
    assert bpy.context.mode == "EDIT_MESH"
    bpy.ops.object.mode_set(mode="OBJECT")


def test_design_and_figures_survive_saving(opened, tmp_path: Path) -> None:
    path = tmp_path / "kept.blend"
    text = opened[tags.DESIGN]
    opened.pinwright.explode = 0.25
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    bpy.ops.wm.read_homefile(use_empty=True)
    assert not tags.roots(bpy.context.scene)
    bpy.ops.wm.open_mainfile(filepath=str(path))
    (root,) = tags.roots(bpy.context.scene)
    assert root[tags.DESIGN] == text
    assert root.pinwright.figures.plates == 5
    assert root.pinwright.explode == 0.25
    assert len(tags.pieces(root)) == 9
    bpy.context.view_layer.objects.active = root
    store._builds.clear()  # as in a new session
    assert bpy.ops.pinwright.export_cut_files(directory=str(tmp_path / "cut")) == {"FINISHED"}


def test_a_newer_file_is_refused(opened) -> None:
    opened[tags.VERSION] = 99
    with pytest.raises(RuntimeError, match="newer version"):
        bpy.ops.pinwright.rebuild_sculpture()
