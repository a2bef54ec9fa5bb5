# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where two strips in one plane run straight on into each other: the place of a splice."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from ..errors import DesignError
from ..plates.motif import Motif
from ..plates.path import end_direction
from ..tolerance import TOLERANCES

__all__ = ["spliced_end"]

Floats = npt.NDArray[np.float64]

#: Ends of two paths this near are one place (mm), and ways this much alike are one (cosine).
_SAME_END: Final = 0.01
_STRAIGHT_ON: Final = 1 - 1e-8


def spliced_end(a: Motif, b: Motif, matrix: Floats, field: str) -> tuple[Floats, Floats]:
    """Return the place (3,) of a's end that meets an end of the turned b, and the way (3,) out.

    matrix : (3, 3), carries b to its place

    Raises
    ------
    DesignError : no two ends meet, the planes differ, or the paths meet at an angle.
    """
    if a.path is None or b.path is None:
        raise DesignError(field, f"{a.name} and {b.name}", "two strips with paths")
    first = _ends(a.path, a.world_from_plane[:3])
    second = _ends(b.path, matrix @ b.world_from_plane[:3])
    pairs = [(one, two) for one in first for two in second]
    one, two = min(pairs, key=lambda pair: float(np.linalg.norm(pair[0][0] - pair[1][0])))
    gap = float(np.linalg.norm(one[0] - two[0]))
    tilt = float(np.linalg.norm(np.cross(a.normal, matrix @ b.normal)))
    if gap > _SAME_END or tilt > TOLERANCES.symmetry:
        raise DesignError(
            field,
            f"ends {gap:.3f} mm apart, planes at {np.degrees(np.arcsin(min(tilt, 1.0))):.3f} deg",
            "two strips in one plane whose paths end in one place",
            "Move the end of one path to the end of the other.",
        )
    if float(one[1] @ two[1]) > -_STRAIGHT_ON:
        raise DesignError(
            field,
            "paths that meet at an angle",
            "paths that go straight on into each other",
            "Splice where the strip runs straight.",
        )
    return one


def _ends(path: Floats, plane: Floats) -> list[tuple[Floats, Floats]]:
    """Return place and outward way of both ends of a path, world; plane : (3, 4)."""
    return [
        (plane[:, :2] @ path[-int(last)] + plane[:, 3], plane[:, :2] @ end_direction(path, last))
        for last in (False, True)
    ]
