# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""File names of parts that every common file system takes, Windows' rules being the narrowest."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

__all__ = ["cut_names"]

# Reserved device names, whatever extension follows (Windows' file naming rules).
_RESERVED: Final = frozenset(
    ["CON", "PRN", "AUX", "NUL"] + [f"{port}{n}" for port in ("COM", "LPT") for n in range(10)]
)


def cut_names(marks: Iterable[str]) -> tuple[str, ...]:
    """Return a file stem for each mark, in order, all different even where case does not count.

    Letters, digits, '-' and '_' stay; other signs become '-'; a reserved name gets a '_' behind.
    """
    taken: set[str] = set()
    names = []
    for mark in marks:
        stem = re.sub(r"[^A-Za-z0-9_-]", "-", mark) or "-"
        stem = f"{stem}_" if stem.upper() in _RESERVED else stem
        name, number = stem, 1
        while name.upper() in taken:
            number += 1
            name = f"{stem}-{number}"
        taken.add(name.upper())
        names.append(name)
    return tuple(names)
