# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Frames that many machines can share and that can be taken up again, and a movie made of them.

Each frame is a PNG file of its own. Blender reserves a frame by an empty file before it renders it
and passes over frames that are there: so a render can be stopped and started again, and several
machines can work into one folder. A machine that broke down leaves an empty file behind; those that
are old enough are cleared away at the next start.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from pathlib import Path

import bpy

from ..core.errors import OutputError

__all__ = [
    "abandoned", "cutting_room", "finish_movie", "frame_files", "join_frames", "settle_frames",
    "settle_movie",
]  # fmt: skip

_STALE = 1800.0  # s: a frame that takes longer than this is not worth waiting for


def settle_frames(
    scene: bpy.types.Scene, folder: Path, stem: str, *, transparent: bool = False
) -> None:
    """Set a scene to render its frames as ``<stem>-0001.png`` ... into a folder.

    Raises
    ------
    OutputError : the folder cannot be made or written to.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe = folder / f".{stem}.probe"
        probe.touch()
        probe.unlink()
    except OSError as error:
        raise OutputError(f"No frames can be written to {folder}: {error}.") from error
    for path in abandoned(folder, stem):
        path.unlink(missing_ok=True)
    render = scene.render
    if hasattr(render.image_settings, "media_type"):  # 5.0 and later: first say that it is a still
        render.image_settings.media_type = "IMAGE"
    render.image_settings.file_format = "PNG"
    render.film_transparent = transparent or render.film_transparent
    render.image_settings.color_mode = "RGBA" if render.film_transparent else "RGB"
    render.image_settings.color_depth = "8"
    render.use_file_extension = True
    render.use_overwrite = False
    render.use_placeholder = True
    render.filepath = str(folder / f"{stem}-####")


def abandoned(folder: Path, stem: str, age: float = _STALE) -> list[Path]:
    """Return frames that were reserved long ago, age in s, and never rendered."""
    now = time.time()
    return [
        path
        for path in folder.glob(f"{stem}-*.png")
        if path.stat().st_size == 0 and now - path.stat().st_mtime > age
    ]


def frame_files(folder: Path, stem: str, first: int, last: int) -> list[Path]:
    """Return the files of all frames of a film, in order.

    Raises
    ------
    OutputError : some are missing or not yet rendered; names how many, and the first of them.
    """
    files = [folder / f"{stem}-{frame:04d}.png" for frame in range(first, last + 1)]
    missing = [path for path in files if not path.is_file() or path.stat().st_size == 0]
    if missing:
        raise OutputError(
            f"{len(missing)} of {len(files)} frames are missing in {folder}, the first is "
            f"{missing[0].name}. Render the frames first; it goes on where it stopped."
        )
    return files


def settle_movie(scene: bpy.types.Scene, path: Path, *, quality: str = "MEDIUM") -> None:
    """Set a scene to write an MP4 file (H.264): quality as in Blender's own list."""
    image = scene.render.image_settings
    if hasattr(image, "media_type"):  # 5.0 and later
        image.media_type = "VIDEO"
    image.file_format = "FFMPEG"
    film = scene.render.ffmpeg
    film.format, film.codec, film.audio_codec = "MPEG4", "H264", "NONE"
    film.constant_rate_factor, film.ffmpeg_preset = quality, "GOOD"
    film.gopsize = 24
    scene.render.use_file_extension = False
    scene.render.filepath = str(path)


def join_frames(files: Sequence[Path], path: Path, rate: float, *, quality: str = "MEDIUM") -> None:
    """Write an MP4 file from frames, all of one size; what stood at `path` is replaced.

    Raises
    ------
    OutputError : the movie cannot be written.
    """
    scene, part = cutting_room(files, path, rate, quality=quality)
    try:
        bpy.ops.render.render(animation=True, scene=scene.name)
    except RuntimeError as error:
        raise OutputError(f"The movie {path} cannot be written: {error}.") from error
    finally:
        finish_movie(scene, part, path)


def cutting_room(
    files: Sequence[Path], path: Path, rate: float, *, quality: str = "MEDIUM"
) -> tuple[bpy.types.Scene, Path]:
    """Return a scene whose animation is the movie, and the file that it will write."""
    scene = bpy.data.scenes.new("Movie")
    try:
        image = bpy.data.images.load(str(files[0]))
        width, height = image.size
        bpy.data.images.remove(image)
        part = path.with_name(f".{path.name}.part.mp4")
        scene.render.resolution_x, scene.render.resolution_y = width & ~1, height & ~1
        scene.render.resolution_percentage = 100
        scene.render.fps, scene.render.fps_base = _rate(rate)
        scene.view_settings.view_transform = "Standard"  # the frames have been through it already
        scene.render.use_compositing = False
        scene.render.use_sequencer = True
        _strip(scene, files)
        scene.frame_start, scene.frame_end = 1, len(files)
        settle_movie(scene, part, quality=quality)
    except BaseException:
        bpy.data.scenes.remove(scene)
        raise
    return scene, part


def finish_movie(scene: bpy.types.Scene, part: Path, path: Path) -> None:
    """Move a movie to its place and take its scene away.

    Raises
    ------
    OutputError : it was not written.
    """
    try:
        if not part.is_file() or part.stat().st_size == 0:
            raise OutputError(f"The movie {path} was not written.")
        part.replace(path)
    except OSError as error:
        raise OutputError(f"The movie {path} cannot be written: {error}.") from error
    finally:
        part.unlink(missing_ok=True)
        bpy.data.scenes.remove(scene)


def _strip(scene: bpy.types.Scene, files: Sequence[Path]) -> None:
    editor = scene.sequence_editor_create()
    strips = editor.strips if hasattr(editor, "strips") else editor.sequences  # before 4.4
    strip = strips.new_image("Frames", str(files[0]), channel=1, frame_start=1)
    for path in files[1:]:
        strip.elements.append(path.name)
    renamed = "duration" in strip.bl_rna.properties  # 5.2 and later
    setattr(strip, "duration" if renamed else "frame_final_duration", len(files))


def _rate(rate: float) -> tuple[int, float]:
    """Return fps and its base, whose quotient is the rate."""
    whole = max(1, round(rate))
    return whole, whole / rate
