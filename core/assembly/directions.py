# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Directions as unit vectors: which are the same, and the corners of a cone of half-spaces."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["SAME_WAY", "cone_corners", "distinct", "turning_points"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Sine of the angle under which two directions are one (0.006 deg). Typed normals with five digits
#: are off by a tenth of it; a slot with 0.1 mm of play that holds a tab on 10 mm shakes by 100
#: times as much.
SAME_WAY = 1e-4


def distinct(ways: Floats) -> tuple[Floats, list[Ints]]:
    """Return the different directions (m, 3) among `ways` (k, 3), and the rows that go along each.

    Unit vectors; the first of each kind stands for it, in the order in which they come.
    """
    kinds: list[Floats] = []
    kind = np.full(len(ways), -1, dtype=np.intp)
    for row in range(len(ways)):
        if kind[row] >= 0:
            continue
        same = (kind < 0) & (np.linalg.norm(ways - ways[row], axis=1) < SAME_WAY)
        kind[same] = len(kinds)
        kinds.append(ways[row])
    groups = [np.flatnonzero(kind == number) for number in range(len(kinds))]
    return np.array(kinds).reshape(-1, 3), groups


def turning_points(normals: Floats) -> Floats:
    """Return directions (m, 3) at which the answers to normal . u >= 0 change.

    The planes normal . u = 0 cut the sphere of directions into cells. Whatever half-spaces hold in
    a cell hold at its corners too, so it is enough to try these: the crossings of two planes, both
    ways. Where all normals lie in one plane or line there are fewer crossings than cells: normals
    and the directions square to them along the planes are taken as well.
    normals : (k, 3) unit vectors
    """
    kinds = distinct(normals)[0]
    one, two = np.triu_indices(len(kinds), 1)
    crossing = np.cross(kinds[one], kinds[two])
    size = np.linalg.norm(crossing, axis=1)
    crossing = crossing[size > SAME_WAY] / size[size > SAME_WAY, None]
    within = np.cross(crossing[:, None], kinds[None]).reshape(-1, 3) if len(kinds) < 20 else kinds
    size = np.linalg.norm(within, axis=1)
    within = within[size > SAME_WAY] / size[size > SAME_WAY, None]
    found = np.concatenate([crossing, within, kinds])
    if len(crossing) == 0 and len(kinds):
        aside = np.cross(kinds[0], np.eye(3)[np.abs(kinds[0]).argmin()])
        aside /= np.linalg.norm(aside)
        found = np.concatenate([found, [aside, np.cross(kinds[0], aside)]])
    return distinct(np.concatenate([found, -found]))[0]


def cone_corners(normals: Floats) -> Floats:
    """Return the directions among `turning_points` along which normal . u >= 0 for all normals."""
    points = turning_points(normals)
    corners: Floats = points[(points @ normals.T >= -SAME_WAY).all(axis=1)]
    return corners
