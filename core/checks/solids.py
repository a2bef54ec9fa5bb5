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

_RUN = 8  # most edges of a run: of shorter ones there are more, longer ones have wider rectangles


@dataclass(frozen=True, slots=True, eq=False)
class PlateSolid:
    """The solid polygon x [-thickness/2, thickness/2]; shared by all its copies.

    polygon : in the plate's own plane z = 0, mm; valid, may be nonconvex, with holes
    thickness : mm, above 0
    ends : (n, 4) start and end of each edge, ring after ring, box frame
    ring : (n,) int, ascending, the ring of each edge: a number that neighbouring rings do not share
    half : (3,) half sizes of the box
    plate_from_box : (4, 4) proper rigid transform
    """

    polygon: Polygon
    thickness: float
    ends: Floats
    ring: Ints
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
    rings, shape = shapely.get_rings(shapes, return_index=True)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    # The last point of a ring is its first one again; a point that stands twice makes no edge.
    moved = (xy[1:, 0] != xy[:-1, 0]) | (xy[1:, 1] != xy[:-1, 1])
    edge = ((ring[1:] == ring[:-1]) & moved).nonzero()[0]
    ring = ring[edge]
    owner = shape[ring]
    first, number = counts_of(owner, k)
    axis = _directions(shapes)
    corner = xy[edge[first]]
    ends, centre, half = _in_boxes(xy, edge, corner[owner], axis[owner], first, number)
    frames = np.zeros((k, 4, 4))
    frames[:, :2, 0], frames[:, 0, 1], frames[:, 1, 1] = axis, -axis[:, 1], axis[:, 0]
    frames[:, :2, 3] = corner + centre[:, :1] * axis + centre[:, 1:] * frames[:, :2, 1]
    frames[:, 2, 2] = frames[:, 3, 3] = 1.0
    halves = np.empty((k, 3))
    halves[:, :2], halves[:, 2] = half, np.asarray(thicknesses, dtype=np.float64) / 2
    for array in (ends, ring, halves, frames):
        array.setflags(write=False)
    return [
        PlateSolid(polygon, float(thickness), ends[a:b], ring[a:b], box, frame)
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


def _directions(shapes: npt.NDArray[np.object_]) -> Floats:
    """Return unit vectors (k, 2) along the least rectangle round each shape."""
    xy, owner = shapely.get_coordinates(shapely.oriented_envelope(shapes), return_index=True)
    first = np.searchsorted(owner, np.arange(len(shapes)))
    way = xy[first + 1] - xy[first]
    size = np.hypot(way[:, 0], way[:, 1])
    # Whatever direction is taken, the box will hold the outline: it is only less tight.
    flat = ~(size > 0.0)
    way[flat], size[flat] = (1.0, 0.0), 1.0
    axis: Floats = way / size[:, None]
    return axis


def _in_boxes(
    xy: Floats, edge: Ints, corner: Floats, axis: Floats, first: Ints, number: Ints
) -> tuple[Floats, Floats, Floats]:
    """Return ends (n, 4) of edges, which begin at points `edge` (n,), in the frames of their boxes.

    corner, axis : (n, 2) a point of each edge's outline, the direction of its box; first, number :
    (k,) the edges of each outline
    Returns: besides the middles (k, 2), as seen from `corner`, and half sizes (k, 2) of the boxes.
    """
    ends = np.empty((len(edge), 4))
    u, v = axis[:, 0], axis[:, 1]
    for at, rows in ((0, edge), (2, edge + 1)):
        way = xy[rows] - corner
        x, y = way[:, 0], way[:, 1]
        ends[:, at], ends[:, at + 1] = x * u + y * v, y * u - x * v
    low = np.minimum.reduceat(ends[:, :2], first)
    high = np.maximum.reduceat(ends[:, :2], first)
    centre, half = (low + high) / 2, (high - low) / 2
    middle = centre.repeat(number, axis=0)
    ends[:, :2] -= middle
    ends[:, 2:] -= middle
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
    world_from_box : (n, 4, 4)
    half : (solids, 3)
    ends : (edges, 4), the solids' edges, one solid after another
    edge_first, edge_count : (solids,) int, where each solid's edges are in `ends`
    """

    solids: tuple[PlateSolid, ...]
    which: Ints
    world_from_box: Floats
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
        return cls(
            solids=tuple(distinct),
            which=which,
            world_from_box=np.asarray(world_from_plate, dtype=np.float64).reshape(-1, 4, 4)
            @ box[which],
            half=np.array([solid.half for solid in distinct]).reshape(-1, 3),
            ends=np.concatenate([np.empty((0, 4)), *(solid.ends for solid in distinct)]),
            edge_first=edge_count.cumsum() - edge_count,
            edge_count=edge_count,
        )

    @cached_property
    def runs(self) -> Runs:
        """The runs of all solids; their edges are rows of `ends`."""
        solid = np.arange(len(self.solids)).repeat(self.edge_count)
        ring = np.concatenate([np.empty(0, dtype=np.intp), *(one.ring for one in self.solids)])
        new = np.ones(len(ring), dtype=bool)
        new[1:] = (ring[1:] != ring[:-1]) | (solid[1:] != solid[:-1])
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
