# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates as solids: a polygon with holes times a thickness, placed many times.

Each solid keeps its outline in its own *box frame*: origin at the centre of a tight rectangle round
the outline, axes along that rectangle. Boxes are then centred and axis-parallel, and all numbers
are small, wherever the outline was drawn.

The outline's edges stand ring after ring, and every few neighbours form a *run*, with a rectangle
of its own round them. Who looks for edges in some place looks for runs first, where there are many;
runs are made when they are first asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from .ragged import counts_of, spread

__all__ = ["PlacedPlates", "PlateSolid", "plate_solids"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# Directions whose rectangles are tried first: the plate's own axes, and close and far beside them.
_TURNS = np.radians([0, 0.5, -0.5, 1, -1, 2, -2, 4, -4, 8, -8, 16, -16, 30, -30, 45])
_ALONG = np.array([np.cos(_TURNS), np.sin(_TURNS)])
_WAYS = np.concatenate([_ALONG, np.array([-_ALONG[1], _ALONG[0]])], axis=1)
_RUN = 8  # most edges of a run: of shorter ones there are more, longer ones have wider rectangles


@dataclass(frozen=True, slots=True, eq=False)
class PlateSolid:
    """The solid polygon x [-thickness/2, thickness/2]; shared by all its copies.

    polygon : in the plate's own plane z = 0, mm; valid, may be nonconvex, with holes
    thickness : mm, above 0
    ends : (n, 4) start and end of each edge, ring after ring, box frame
    half : (3,) half sizes of the box
    plate_from_box : (4, 4) proper rigid transform
    """

    polygon: Polygon
    thickness: float
    ends: Floats
    half: Floats
    plate_from_box: Floats

    @classmethod
    def of(cls, polygon: Polygon, thickness: float) -> PlateSolid:
        """Make the solid of a plate: polygon in mm (z = 0 is its middle plane), thickness in mm."""
        return plate_solids([polygon], [thickness])[0]


def plate_solids(polygons: Sequence[Polygon], thicknesses: Sequence[float]) -> list[PlateSolid]:
    """Make many solids in one go: the same as `PlateSolid.of` one by one, but in less time."""
    k = len(polygons)
    if k == 0:
        return []
    shapes = np.empty(k, dtype=object)
    shapes[:] = polygons
    xy, shape = shapely.get_coordinates(shapes, return_index=True)
    # A point that stands twice makes no edge, nor does the way from one ring to the next.
    moved = (xy[1:, 0] != xy[:-1, 0]) | (xy[1:, 1] != xy[:-1, 1])
    moved[_last_points(shapes, xy, bool(moved.all()))[:-1]] = False
    edge = moved.nonzero()[0]
    first, number = counts_of(shape[edge], k)
    start, size = counts_of(shape, k)
    corner = xy[start]
    xy = xy - corner.repeat(size, axis=0)
    axis = _directions(shapes, xy, start)
    ends, centre, half = _in_boxes(xy, axis.repeat(size, axis=0), edge, start, number)
    frames = np.zeros((k, 4, 4))
    frames[:, :2, 0], frames[:, 0, 1], frames[:, 1, 1] = axis, -axis[:, 1], axis[:, 0]
    frames[:, :2, 3] = corner + centre[:, :1] * axis + centre[:, 1:] * frames[:, :2, 1]
    frames[:, 2, 2] = frames[:, 3, 3] = 1.0
    halves = np.empty((k, 3))
    halves[:, :2], halves[:, 2] = half, np.asarray(thicknesses, dtype=np.float64) / 2
    for array in (ends, halves, frames):
        array.setflags(write=False)
    return [
        PlateSolid(polygon, float(thickness), ends[a:b], box, frame)
        for polygon, thickness, a, b, box, frame in zip(
            polygons,
            thicknesses,
            first.tolist(),
            (first + number).tolist(),
            halves,
            frames,
            strict=True,
        )
    ]


def _last_points(shapes: npt.NDArray[np.object_], xy: Floats, moving: bool) -> Ints:
    """Return the row of the last point of each ring, of shapes whose points are xy (n, 2).

    moving : no point is the same as the next one
    """
    if moving:  # then a ring ends where it first comes back to where it began
        points = xy.view(np.complex128)[:, 0].tolist()
        last, start = [], 0
        try:
            while start < len(points):
                last.append(points.index(points[start], start + 1))
                start = last[-1] + 1
            return np.array(last, dtype=np.intp)
        except ValueError:
            pass  # a ring that touches itself where it begins
    ring = shapely.get_coordinates(shapely.get_rings(shapes), return_index=True)[1]
    ends: Ints = np.bincount(ring).cumsum() - 1
    return ends


def _directions(shapes: npt.NDArray[np.object_], xy: Floats, start: Ints) -> Floats:
    """Return unit vectors (k, 2) along the least rectangle round each shape, or nearly.

    xy : (n, 2) points of all shapes; start : (k,) the first of each
    Most plates are drawn along their rectangle: it is sought only where others than their own axes
    do better. Whatever direction is taken, the box will hold the outline: it is only less tight.
    """
    seen = xy @ _WAYS
    size = np.maximum.reduceat(seen, start) - np.minimum.reduceat(seen, start)
    area = size[:, : len(_TURNS)] * size[:, len(_TURNS) :]
    axis = np.zeros((len(shapes), 2))
    axis[:, 0] = 1.0
    askew = (area.min(axis=1) < area[:, 0] * (1.0 - 1e-9)).nonzero()[0]
    if len(askew):
        corners, owner = shapely.get_coordinates(
            shapely.oriented_envelope(shapes[askew]), return_index=True
        )
        first = owner.searchsorted(np.arange(len(askew)))
        way = corners[first + 1] - corners[first]
        length = np.sqrt(way[:, 0] ** 2 + way[:, 1] ** 2)
        some = length > 0.0
        axis[askew[some]] = way[some] / length[some, None]
    return axis


def _in_boxes(
    xy: Floats, axis: Floats, edge: Ints, start: Ints, number: Ints
) -> tuple[Floats, Floats, Floats]:
    """Return ends (m, 4) of edges, which begin at points `edge` (m,), in the frames of their boxes.

    xy, axis : (n, 2) points, and the direction of each one's box; start, number : (k,) the first
    point of each outline, and how many edges it has
    Returns: besides the middles (k, 2), in the directions of the boxes, and half sizes (k, 2).
    """
    x, y, u, v = *xy.T, *axis.T
    seen = np.empty_like(xy)
    seen[:, 0], seen[:, 1] = x * u + y * v, y * u - x * v
    low, high = np.minimum.reduceat(seen, start), np.maximum.reduceat(seen, start)
    centre, half = (low + high) / 2, (high - low) / 2
    middle = centre.repeat(number, axis=0)
    ends = np.empty((len(edge), 4))
    ends[:, :2], ends[:, 2:] = (
        seen.take(edge, axis=0) - middle,
        seen.take(edge + 1, axis=0) - middle,
    )
    return ends, centre, half


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """The runs of many solids, one solid after another.

    box : (c, 6) centre and two half-axes of a rectangle round each run, box frame
    edge, size : (c,) int, first edge and number of edges of each run
    first, count : (solids,) int, the runs of each solid
    """

    box: Floats
    edge: Ints
    size: Ints
    first: Ints
    count: Ints


def _runs(ends: Floats, ring: Ints, rings: int) -> tuple[Ints, Ints, Floats]:
    """Return first edge (c,), number of edges (c,) and rectangle (c, 6) of all runs.

    ring : (n,) int, ascending, the ring of each edge; its runs are of equal length, or nearly
    """
    first, count = counts_of(ring, rings)
    pieces = -(-count // _RUN)
    # Piece after piece, numbered through: a run is what has one number.
    piece = ((np.arange(len(ring)) - first[ring]) * pieces[ring]) // count[ring]
    piece += (pieces.cumsum() - pieces)[ring]
    run, number = counts_of(piece, int(pieces.sum()))
    way = ends[run + number - 1, 2:] - ends[run, :2]
    whole = (pieces[ring[run]] == 1).nonzero()[0]
    edge = run[whole]  # a ring in one run comes back to where it began
    way[whole] = ends[edge, 2:] - ends[edge, :2]
    u, v = way.T / np.sqrt(way[:, 0] ** 2 + way[:, 1] ** 2)
    along, across = u.repeat(number), v.repeat(number)
    box = np.empty((len(run), 6))
    middle, half = [], []
    for one, other in ((along, across), (-across, along)):
        seen = ends[:, ::2] * one[:, None] + ends[:, 1::2] * other[:, None]
        low = np.minimum.reduceat(seen, run).min(axis=1)
        high = np.maximum.reduceat(seen, run).max(axis=1)
        middle.append((low + high) / 2)
        half.append((high - low) / 2)
    (s, t), (half_s, half_t) = middle, half
    box[:, 0], box[:, 1] = s * u - t * v, s * v + t * u
    box[:, 2], box[:, 3], box[:, 4], box[:, 5] = half_s * u, half_s * v, -half_t * v, half_t * u
    return run, number, box


@dataclass(frozen=True, eq=False)
class PlacedPlates:
    """Plates standing in the world: distinct solids, and for each plate which one it is and where.

    solids : the distinct solids
    which : (n,) int into `solids`
    columns : (3, 4, n), the upper rows of each world_from_box, plates along the last axis
    half : (solids, 3)
    ends : (edges, 4), the solids' edges, one solid after another
    edge_first, edge_count : (solids,) int, where each solid's edges are in `ends`
    """

    solids: tuple[PlateSolid, ...]
    which: Ints
    columns: Floats
    half: Floats
    ends: Floats
    edge_first: Ints
    edge_count: Ints

    @classmethod
    def of(cls, solids: Sequence[PlateSolid], world_from_plate: npt.ArrayLike) -> PlacedPlates:
        """Place plate i, of solid solids[i] (the same object for copies), by world_from_plate[i].

        world_from_plate : (n, 4, 4) float, proper rigid transforms, mm
        """
        keys = list(map(id, solids))
        distinct = list(dict(zip(keys, solids, strict=True)).values())
        number = {id(solid): i for i, solid in enumerate(distinct)}
        which = np.fromiter(map(number.__getitem__, keys), dtype=np.intp, count=len(keys))
        edge_count = np.array([len(solid.ends) for solid in distinct], dtype=np.intp)
        box = np.array([solid.plate_from_box for solid in distinct]).reshape(-1, 4, 4)
        world = np.asarray(world_from_plate, dtype=np.float64).reshape(-1, 4, 4)
        columns = world[:, :3].transpose(1, 2, 0).copy()
        x, y = columns[:, 0].copy(), columns[:, 1].copy()
        (u, v), (across, up) = box[:, :2, (0, 3)].T.take(which, axis=2)
        # Boxes are only turned and moved within the plane, which takes less than whole products.
        columns[:, 0], columns[:, 1] = x * u + y * v, y * u - x * v
        columns[:, 3] += x * across + y * up
        return cls(
            solids=tuple(distinct),
            which=which,
            columns=columns,
            half=np.array([solid.half for solid in distinct]).reshape(-1, 3),
            ends=np.concatenate([np.empty((0, 4)), *(solid.ends for solid in distinct)]),
            edge_first=edge_count.cumsum() - edge_count,
            edge_count=edge_count,
        )

    @cached_property
    def world_from_box(self) -> Floats:
        """Where the boxes stand, (n, 4, 4)."""
        world = np.zeros((len(self.which), 4, 4))
        world[:, :3], world[:, 3, 3] = self.columns.transpose(2, 0, 1), 1.0
        return world

    @cached_property
    def runs(self) -> Runs:
        """The runs of all solids; their edges are rows of `ends`."""
        solid = np.arange(len(self.solids)).repeat(self.edge_count)
        # Edges of one ring follow each other. Where two rings touch at their first points they pass
        # for one, and that is one closed line as well.
        new = np.ones(len(solid), dtype=bool)
        new[1:] = (self.ends[1:, :2] != self.ends[:-1, 2:]).any(axis=1)
        new[1:] |= solid[1:] != solid[:-1]
        run, size, box = _runs(self.ends, new.cumsum() - 1, int(new.sum()))
        return Runs(box, run, size, *counts_of(solid[run], len(self.solids)))

    def outline_edges(self, plates: Ints) -> tuple[Ints, Ints]:
        """Return (owner, edge) of all edges of some plates (k,): owner below k, ascending."""
        solid = self.which[plates]
        return spread(self.edge_first[solid], self.edge_count[solid])

    def runs_of(self, plates: Ints) -> tuple[Ints, Ints]:
        """Return (owner, run) of all runs of some plates (k,): owner below k, ascending."""
        solid = self.which[plates]
        return spread(self.runs.first[solid], self.runs.count[solid])

    def edges_of(self, runs: Ints) -> tuple[Ints, Ints]:
        """Return (owner, edge) of all edges of some runs (k,): owner below k, ascending."""
        return spread(self.runs.edge[runs], self.runs.size[runs])
