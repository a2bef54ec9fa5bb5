# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Make the film and the pictures of the README anew: assembly, room, exploded view, turntable.

    .venv/bin/python tools/film.py docs/pictures [film] [room] [exploded] [turntable]

The film's frames are kept in ``build/film``: a run that was stopped goes on where it was, and
several runs at once share the frames; take the folder away when the demo or its plan has changed.
Pictures of single modules are made by tools/module_pictures.py.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import bpy  # noqa: TID251 - this tool draws

import pinwright
from pinwright.addon import animate, film, looks, making, operating, pictures, room, shoot
from pinwright.core.design.read import read_design

ROOT = Path(__file__).resolve().parents[1]
FRAMES = ROOT / "build" / "film"
SECONDS, RATE, FILM_SIZE = 24.0, 12, (640, 360)
SIZE, SAMPLES = (960, 720), 32
QUALITY = 82  # of the JPEG files


def demo(look: str) -> bpy.types.Object:
    """Return the demo in an empty file."""
    bpy.ops.wm.read_homefile(use_factory_startup=True, use_empty=True)
    root = making.add_design(bpy.context, read_design(ROOT / "examples" / "demo.toml"), look)
    operating.show_only(bpy.context, root)
    return root


def make_film(folder: Path) -> None:
    """Write demo-assembly.mp4: plates in the colors of their parts, in plain shading."""
    root = demo(looks.PARTS)
    scene = bpy.context.scene
    scene.render.fps = RATE
    scene.render.resolution_x, scene.render.resolution_y = FILM_SIZE
    bpy.ops.pinwright.plan_assembly(wait=True)
    for _ in shoot.animating(scene, root, shoot.FilmChoice(seconds=SECONDS)):
        pass
    choice = pictures.PictureChoice(FILM_SIZE, pictures.WORKBENCH, samples=5)
    shoot.render_movie(scene, root, folder / "demo-assembly.mp4", choice, frames=FRAMES)


def make_room(folder: Path) -> None:
    """Write demo-room.jpg: the proposal, with a person and measures."""
    choice = pictures.PictureChoice(SIZE, samples=SAMPLES, place=pictures.ROOM)
    _jpeg(demo(looks.SHEET), folder / "demo-room.jpg", replace(choice, around=room.RoomChoice()))


def make_exploded(folder: Path) -> None:
    """Write demo-exploded.jpg: all modules apart, in the studio."""
    root = demo(looks.SHEET)
    root.pinwright.apart = "MODULES"
    root.pinwright.explode = 1.0
    _jpeg(root, folder / "demo-exploded.jpg", pictures.PictureChoice(SIZE, samples=SAMPLES))


def make_turntable(folder: Path) -> None:
    """Write demo-turntable.jpg: a third of the way round, as the turntable's keys have it."""
    root = demo(looks.SHEET)
    scene = bpy.context.scene
    animate.bake_turn(root, 6.0, animate.Clock.of(scene))
    scene.frame_set(scene.frame_start + round(2.0 * scene.render.fps))
    _jpeg(root, folder / "demo-turntable.jpg", pictures.PictureChoice(SIZE, samples=SAMPLES))
    film.remove(root)


def _jpeg(root: bpy.types.Object, path: Path, choice: pictures.PictureChoice) -> None:
    """Render, and write as JPEG: small enough for a README."""
    whole = path.with_suffix(".png")
    pictures.make_picture(root, whole, choice)
    image = bpy.data.images.load(str(whole))
    scene = bpy.data.scenes.new("JPEG")
    if hasattr(scene.render.image_settings, "media_type"):
        scene.render.image_settings.media_type = "IMAGE"
    scene.render.image_settings.file_format = "JPEG"
    scene.render.image_settings.color_mode = "RGB"
    scene.render.image_settings.quality = QUALITY
    scene.view_settings.view_transform = "Standard"
    image.save_render(str(path), scene=scene)
    bpy.data.scenes.remove(scene)
    whole.unlink()
    print(path, path.stat().st_size // 1000, "kB", flush=True)


WORKS: dict[str, Callable[[Path], None]] = {
    "room": make_room,
    "exploded": make_exploded,
    "turntable": make_turntable,
    "film": make_film,
}


def main() -> None:
    """Make what is asked for, or all. Leaves by os._exit: bpy may hang when Python winds up."""
    code = 1
    try:
        folder, asked = Path(sys.argv[1]), sys.argv[2:] or list(WORKS)
        pinwright.register()
        for name in asked:
            WORKS[name](folder)
        code = 0
    except BaseException:
        sys.excepthook(*sys.exc_info())
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


if __name__ == "__main__":
    main()
