# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright build`: computes a design, judges it and writes build.json and the cut files."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import OutputError
from .answers import print_json
from .terminal import console, progress_bar

if TYPE_CHECKING:
    from ..results import Build

__all__ = ["register", "run"]


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "build",
        help="compute, judge and write build.json and cut files",
        description="Computes a design, judges it and writes build.json, cut files and lists.",
        allow_abbrev=False,
    )
    parser.add_argument("design", metavar="DESIGN.toml", help="the design file")
    parser.add_argument("--out", metavar="FOLDER", required=True, help="where the files go")
    parser.add_argument(
        "--accept", action="store_true", help="exit status 0 even when a check failed"
    )
    parser.add_argument(
        "--kerf",
        action="store_true",
        help="compensate cut files for the kerf of the sheet (else they are true size)",
    )
    parser.add_argument(
        "--plan", action="store_true", help="put the assembly plan into build.json, too"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.add_argument("--quiet", action="store_true", help="print only what went wrong")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Build and write; return 0, or 1 when a check failed and that was not accepted."""
    if not args.out.strip():
        raise OutputError("--out: found nothing, allowed is the name of a folder.")
    with progress_bar(not (args.quiet or args.json)) as say:
        from ..design.read import read_design
        from ..export.files import write_build
        from ..pipeline import build

        result = build(read_design(args.design), say)
        if args.plan:
            from ..assembly.explode_order import exploded
            from ..assembly.plan import planned

            result = exploded(planned(result, say), say)
        if say is not None:
            say("writing", 1.0)
        files = write_build(result, args.out, args.kerf)
    with _nothing_lost(args.out):
        _tell(result, files, args)
    return 0 if result.ok or args.accept else 1


@contextmanager
def _nothing_lost(folder: str) -> Iterator[None]:
    """Say the truth to who stops the program after the files are in place."""
    try:
        yield
    except KeyboardInterrupt:
        raise KeyboardInterrupt(f"stopped; the files in {folder} are complete") from None


def _tell(build: Build, files: tuple[Path, ...], args: argparse.Namespace) -> None:
    from ..assembly.explode_words import snag_words
    from .report import build_record, print_failures, print_plan_first, print_report

    if args.json:
        print_json({**build_record(build), "files": [str(file) for file in files]})
        return
    out = console()
    if not args.quiet:
        print_report(out, build)
        for line in snag_words(build):
            out.print(f"exploded view: {line}", soft_wrap=True)
        _print_files(out, files, args)
    print_failures(out, build, written=args.out)
    if not args.quiet:
        if not build.steps:
            print_plan_first(out, args.design)
        out.print()
        out.print(_SAFETY, style="dim")


def _print_files(out: Any, files: tuple[Path, ...], args: argparse.Namespace) -> None:
    folder = Path(args.out)
    cuts = [file for file in files if file.suffix in (".dxf", ".svg")]
    rest = [file.name for file in files if file not in cuts]
    size = "compensated for the kerf" if args.kerf else "true size, not compensated for the kerf"
    out.print()
    out.print(
        f"Written to {folder}{'' if str(folder) == '.' else '/'}", style="bold", soft_wrap=True
    )
    out.print(f"  {len(cuts)} cut files (DXF, SVG; {size})")
    out.print(f"  {', '.join(rest)}")


_SAFETY = (
    "Safety: cut edges are sharp and sprung plates pinch: deburr, wear gloves and eye protection. "
    "Hang it over people only as a licensed rigger or engineer and local code allow."
)
