# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright check`: computes a design and judges it; writes nothing."""

from __future__ import annotations

import argparse
from typing import Any

from .answers import print_json
from .terminal import console, progress_bar

__all__ = ["register", "run"]


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "check",
        help="judge a design, write nothing",
        description="Computes a design and judges it: clashes, clearance, angles, webs, fit, "
        "wrong placements that would go in. Writes nothing.",
        allow_abbrev=False,
    )
    parser.add_argument("design", metavar="DESIGN.toml", help="the design file")
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Judge; return 0, or 1 when a check failed."""
    with progress_bar(not args.json) as say:
        from ..design.read import read_design
        from ..pipeline import build
        from .fit_table import fit_records, print_fit
        from .report import build_record, print_failures, print_report

        result = build(read_design(args.design), say, mistakes=True)
    if args.json:
        print_json({**build_record(result), "fit": fit_records(result)})
    else:
        out = console()
        print_report(out, result)
        print_fit(out, result)
        print_failures(out, result, written=None)
    return 0 if result.ok else 1
