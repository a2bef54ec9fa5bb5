# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Camera and pictures: every point inside, two sides touched, a picture that shows something."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

bpy = pytest.importorskip("bpy")

from pinwright.addon import framing, scene, studio  # noqa: E402
from pinwright.core.design.write import write_design  # noqa: E402
from tests.builders import small_build, small_design  # noqa: E402


def seen(points: np.ndarray, place: np.ndarray, view: framing.View, size: tuple[int, int]):
    """Project by the pinhole camera's definition: +-1 are the edges of the picture."""
    local = (points - place) @ framing.axes(view).T
    half = np.tan(np.radians(view.angle_of_view_deg) / 2) * np.array(size) / max(size)
    assert (local[:, 2] < 0).all()  # everything is in front of the camera
    return local[:, :2] / -local[:, 2:] / half


@given(
    seed=st.integers(0, 10**6),
    azimuth=st.floats(-180, 180),
    elevation=st.floats(-80, 80),
    wide=st.booleans(),
)
def test_the_nearest_camera_sees_all(
    seed: int, azimuth: float, elevation: float, wide: bool
) -> None:
    points = np.random.default_rng(seed).normal((5.0, -3.0, 2.0), size=(50, 3))
    view = framing.View(azimuth, elevation, 25.0, 0.1)
    size = (1600, 900) if wide else (900, 1600)
    inside = seen(points, framing.fit(points, view, size), view, size)
    edge = 1 - 2 * 0.1
    reach = np.array([inside.min(axis=0), inside.max(axis=0)])
    assert np.abs(reach).max() <= edge + 1e-9
    tight = np.isclose(np.abs(reach), edge, atol=1e-9).all(axis=0)
    assert tight.any()  # opposite sides are touched: no nearer camera would do


def test_blenders_own_camera_agrees() -> None:
    from bpy_extras.object_utils import world_to_camera_view

    root = scene.add_sculpture(bpy.context.scene, small_build())
    made = studio.open_studio(root, size=(800, 600))
    made.scene.render.resolution_x, made.scene.render.resolution_y = 800, 600
    margin = framing.View().margin
    points = studio.points_of(root)
    inside = np.array(
        [world_to_camera_view(made.scene, made.scene.camera, _vector(p))[:2] for p in points]
    )
    assert inside.min() == pytest.approx(margin, abs=2e-4)
    assert inside.max() == pytest.approx(1 - margin, abs=2e-4)
    studio.close_studio(made)


def test_the_studio_leaves_no_trace_and_does_not_touch_the_scene() -> None:
    camera = bpy.data.objects.new("Own Camera", bpy.data.cameras.new("Own"))
    bpy.context.scene.collection.objects.link(camera)
    bpy.context.scene.camera = camera
    root = scene.add_sculpture(bpy.context.scene, small_build())
    kinds = ("scenes", "objects", "meshes", "lights", "cameras", "worlds", "materials")
    before = {kind: set(getattr(bpy.data, kind).keys()) for kind in kinds}
    studio.close_studio(studio.open_studio(root, size=(80, 60)))
    assert {kind: set(getattr(bpy.data, kind).keys()) for kind in kinds} == before
    assert bpy.context.scene.camera == camera


def command(*arguments: str) -> list[str]:
    """Return how to start the command: inside Blender if that is what runs us, else by Python."""
    if bpy.app.binary_path:
        code = "import sys; sys.path.append(%r); import pinwright.addon.headless as h; h.main()"
        path = os.environ.get("PYTHONPATH", "")
        start = [bpy.app.binary_path, "--background", "--factory-startup", "-noaudio"]
        return [*start, "--python-expr", code % path, "--", *arguments]
    return [sys.executable, "-m", "pinwright.addon.headless", *arguments]


def ran(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command(*arguments),
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
        env=os.environ | {"PYTHONWARNINGS": "ignore"},
    )


def test_the_command_writes_a_blend_and_two_pictures(tmp_path: Path) -> None:
    # In a process of its own: software OpenGL can hang or crash when Blender's module winds up.
    design = tmp_path / "small.toml"
    write_design(small_design(), design)
    run = ran(
        *(str(design), "--out", str(tmp_path / "out")),
        *("--engine", "workbench", "--size", "160", "120"),
    )
    assert run.returncode in (0, 1), run.stderr
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert names == {"small.blend", "small.png", "small-exploded.png"}
    assert all(name in run.stdout for name in names)
    pictures = []
    for name in ("small.png", "small-exploded.png"):
        image = bpy.data.images.load(str(tmp_path / "out" / name))
        assert tuple(image.size) == (160, 120)
        pixels = np.array(image.pixels[:]).reshape(-1, 4)[:, :3]
        assert pixels.std() > 0.02  # not one flat colour
        pictures.append(pixels)
    assert np.abs(pictures[0] - pictures[1]).mean() > 0.005
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "out" / "small.blend"))
    assert len(bpy.context.scene.objects) == 1 + 5 + 4


def test_the_command_refuses_bad_input_and_writes_nothing(tmp_path: Path) -> None:
    run = ran(str(tmp_path / "none.toml"), "--out", str(tmp_path / "out"))
    assert run.returncode == 2
    assert "no such file" in run.stderr
    design = tmp_path / "small.toml"
    write_design(small_design(), design)
    run = ran(
        *(str(design), "--out", str(tmp_path / "out")),
        *("--engine", "workbench", "--place", "room"),
    )
    assert run.returncode == 2
    assert "a room is dark in it" in run.stderr
    assert not (tmp_path / "out").exists()


def _vector(point: np.ndarray):
    from mathutils import Vector

    return Vector(point)
