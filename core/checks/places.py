# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How findings say where: three numbers are world coordinates, two a part's own, mm."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

__all__ = ["SHOWN", "at", "in_part", "listed"]

Floats = npt.NDArray[np.float64]

SHOWN: Final = 12  # places named in a finding; the figure counts them all


def at(point: npt.ArrayLike) -> str:
    """Return `` at (x, y, z)``, or `` at (x, y)``, to a tenth of a mm; nothing where it is nan."""
    numbers = np.round(np.asarray(point, dtype=np.float64), 1) + 0.0
    if not np.isfinite(numbers).all():
        return ""
    return f" at ({', '.join(f'{number:.1f}' for number in numbers.tolist())})"


def in_part(plane_from_part: Floats, point: npt.ArrayLike) -> Floats:
    """Return a point (2,) of a motif's plane in the coordinates of the part that it is cut as.

    plane_from_part : (4, 4), of `PartShapes`
    """
    seen: Floats = (np.asarray(point) - plane_from_part[:2, 3]) @ plane_from_part[:2, :2]
    return seen


def listed(lines: Sequence[str]) -> tuple[str, ...]:
    """Return the first lines, each once."""
    return tuple(dict.fromkeys(lines))[:SHOWN]
