# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Starts: each gives a sound sculpture without a number typed, and can be adjusted afterwards."""

from __future__ import annotations

from pathlib import Path

import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import tags  # noqa: E402
from pinwright.addon.operators.build import STARTS  # noqa: E402

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def failed() -> list[str]:
    findings = bpy.context.active_object.pinwright.figures.findings
    assert findings
    return [finding.name for finding in findings if not finding.ok]


@pytest.mark.parametrize("start", [start for start in STARTS if start != "OBJECT"])
def test_a_start_is_sound_at_once(start: str) -> None:
    before = bpy.context.scene.pinwright.solid
    assert bpy.ops.pinwright.build_sculpture(start=start) == {"FINISHED"}
    assert not failed()
    assert bpy.context.scene.pinwright.solid == before  # settings are not touched


@pytest.mark.parametrize("size", [0.3, 2.0])
def test_a_selected_mesh_of_any_size_is_a_start(size: float) -> None:
    bpy.ops.mesh.primitive_cube_add(size=size, location=(1, 0, 0))
    cube = bpy.context.active_object
    assert bpy.ops.pinwright.build_sculpture(start="OBJECT") == {"FINISHED"}
    root = bpy.context.active_object
    assert not failed()
    # The corners of a cube lie on a sphere of its edge times the root of 3 (Euclid XIII.15).
    assert root.pinwright.diameter == pytest.approx(1000 * size * 3**0.5, rel=1e-4)
    assert (root.location - cube.location).length < 1e-5


def test_what_is_adjusted_counts_and_the_rest_is_the_settings() -> None:
    bpy.context.scene.pinwright.width = 24.0
    assert bpy.ops.pinwright.build_sculpture(solid="CUBE", diameter=500.0) == {"FINISHED"}
    settings = bpy.context.active_object.pinwright
    assert (settings.solid, settings.diameter, settings.width) == ("CUBE", 500.0, 24.0)
    assert bpy.context.scene.pinwright.solid == "ICOSAHEDRON"
    # An adjusted operation is undone and carried out again with all numbers that it showed.
    bpy.ops.pinwright.remove_sculpture()
    assert bpy.ops.pinwright.build_sculpture(
        solid="CUBE", diameter=400.0, width=24.0, recipe="EDGE_ROTOR", thickness=3.0
    ) == {"FINISHED"}  # fmt: skip
    assert bpy.context.active_object.pinwright.diameter == 400.0


def test_a_start_that_fails_leaves_settings_and_scene_alone() -> None:
    with pytest.raises(RuntimeError, match="Nothing is selected"):
        bpy.ops.pinwright.build_sculpture(start="OBJECT")
    settings = bpy.context.scene.pinwright
    assert (settings.frame_from, settings.recipe) == ("SOLID", "EDGE_ROTOR")
    assert not bpy.data.objects


def test_a_second_start_is_a_sculpture_of_its_own() -> None:
    bpy.ops.pinwright.build_sculpture(start="EDGES")
    first = bpy.context.active_object
    bpy.context.view_layer.objects.active = tags.pieces(first)[0]
    bpy.ops.pinwright.build_sculpture(start="RINGS")
    second = bpy.context.active_object
    assert first != second
    assert (first.pinwright.recipe, second.pinwright.recipe) == ("EDGE_ROTOR", "RINGS")


def test_design_files_may_be_dropped() -> None:
    handler = bpy.types.PINWRIGHT_FH_design_toml
    assert handler.bl_import_operator == "pinwright.open_design"
    assert bpy.ops.pinwright.open_design(filepath=str(EXAMPLES / "card-rings.toml")) == {"FINISHED"}
