# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A way in: legs and turns that bring plates to their place, and how hard one is looked for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

__all__ = ["Effort", "Way"]

Floats = npt.NDArray[np.float64]


class Effort(IntEnum):
    """How hard a way is looked for: straight legs; turns in few rounds; turns in many."""

    STRAIGHT = 0
    SOME = 12
    MUCH = 45


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """How plates come to their place.

    legs : (k, 3) mm, shifts from their place, from the far start to (0, 0, 0)
    turns : (k, 4) quaternions at those places; None: turned nowhere; about pivot (3,) mm
    straight, sprung : joints that close along the last leg, and those that need a plate bent
    free : proved to be free of everything that stands (but for the zones of `sprung`); otherwise
        `legs` is only the place itself: the plates must be woven in by bending
    opened : where no way is proved: the joints can be closed, it is the way from outside that lacks
    blockers : plates that were in the way of ways that were tried; as long as all of them stand, a
        search that failed fails again
    """

    legs: Floats
    straight: tuple[int, ...]
    sprung: tuple[int, ...]
    free: bool
    blockers: frozenset[int]
    turns: Floats | None = None
    pivot: Floats | None = None
    opened: bool = False

    @property
    def direction(self) -> Floats:
        """Unit vector of the last leg, (3,); straight up where there is no leg."""
        if len(self.legs) < 2:
            return np.array([0.0, 0.0, 1.0])
        last = self.legs[-1] - self.legs[-2]
        unit: Floats = last / np.linalg.norm(last)
        return unit
