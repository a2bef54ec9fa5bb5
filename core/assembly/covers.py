# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates covered by balls: a safe and quick answer to "may these two moving bodies touch?".

The balls of a plate hold all of it, so bodies whose balls keep apart keep apart themselves, however
they are moved and turned. It errs on one side only: balls that meet prove nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial.distance import cdist

from ..results import Build
from .tracks import matrix_of

__all__ = ["Cover", "covers_of", "joined", "nearest"]

Floats = npt.NDArray[np.float64]

_CELLS = 14  # of the grid over the longer side of an outline, at most; each makes one ball


@dataclass(frozen=True, slots=True, eq=False)
class Cover:
    """Balls that hold a body, world coordinates of the design, mm.

    centres : (n, 3); radii : (n,); centre : (3,), reach : one ball round all
    """

    centres: Floats
    radii: Floats
    centre: Floats
    reach: float

    @classmethod
    def of(cls, centres: Floats, radii: Floats) -> Cover:
        """Gather balls (n, 3), (n,) into one body."""
        low, high = (centres - radii[:, None]).min(axis=0), (centres + radii[:, None]).max(axis=0)
        middle = (low + high) / 2
        reach = float((np.linalg.norm(centres - middle, axis=1) + radii).max())
        return cls(centres, radii, middle, reach)

    def moved(self, shift: Floats, turn: Floats) -> Floats:
        """Return the centres (n, 3) after a turn (3, 3) about the origin and a shift (3,)."""
        there: Floats = self.centres @ turn.T + shift
        return there

    def moved_middle(self, turn: Floats, shift: Floats) -> Floats:
        """Return where `centre` goes by a unit quaternion (w, x, y, z) and a shift (3,)."""
        there: Floats = matrix_of(turn) @ self.centre + shift
        return there


def covers_of(build: Build) -> list[Cover]:
    """Return a cover of each plate of a build; congruent plates share the work."""
    flat = [_balls(part.outline, part.thickness) for part in build.parts]
    found = []
    for plate in build.plates:
        centres, radii = flat[plate.part]
        pose = plate.world_from_part
        found.append(Cover.of(centres @ pose[:3, :3].T + pose[:3, 3], radii))
    return found


def joined(covers: Sequence[Cover]) -> Cover:
    """Return several bodies as one."""
    return Cover.of(
        np.concatenate([cover.centres for cover in covers]),
        np.concatenate([cover.radii for cover in covers]),
    )


def nearest(a: Floats, a_radii: Floats, b: Floats, b_radii: Floats) -> float:
    """Return the least gap of two sets of balls, mm; negative where they overlap."""
    return float((cdist(a, b) - a_radii[:, None] - b_radii[None, :]).min())


def _balls(outline: shapely.Polygon, thickness: float) -> tuple[Floats, Floats]:
    """Cut an outline along a grid; each bit lies in the ball round its own box."""
    x0, y0, x1, y1 = outline.bounds
    side = max(x1 - x0, y1 - y0) / _CELLS
    columns, rows = (max(1, int(np.ceil(span / side - 1e-9))) for span in (x1 - x0, y1 - y0))
    cells = [
        shapely.box(x0 + i * side, y0 + j * side, x0 + (i + 1) * side, y0 + (j + 1) * side)
        for i in range(columns)
        for j in range(rows)
    ]
    bits = shapely.intersection(cells, outline)
    bounds = shapely.bounds(bits[~shapely.is_empty(bits)])
    centres = np.zeros((len(bounds), 3))
    centres[:, :2] = (bounds[:, :2] + bounds[:, 2:]) / 2
    half = (bounds[:, 2:] - bounds[:, :2]) / 2
    radii: Floats = np.sqrt((half**2).sum(axis=1) + (thickness / 2) ** 2)
    return centres, radii
