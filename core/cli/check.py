# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright check`: judges a design, or a build file as it lies there; writes nothing."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .answers import print_json
from .terminal import console, progress_bar

if TYPE_CHECKING:
    from collections.abc import Callable

    from ..results import Build

__all__ = ["register", "run"]


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "check",
        help="judge a design or a build file, write nothing",
        description="Computes a design and judges it: clashes, clearance, angles, webs, fit, "
        "wrong placements that would go in. Given a build.json, it judges what stands in the file: "
        "every pair of solids, every joint on the outlines to be cut, and every difference from "
        "the design inside. Writes nothing.",
        allow_abbrev=False,
    )
    parser.add_argument(
        "design", metavar="DESIGN.toml|build.json", help="the design file, or a build file"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Judge; return 0, or 1 when a check failed."""
    from_file = Path(args.design).suffix.lower() == ".json"
    with progress_bar(not args.json) as say:
        from .fit_table import fit_records, print_fit
        from .report import build_record, print_failures, print_plan_first, print_report

        result = _rechecked(args.design, say) if from_file else _computed(args.design, say)
    if args.json:
        print_json({**build_record(result), "fit": fit_records(result)})
    else:
        out = console()
        print_report(out, result)
        print_fit(out, result)
        print_failures(out, result, written=None)
        if not from_file:
            print_plan_first(out, args.design)
    return 0 if result.ok else 1


def _computed(path: str, say: Callable[[str, float], None] | None) -> Build:
    from ..design.read import read_design
    from ..pipeline import build

    return build(read_design(path), say, mistakes=True)


def _rechecked(path: str, say: Callable[[str, float], None] | None) -> Build:
    from ..export.build_json import read_build_json
    from ..recheck import recheck

    return recheck(read_build_json(path), str(Path(path).resolve().parent), say)
