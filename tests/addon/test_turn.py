# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Turning a motif of a found sculpture in the scene."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import making, store  # noqa: E402
from pinwright.core.design.read import read_design  # noqa: E402
from pinwright.core.search.sliders import sliders  # noqa: E402

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def test_a_found_sculpture_turns_in_place_and_stays_square() -> None:
    design = read_design(EXAMPLES / "four-petals.toml")
    root = making.add_design(bpy.context, design, "SHEET")
    root.location = (1.0, 2.0, 3.0)
    bpy.context.view_layer.objects.active = root
    slider = sliders(design)[0]
    by = 0.5 * (slider.high if slider.high > -slider.low else slider.low)
    assert bpy.ops.pinwright.turn_motif(angle=math.radians(by)) == {"FINISHED"}
    there = store.stored_design(root)
    old, new = (np.array(one.motifs[0].normal) for one in (design, there))
    assert abs(float(old @ new)) < 1 - 1e-6
    assert tuple(root.location) == (1.0, 2.0, 3.0)
    built = making.build_of(root)
    assert built.ok
    assert max(abs(joint.angle - 90) for joint in built.joints) < 1e-6


def test_what_cannot_be_turned_is_left_alone() -> None:
    assert not bpy.ops.pinwright.turn_motif.poll()
    design = read_design(EXAMPLES / "first-knot.toml")
    root = making.add_design(bpy.context, design, "SHEET")
    bpy.context.view_layer.objects.active = root
    assert not sliders(design)  # as many classes as numbers
    assert bpy.ops.pinwright.turn_motif() == {"CANCELLED"}
    assert store.stored_design(root) == design
