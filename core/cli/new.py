# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright new`: writes a first design file, explained field by field, that builds.

What the command line leaves open is tried out: the first choice whose build passes all checks is
written; if none passes, the first that builds at all, and the failed checks are named.
"""

from __future__ import annotations

import argparse
import os
import shlex
from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import DesignError, OutputError
from .terminal import Say, console, progress_bar

if TYPE_CHECKING:
    from ..design.model import Design, FrameChoice, Recipe
    from ..results import Build

__all__ = ["register", "run"]

_RECIPES = (
    "edge-rotor",
    "right-angle-orbit",
    "rings",
    "corner-triads",
    "interwoven-triads",
    "face-plates",
    "drawn-strips",
)
# Widths that are tried, as shares of the diameter: sturdy first, then slimmer, then wider.
_WIDTHS = (0.06, 0.045, 0.035, 0.025, 0.08)


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "new",
        help="write a first design file that builds",
        description="Writes a first design file with every field explained, and makes sure that "
        "it builds.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE.toml", help="the design file to write")
    parser.add_argument(
        "--recipe",
        type=lambda name: name.replace(" ", "-"),  # as design files spell them
        choices=_RECIPES,
        default=_RECIPES[0],
        help="default: %(default)s",
    )
    parser.add_argument(
        "--frame",
        default="dodecahedron",
        help="a solid (see `pinwright frames`), a mesh file or a group; default: %(default)s",
    )
    parser.add_argument("--material", default="birch-plywood", help="default: %(default)s")
    parser.add_argument(
        "--thickness", type=float, default=3.0, metavar="MM", help="of the sheet; default: 3"
    )
    parser.add_argument(
        "--diameter", type=float, default=600.0, metavar="MM", help="of the frame; default: 600"
    )
    parser.add_argument(
        "--width", type=float, metavar="MM", help="of the strips; left out: one that fits"
    )
    parser.add_argument("--name", help="of the sculpture; left out: the name of the file")
    parser.add_argument("--force", action="store_true", help="write over an older file")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Find a design that builds and write it; return 0."""
    from ..design.write import write_design

    file = Path(args.file)
    if file.exists() and not args.force:
        raise OutputError(
            f"{file} exists already. Take another name, or add --force to replace it."
        )
    with progress_bar(True) as say:
        design, build = _first_that_builds(_designs(args, file), say)
    write_design(design, file, guide=True)
    _tell(file, design, build)
    return 0


def _first_that_builds(designs: Iterator[Design], say: Say | None) -> tuple[Design, Build]:
    """Return the first design that passes all checks, else the first that builds.

    Raises
    ------
    DesignError : none builds; it is the error of the first.
    """
    from ..pipeline import build

    found: tuple[Design, Build] | None = None
    refused: DesignError | None = None
    for design in designs:
        try:
            result = build(design, say)
        except DesignError as error:
            refused = error if refused is None else refused
            continue
        if result.ok:
            return design, result
        found = (design, result) if found is None else found
    if found is None:
        raise refused if refused is not None else AssertionError("no design was tried")
    return found


def _designs(args: argparse.Namespace, file: Path) -> Iterator[Design]:
    from ..design.materials import material
    from ..design.model import Design, FrameChoice, Sheet
    from ..design.rules import check_rules
    from .choices import number_of

    sheet = Sheet(
        number_of(Sheet, "thickness", args.thickness, "--thickness"), material(args.material).name
    )
    diameter = number_of(FrameChoice, "diameter", args.diameter, "--diameter")
    name = file.stem if args.name is None else args.name
    first = Design(name, sheet, _frame(args.frame, diameter, file), folder=str(_folder(file)))
    for recipe in _recipes(args, diameter):
        design = replace(first, recipe=recipe)
        check_rules(design)
        yield design


def _folder(file: Path) -> Path:
    return file.resolve().parent


def _frame(name: str, diameter: float, file: Path) -> FrameChoice:
    """Return the frame; the path of a mesh is made to start at the folder of the design file."""
    from .choices import frame_choice

    choice = frame_choice(name, diameter)
    if choice.mesh is None:
        return choice
    try:
        mesh = os.path.relpath(choice.mesh, _folder(file))
    except ValueError:  # on another drive of a Windows machine
        mesh = os.path.abspath(choice.mesh)
    return replace(choice, mesh=Path(mesh).as_posix())


def _recipes(args: argparse.Namespace, diameter: float) -> Iterator[Recipe]:
    from ..design.model import (
        Bend,
        CornerTriads,
        EdgeRotor,
        FacePlates,
        InterwovenTriads,
        RightAngleOrbit,
        Rings,
    )
    from .choices import number_of

    widths = [float(round(share * diameter)) for share in _WIDTHS]
    if args.width is not None:
        widths = [number_of(EdgeRotor, "width", args.width, "--width")]
    if args.recipe == "edge-rotor":
        yield from (EdgeRotor(width) for width in widths)
    elif args.recipe == "rings":
        yield from (Rings(width) for width in widths)
    elif args.recipe == "corner-triads":
        yield from (CornerTriads(width) for width in widths)
    elif args.recipe == "interwoven-triads":
        yield from (InterwovenTriads(width) for width in widths)
    elif args.recipe == "face-plates":
        rings = [FacePlates(width=width) for width in widths]
        yield from rings if args.width is not None else [FacePlates(), *rings]
    elif args.recipe == "drawn-strips":
        yield from _drawn(widths, diameter)
    else:
        patterns = ("rotor + rotor", "rotor + two-fold")
        for bend, width, pattern in product((Bend.SMOOTH, Bend.SHARP), widths, patterns):
            yield RightAngleOrbit(width, pattern=pattern, bend=bend)


def _drawn(widths: list[float], diameter: float) -> Iterator[Recipe]:
    """Draw one arch, to begin with, in planes at several distances: copies of it cross."""
    from math import cos, radians, sin

    from ..design.model import DrawnStrips

    radius = diameter / 2
    for width, share in product(widths, (0.3, 0.45, 0.2)):
        arch = tuple(
            (
                round(radius * 0.95 * cos(radians(angle)), 3),
                round(radius * share, 3),
                round(radius * 0.95 * sin(radians(angle)), 3),
            )
            for angle in range(-75, 76, 25)
        )
        yield DrawnStrips(width, (arch,))


def _tell(file: Path, design: Design, build: Build) -> None:
    out = console()
    totals, recipe = build.totals, design.recipe
    wide = getattr(recipe, "width", None)
    width = "" if wide is None else f" {wide:g} mm wide"
    out.print(
        f"{file} is written: {totals.plates} plates{width}, {totals.joints} joints, "
        f"{totals.mass:.2f} kg.",
        soft_wrap=True,
    )
    failed = [check.name for check in build.checks if not check.ok]
    if failed:
        out.print(
            f"It builds, but is NOT OK yet ({', '.join(failed)}): "
            "try another width, thickness, diameter or frame.",
            style="bold red",
        )
    name = shlex.quote(str(file))
    out.print(f"Next: pinwright check {name}, then pinwright plan {name}", soft_wrap=True)
