# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Handing records of the core from one program to another that works beside it, in a file.

The two may call this package by different names: as an extension of Blender it has another one.
What is read makes records of this package and of the libraries that they hold, nothing else.
"""

from __future__ import annotations

import pickle
from pathlib import Path
from typing import Any

from ..errors import OutputError

__all__ = ["hand", "taken"]

_CORE = __name__.removesuffix(".beside.handing")
_LIBRARIES = frozenset({"numpy", "shapely", "pathlib"})
_PLAIN = frozenset({"set", "frozenset", "complex", "bytearray", "slice", "range"})


class _Reader(pickle.Unpickler):
    """Knows this package under whatever name it was written."""

    def find_class(self, module: str, name: str) -> Any:
        if module.partition(".")[0] in _LIBRARIES or (module == "builtins" and name in _PLAIN):
            return super().find_class(module, name)
        _, core, own = module.partition(".core.")
        if core:
            return super().find_class(f"{_CORE}.{own}", name)
        raise pickle.UnpicklingError(f"{module}.{name} is no record of this package")


def hand(records: object, path: Path) -> None:
    """Write records for the other program.

    Raises
    ------
    OutputError : the file cannot be written.
    """
    try:
        path.write_bytes(pickle.dumps(records, protocol=5))
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror}.") from error


def taken(path: Path) -> Any:
    """Return the records that the other program wrote.

    Raises
    ------
    OutputError : the file cannot be read, or holds something else.
    """
    try:
        with path.open("rb") as file:
            return _Reader(file).load()
    except OSError as error:
        raise OutputError(f"{path} cannot be read: {error.strerror}.") from error
    except (pickle.UnpicklingError, EOFError, AttributeError, ImportError) as error:
        raise OutputError(f"{path} is not what was to be handed over: {error}.") from error
