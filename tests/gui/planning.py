# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Steps of the walk for teacher and renderer: a small design is planned, shown, and animated."""

from __future__ import annotations

import time
from pathlib import Path

import bpy
import numpy as np

from tests.gui import hands
from tests.gui.hands import Wait
from tests.gui.steps import Notes, deltas, part, pieces, sculpture

LONGEST = 240.0  # s that a loaded machine may take for plan or animation


def _plates() -> list[bpy.types.Object]:
    return [piece for piece in pieces() if "pinwright_plate" in piece]


def _shown() -> int:
    return sum(1 for plate in _plates() if not plate.hide_viewport)


def _places() -> np.ndarray:
    """Return where the plates are and how they are turned (n, 4, 4), scene units."""
    bpy.context.view_layer.update()
    return np.array([plate.matrix_world for plate in _plates()])


def _two_halves(notes: Notes) -> Path:
    """Write a design that is planned in a second: six strips in two modules."""
    model, path = part("core.design.model"), notes.out / "two-halves.toml"
    design = model.Design(
        "Two Halves",
        model.Sheet(3.0),
        model.FrameChoice(400.0, solid="tetrahedron"),
        model.EdgeRotor(width=30.0),
        modules=model.ModuleChoice("joints", count=2),
    )
    part("core.design.write").write_design(design, path)
    return path


def planned(notes: Notes) -> Wait:
    """a small design is planned while the window goes on working; it is a step of undo"""
    yield from hands.show_sidebar()
    with hands.here():
        if bpy.ops.pinwright.remove_sculpture.poll():
            bpy.ops.pinwright.remove_sculpture("INVOKE_DEFAULT", True)
        file = str(_two_halves(notes))
        assert bpy.ops.pinwright.open_design("INVOKE_DEFAULT", True, filepath=file) == {"FINISHED"}
        bpy.ops.view3d.view_all("INVOKE_DEFAULT")
    yield 0.5
    yield from notes.shoot_panels("unplanned-panels")
    run = part("addon.plan_run")
    with hands.here():
        assert not bpy.ops.pinwright.step_plan.poll()
        assert bpy.ops.pinwright.plan_assembly("INVOKE_DEFAULT", True) == {"FINISHED"}
    assert run.running()
    began = before = time.monotonic()
    longest, busiest, at = 0.0, 0.0, time.thread_time()
    while run.running() and time.monotonic() - began < LONGEST:
        yield 0.1
        now = time.monotonic()
        longest, before = max(longest, now - before), now
        busy = time.thread_time()
        busiest, at = max(busiest, busy - at), busy
    assert not run.running(), "the planning takes too long"
    assert not run.fault(), run.fault()
    plan = sculpture().pinwright_plan
    assert part("addon.plan_store").fits(sculpture())
    comes_in = [plate for step in _record()["steps"] for plate in step["add"]]
    assert sorted(set(comes_in)) == sorted(plate["pinwright_plate"] for plate in _plates())
    notes.say(
        f"{len(plan.steps)} steps in {time.monotonic() - began:.1f} s; "
        f"the window waited {longest:.2f} s at most, {busiest:.2f} s of the processor"
    )


def _record() -> dict:
    return part("addon.plan_store").plan_of(sculpture())


def steps_shown(notes: Notes) -> Wait:
    """steps of the plan are gone through, with colors and labels; off, all is as designed"""
    plan = sculpture().pinwright_plan
    home = _places()
    plan.mode = "STEPS"
    plan.isolate = False
    counts = []
    for step in (1, len(plan.steps) // 2, len(plan.steps)):
        plan.step = step
        yield 0.3
        counts.append(_shown())
    assert counts == sorted(counts), counts
    assert counts[0] < counts[2] == len(_plates()), counts
    plan.step = len(plan.steps) // 2
    plan.labels = "SHOWN"
    yield 0.5
    yield from notes.shoot("step-window")
    yield from notes.shoot_panels("step-panels")
    with hands.here():
        assert bpy.ops.pinwright.step_plan("INVOKE_DEFAULT", True, by=1) == {"FINISHED"}
    plan = sculpture().pinwright_plan
    assert plan.step == len(plan.steps) // 2 + 1
    plan.colors = "STEP"
    plan.labels = "NONE"
    plan.isolate = True
    yield 0.5
    yield from notes.shoot("step-colors-window", unlike="step-window")
    assert 0 < _shown() <= counts[2]
    plan.mode = "MODULES"
    yield 0.5
    yield from notes.shoot("module-window")
    yield from notes.shoot_panels("module-panels")
    plan.mode = "OFF"
    yield 0.3
    assert _shown() == len(_plates())
    assert abs(_places() - home).max() < 1e-6


def animated(notes: Notes) -> Wait:
    """assembly and exploded view are animated and taken out again; the last frame is the design"""
    home, actions = _places(), len(bpy.data.actions)
    film = bpy.context.scene.pinwright_film
    for what in ("UNFOLDING", "ASSEMBLY"):
        film.what, film.seconds = what, 4.0
        yield from _animate()
        root, scene = sculpture(), bpy.context.scene
        assert part("addon.animate").is_animated(root)
        ends = [scene.frame_start, scene.frame_end]
        scene.frame_set(sum(ends) // 2)
        yield 0.5
        assert abs(_places() - home).max() > 1e-3
        if what == "ASSEMBLY":
            yield from notes.shoot("animated-window")
            yield from notes.shoot_panels("animated-panels")
        scene.frame_set(ends[1])
        yield 0.3
        assert abs(_places() - home).max() < 1e-5, what
        with hands.here():
            assert bpy.ops.pinwright.clear_animation("INVOKE_DEFAULT", True) == {"FINISHED"}
        yield 0.3
        assert not part("addon.animate").is_animated(sculpture())
        assert abs(_places() - home).max() < 1e-6
        assert len([a for a in bpy.data.actions if a.users]) <= actions
        assert deltas().max() < 1e-6
    notes.say(f"frames {ends[0]} to {ends[1]}")


def _animate() -> Wait:
    """Press Animate and wait until it has ended."""
    with hands.here():
        bpy.ops.pinwright.animate("INVOKE_DEFAULT", True)
    began = time.monotonic()
    while any(o.bl_idname == "PINWRIGHT_OT_animate" for o in hands.window().modal_operators):
        assert time.monotonic() - began < LONGEST
        yield 0.2
    yield 0.3


STEPS = (planned, steps_shown, animated)
