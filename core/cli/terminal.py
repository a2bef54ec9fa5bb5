# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The terminal: plain tables on standard output, a moving bar on standard error."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

__all__ = ["Say", "console", "counted", "heading", "plain_table", "progress_bar"]

Say = Callable[[str, float], None]

# Where the output goes into a file or a pipe there is no width to ask for.
_WIDTH = 100


def console() -> Console:
    """Return a console on standard output that takes names and brackets as they are."""
    from rich.console import Console

    width = None if sys.stdout.isatty() or "COLUMNS" in os.environ else _WIDTH
    return Console(width=width, markup=False, highlight=False, emoji=False)


def counted(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun; `many` : the plural, where it is not made by an s."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def heading(out: Console, text: str) -> None:
    """Print a heading with a free line above it."""
    out.print()
    out.print(text, style="bold")


def plain_table(*columns: str) -> Table:
    """Return a table with a rule under its head. A name that ends in > is set to the right."""
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="")
    for column in columns:
        right = column.endswith(">")
        table.add_column(
            column.rstrip(">").strip(),
            justify="right" if right else "left",
            no_wrap=right,
            overflow="fold",
        )
    return table


@contextmanager
def progress_bar(wanted: bool) -> Iterator[Say | None]:
    """Give a function that moves a bar on standard error; None where that is no terminal."""
    if not (wanted and sys.stderr.isatty()):
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    bar = Progress(
        TextColumn("{task.description:<12}"),
        BarColumn(),
        TimeElapsedColumn(),
        console=Console(stderr=True),
        transient=True,
    )
    with bar:
        task = bar.add_task("starting", total=1.0)

        def say(stage: str, share: float) -> None:
            bar.update(task, description=stage, completed=share)

        yield say
