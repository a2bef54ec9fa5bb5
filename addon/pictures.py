# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures of a sculpture: render settings of the studio's scene, and the file."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import bpy

from ..core.errors import OutputError
from . import framing, studio

__all__ = ["CYCLES", "WORKBENCH", "PictureChoice", "make_picture"]

CYCLES = "CYCLES"
WORKBENCH = "BLENDER_WORKBENCH"
_WARM_GREY = (0.30, 0.285, 0.27)


@dataclass(frozen=True, slots=True)
class PictureChoice:
    """How a picture is made: size in pixels, engine, most samples for each pixel, view."""

    size: tuple[int, int] = (1600, 1200)
    engine: str = CYCLES
    samples: int = 64
    view: framing.View = field(default_factory=framing.View)
    keep_studio: bool = False


def make_picture(root: bpy.types.Object, path: Path, choice: PictureChoice) -> None:
    """Render a sculpture as it stands to a PNG file; the user's scene stays as it is.

    Raises
    ------
    OutputError : the folder cannot be written to.
    """
    made = studio.open_studio(root, size=choice.size, view=choice.view)
    try:
        _settle(made.scene, choice)
        _render(made.scene, path)
    except BaseException:
        studio.close_studio(made)
        raise
    if not choice.keep_studio:
        studio.close_studio(made)


def _render(scene: bpy.types.Scene, path: Path) -> None:
    """Render to a temporary file beside `path`, then move it there in one step."""
    try:
        handle, name = tempfile.mkstemp(suffix=".png", prefix=".", dir=path.parent)
        os.close(handle)
    except OSError as error:
        raise OutputError(f"No picture can be written to {path.parent}: {error}.") from error
    part = Path(name)
    try:
        scene.render.filepath = name
        bpy.ops.render.render(write_still=True, scene=scene.name)
        part.chmod(0o644)
        part.replace(path)
    except OSError as error:
        raise OutputError(f"The picture {path} cannot be written: {error}.") from error
    finally:
        part.unlink(missing_ok=True)


def _settle(scene: bpy.types.Scene, choice: PictureChoice) -> None:
    render = scene.render
    render.engine = choice.engine
    render.resolution_x, render.resolution_y = choice.size
    render.resolution_percentage = 100
    render.use_file_extension = False
    render.use_compositing = False
    render.use_sequencer = False
    if hasattr(render.image_settings, "media_type"):  # 5.0 and later: first say that it is a still
        render.image_settings.media_type = "IMAGE"
    render.image_settings.file_format = "PNG"
    render.image_settings.color_mode = "RGB"
    render.image_settings.color_depth = "8"
    _tone(scene)
    if choice.engine == CYCLES:
        _settle_cycles(scene.cycles, choice.samples)
    elif choice.engine == WORKBENCH:
        _settle_workbench(scene)


def _tone(scene: bpy.types.Scene) -> None:
    """Film-like highlights, so that bright metal does not clip."""
    scene.view_settings.view_transform = "AgX"
    scene.view_settings.look = "AgX - Medium High Contrast"
    scene.view_settings.exposure = 0.45
    scene.view_settings.gamma = 1.0


def _settle_cycles(cycles: bpy.types.PropertyGroup, samples: int) -> None:
    cycles.device = "CPU"
    cycles.samples = samples
    cycles.use_adaptive_sampling = True
    cycles.adaptive_min_samples = 8
    cycles.adaptive_threshold = 0.05
    try:
        cycles.denoiser = "OPENIMAGEDENOISE"
        cycles.denoising_input_passes = "RGB_ALBEDO_NORMAL"
        cycles.use_denoising = True
    except TypeError:  # a Blender built without that library
        cycles.use_denoising = False
    cycles.max_bounces = 8
    cycles.diffuse_bounces = 2
    cycles.glossy_bounces = 4
    cycles.transmission_bounces = 8
    cycles.sample_clamp_indirect = 6.0
    cycles.caustics_reflective = False
    cycles.caustics_refractive = False
    cycles.seed = 0


def _settle_workbench(scene: bpy.types.Scene) -> None:
    shading = scene.display.shading
    shading.light = "STUDIO"
    shading.color_type = "MATERIAL"
    shading.show_cavity = True
    shading.cavity_type = "BOTH"
    shading.show_shadows = True
    shading.show_object_outline = True
    shading.object_outline_color = (0.08, 0.08, 0.08)
    scene.display.render_aa = "16"
