# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Thin remnants between cut edges, and corners too sharp to cut.

What a disc of the web's width cannot reach inside an outline is too thin or a corner: the outline
is shrunk by half the width and grown again, and what is missing is looked at piece by piece. A
piece that the edge passes on two sides is a bridge; one that the edge passes round, turning back on
itself, is a tongue; all else is the tip of a corner, which has a rule of its own. Webs round the
holes of joints have a check of their own (webs.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..results import Check
from .outline_views import OutlineView
from .places import at, listed

__all__ = ["Sliver", "check_corners", "check_slivers", "sharp_corners", "slivers"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Geometries = npt.NDArray[np.object_]

_ROUND: Final = 16  # chords of a quarter turn: right to 0.12 % of half the width
_GRID: Final = 1e-5  # mm; overlays on a grid cannot fail over rounding
_TURNED_BACK: Final = 160.0  # deg; an edge that turns by so much goes round a tongue
#: deg; a turn of less is a step of a smooth curve
_SMOOTH: Final = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Sliver:
    """A thin remnant: its width where it is least, mm (0: it runs out to a tip); its place (2,)."""

    width: float
    place: Floats


def slivers(outline: Polygon, least: float) -> list[Sliver]:
    """Return where an outline is thinner than `least`, mm.

    A bridge between two cuts has the least distance of the two as its width; a tongue that ends
    free has the width of the widest disc in what is missing.
    """
    half = least / 2 * (1 - 1e-6) - 1e-6
    core = outline.buffer(-half, quad_segs=_ROUND)
    grown = core.buffer(half * (1 + 2e-3), quad_segs=_ROUND)
    missing = shapely.get_parts(shapely.difference(outline, grown, grid_size=_GRID))
    missing = missing[shapely.get_type_id(missing) == shapely.GeometryType.POLYGON]
    sides, of = _sides(missing, outline, least)
    turned = _turnings(sides) >= _TURNED_BACK
    found = []
    for k, piece in enumerate(missing):
        mine = np.flatnonzero(of == k)
        if len(mine) > 1:
            found.append(_bridge(sides[mine]))
        elif len(mine) == 1 and turned[mine[0]]:
            found.append(_tongue(piece))
    return sorted(found, key=lambda one: one.width)


def _sides(pieces: Geometries, outline: Polygon, least: float) -> tuple[Geometries, Ints]:
    """Return the stretches of the outline's edge that pass pieces, and of which piece each is.

    Stretches that meet end to end are one; very short ones are left out.
    """
    near = shapely.intersection(
        outline.boundary, shapely.buffer(pieces, 1e-3 * least, quad_segs=_ROUND)
    )
    parts, of = shapely.get_parts(near, return_index=True)
    long = shapely.length(parts) > 0.0
    owners, of = np.unique(of[long], return_inverse=True)
    joined = shapely.line_merge(shapely.multilinestrings(parts[long], indices=of))
    sides, of = shapely.get_parts(joined, return_index=True)
    long = shapely.length(sides) > 0.05 * least
    return sides[long], owners[of[long]]


def _bridge(sides: Geometries) -> Sliver:
    """Measure a remnant that the edge passes on several sides."""
    one, two = np.triu_indices(len(sides), 1)
    ways = shapely.shortest_line(sides[one], sides[two])
    way = ways[np.argmin(shapely.length(ways))]
    return Sliver(float(way.length), shapely.get_coordinates(way).mean(axis=0))


def _tongue(piece: Polygon) -> Sliver:
    """Measure a remnant that the edge passes round."""
    middle, rim = shapely.get_coordinates(shapely.maximum_inscribed_circle(piece, tolerance=0.01))
    return Sliver(2 * float(np.linalg.norm(middle - rim)), middle)


def _turnings(lines: Geometries) -> Floats:
    """Return by how much each line turns from its start to its end, in all, deg."""
    points, of = shapely.get_coordinates(lines, return_index=True)
    way, of_way = np.diff(points, axis=0), of[1:]
    kept = (of[1:] == of[:-1]) & (np.hypot(*way.T) > 1e-9)
    way, of_way = way[kept], of_way[kept]
    cross = way[:-1, 0] * way[1:, 1] - way[:-1, 1] * way[1:, 0]
    turns = np.arctan2(cross, np.einsum("ij,ij->i", way[:-1], way[1:]))
    same = of_way[1:] == of_way[:-1]
    total = np.bincount(of_way[1:][same], weights=turns[same], minlength=len(lines))
    turned: Floats = np.degrees(np.abs(total)).astype(np.float64, copy=False)
    return turned


def check_slivers(views: Sequence[OutlineView], least: float) -> Check:
    """No part is thinner than the least web anywhere outside the webs of its joints."""
    told = []
    for view in views:
        told += [(one.width, view.mark, one.place) for one in slivers(view.bare, least)]
    if not told:
        text = f"no part is thinner than the least web, {least:g} mm, anywhere"
        return Check("sliver", True, least, "mm", least, text)
    told.sort(key=lambda one: (one[0], one[1]))
    lines = [f"part {mark}: {width:.2f} mm of sheet left{at(place)}" for width, mark, place in told]
    text = f"{len(told)} remnants are too thin, the thinnest {told[0][0]:.2f} mm"
    remedy = (
        "Move the cuts apart, or let them run into each other; thin tongues burn and break off."
    )
    return Check("sliver", False, told[0][0], "mm", least, text, listed(lines), remedy)


def sharp_corners(outline: Polygon, least_deg: float) -> list[tuple[float, Floats]]:
    """Return the angle (deg) and place (2,) of every corner of sheet sharper than `least_deg`."""
    found = []
    for k, ring in enumerate((outline.exterior, *outline.interiors)):
        points = np.asarray(ring.coords)[:-1]
        ahead, behind = np.roll(points, -1, axis=0) - points, np.roll(points, 1, axis=0) - points
        cross = ahead[:, 0] * behind[:, 1] - ahead[:, 1] * behind[:, 0]
        angle = np.degrees(np.arctan2(np.abs(cross), np.einsum("ij,ij->i", ahead, behind)))
        # On an outer ring that runs anticlockwise, and a hole that runs clockwise, sheet lies left.
        sheet = cross > 0 if ring.is_ccw == (k == 0) else cross < 0
        for i in np.flatnonzero(sheet & (angle < least_deg - 1e-6)):
            found.append((float(angle[i]), points[i]))
    return found


def check_corners(views: Sequence[OutlineView], least_deg: float) -> Check:
    """No corner of sheet is sharper than the sheet's rule."""
    told = []
    least = 180.0
    for view in views:
        corners = sharp_corners(view.outline, 180.0 - _SMOOTH)
        least = min([least, *(angle for angle, _ in corners)])
        told += [(angle, view.mark, p) for angle, p in corners if angle < least_deg - 1e-6]
    if not told:
        text = f"the sharpest corner of a part has {least:.1f} deg"
        return Check("corner", True, least, "deg", least_deg, text)
    told.sort(key=lambda one: (one[0], one[1]))
    lines = [f"part {mark}: {angle:.1f} deg{at(place)}" for angle, mark, place in told]
    text = f"{len(told)} corners are too sharp, the sharpest {told[0][0]:.1f} deg"
    remedy = "Cut the tip off, round it (joints.corner_radius), or bend the path there less."
    return Check("corner", False, told[0][0], "deg", least_deg, text, listed(lines), remedy)
