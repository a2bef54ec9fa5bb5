# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright materials`: the sheets of the library with their figures and sources."""

from __future__ import annotations

import argparse
from dataclasses import asdict
from typing import Any

from .answers import print_json
from .terminal import console, heading, plain_table

__all__ = ["register", "run"]


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "materials",
        help="list the sheets of the library",
        description="Lists the sheets of the library with weight, stiffness, strength and source.",
        allow_abbrev=False,
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """List; return 0."""
    from ..design.materials import MATERIALS

    if args.json:
        print_json({"materials": [asdict(entry) for entry in MATERIALS.values()]})
        return 0
    out = console()
    heading(out, "Sheets")
    table = plain_table("name", "kg/m3>", "E, GPa>", "strength, MPa>", "sheet, mm>", "source")
    for entry in MATERIALS.values():
        table.add_row(
            entry.name,
            f"{entry.density:g}",
            f"{entry.youngs_modulus_gpa:g}",
            f"{entry.yield_mpa:g}",
            f"{entry.stock[0]:g} x {entry.stock[1]:g}",
            entry.source,
        )
    out.print(table)
    out.print()
    out.print("Strength: the stress at which metal stays bent and all else breaks. The figures are")
    out.print("for planning; where safety hangs on one, use the certificate of your own sheet.")
    return 0
