# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Builds that take long are made by a process beside Blender; what comes of it is the same.

Without a window no operator waits, so it is looked after here; the walk through Blender's window
waits, and presses Esc.
"""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import building, live, making, pieces, prisms, store, tags  # noqa: E402
from pinwright.core import pipeline  # noqa: E402
from pinwright.core.design import model  # noqa: E402

LONGEST = 120.0  # s that a loaded machine may take


def ended(made: building.Building) -> building.Building:
    began = time.monotonic()
    while not made.look():
        assert time.monotonic() - began < LONGEST
        time.sleep(0.05)
    return made


def test_a_build_made_beside_is_found_at_hand(root, monkeypatch) -> None:
    design = replace(store.stored_design(root), sheet=model.Sheet(4.0))
    order = making.Order(design, None)
    assert order.at_hand() is None
    made = ended(building.Building(order))
    assert made.fault == ""
    assert made.seconds > 0.0
    assert order.at_hand() is made.build
    fresh = pipeline.build(design)
    for one, other in zip(made.build.plates, fresh.plates, strict=True):
        np.testing.assert_array_equal(one.world_from_part, other.world_from_part)
    monkeypatch.setattr(making, "build_design", None)  # nothing is built any more
    root.pinwright.thickness = 4.0
    assert live.full(root)
    assert store.stored_design(root).sheet.thickness == 4.0


def test_what_cannot_be_built_is_told_by_the_process(root) -> None:
    design = store.stored_design(root)
    design = replace(design, joints=replace(design.joints, tab_width=500.0))
    made = ended(building.Building(making.Order(design, None)))
    assert made.build is None
    assert "pieces" in made.fault


def test_a_build_that_is_given_up_leaves_nothing(root) -> None:
    made = building.Building(making.Order(replace(store.stored_design(root), name="Other"), None))
    papers, process = made._child.papers, made._child.process
    assert papers.is_dir()
    made.stop()
    assert process.returncode is not None
    assert not papers.exists()
    assert made.order.at_hand() is None


def test_expected_time_grows_with_what_differs_only(root) -> None:
    few = making.Order(store.stored_design(root), None)
    assert building.seconds_of(few) == 0.0  # at hand
    motifs = store.stored_design(root).motifs[:1] * 200
    many = making.Order(replace(store.stored_design(root), motifs=motifs), None)
    assert building.seconds_of(many) > building.PATIENCE
    whole = making.Order(replace(store.stored_design(root), name="Other"), None)
    assert building.seconds_of(whole) < building.PATIENCE


def test_solids_made_ready_are_taken_once_and_forgotten(root, monkeypatch) -> None:
    build = making.build_of(root)
    shares = list(pieces.made_ready(build))
    assert shares[-1] == 1.0
    assert len(shares) == len(build.parts)
    monkeypatch.setattr(prisms, "prism", None)
    shapes = [shape for shape in pieces.wanted_of(build).shapes if shape.index is not None]
    assert all(len(shape.make().vertices) for shape in shapes)
    pieces.forget_ready()
    with pytest.raises(TypeError):
        shapes[0].make()


def test_joints_cut_beside_are_shown_if_they_are_still_wanted(root) -> None:
    root.pinwright.thickness = 4.0
    made = ended(building.Building(making.Order(live.design_of(root), None)))
    root.pinwright.thickness = 5.0  # changed meanwhile
    live._made(root.session_uid, made)
    assert store.stored_design(root).sheet.thickness == 3.0
    assert live.waiting()  # it is begun again
    live.catch_up()
    assert store.stored_design(root).sheet.thickness == 5.0
    root.pinwright.thickness = 4.0
    live._made(root.session_uid, made)
    assert store.stored_design(root).sheet.thickness == 4.0
    assert tags.COARSE not in root
