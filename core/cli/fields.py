# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright fields`: the reference of the design file."""

from __future__ import annotations

import argparse
from typing import Any

__all__ = ["register", "run"]


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "fields",
        help="print the reference of the design file",
        description="Prints the reference of the design file, in Markdown.",
        allow_abbrev=False,
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print; return 0."""
    from ..design.reference import field_reference

    print(field_reference(), end="")
    return 0
