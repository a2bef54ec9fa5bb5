# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A design file to a .blend, pictures and a film, without a window.

``python -m pinwright.addon.headless DESIGN.toml --out FOLDER`` with the bpy wheel, or
``blender --command pinwright DESIGN.toml --out FOLDER`` where the extension is installed.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import bpy

from ..core.design.read import read_design
from ..core.errors import OutputError, PinwrightError

if TYPE_CHECKING:
    from .pictures import PictureChoice

__all__ = ["main", "run"]

_ENGINES = {"cycles": "CYCLES", "workbench": "BLENDER_WORKBENCH"}
_PLACES = {"studio": "STUDIO", "room": "ROOM"}
_FILMS = {"assembly": "ASSEMBLY", "unfolding": "UNFOLDING", "turntable": "TURNTABLE"}
_APART = 1.0


def main() -> None:
    """Run as a program of its own. Never returns: bpy may hang or crash when Python winds up."""
    code = 1
    try:
        code = run(_own_arguments(sys.argv), registered=False)
    except SystemExit as stop:  # argparse: help, or wrong usage
        code = stop.code if isinstance(stop.code, int) else 2
    except BaseException:
        sys.excepthook(*sys.exc_info())
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)


def _own_arguments(given: list[str]) -> list[str]:
    """Return what stands behind ``--`` when Blender itself was started with a script."""
    return given[given.index("--") + 1 :] if "--" in given else given[1:]


def run(arguments: Sequence[str], registered: bool = True) -> int:
    """Build a design and write its files; returns 0, 1 (a check failed) or 2 (refused)."""
    asked = _parser().parse_args(list(arguments))
    if not registered:
        from . import register

        register()
    try:
        failed = _make(asked)
    except PinwrightError as error:
        print(error, file=sys.stderr)
        return 2
    for name in failed:
        print(f"not met: {name}", file=sys.stderr)
    return 1 if failed else 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m pinwright.addon.headless", description=__doc__.splitlines()[0]
    )
    parser.add_argument("design", type=Path, help="design file (.toml)")
    parser.add_argument("--out", type=Path, required=True, help="folder for the files")
    parser.add_argument(
        "--size",
        type=int,
        nargs=2,
        default=(1600, 1200),
        metavar=("W", "H"),
        help="of the pictures, pixels; default: 1600 1200",
    )
    parser.add_argument("--samples", type=int, default=64, help="most samples for each pixel")
    parser.add_argument(
        "--engine",
        choices=sorted(_ENGINES),
        default="cycles",
        help="that renders; default: %(default)s; workbench is quick and plain",
    )
    parser.add_argument(
        "--look",
        choices=("sheet", "tinted", "parts"),
        default="sheet",
        help="sheet: as the material looks; tinted: and a tint for each part; "
        "parts: a plain color for each part",
    )
    parser.add_argument(
        "--place",
        choices=sorted(_PLACES),
        default="studio",
        help="what the picture shows round it; the exploded one is made in the studio; "
        "default: %(default)s",
    )
    parser.add_argument("--transparent", action="store_true", help="pictures without background")
    film = parser.add_argument_group("film", "an animation as keyframes in the .blend, and an MP4")
    film.add_argument("--film", choices=sorted(_FILMS), help="what is animated")
    film.add_argument("--seconds", type=float, default=30.0, help="length of the film")
    film.add_argument("--rate", type=int, default=24, help="frames in a second")
    film.add_argument("--camera", choices=("follow", "still", "orbit"), default="follow")
    film.add_argument("--no-captions", action="store_true")
    film.add_argument("--film-size", type=int, nargs=2, default=(1280, 720), metavar=("W", "H"))
    film.add_argument(
        "--frames", type=Path, help="folder of the frames; several machines may share it"
    )
    film.add_argument("--film-only", action="store_true", help="no still pictures")
    return parser


def _make(asked: argparse.Namespace) -> list[str]:
    """Write the .blend and the pictures; return the names of the checks that failed."""
    from . import making, pictures  # they need registered properties

    design = read_design(asked.design)
    if min(asked.size) < 16 or asked.samples < 1:
        raise OutputError("A picture needs at least 16 x 16 pixels and one sample for each.")
    if asked.place == "room" and asked.engine == "workbench":
        text = "--place room: Workbench knows no lamps, so a room is dark in it."
        raise OutputError(f"{text} Take another --engine, or --place studio.")
    try:
        asked.out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"The folder {asked.out} cannot be made: {error.strerror}.") from error
    if asked.film and not (1.0 <= asked.seconds <= 3600.0 and 1 <= asked.rate <= 240):
        raise OutputError("A film takes 1 to 3600 seconds, at 1 to 240 frames a second.")
    bpy.ops.wm.read_homefile(use_factory_startup=True, use_empty=True)
    root = making.add_design(bpy.context, design, asked.look.upper())
    stem = asked.design.stem
    if asked.film:
        _animate(root, asked)
    _save_blend(asked.out / f"{stem}.blend")
    choice = pictures.PictureChoice(
        size=tuple(asked.size),
        engine=_ENGINES[asked.engine],
        samples=asked.samples,
        place=_PLACES[asked.place],
        transparent=asked.transparent,
    )
    if asked.film:
        _film(root, asked, replace(choice, place="STUDIO", size=tuple(asked.film_size)))
    if asked.film_only:
        return _failed(root)
    if asked.film:
        _clear(root)
    _picture(root, asked.out / f"{stem}.png", choice)
    settings = root.pinwright
    settings.apart = "MODULES" if settings.figures.modules > 1 else "ALL"
    settings.explode = _APART
    _picture(root, asked.out / f"{stem}-exploded.png", replace(choice, place="STUDIO"))
    return _failed(root)


def _failed(root: bpy.types.Object) -> list[str]:
    return [finding.name for finding in root.pinwright.figures.findings if not finding.ok]


def _animate(root: bpy.types.Object, asked: argparse.Namespace) -> None:
    """Plan if need be, and write keys, camera and captions into the scene."""
    from . import operating, shoot

    scene = bpy.context.scene
    scene.render.fps, scene.render.fps_base = asked.rate, 1.0
    scene.render.resolution_x, scene.render.resolution_y = asked.film_size
    choice = shoot.FilmChoice(
        _FILMS[asked.film],
        asked.seconds,
        scene.frame_start,
        asked.camera.upper(),
        not asked.no_captions,
    )
    if choice.what == shoot.ASSEMBLY:
        operating.show_only(bpy.context, root)
        bpy.ops.pinwright.plan_assembly(wait=True)
    for _ in shoot.animating(scene, root, choice):
        pass
    if choice.what == shoot.ASSEMBLY:
        path = asked.out / f"{asked.design.stem}-{asked.film}.srt"
        shoot.write_subtitles(root, path, choice)
        print(path, flush=True)


def _film(root: bpy.types.Object, asked: argparse.Namespace, choice: PictureChoice) -> None:
    from . import shoot

    path = asked.out / f"{asked.design.stem}-{asked.film}.mp4"
    shoot.render_movie(bpy.context.scene, root, path, choice, frames=asked.frames)
    print(path, flush=True)


def _clear(root: bpy.types.Object) -> None:
    from . import animate, film

    animate.clear(root)
    film.remove(root)


def _picture(root: bpy.types.Object, path: Path, choice: PictureChoice) -> None:
    from . import pictures

    pictures.make_picture(root, path, choice)
    print(path, flush=True)


def _save_blend(path: Path) -> None:
    """Save the file whole: beside its place first, then moved there."""
    try:
        with tempfile.TemporaryDirectory(dir=path.parent, prefix=".") as folder:
            part = Path(folder) / path.name
            bpy.ops.wm.save_as_mainfile(
                filepath=str(part), copy=True, compress=True, relative_remap=False
            )
            part.replace(path)
    except (OSError, RuntimeError) as error:
        raise OutputError(f"{path} cannot be written: {error}") from error
    print(path, flush=True)


if __name__ == "__main__":
    main()
