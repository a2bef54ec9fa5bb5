# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A motif's path as a curve of Blender: out of the design and back, and what is no path is told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import live, motif_curves, store, tags, watching  # noqa: E402

DEMO = Path(__file__).resolve().parents[2] / "examples" / "demo.toml"


@pytest.fixture
def demo():
    assert bpy.ops.pinwright.open_design(filepath=str(DEMO)) == {"FINISHED"}
    return bpy.context.active_object


def drawn(root, motif: str = "b"):
    bpy.context.view_layer.objects.active = root
    assert bpy.ops.pinwright.edit_path(motif=motif) == {"FINISHED"}
    return bpy.context.active_object


def follow() -> None:
    """Do what timers do in a window."""
    bpy.context.view_layer.update()
    watching.follow()
    live.catch_up()


def path_of(root, motif: str = "b") -> np.ndarray:
    design = store.stored_design(root)
    return np.array(next(one.path for one in design.motifs if one.name == motif))


def test_the_curve_is_the_path_in_its_plane(demo) -> None:
    curve = drawn(demo)
    assert (curve.type, curve.parent) == ("CURVE", demo)
    evaluated = curve.evaluated_get(bpy.context.evaluated_depsgraph_get())
    mesh = evaluated.to_mesh()
    points = np.array([curve.matrix_basis @ v.co for v in mesh.vertices]) * 1000
    evaluated.to_mesh_clear()
    choice = store.stored_design(demo).motifs[1]
    np.testing.assert_allclose(points @ choice.normal, choice.offset, atol=1e-3)
    follow()  # Blender tells of the new curve; nothing has changed
    assert store.stored_design(demo).motifs[1] == choice


def test_a_point_that_moves_is_followed_by_all_copies(demo) -> None:
    curve = drawn(demo)
    before = path_of(demo)
    mesh = next(p.data for p in tags.pieces(demo) if p.get(tags.PART) == "B")
    vertices = len(mesh.vertices)
    bend = curve.data.splines[0].bezier_points[2]
    for name in ("handle_left", "co", "handle_right"):
        place = getattr(bend, name)
        setattr(bend, name, (place.x, place.y + 0.004, place.z))
    curve.data.update_tag()
    follow()
    assert np.abs(path_of(demo)[:, 1]).max() - np.abs(before[:, 1]).max() < 4.5
    assert path_of(demo).shape != before.shape or np.abs(path_of(demo) - before).max() > 3.0
    assert len(mesh.vertices) != vertices  # the mesh of all 60 copies, filled anew
    assert demo.pinwright.figures.plates == 120
    assert not demo.pinwright.fault


def test_what_is_off_the_plane_is_laid_onto_it(demo) -> None:
    curve = drawn(demo)
    before = path_of(demo)
    curve.matrix_basis = curve.matrix_basis @ curve.matrix_basis.Translation((0, 0, 0.05))
    follow()
    np.testing.assert_allclose(path_of(demo), before, atol=1e-2)


def test_a_fault_is_told_and_the_last_good_one_stays(demo) -> None:
    curve = drawn(demo)
    before = demo[tags.DESIGN]
    places = [tuple(p.matrix_basis.translation) for p in tags.pieces(demo)]
    curve.data.splines[0].use_cyclic_u = True
    curve.data.update_tag()
    follow()
    assert "closed curve" in demo.pinwright.fault
    assert demo[tags.DESIGN] == before
    assert [tuple(p.matrix_basis.translation) for p in tags.pieces(demo)] == places
    curve.data.splines[0].use_cyclic_u = False
    curve.data.update_tag()
    follow()
    assert not demo.pinwright.fault


def test_a_recipe_gives_its_motifs_away() -> None:
    settings = bpy.context.scene.pinwright
    settings.solid = "CUBE"
    bpy.ops.pinwright.build_sculpture()
    root = bpy.context.active_object
    plates = root.pinwright.figures.plates
    motif = motif_curves.motif_of(next(p for p in tags.pieces(root) if tags.PLATE in p))
    curve = drawn(root, motif)
    assert curve[tags.PATH] == motif
    assert root.pinwright.recipe == "MOTIFS"
    assert bpy.ops.pinwright.rebuild_sculpture() == {"FINISHED"}
    assert root.pinwright.figures.plates == plates


def test_curves_go_with_their_sculpture(demo) -> None:
    drawn(demo)
    bpy.context.view_layer.objects.active = demo
    assert bpy.ops.pinwright.remove_sculpture() == {"FINISHED"}
    assert not bpy.data.objects
    assert not bpy.data.curves
