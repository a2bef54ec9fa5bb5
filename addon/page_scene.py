# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The white scene in which pages are rendered, plainly and fast, and the file that comes out.

The sculpture is only linked into it; the user's scene and render settings are not touched.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import bpy

from ..core.errors import OutputError
from . import tags

__all__ = ["page_scene", "render_page"]


@contextmanager
def page_scene(root: bpy.types.Object, size: tuple[int, int]) -> Iterator[bpy.types.Scene]:
    """Give a white scene with the sculpture and a camera that sees in parallel; take it away."""
    made: list[bpy.types.ID] = []
    try:
        scene = bpy.data.scenes.new("Pages")
        made.append(scene)
        scene[tags.STUDIO] = True
        for collection in root.users_collection:
            scene.collection.children.link(collection)
        world = bpy.data.worlds.new("Pages")
        made.append(world)
        world.color = (1.0, 1.0, 1.0)
        scene.world = world
        data = bpy.data.cameras.new("Pages")
        made.append(data)
        data.type, data.sensor_fit = "ORTHO", "HORIZONTAL"
        camera = bpy.data.objects.new("Pages", data)
        made.append(camera)
        scene.collection.objects.link(camera)
        scene.camera = camera
        _settle(scene, size)
        yield scene
    finally:
        bpy.data.batch_remove(made)


def render_page(scene: bpy.types.Scene, path: Path) -> None:
    """Render to a temporary file beside `path`, then move it there in one step.

    Raises
    ------
    OutputError : the folder cannot be written to.
    """
    try:
        handle, name = tempfile.mkstemp(suffix=".png", prefix=".", dir=path.parent)
        os.close(handle)
    except OSError as error:
        raise OutputError(f"No page can be written to {path.parent}: {error}.") from error
    part = Path(name)
    try:
        scene.render.filepath = name
        bpy.ops.render.render(write_still=True, scene=scene.name)
        part.chmod(0o644)
        part.replace(path)
    except OSError as error:
        raise OutputError(f"The page {path} cannot be written: {error}.") from error
    finally:
        part.unlink(missing_ok=True)


def _settle(scene: bpy.types.Scene, size: tuple[int, int]) -> None:
    render = scene.render
    render.engine = "BLENDER_WORKBENCH"
    render.resolution_x, render.resolution_y = size
    render.resolution_percentage = 100
    render.use_file_extension = False
    render.use_compositing = render.use_sequencer = False
    if hasattr(render.image_settings, "media_type"):  # 5.0 and later: first say that it is a still
        render.image_settings.media_type = "IMAGE"
    render.image_settings.file_format = "PNG"
    render.image_settings.color_mode = "RGB"
    scene.view_settings.view_transform = "Standard"
    scene.view_settings.look = "None"
    shading = scene.display.shading
    shading.light, shading.color_type = "STUDIO", "OBJECT"
    shading.background_type = "WORLD"
    shading.show_cavity, shading.cavity_type = True, "BOTH"
    shading.show_object_outline = True
    shading.object_outline_color = (0.08, 0.08, 0.08)
    scene.display.render_aa = "5"
