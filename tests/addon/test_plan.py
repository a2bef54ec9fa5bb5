# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The plan in Blender: made, kept, shown step by step, labelled, printed, and gone without a trace.

The judge of what is shown is a plain replay of the steps; of places, core's poses as matrices.
"""

from __future__ import annotations

import time
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import (  # noqa: E402
    labels,
    making,
    plan_pages,
    plan_run,
    plan_settings,
    plan_store,
    plan_view,
    step_collections,
    tags,
)
from pinwright.addon.operators import plan as plan_operators  # noqa: E402
from pinwright.core.assembly.plan import planned  # noqa: E402
from pinwright.core.assembly.poses import body_pose  # noqa: E402
from pinwright.core.design.model import (  # noqa: E402
    AssemblyChoice,
    Design,
    EdgeRotor,
    FrameChoice,
    ModuleChoice,
    Sheet,
)
from pinwright.core.errors import OutputError  # noqa: E402
from pinwright.core.export.plan_record import plan_record  # noqa: E402
from pinwright.core.pipeline import build  # noqa: E402
from pinwright.core.results import Build  # noqa: E402

# Two modules of three strips: steps at tables and at the whole.
DESIGN = Design(
    "Two Halves",
    Sheet(3.0),
    FrameChoice(400.0, solid="tetrahedron"),
    EdgeRotor(width=30.0),
    modules=ModuleChoice("joints", count=2),
    assembly=AssemblyChoice(teams=2),
)


@lru_cache(maxsize=1)
def whole() -> Build:
    return planned(build(DESIGN))


def sculpture(*, with_plan: bool = True):
    root = making.add_design(bpy.context, DESIGN, "SHEET")
    bpy.context.view_layer.objects.active = root
    if with_plan:
        plan_operators._take(plan_store.key_of(root), plan_record(whole()))
    bpy.context.view_layer.update()
    return root


def state(root) -> dict:
    """Return all of the pieces that showing a plan may touch, and what it may leave behind."""
    bpy.context.view_layer.update()
    return {
        piece.name: (
            piece.hide_viewport,
            piece.hide_render,
            tuple(piece.color),
            tuple(np.round(np.array(_place(piece)).ravel(), 6).tolist()),
            sorted(piece.keys()),
            [slot.material.name for slot in piece.material_slots],
        )
        for piece in tags.pieces(root)
    }


def _place(piece):
    """Return where a piece is; what is hidden is not evaluated when a file is opened."""
    return piece.matrix_basis if piece.hide_viewport else piece.matrix_world


def shown_plates(root) -> set[str]:
    return {p[tags.PLATE] for p in tags.pieces(root) if tags.PLATE in p and not p.hide_viewport}


def counts() -> tuple[int, ...]:
    kinds = ("objects", "meshes", "curves", "collections", "materials", "scenes", "worlds")
    return tuple(len(getattr(bpy.data, kind)) for kind in (*kinds, "cameras"))


def test_planning_fills_the_table_and_writes_the_choice() -> None:
    root = sculpture(with_plan=False)
    plan = root.pinwright_plan
    plan.teams, plan.pin = 1, 0.75
    assert bpy.ops.pinwright.plan_assembly() == {"FINISHED"}
    text = root[tags.DESIGN]
    assert "teams = 1" in text
    assert "pin = 0.75" in text
    alone = planned(build(replace(DESIGN, assembly=AssemblyChoice(teams=1, pin=0.75))))
    rows = [(row.place, row.people, round(row.minutes, 4)) for row in plan.steps]
    assert rows == [
        (
            "" if step.module is None else alone.modules[step.module].id,
            step.people,
            round(step.minutes, 4),
        )
        for step in alone.steps
    ]
    # One team: all work one after another, and no bound is greater.
    assert plan.total == pytest.approx(sum(row.minutes for row in plan.steps), rel=1e-5)
    assert plan.bound == pytest.approx(plan.total, rel=1e-5)
    # The sculpture is as it was, but its design is planned by the choice: it can be shown.
    assert plan_store.fits(root)


def test_every_step_shows_what_a_replay_says() -> None:
    root, record = sculpture(), plan_record(whole())
    plan = root.pinwright_plan
    plan.mode = "STEPS"
    at: dict[str, str | None] = {}
    for step in record["steps"]:
        plan.step = step["n"]
        for plate in step["add"]:
            at[plate] = step["module"]
        expected = {plate for plate, place in at.items() if place == step["module"]}
        assert shown_plates(root) == expected, step["n"]
        assert all(p.hide_render == p.hide_viewport for p in tags.pieces(root))
    assert expected == set(record["members"])
    plan.approach = 1.0
    locks = [p for p in tags.pieces(root) if tags.JOINT in p]
    assert locks
    assert not any(piece.hide_viewport for piece in locks)  # the last pins are in
    plan.isolate = False
    plan.step = 2
    assert shown_plates(root) >= set(record["steps"][1]["add"])


def test_coming_plates_stand_where_core_puts_them() -> None:
    root, built = sculpture(), whole()
    plan, unit = root.pinwright_plan, root[tags.UNIT]
    plan.mode = "STEPS"
    moved = 0
    for step in built.steps[:6]:
        plan.step, plan.approach = step.n, 1.0
        bpy.context.view_layer.update()
        for piece in tags.pieces(root):
            if piece.get(tags.PLATE) not in {built.plates[p].id for p in step.add}:
                continue
            number = next(p for p in step.add if built.plates[p].id == piece[tags.PLATE])
            for share in (1.0, 0.0):
                plan.approach = share
                bpy.context.view_layer.update()
                found = np.array(piece.matrix_world)
                found[:3, 3] /= unit
                place = built.plates[number].world_from_part
                if share == 1.0:
                    np.testing.assert_allclose(found, place, atol=2e-3)
                    continue
                # Somewhere on the proved way: the nearest of many of core's poses.
                poses = [body_pose(step, m) @ place for m in np.linspace(0.0, 1.0, 2001)]
                assert min(np.abs(pose - found).max() for pose in poses) < 1.0
                moved += float(np.abs(found - place).max()) > 10.0
            break
    assert moved >= 2


@pytest.mark.parametrize("colors", ["ROLE", "MODULE", "PART", "STEP", "MATERIAL"])
def test_leaving_puts_everything_back(colors: str) -> None:
    root = sculpture()
    hidden = tags.pieces(root)[0]
    hidden.hide_viewport = True
    tags.pieces(root)[1].color = (0.1, 0.2, 0.3, 1.0)
    root.pinwright.explode = 0.3
    before = state(root)
    plan = root.pinwright_plan
    plan.colors = colors
    plan.mode = "STEPS"
    for step, share in ((2, 0.2), (5, 0.7), (3, 1.0)):
        plan.step, plan.approach = step, share
    plan.mode = "MODULES"
    plan.module = 1
    assert state(root) != before
    plan.mode = "OFF"
    assert state(root) == before


def test_colors_are_told_apart_and_materials_stay() -> None:
    root = sculpture()
    plan = root.pinwright_plan
    plan.mode, plan.step, plan.colors = "STEPS", len(plan.steps), "ROLE"
    coming = set(plan_view.stage_of(root).coming)
    for piece in tags.pieces(root):
        if tags.PLATE in piece:
            orange = tuple(piece.color[:3]) == pytest.approx(plan_view.ROLE_COLORS["coming"])
            assert orange == (piece[tags.PLATE] in coming)
    plan.colors = "MODULE"
    by_module: dict[str, set] = {}
    for piece in tags.pieces(root):
        if tags.PLATE in piece:
            by_module.setdefault(piece[tags.MODULE], set()).add(tuple(piece.color))
    assert [len(found) for found in by_module.values()] == [1, 1]
    assert len(set.union(*by_module.values())) == 2


def test_solid_views_show_object_colors_only_while_needed() -> None:
    root = sculpture()
    spaces = [
        space
        for screen in bpy.data.screens
        for area in screen.areas
        for space in area.spaces
        if space.type == "VIEW_3D"
    ]
    if not spaces:
        pytest.skip("no 3D view in this start-up file")
    before = [space.shading.color_type for space in spaces]
    root.pinwright_plan.mode = "STEPS"
    assert {space.shading.color_type for space in spaces} == {"OBJECT"}
    root.pinwright_plan.colors = "MATERIAL"
    assert [space.shading.color_type for space in spaces] == before
    root.pinwright_plan.colors = "ROLE"
    root.pinwright_plan.mode = "OFF"
    assert [space.shading.color_type for space in spaces] == before
    assert not any(plan_view._SHADING in screen for screen in bpy.data.screens)


def test_saved_in_the_midst_and_opened_again(tmp_path) -> None:
    root = sculpture()
    before = state(root)
    plan = root.pinwright_plan
    plan.mode, plan.step, plan.approach = "STEPS", 4, 0.25
    during = state(root)
    path = str(tmp_path / "plan.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.read_homefile(use_factory_startup=True, use_empty=True)
    bpy.ops.wm.open_mainfile(filepath=path)
    (root,) = [obj for obj in bpy.data.objects if tags.DESIGN in obj]
    plan = root.pinwright_plan
    assert (plan.mode, plan.step, len(plan.steps)) == ("STEPS", 4, len(whole().steps))
    assert state(root) == during
    plan.step = 5
    plan.mode = "OFF"
    assert state(root) == before


def test_a_changed_sculpture_is_not_shown_by_an_old_plan() -> None:
    root = sculpture()
    plan = root.pinwright_plan
    plan.mode, plan.step = "STEPS", 1
    root.pinwright.thickness = 4.0
    making.rebuild(bpy.context, root)
    assert not plan_store.fits(root)
    assert not any(piece.hide_viewport for piece in tags.pieces(root))
    assert not any(plan_view._BEFORE in piece for piece in tags.pieces(root))
    assert not bpy.ops.pinwright.step_plan.poll()
    root.pinwright.thickness = 3.0
    making.rebuild(bpy.context, root)
    assert plan_store.fits(root)
    assert len(shown_plates(root)) == 1  # the first step again


def test_slider_and_arrows() -> None:
    root = sculpture()
    plan = root.pinwright_plan
    count = len(plan.steps)
    assert bpy.ops.pinwright.step_plan(by=1) == {"FINISHED"}
    assert (plan.mode, plan.step) == ("STEPS", 2)
    bpy.ops.pinwright.step_plan(by=1000)
    assert plan.step == count
    plan.step = 9999
    assert plan.step == count
    plan.course = 0.0
    assert (plan.step, plan.approach) == (1, 0.0)
    plan.course = 1.0
    assert (plan.step, plan.approach) == (count, 1.0)
    plan.course = 2.5 / count
    assert plan.step == 3
    assert plan.approach == pytest.approx(0.5, abs=1e-5)
    order = plan_view.module_order(plan_record(whole()))
    plan.step = 1
    bpy.ops.pinwright.step_module(by=1)
    assert plan.steps[plan.step - 1].module == order[1]
    plan.mode = "MODULES"
    bpy.ops.pinwright.step_module(by=-5)
    members = plan_record(whole())["members"]
    assert shown_plates(root) == {plate for plate, name in members.items() if name == order[0]}


def test_a_process_of_its_own_makes_the_same_plan(monkeypatch) -> None:
    root = sculpture(with_plan=False)
    got = {}
    job = plan_run.Job(plan_store.key_of(root), plan_operators._job(root))
    plan_run.start(job, lambda key, plan: got.update(key=key, plan=plan))
    assert plan_run.running()
    with pytest.raises(OutputError, match="already"):
        plan_run.start(job, got.update)
    _wait()
    assert plan_run.fault() == ""
    assert got["key"] == job.key
    assert got["plan"]["members"] == plan_record(whole())["members"]
    assert [s["add"] for s in got["plan"]["steps"]] == [
        s["add"] for s in plan_record(whole())["steps"]
    ]


def test_a_planning_that_is_stopped_or_fails_says_so() -> None:
    root = sculpture(with_plan=False)
    job = plan_run.Job(plan_store.key_of(root), plan_operators._job(root))
    plan_run.start(job, lambda key, plan: pytest.fail("it was stopped"))
    plan_run.stop()
    _wait()
    assert plan_run.fault() == ""
    wrong = {**job.record, "design": job.record["design"].replace("thickness = 3.0", "")}
    plan_run.start(plan_run.Job("x", wrong), lambda key, plan: pytest.fail("no such design"))
    _wait()
    assert "sheet.thickness" in plan_run.fault()


def _wait() -> None:
    """Poll as the window's timer does."""
    until = time.monotonic() + 120.0
    while plan_run.poll() is not None:
        assert time.monotonic() < until
        time.sleep(0.05)
    assert not plan_run.running()


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


def test_choices_go_to_core_and_back() -> None:
    root = sculpture(with_plan=False)
    choice = AssemblyChoice("base", 3, 1.5, 0.25, 9.0, 0.4, 0.2, 2.5, 7.0, 0.0, 0.1, 5)
    plan_settings.show_choice(root.pinwright_plan, choice)
    assert plan_settings.choice_of(root.pinwright_plan) == choice
    usual = AssemblyChoice()
    plan_settings.show_choice(root.pinwright_plan, usual)
    assert plan_settings.choice_of(root.pinwright_plan) == usual


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
