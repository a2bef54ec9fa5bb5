# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Steps of the walk in the artist's hands: drag a size, draw a path, see section lines, place."""

from __future__ import annotations

import bpy
import numpy as np

from tests.gui import hands
from tests.gui.hands import Wait
from tests.gui.steps import Notes, part, pieces, sculpture

LONGEST = 30.0  # s that a loaded machine may take until joints are cut


def settle() -> Wait:
    """Wait until no timer is still to cut joints."""
    waited = 0.0
    yield 0.4
    while part("addon.live").waiting() and waited < LONGEST:
        waited += 0.2
        yield 0.2
    assert not part("addon.live").waiting()
    yield 0.2


def plate() -> bpy.types.Object:
    return next(p for p in pieces() if p.get("pinwright_plate") == "A01")


def depth() -> float:
    """Return the thickness of the plates' mesh, mm."""
    flat = np.empty(3 * len(plate().data.vertices), dtype=np.float32)
    plate().data.vertices.foreach_get("co", flat)
    return float(np.ptp(flat[2::3])) / sculpture()["pinwright_unit"]


def follow(notes: Notes) -> Wait:
    """a thickness is dragged: bodies follow, joints come at rest; one undo step, one redo"""
    yield from hands.show_sidebar()
    notes.places = {}
    yield from hands.fields(notes.places, {"thickness"})
    before, finished = depth(), len(plate().data.vertices)
    names = sorted(piece.name for piece in pieces())
    meshes = len(bpy.data.meshes)
    seen: list[tuple[float, int]] = []
    yield from hands.drag(
        notes.places["thickness"], 48, 8, lambda: seen.append((depth(), len(plate().data.vertices)))
    )
    after = sculpture().pinwright.thickness
    assert after > before + 0.1, (before, after)
    assert len({round(one, 3) for one, _ in seen}) >= 3, seen  # it followed while it was dragged
    assert min(count for _, count in seen) < finished, seen  # plates without their slots
    yield from settle()
    assert not sculpture().pinwright.stale
    assert len(plate().data.vertices) == finished
    assert abs(depth() - after) < 1e-3
    assert abs(sculpture().pinwright.figures.thickness - after) < 1e-5
    assert sorted(piece.name for piece in pieces()) == names
    assert len(bpy.data.meshes) == meshes
    yield from notes.shoot("followed-window")
    for hand, thickness in ((hands.undo, before), (hands.redo, after), (hands.undo, before)):
        yield from hand()
        yield from settle()
        assert abs(sculpture().pinwright.thickness - thickness) < 1e-4
        assert abs(depth() - thickness) < 1e-3
        assert len(plate().data.vertices) == finished
        assert sorted(piece.name for piece in pieces()) == names


def section_lines(notes: Notes) -> Wait:
    """section lines of a plate are drawn over it"""
    with hands.here():
        for obj in bpy.context.selected_objects:
            obj.select_set(False)
        plate().select_set(True)
        bpy.context.view_layer.objects.active = plate()
        bpy.ops.view3d.view_selected()
    yield 1.0
    yield from notes.shoot("unlined-window")
    sculpture().pinwright.sections = True
    for _ in range(3):
        hands.area().tag_redraw()
        yield 0.7
    yield from notes.shoot("lined-window", unlike="unlined-window")
    yield from notes.shoot("motif-panels", side=True)
    sculpture().pinwright.sections = False


def path_by_hand(notes: Notes) -> Wait:
    """a path is drawn by hand: all copies follow while a point is dragged; undone, all is back"""
    with hands.here():
        assert bpy.ops.pinwright.edit_path("INVOKE_DEFAULT", True) == {"FINISHED"}
        bpy.ops.object.mode_set(mode="EDIT")
        bpy.ops.curve.select_all(action="DESELECT")
    curve = bpy.context.active_object
    curve.data.splines[0].bezier_points[3].select_control_point = True
    yield 0.5
    kept = sculpture()["pinwright_design"]
    main = hands.region()
    x, y = main.x + main.width // 3, main.y + main.height // 2
    yield from hands.press("G")
    for step in range(6):
        yield from hands.move(x + 4 * step, y + 3 * step)
    for value in ("PRESS", "RELEASE"):
        hands.window().event_simulate(type="LEFTMOUSE", value=value, x=x + 20, y=y + 15)
        yield 0.2
    yield 0.5
    yield from settle()
    assert sculpture()["pinwright_design"] != kept
    assert not sculpture().pinwright.fault
    yield from notes.shoot("drawn-window", unlike="unlined-window")
    with hands.here():
        bpy.ops.object.mode_set(mode="OBJECT")
    yield 0.5
    yield from hands.undo()
    yield from settle()
    yield from hands.undo()
    yield from settle()
    drawn = [obj for obj in bpy.data.objects if "pinwright_path" in obj]
    for obj in drawn:
        bpy.data.objects.remove(obj)
    with hands.here():
        bpy.context.view_layer.objects.active = sculpture()
        sculpture().select_set(True)
        # Whatever undo left, the file's design comes back.
        design = part("core.design.read").read_design(notes.root / "examples" / "demo.toml")
        part("addon.making").exchange_design(bpy.context, sculpture(), design)
    yield 0.5


def placed(notes: Notes) -> Wait:
    """hung below an empty beside a wall: clearances are told; undone again"""
    at = tuple(sculpture().location)
    with hands.here():
        bpy.ops.mesh.primitive_plane_add(size=4, location=(0, 1.5, 0), rotation=(1.5708, 0, 0))
        wall = bpy.context.active_object
        wall.name = "Wall"
        bpy.ops.object.empty_add(location=(0, 0, 3))
        hook = bpy.context.active_object
        wall.select_set(False)
        hook.select_set(True)
        sculpture().select_set(True)
        bpy.context.view_layer.objects.active = sculpture()
        assert bpy.ops.pinwright.hang("INVOKE_DEFAULT", True) == {"FINISHED"}
        assert bpy.ops.pinwright.measure_clearances("INVOKE_DEFAULT", True) == {"FINISHED"}
    rows = {row.name: row.distance for row in sculpture().pinwright.clearances}
    assert 900 < rows["Wall"] < 1100, rows  # the wall at 1.5 m, the ball's radius about 0.5 m
    yield from hands.show_sidebar()
    with hands.here():
        bpy.ops.view3d.view_all("INVOKE_DEFAULT")
    yield 0.5
    yield from notes.shoot("placed-window")
    yield from notes.shoot_panels("placed-panels")
    with hands.here():
        for obj in (wall, hook):
            bpy.data.objects.remove(obj)
    sculpture().location = at
    sculpture().pinwright.clearances.clear()
    yield 0.3


STEPS = (follow, section_lines, path_by_hand, placed)
