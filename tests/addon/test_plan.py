# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The plan in Blender: made, kept, shown step by step, labelled, printed, and gone without a trace.

The judge of what is shown is a plain replay of the steps; of places, core's poses as matrices.
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import (  # noqa: E402
    making,
    plan_run,
    plan_settings,
    plan_store,
    plan_view,
    tags,
)
from pinwright.addon.operators import plan as plan_operators  # noqa: E402
from pinwright.core.assembly.plan import planned  # noqa: E402
from pinwright.core.assembly.poses import body_pose  # noqa: E402
from pinwright.core.design.model import (  # noqa: E402
    AssemblyChoice,
)
from pinwright.core.errors import OutputError  # noqa: E402
from pinwright.core.export.plan_record import plan_record  # noqa: E402
from pinwright.core.pipeline import build  # noqa: E402
from tests.addon.planned_scene import DESIGN, sculpture, shown_plates, state, whole  # noqa: E402


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
    until = time.monotonic() + 300.0
    while plan_run.poll() is not None:
        assert time.monotonic() < until
        time.sleep(0.05)
    assert not plan_run.running()


def test_choices_go_to_core_and_back() -> None:
    root = sculpture(with_plan=False)
    choice = AssemblyChoice("base", 3, 1.5, 0.25, 9.0, 0.4, 0.2, 2.5, 7.0, 0.0, 0.1, 5)
    plan_settings.show_choice(root.pinwright_plan, choice)
    assert plan_settings.choice_of(root.pinwright_plan) == choice
    usual = AssemblyChoice()
    plan_settings.show_choice(root.pinwright_plan, usual)
    assert plan_settings.choice_of(root.pinwright_plan) == usual
