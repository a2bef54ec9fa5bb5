# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright coupon`: writes a test piece for the sheet of a design, to be cut before all else."""

from __future__ import annotations

import argparse
from typing import Any

from ..errors import OutputError
from .answers import print_json
from .terminal import console

__all__ = ["register", "run"]


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "coupon",
        help="write a test piece that finds the clearance of a sheet",
        description="Writes a test coupon for the sheet of a design: a comb of slots from tight "
        "to loose, each marked with its clearance, and a tab to try in them.",
        allow_abbrev=False,
    )
    parser.add_argument("design", metavar="DESIGN.toml", help="the design file")
    parser.add_argument("--out", metavar="FOLDER", required=True, help="where the files go")
    parser.add_argument(
        "--kerf",
        action="store_true",
        help="compensate for the kerf of the sheet (else true size): as the parts will be cut",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Write the coupon; return 0."""
    if not args.out.strip():
        raise OutputError("--out: found nothing, allowed is the name of a folder.")
    from ..design.read import read_design
    from ..export.coupon import coupon_files, coupon_of
    from ..export.folder import write_all
    from ..pipeline import sizes_of

    design = read_design(args.design)
    sizes = sizes_of(design)
    files = write_all(args.out, coupon_files(design.sheet, sizes, args.kerf))
    clearances = coupon_of(sizes).clearances
    if args.json:
        print_json({"clearances": list(clearances), "files": [str(file) for file in files]})
        return 0
    out = console()
    out.print(f"Written to {args.out}", style="bold", soft_wrap=True)
    out.print(f"  {', '.join(file.name for file in files)}")
    out.print(
        f"  {len(clearances)} slots, clearances {clearances[0]:g} to {clearances[-1]:g} mm; "
        "coupon.txt tells how to use them"
    )
    return 0
