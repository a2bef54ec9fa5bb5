# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Tips that a slanted cut leaves are cut off square where they are as wide as the least web.

A cross-lap that crosses a strip at a slant leaves a blade of sheet beside its mouth: it burns under
the beam, bends and cuts hands. Corners that were drawn are the maker's own and stay.
"""

from __future__ import annotations

from math import radians, tan

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

__all__ = ["blunted"]

Floats = npt.NDArray[np.float64]

_DRAWN = 1e-3  # mm; a corner this near to one of the body's is that one


def blunted(outline: Polygon, body: Polygon, least_deg: float, width: float) -> Polygon:
    """Return an outline without the tips sharper than `least_deg` that its body has not.

    outline : anticlockwise; width : of sheet, mm, where a tip ends then
    """
    if least_deg <= 0.0:
        return outline
    outline = orient(outline)
    ring = np.asarray(outline.exterior.coords)[:-1]
    ahead, behind = np.roll(ring, -1, axis=0) - ring, np.roll(ring, 1, axis=0) - ring
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    behind /= np.linalg.norm(behind, axis=1)[:, None]
    cross = ahead[:, 0] * behind[:, 1] - ahead[:, 1] * behind[:, 0]
    angle = np.arctan2(np.abs(cross), np.einsum("ij,ij->i", ahead, behind))
    drawn = shapely.multipoints(np.asarray(body.exterior.coords))
    for i in np.flatnonzero((cross > 0) & (angle < radians(least_deg))):
        if drawn.distance(shapely.Point(ring[i])) > _DRAWN:
            outline = _without_tip(outline, ring[i], ahead[i] + behind[i], float(angle[i]), width)
    return outline


def _without_tip(
    outline: Polygon, tip: Floats, inwards: Floats, angle: float, width: float
) -> Polygon:
    """Cut the tip off, square to the line that halves it; nothing else is touched."""
    way = inwards / np.linalg.norm(inwards)
    across = np.array([-way[1], way[0]])
    deep = width / 2 / tan(angle / 2)
    far = 2 * deep + width
    half = shapely.Polygon(
        [tip + deep * way + far * across, tip - far * way + far * across,
         tip - far * way - far * across, tip + deep * way - far * across]
    )  # fmt: skip
    here = shapely.Point(tip)
    for piece in shapely.get_parts(outline.intersection(half)):
        if piece.distance(here) < _DRAWN:
            rest = outline.difference(piece.buffer(1e-7, join_style="mitre"))
            whole = max(shapely.get_parts(rest), key=shapely.area)
            assert isinstance(whole, Polygon)
            return orient(whole)
    return outline
