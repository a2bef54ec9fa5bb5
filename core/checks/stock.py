# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Does every part go on one sheet, turned as it may be.

A convex hull of diameter directions turns in the sheet; its two extents, along and across, change
as |d| cos(angle - phase) between the angles at which an edge lies along the sheet. So it is enough
to try those angles, and the ones at which an extent just equals a side of the sheet.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..results import Check
from .outline_views import OutlineView
from .places import at

__all__ = ["check_stock", "least_overhang"]

Floats = npt.NDArray[np.float64]
_TOUCH = 1e-6  # mm


def least_overhang(outline: Polygon, stock: tuple[float, float]) -> tuple[float, float, float]:
    """Return by how much a part is larger than the sheet at its best angle, mm; 0 or less: it fits.

    Returns also the two extents, mm, at that angle: along the sheet's first side and its second.
    """
    hull = shapely.get_coordinates(outline.convex_hull)[:-1]
    angles = _angles(hull, stock)
    ways = np.column_stack([np.cos(angles), np.sin(angles)])
    along = np.ptp(hull @ ways.T, axis=0)
    across = np.ptp(hull @ np.column_stack([-ways[:, 1], ways[:, 0]]).T, axis=0)
    over = np.maximum(along - stock[0], across - stock[1])
    best = int(over.argmin())
    return float(over[best]), float(along[best]), float(across[best])


def _angles(hull: Floats, stock: tuple[float, float]) -> Floats:
    """Return the angles, in radians, that decide whether a hull (n, 2) fits."""
    edges = np.roll(hull, -1, axis=0) - hull
    flat = np.arctan2(edges[:, 1], edges[:, 0])
    found = [flat, flat + np.pi / 2]
    # Where the vector d between two corners has the extent a: |d| cos(angle - phase) = a. Only
    # corners that can be opposite each other count; trying all is dear only for round hulls.
    corners = hull if len(hull) <= 60 else hull[:: len(hull) // 60 + 1]
    d = (corners[:, None] - corners[None]).reshape(-1, 2)
    length, phase = np.hypot(*d.T), np.arctan2(d[:, 1], d[:, 0])
    for side, turn in ((stock[0], 0.0), (stock[1], np.pi / 2)):
        reach = length >= side
        step = np.arccos(side / length[reach])
        found += [phase[reach] + step - turn, phase[reach] - step - turn]
    angles: Floats = np.unique(np.round(np.concatenate(found) % np.pi, 12))
    return angles


def check_stock(views: Sequence[OutlineView], stock: tuple[float, float]) -> Check:
    """Every part goes on one sheet of the stock's size."""
    told, most = [], -np.inf
    for view in views:
        over, along, across = least_overhang(view.outline, stock)
        most = max(most, over)
        if over > _TOUCH:
            middle = np.array(view.outline.centroid.coords[0])
            told.append((over, f"part {view.mark}: {along:.0f} x {across:.0f} mm{at(middle)}"))
    size = f"{stock[0]:g} x {stock[1]:g} mm"
    if not told:
        text = f"every part goes on a sheet of {size}, with {-most:.0f} mm to spare"
        return Check("stock", True, most, "mm", 0.0, text)
    told.sort(key=lambda one: -one[0])
    text = f"{len(told)} parts are larger than a sheet of {size}, by up to {most:.0f} mm"
    remedy = "Splice the strip, make the sculpture smaller, or say a larger sheet (sheet.stock)."
    # All of them, not the first few: each is a part that has to be spliced.
    lines = tuple(line for _, line in told)
    return Check("stock", False, most, "mm", 0.0, text, lines, remedy)
