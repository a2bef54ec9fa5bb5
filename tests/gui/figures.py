# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Times of the extension in Blender's window: what it takes itself, drawing not counted.

Nothing is judged here: times depend on the machine. ``python tools/run_gui.py --figures`` shows
them; the figures aimed at stand beside what is measured.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial

import bpy

from tests.gui import hands
from tests.gui.hands import Wait
from tests.gui.steps import Notes, demo, part, pieces, sculpture

PLATES = 2000


def timed(work: Callable[[], object]) -> float:
    """Return the seconds of the processor that a call takes; drawing does not count."""
    start = time.thread_time()
    work()
    return time.thread_time() - start


def told(name: str, seconds: list[float]) -> str:
    """Return the middle and the longest of some times in words."""
    middle, longest = 1000 * statistics.median(seconds), 1000 * max(seconds)
    return f"{name}: {middle:.1f} ms in the middle, {longest:.1f} ms at most, of {len(seconds)}"


def exploded(notes: Notes) -> Wait:
    """one step of the slider Exploded on the demo (aim: 50 ms)"""
    settings, times = sculpture().pinwright, []
    for step in range(1, 21):
        times.append(timed(lambda step=step: setattr(settings, "explode", step / 20)))
        yield 0.05
    settings.explode = 0.0
    notes.say(told("explode", times))


def followed(notes: Notes) -> Wait:
    """the thickness dragged on the demo: bodies (aim: 50 ms), joints at rest (aim: 300 ms)"""
    live, coarse, full = part("addon.live"), [], []
    meshes = len(bpy.data.meshes)
    names = sorted(piece.name for piece in pieces())
    for step in range(1, 21):
        settings = sculpture().pinwright
        # Setting it builds, as at each step of a drag in the sidebar.
        change = partial(setattr, settings, "thickness", 3.0 + step / 50)
        coarse.append(timed(change))
        yield 0.05
        if step % 4 == 0:
            # As its timer does, which may have come first where the machine is busy.
            full.append(timed(lambda: live.full(sculpture())))
            yield 0.1
    coarse = coarse[1:]  # the first one gets to know the sculpture
    assert len(bpy.data.meshes) == meshes
    assert sorted(piece.name for piece in pieces()) == names
    sculpture().pinwright.thickness = 3.0
    live.catch_up()
    parts = len({piece.data for piece in pieces() if "pinwright_plate" in piece})
    notes.say(told("bodies", coarse))
    notes.say(told("joints", full))
    notes.say(f"{parts} meshes for {sculpture().pinwright.figures.parts} parts")
    notes.say(f"load of the machine: {os.getloadavg()[0]:.1f}, processors: {os.cpu_count()}")


def rebuilt(notes: Notes) -> Wait:
    """the demo built anew with another diameter, all joints and checks (aim: 300 ms)"""
    whole, core, scene = [], [], []
    for step in range(1, 8):
        root = sculpture()
        root.pinwright.diameter = 900.0 + step
        with hands.here():
            whole.append(timed(lambda: part("addon.making").rebuild(bpy.context, sculpture())))
        yield 0.3
    design = part("addon.store").stored_design(sculpture())
    for step in range(1, 8):
        other = replace(design, frame=replace(design.frame, diameter=900.0 + step))
        core.append(timed(lambda other=other: part("core.pipeline").build(other)))
        build = part("core.pipeline").build(other)
        scene.append(
            timed(
                lambda build=build: part("addon.scene").rebuild_sculpture(
                    bpy.context.scene, sculpture(), build
                )
            )
        )
        yield 0.3
    notes.say(told("whole", whole))
    notes.say(told("of which core", core))
    notes.say(told("of which objects", scene))


def many_plates(notes: Notes) -> Wait:
    """a sculpture of 2,000 plates, each a part of its own: its objects made (aim: 5 s)"""
    build = part("addon.making").build_of(sculpture())
    parts = tuple(replace(build.parts[n % len(build.parts)], mark=f"Z{n}") for n in range(PLATES))
    plates = tuple(
        replace(build.plates[n % len(build.plates)], id=f"Z{n}", part=n) for n in range(PLATES)
    )
    many = replace(build, parts=parts, plates=plates)
    before = len(bpy.data.meshes)
    seconds = timed(lambda: part("addon.scene").add_sculpture(bpy.context.scene, many))
    made = len(bpy.data.meshes) - before
    notes.say(f"{PLATES} plates: {seconds:.2f} s, {made} new meshes (one of them a pin's)")
    yield 0.5


STEPS = (demo, exploded, followed, rebuilt, many_plates)
