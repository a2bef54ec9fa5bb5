# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Placing in a scene: distances judged by fcl, places by numbers known beforehand."""

from __future__ import annotations

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")
fcl = pytest.importorskip("fcl")

from pinwright.addon import clearance_lines, surroundings, tags  # noqa: E402


def model(triangles: np.ndarray) -> object:
    made = fcl.BVHModel()
    made.beginModel(3 * len(triangles), len(triangles))
    corners = np.ascontiguousarray(triangles.reshape(-1, 3))
    made.addSubModel(corners, np.arange(len(corners)).reshape(-1, 3))
    made.endModel()
    return fcl.CollisionObject(made, fcl.Transform())


def take(*objects) -> None:
    """Select objects, the last one active."""
    bpy.context.view_layer.update()
    for obj in bpy.context.selected_objects:
        obj.select_set(False)
    for obj in objects:
        obj.select_set(True)
    bpy.context.view_layer.objects.active = objects[-1]


def lowest(root) -> float:
    bpy.context.view_layer.update()
    found = surroundings.sculpture_triangles(
        root, bpy.context.scene, bpy.context.evaluated_depsgraph_get()
    )
    return float(found[..., 2].min())


@pytest.mark.parametrize("scale_length", [1.0, 0.001])
def test_clearances_are_those_of_fcl(root, scale_length: float) -> None:
    scene = bpy.context.scene
    if scale_length != 1.0:
        scene.unit_settings.scale_length = scale_length
        assert bpy.ops.pinwright.rebuild_sculpture() == {"FINISHED"}
    metre = 1.0 / scale_length
    root.rotation_euler = (0.3, -0.4, 0.9)
    bpy.ops.mesh.primitive_uv_sphere_add(
        radius=0.12 * metre, location=(0.4 * metre, 0.1 * metre, 0)
    )
    head = bpy.context.active_object
    head.name = "Head"
    bpy.ops.mesh.primitive_cube_add(
        size=metre, location=(0, -0.9 * metre, 0), rotation=(0.1, 0, 0.2)
    )
    wall = bpy.context.active_object
    wall.name = "Wall"
    wall.modifiers.new("Bevel", "BEVEL").width = 0.02 * metre
    bpy.ops.mesh.primitive_plane_add(size=metre, location=(0, 0, 0.05 * metre))
    bpy.context.active_object.hide_set(True)
    take(root)
    assert bpy.ops.pinwright.measure_clearances() == {"FINISHED"}
    depsgraph = bpy.context.evaluated_depsgraph_get()
    ours = model(surroundings.sculpture_triangles(root, scene, depsgraph))
    theirs = surroundings.others(root, scene, depsgraph)
    assert set(theirs) == {"Head", "Wall"}
    rows = {row.name: row for row in root.pinwright.clearances}
    assert rows.keys() == theirs.keys()
    for name, triangles in theirs.items():
        judged = fcl.distance(ours, model(triangles), fcl.DistanceRequest(), fcl.DistanceResult())
        assert judged > 10.0
        assert rows[name].distance == pytest.approx(judged, abs=1.0)  # mm
        way = np.array(rows[name].ours) - np.array(rows[name].theirs)
        assert np.linalg.norm(way) / metre * 1000 == pytest.approx(judged, abs=1.0)


def test_the_view_shows_where_it_is_near_until_it_moves(root) -> None:
    scene = bpy.context.scene
    bpy.ops.mesh.primitive_plane_add(size=10, location=(0, 0, -1.5))
    bpy.context.active_object.name = "Floor"
    take(root)
    assert not clearance_lines.lines(scene, root)  # nothing is measured yet
    assert bpy.ops.pinwright.measure_clearances() == {"FINISHED"}
    gap = lowest(root) + 1500.0  # mm, straight down to the floor
    (line,) = clearance_lines.lines(scene, bpy.context.active_object)
    assert line.theirs.z == pytest.approx(-1.5, abs=1e-5)
    assert line.ours.z - line.theirs.z == pytest.approx(gap / 1000, abs=1e-5)
    # Blender's own words for a length, in the scene's units
    for system, unit in (("METRIC", "m"), ("IMPERIAL", "'")):
        scene.unit_settings.system = system
        (line,) = clearance_lines.lines(scene, root)
        assert line.text.startswith("Floor: ")
        assert unit in line.text
    root.pinwright.show_clearances = False
    assert not clearance_lines.lines(scene, root)
    root.pinwright.show_clearances = True
    root.location.x += 0.01
    bpy.context.view_layer.update()
    assert clearance_lines.moved(root)
    assert not clearance_lines.lines(scene, root)


def test_it_hangs_below_an_empty(root) -> None:
    hook = bpy.data.objects.new("Hook", None)
    bpy.context.scene.collection.objects.link(hook)
    hook.location = (1.0, 2.0, 3.0)
    root.rotation_euler = (0.5, 0.0, 0.0)
    take(hook, root)
    assert bpy.ops.pinwright.hang(drop=400.0) == {"FINISHED"}
    bpy.context.view_layer.update()
    found = surroundings.sculpture_triangles(
        root, bpy.context.scene, bpy.context.evaluated_depsgraph_get()
    ).reshape(-1, 3)
    top = found[found[:, 2].argmax()]
    np.testing.assert_allclose(top, (1000.0, 2000.0, 2600.0), atol=0.01)


def test_it_hangs_below_the_cursor(root) -> None:
    bpy.context.scene.cursor.location = (0.0, 0.0, 2.0)
    take(root)
    assert bpy.ops.pinwright.hang(drop=0.0) == {"FINISHED"}
    bpy.context.view_layer.update()
    found = surroundings.sculpture_triangles(
        root, bpy.context.scene, bpy.context.evaluated_depsgraph_get()
    )
    assert found[..., 2].max() == pytest.approx(2000.0, abs=0.01)


def test_it_stands_on_what_lies_below_and_on_what_is_selected(root) -> None:
    bpy.ops.mesh.primitive_plane_add(size=10, location=(0, 0, -1.5))
    bpy.ops.mesh.primitive_cube_add(size=0.5, location=(0, 0, -1.0))
    cube = bpy.context.active_object
    take(root)
    assert bpy.ops.pinwright.stand() == {"FINISHED"}
    assert lowest(root) == pytest.approx(-750.0, abs=0.05)
    root.location.z = -1.2  # sunk into the cube
    take(cube, root)
    assert bpy.ops.pinwright.stand() == {"FINISHED"}
    assert lowest(root) == pytest.approx(-750.0, abs=0.05)


def test_what_cannot_be_is_told(root) -> None:
    take(root)
    with pytest.raises(RuntimeError, match="There is no surface below"):
        bpy.ops.pinwright.stand()
    for piece in tags.pieces(root):
        piece.hide_set(True)
    take(root)
    with pytest.raises(RuntimeError, match="No piece of the sculpture is visible"):
        bpy.ops.pinwright.hang()
    assert bpy.ops.pinwright.measure_clearances() == {"FINISHED"}
    assert not root.pinwright.clearances
