# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright turn`: turns a motif of a found design, all joints staying square."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from .answers import print_json
from .terminal import console, progress_bar

__all__ = ["register", "run"]


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "turn",
        help="turn a motif of a found design, its joints staying square",
        description="Some designs of the search belong to a family: a motif's plane can be turned, "
        "and those of the others follow so that every joint stays square. Without --by it tells "
        "which motifs can be turned and about how far; with --by it writes the turned design.",
        allow_abbrev=False,
    )
    parser.add_argument("design", metavar="DESIGN.toml", help="a design file of the search")
    parser.add_argument("--motif", metavar="NAME", help="which; left out: the first that can be")
    parser.add_argument("--by", type=float, metavar="DEG", help="angle that its plane turns by")
    parser.add_argument("--out", metavar="FILE.toml", help="where the turned design goes")
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Tell the sliders, or turn and write; 1 when the turned design fails a check."""
    from ..design.read import read_design
    from ..errors import DesignError, OutputError
    from ..search.sliders import sliders

    design = read_design(args.design)
    if (args.by is None) != (args.out is None):
        missing, there = ("--by", "--out") if args.by is None else ("--out", "--by")
        remedy = f"Add {missing}, or leave {there} out to be told the ranges."
        raise DesignError(missing, None, f"a value, since {there} is given", remedy)
    if args.by is not None:
        if Path(args.out).exists():
            raise OutputError(f"{args.out} is there already. Take another name.")
        return _turn(args, design)
    found = sliders(design)
    if args.motif is not None:
        names = ", ".join(one.motif for one in found) or "none: the joints fix all planes"
        found = tuple(one for one in found if one.motif == args.motif)
        if not found:
            raise DesignError("--motif", args.motif, names)
    if args.json:
        record = [{"motif": s.motif, "low": s.low, "high": s.high} for s in found]
        print_json({"design": design.name, "sliders": record})
        return 0
    out = console()
    for one in found:
        out.print(
            f"motif {one.motif} can be turned from about {one.low:g} to {one.high:+g} deg",
            soft_wrap=True,
        )
    if not found:
        out.print("The joints fix all planes of this design: nothing can be turned.")
    return 0


def _turn(args: argparse.Namespace, design: Any) -> int:
    with progress_bar(not args.json) as say:
        from dataclasses import replace

        from ..design.write import write_design
        from ..pipeline import build
        from ..search.sliders import first_slider, turned
        from .report import build_record, print_failures, print_report

        motif = first_slider(design) if args.motif is None else args.motif
        there = turned(design, motif, args.by)
        told = f"{design.name}, {motif} turned by {args.by:g}"
        result = build(replace(there, name=told), say)
        write_design(result.design, Path(args.out))
    if args.json:
        print_json({**build_record(result), "written": args.out})
    else:
        out = console()
        print_report(out, result)
        print_failures(out, result, written=args.out)
        if result.ok:
            out.print(f"{args.out} is written.", soft_wrap=True)
    return 0 if result.ok else 1
