# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What comes out of a plan in Blender: collections of steps, labels, pages; and all gone again."""

from __future__ import annotations

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import labels, plan_pages, plan_view, step_collections, tags  # noqa: E402
from pinwright.core.export.plan_record import plan_record  # noqa: E402
from tests.addon.planned_scene import counts, sculpture, shown_plates, state, whole  # noqa: E402


def test_collections_of_steps_come_and_go() -> None:
    root, record = sculpture(), plan_record(whole())
    before = counts()
    assert bpy.ops.pinwright.collect_steps(action="MAKE") == {"FINISHED"}
    found = {c["pinwright_step"]: c for c in bpy.data.collections if c.get("pinwright_step")}
    assert set(found) == {step["n"] for step in record["steps"]}
    for step in record["steps"]:
        inside = {obj.get(tags.PLATE) for obj in found[step["n"]].objects} - {None}
        assert inside == set(step["add"])
    guest = bpy.data.objects.new("Guest", None)
    found[1].objects.link(guest)
    bpy.ops.pinwright.collect_steps(action="MAKE")
    assert len([c for c in bpy.data.collections if "pinwright_step" in c]) == len(found) + 1
    bpy.ops.pinwright.collect_steps(action="REMOVE")
    assert guest.users_collection
    bpy.data.objects.remove(guest)
    assert counts() == before
    step_collections.remove(root)  # once more does no harm


def test_label_objects_face_the_camera_and_go_again() -> None:
    root = sculpture()
    plan = root.pinwright_plan
    plan.mode, plan.step, plan.labels = "STEPS", len(plan.steps), "SHOWN"
    assert not bpy.ops.pinwright.add_labels.poll()  # there is no camera
    camera = bpy.data.objects.new("Camera", bpy.data.cameras.new("Camera"))
    bpy.context.scene.collection.objects.link(camera)
    bpy.context.scene.camera = camera
    camera.location, camera.rotation_euler = (0.0, -2.0, 0.3), (1.45, 0.0, 0.1)
    bpy.context.view_layer.update()
    before = counts()
    assert bpy.ops.pinwright.add_labels() == {"FINISHED"}
    bpy.context.view_layer.update()
    texts = [obj for obj in bpy.data.objects if obj.type == "FONT"]
    assert {obj.data.body for obj in texts} == shown_plates(root)
    camera.rotation_euler = (1.2, 0.0, 0.4)
    bpy.context.view_layer.update()
    for obj in texts:
        turn = np.array(obj.matrix_world.to_3x3().normalized())
        np.testing.assert_allclose(turn, np.array(camera.matrix_world.to_3x3()), atol=1e-5)
    bpy.ops.pinwright.add_labels()  # anew, not twice
    assert len([obj for obj in bpy.data.objects if obj.type == "FONT"]) == len(texts)
    bpy.ops.pinwright.remove_labels()
    assert counts() == before


def test_a_page_is_written_and_nothing_is_left(tmp_path, monkeypatch) -> None:
    root = sculpture()
    plan = root.pinwright_plan
    plan.mode, plan.step = "STEPS", 2
    before, kinds = state(root), counts()
    pages = plan_pages._pages(root, plan_pages.PageChoice())
    assert len(pages) == len(whole().modules) + len(whole().steps)
    monkeypatch.setattr(plan_pages, "_pages", lambda *_: pages[-1:])
    done = bpy.ops.pinwright.make_pages(directory=str(tmp_path), width=420, height=297)
    assert done == {"FINISHED"}
    (file,) = tmp_path.iterdir()
    assert file.name == f"step-{len(whole().steps)}.png"
    image = bpy.data.images.load(str(file))
    pixels = np.array(image.pixels[:]).reshape(297, 420, 4)[..., :3]
    bpy.data.images.remove(image)
    assert (pixels.min(axis=2) > 0.98).mean() > 0.5  # paper
    orange = (pixels[..., 0] > pixels[..., 2] + 0.3) & (pixels[..., 1] > pixels[..., 2] + 0.15)
    assert orange.sum() > 30  # what comes in
    words = pixels[:, 290:].max(axis=2) < 0.7
    assert words.sum() > 100
    assert state(root) == before
    assert counts() == kinds
    assert (plan.mode, plan.step) == ("STEPS", 2)


def test_a_folder_that_is_not_there_is_said(tmp_path) -> None:
    sculpture()
    with pytest.raises(RuntimeError, match="There is no folder"):
        bpy.ops.pinwright.make_pages(directory=str(tmp_path / "nowhere"))


def test_labels_in_the_view_are_of_what_is_shown() -> None:
    root = sculpture()
    plan = root.pinwright_plan
    assert plan_view.labelled(root) == []
    plan.mode, plan.step = "STEPS", 2
    assert {p[tags.PLATE] for p in plan_view.labelled(root)} == set(plan_view.stage_of(root).coming)
    plan.labels = "SHOWN"
    assert {p[tags.PLATE] for p in plan_view.labelled(root)} == shown_plates(root)
    for piece in plan_view.labelled(root):  # the anchor lies on the plate
        local = piece.matrix_world.inverted() @ labels.anchor_of(piece)
        hit, place, *_ = piece.closest_point_on_mesh(local)
        assert hit
        assert (place - local).length < 1e-5
