# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Pins as solids: a round pin is judged as the prism round it, so a verdict is never too kind.

The prism has 32 sides that touch the circle, one of them turned to where the pin comes nearest to a
given plane. So against a plate's faces the figure is the cylinder's own; elsewhere the prism is too
large by up to 0.5 % of the radius (1 / cos(180 deg / 32)).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from shapely import Polygon

from .distance import pair_distances
from .overlap import pair_overlaps
from .solids import PlacedPlates, PlateSolid

__all__ = ["pin_clearance", "pin_solid", "pin_transform"]

Floats = npt.NDArray[np.float64]

_SIDES = 32


def pin_solid(radius: float, length: float) -> PlateSolid:
    """Return the 32-sided prism round a pin: axis along z, length from -length/2 to length/2 (mm).

    The middles of two sides are on the x axis.
    """
    angle = (np.arange(_SIDES) + 0.5) * (2.0 * np.pi / _SIDES)
    reach = radius / np.cos(np.pi / _SIDES)
    ring = reach * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return PlateSolid.of(Polygon(ring), length)


def pin_transform(
    centre: npt.ArrayLike, axis: npt.ArrayLike, towards: npt.ArrayLike = (0.0, 0.0, 1.0)
) -> Floats:
    """Return world_from_plate (4, 4) of a pin's solid.

    centre : (3,) mm; axis : (3,), not 0; towards : (3,), the x axis is turned to it as far as it
    can be: give the normal of the plate that the pin lies against
    """
    z = np.asarray(axis, dtype=np.float64) / np.linalg.norm(axis)
    x = np.asarray(towards, dtype=np.float64)
    x = x - (x @ z) * z
    if np.linalg.norm(x) < 1e-9 * np.linalg.norm(towards):  # axis square to the plate: no matter
        x = np.eye(3)[np.argmin(np.abs(z))]
        x = x - (x @ z) * z
    x /= np.linalg.norm(x)
    world = np.eye(4)
    world[:3, :3] = np.stack([x, np.cross(z, x), z], axis=1)
    world[:3, 3] = centre
    return world


def pin_clearance(
    centre: npt.ArrayLike,
    axis: npt.ArrayLike,
    radius: float,
    length: float,
    solid: PlateSolid,
    world_from_plate: npt.ArrayLike,
) -> float:
    """Return the distance of a pin and a plate in mm; when they clash, below 0.

    centre, axis : (3,) of the pin, world; radius, length : mm; world_from_plate : (4, 4)
    Returns: the least distance; or minus the amount by which the pin's radius would have to shrink
    to come free (minus the radius when even its axis runs through the plate), right to 1e-6 mm.
    """
    plate = np.asarray(world_from_plate, dtype=np.float64)
    world = np.stack([pin_transform(centre, axis, plate[:3, 2]), plate])

    def placed(size: float) -> PlacedPlates:
        return PlacedPlates.of([pin_solid(size, length), solid], world)

    def free(size: float) -> bool:
        return not pair_overlaps(placed(size), [(0, 1)], exact=False).volume[0] > 0.0

    if free(radius):
        return float(pair_distances(placed(radius), [(0, 1)]).distance[0])
    low, high = 0.0, radius
    while high - low > 1e-7:
        middle = (low + high) / 2
        low, high = (middle, high) if free(middle) else (low, middle)
    return -radius if low == 0.0 else low - radius
