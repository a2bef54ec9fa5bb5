# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A JSON value with its path, so that every refusal names the place in the file."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt

from ..errors import PinwrightError

__all__ = ["Node", "refused"]

Floats = npt.NDArray[np.float64]


def refused(path: str, found: object, allowed: str) -> PinwrightError:
    """Return the error for a value that cannot be read at all."""
    shown = repr(found)
    shown = shown if len(shown) < 60 else shown[:57] + "..."
    remedy = "Mend it there, or build the design again."
    return PinwrightError(f"build.json, {path}: found {shown}, allowed is {allowed}. {remedy}")


class Node:
    """One value; every reader raises PinwrightError when it is of another kind."""

    __slots__ = ("path", "value")

    def __init__(self, value: Any, path: str) -> None:
        self.value, self.path = value, path

    def __getitem__(self, key: str) -> Node:
        """Return what stands under a key."""
        if not isinstance(self.value, dict):
            raise refused(self.path, self.value, "a record {...}")
        if key not in self.value:
            raise refused(f"{self.path}.{key}".lstrip("."), None, "a value; the key is missing")
        return Node(self.value[key], f"{self.path}.{key}".lstrip("."))

    def __iter__(self) -> Iterator[Node]:
        """Run over a list."""
        if not isinstance(self.value, list):
            raise refused(self.path, self.value, "a list [...]")
        return (Node(item, f"{self.path}[{k}]") for k, item in enumerate(self.value))

    @property
    def empty(self) -> bool:
        """It is null."""
        return self.value is None

    def text(self) -> str:
        """Return a text."""
        if not isinstance(self.value, str):
            raise refused(self.path, self.value, "a text")
        return self.value

    def number(self, above: float = -np.inf) -> float:
        """Return a finite number above a bound."""
        known = isinstance(self.value, int | float) and not isinstance(self.value, bool)
        if not known or not np.isfinite(self.value) or not self.value > above:
            bound = "" if above == -np.inf else f" above {above:g}"
            raise refused(self.path, self.value, f"a number{bound}")
        return float(self.value)

    def flag(self) -> bool:
        """Return true or false."""
        if not isinstance(self.value, bool):
            raise refused(self.path, self.value, "true or false")
        return self.value

    def array(self, *shape: int) -> Floats:
        """Return finite numbers of a shape; -1 stands for any length."""
        try:
            found = np.array(self.value, dtype=np.float64)
        except (TypeError, ValueError):
            found = np.zeros(())
        fits = found.ndim == len(shape) and all(
            want in (-1, have) for want, have in zip(shape, found.shape, strict=True)
        )
        if not fits or not np.isfinite(found).all():
            size = " x ".join("n" if want < 0 else str(want) for want in shape)
            raise refused(self.path, self.value, f"{size} finite numbers")
        found.setflags(write=False)
        return found
