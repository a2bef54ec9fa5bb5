# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates that are joined: how near they come to each other elsewhere than at their joints.

Two plates at an angle can only come near each other in a band along their common line (section.py),
which is as much wider as they shall keep apart. What the band shows of an outline falls into
pieces: some hold a joint of the two plates, where they touch as they should; the others must keep
their distance from the whole other plate. Plates in one plane (spliced) have no such line; they are
left out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from .boxes import relative
from .distance import pair_distances
from .ragged import least
from .section import Side, edges_in_band, sides
from .solids import PlacedPlates, plate_solids

__all__ = ["Near", "near_again"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

_LEAST_SLOPE = 0.1  # sine of the angle of two planes; joints that cross are far above it
_LEAST_AREA = 1e-6  # mm2, of a piece
_BY_A_JOINT = 2.0  # thicknesses: a piece that comes as near as this to a joint's middle holds it


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """Pairs that come too near each other again: (m, 2) plates, (m,) mm, (m, 3) mm in the world."""

    pairs: Ints
    distance: Floats
    point: Floats


def near_again(placed: PlacedPlates, pairs: Ints, joined: Ints, centre: Floats, gap: float) -> Near:
    """Return the pairs that come within `gap` mm of each other away from their joints.

    pairs : (k, 2) int, plates that are joined; joined : (J, 2) int, the plates of every joint, and
    centre : (J, 3) its middle, mm
    """
    nothing = Near(np.zeros((0, 2), dtype=np.intp), np.zeros(0), np.zeros((0, 3)))
    if len(pairs) == 0:
        return nothing
    side, _ = sides(placed, pairs, *relative(placed, pairs))
    side = replace(side, band=side.band + gap)
    pieces, owner = _pieces(placed, side, _crossed(placed, side))
    owner, pieces = _of_many(owner, pieces, side)
    if len(owner) == 0:
        return nothing
    away = ~_holding(placed, pairs, owner, pieces, joined, centre)
    owner, pieces = owner[away], pieces[away]
    if len(owner) == 0:
        return nothing
    k = len(pairs)
    plate, other = side.plates[owner], side.plates[(owner + k) % (2 * k)]
    thick = placed.half[placed.which, 2] * 2.0
    parts = plate_solids(pieces.tolist(), thick[plate].tolist())
    whole = [placed.solids[s] for s in placed.which[other].tolist()]
    world = np.concatenate([world_from_plate(placed, plate), world_from_plate(placed, other)])
    n = len(owner)
    found = pair_distances(
        PlacedPlates.of([*parts, *whole], world), np.arange(2 * n).reshape(2, n).T, gap
    )
    close = np.where(found.at_least | (found.distance >= gap), np.inf, found.distance)
    pair = owner % k
    order = np.argsort(pair, kind="stable")
    best, row = least(close[order], pair[order], k)
    some = np.flatnonzero(np.isfinite(best))
    at = order[row[some]]
    return Near(pairs[some], best[some], (found.point_a[at] + found.point_b[at]) / 2)


def world_from_plate(placed: PlacedPlates, plates: Ints) -> Floats:
    """Return where plates' own frames stand, (n, 4, 4)."""
    box = np.array([placed.solids[s].plate_from_box for s in placed.which[plates].tolist()])
    world: Floats = placed.world_from_box[plates] @ np.linalg.inv(box)
    return world


def _crossed(placed: PlacedPlates, side: Side) -> Ints:
    """Return the rows of side whose bands may show more than one piece.

    What is in one piece and crosses no border of the band more than twice is in one piece inside.
    """
    owner, edge = edges_in_band(placed, side)
    ends = placed.ends.take(edge, axis=0).T
    x, y = (side.f * side.slope).take(owner, axis=1)
    height = ends[::2] * x + ends[1::2] * y + side.lift.take(owner)
    band = side.band.take(owner)
    several = np.abs(side.slope) > _LEAST_SLOPE
    crossings = np.zeros(len(side.plates), dtype=np.intp)
    for border in (-band, band):
        below = height < border
        cross = owner[below[0] != below[1]]
        crossings = np.maximum(crossings, np.bincount(cross, minlength=len(crossings)))
    return np.flatnonzero(several & (crossings > 2))


def _pieces(placed: PlacedPlates, side: Side, rows: Ints) -> tuple[npt.NDArray[np.object_], Ints]:
    """Return polygons (n,) in the plates' frames that bands show, and their rows (n,) of side."""
    solid = placed.which[side.plates[rows]]
    slope = side.slope[rows]
    middle, half = -side.lift[rows] / slope, side.band[rows] / np.abs(slope)
    long = np.linalg.norm(placed.half[solid, :2], axis=1) + 1.0
    f, e = side.f[:, rows], side.e[:, rows]
    corners = [
        (middle + s * half) * f + t * long * e for s, t in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    flat = np.stack(corners).transpose(2, 0, 1)  # (n, 4, 2) in the boxes' frames
    box = np.array([placed.solids[s].plate_from_box for s in solid.tolist()]).reshape(-1, 4, 4)
    flat = flat @ box[:, :2, :2].transpose(0, 2, 1) + box[:, None, :2, 3]
    outlines = np.empty(len(rows), dtype=object)
    outlines[:] = [placed.solids[s].polygon for s in solid.tolist()]
    shown = shapely.intersection(outlines, shapely.polygons(flat))
    found, owner = shapely.get_parts(shown, return_index=True)
    real = shapely.area(found) > _LEAST_AREA
    return found[real], rows[owner[real]]


def _of_many(
    owner: Ints, pieces: npt.NDArray[np.object_], side: Side
) -> tuple[Ints, npt.NDArray[np.object_]]:
    """Keep the pieces of bands that show more than one."""
    several = np.bincount(owner, minlength=len(side.plates))[owner] > 1
    return owner[several], pieces[several]


def _holding(
    placed: PlacedPlates,
    pairs: Ints,
    owner: Ints,
    pieces: npt.NDArray[np.object_],
    joined: Ints,
    centre: Floats,
) -> Bools:
    """Tell which pieces hold a joint of their pair: the nearest to each, and others by it."""
    k = len(pairs)
    wanted = np.sort(pairs, axis=1)
    of = np.sort(joined, axis=1)
    holding = np.zeros(len(owner), dtype=bool)
    for row in np.unique(owner).tolist():
        mine = np.flatnonzero(owner == row)
        plate = pairs[row % k, row // k]
        points = centre[(of == wanted[row % k]).all(axis=1)]
        world = world_from_plate(placed, np.array([plate]))[0]
        flat = shapely.points((points - world[:3, 3]) @ world[:3, :2])
        apart = shapely.distance(pieces[mine][:, None], flat[None, :])
        near = _BY_A_JOINT * 2.0 * placed.half[placed.which[plate], 2]
        if apart.size:
            holding[mine] = (apart <= np.maximum(apart.min(axis=0), near)).any(axis=1)
    return holding
