# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates as solids: a polygon with holes times a thickness, placed many times, with its boxes.

Each solid keeps its outline in its own *box frame*: origin at the centre of the smallest rectangle
round the outline, axes along that rectangle. Boxes are then centred and axis-parallel, and all
numbers are small, wherever the outline was drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from .ragged import spread

__all__ = ["PlacedPlates", "PlateSolid", "box_gaps", "near_pairs", "relative"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class PlateSolid:
    """The solid polygon x [-thickness/2, thickness/2]; shared by all its copies.

    polygon : in the plate's own plane z = 0, mm; valid, may be nonconvex, with holes
    thickness : mm, above 0
    boxed : the same polygon in the box frame, prepared for point tests
    vertices : (n, 2) all rings of `boxed` one after another, last point not repeated
    following : (n,) int, the next vertex on the same ring
    half : (3,) half sizes of the box
    plate_from_box : (4, 4) proper rigid transform
    """

    polygon: Polygon
    thickness: float
    boxed: Polygon
    vertices: Floats
    following: Ints
    half: Floats
    plate_from_box: Floats

    @classmethod
    def of(cls, polygon: Polygon, thickness: float) -> PlateSolid:
        """Make the solid of a plate: polygon in mm (z = 0 is its middle plane), thickness in mm."""
        axes, centre, half = _tightest_rectangle(polygon)
        rings = [polygon.exterior, *polygon.interiors]
        xy = [(shapely.get_coordinates(ring)[:-1] - centre) @ axes.T for ring in rings]
        sizes = np.array([len(ring) for ring in xy])
        starts = np.cumsum(sizes) - sizes
        following = np.arange(1, sizes.sum() + 1)
        following[starts + sizes - 1] = starts
        boxed = Polygon(xy[0], xy[1:])
        shapely.prepare(boxed)
        plate_from_box = np.eye(4)
        plate_from_box[:2, :2] = axes.T
        plate_from_box[:2, 3] = centre
        arrays = (np.concatenate(xy), following, np.append(half, thickness / 2), plate_from_box)
        for array in arrays:
            array.setflags(write=False)
        return cls(polygon, float(thickness), boxed, *arrays)

    @property
    def edges(self) -> Floats:
        """(m, 2, 2) the edges of all rings, box frame."""
        return np.stack([self.vertices, self.vertices[self.following]], axis=1)


@dataclass(frozen=True, slots=True, eq=False)
class PlacedPlates:
    """Plates standing in the world: distinct solids, and for each plate which one it is and where.

    solids : the distinct solids
    which : (n,) int into `solids`
    world_from_box : (n, 4, 4)
    points, following : the solids' vertices and successors, one solid after another
    first, count : (solids,) int, where each solid's vertices are in `points`
    half : (solids, 3)
    """

    solids: tuple[PlateSolid, ...]
    which: Ints
    world_from_box: Floats
    points: Floats
    following: Ints
    first: Ints
    count: Ints
    half: Floats

    @classmethod
    def of(cls, solids: Sequence[PlateSolid], world_from_plate: npt.ArrayLike) -> PlacedPlates:
        """Place plate i, of solid solids[i] (the same object for copies), by world_from_plate[i].

        world_from_plate : (n, 4, 4) float, proper rigid transforms, mm
        """
        number: dict[int, int] = {}
        distinct: list[PlateSolid] = []
        which = np.empty(len(solids), dtype=np.intp)
        for i, solid in enumerate(solids):
            if id(solid) not in number:
                number[id(solid)] = len(distinct)
                distinct.append(solid)
            which[i] = number[id(solid)]
        count = np.array([len(solid.vertices) for solid in distinct], dtype=np.intp)
        first = np.cumsum(count) - count
        box = np.array([solid.plate_from_box for solid in distinct]).reshape(-1, 4, 4)
        return cls(
            tuple(distinct),
            which,
            np.asarray(world_from_plate, dtype=np.float64).reshape(-1, 4, 4) @ box[which],
            np.concatenate([np.empty((0, 2)), *(solid.vertices for solid in distinct)]),
            np.concatenate(
                [np.empty(0, dtype=np.intp)]
                + [solid.following + at for solid, at in zip(distinct, first, strict=True)]
            ),
            first,
            count,
            np.array([solid.half for solid in distinct]).reshape(-1, 3),
        )

    def corners(self, plates: Ints) -> tuple[Ints, Floats, Ints]:
        """Return the vertices of some plates as a flat list.

        plates : (k,) int
        Returns: owner (m,) int below k; vertices (m, 2), box frame; row of the next vertex (m,).
        """
        solid = self.which[plates]
        owner, index = spread(self.first[solid], self.count[solid])
        return owner, self.points[index], np.arange(len(index)) + self.following[index] - index


def relative(placed: PlacedPlates, pairs: Ints) -> tuple[Floats, Floats]:
    """Return rotation (k, 3, 3), shift (k, 3) from box frames pairs[:, 1] to pairs[:, 0]."""
    from_a = placed.world_from_box[pairs[:, 0]]
    from_b = placed.world_from_box[pairs[:, 1]]
    back = from_a[:, :3, :3].transpose(0, 2, 1)
    shift = back @ (from_b[:, :3, 3] - from_a[:, :3, 3])[:, :, None]
    return back @ from_b[:, :3, :3], shift[:, :, 0]


def box_gaps(rotation: Floats, shift: Floats, half_a: Floats, half_b: Floats) -> Floats:
    """Return a lower bound of the distance of two boxes, below 0 when they overlap; vectorised.

    rotation (k, 3, 3), shift (k, 3) : carry b's frame to a's; half_a, half_b : (k, 3) half sizes
    Returns: (k,) mm. The separating-axis test of two boxes (three axes of each and their nine
    products; Gottschalk, Lin, Manocha 1996), with the gap measured in true length.
    """
    size = np.abs(rotation)
    gap_a = np.abs(shift) - half_a - (size @ half_b[:, :, None])[:, :, 0]
    turned = (shift[:, None, :] @ rotation)[:, 0, :]
    gap_b = np.abs(turned) - half_b - (half_a[:, None, :] @ size)[:, 0, :]
    n1, n2 = [1, 2, 0], [2, 0, 1]
    across = np.abs(shift[:, n2, None] * rotation[:, n1] - shift[:, n1, None] * rotation[:, n2])
    reach_a = half_a[:, n1, None] * size[:, n2] + half_a[:, n2, None] * size[:, n1]
    reach_b = half_b[:, None, n1] * size[:, :, n2] + half_b[:, None, n2] * size[:, :, n1]
    sine = np.sqrt(np.maximum(1.0 - rotation**2, 1e-12))
    # Parallel edges give no axis of their own; the face axes then decide.
    gap_c = np.where(sine > 1e-4, (across - reach_a - reach_b) / sine, -np.inf)
    apart = np.maximum(
        np.linalg.norm(np.maximum(gap_a, 0.0), axis=1),
        np.linalg.norm(np.maximum(gap_b, 0.0), axis=1),
    )
    signed = np.maximum(gap_a.max(axis=1), gap_b.max(axis=1))
    signed = np.maximum(signed, gap_c.max(axis=(1, 2)))
    return np.where(signed > 0.0, np.maximum(signed, apart), signed)


def near_pairs(placed: PlacedPlates, gap: float) -> Ints:
    """Return the pairs of plates whose boxes come within `gap` (mm): sort and sweep, then boxes.

    Returns: (k, 2) int, i < j, ascending. No pair that is nearer than `gap` is missing.
    """
    centre = placed.world_from_box[:, :3, 3]
    reach = np.abs(placed.world_from_box[:, :3, :3]) @ placed.half[placed.which][:, :, None]
    low = centre - reach[:, :, 0] - gap / 2
    high = centre + reach[:, :, 0] + gap / 2
    axis = int(np.argmax(np.ptp(centre, axis=0))) if len(centre) else 0
    order = np.argsort(low[:, axis], kind="stable")
    low, high = low[order], high[order]
    last = np.searchsorted(low[:, axis], high[:, axis], side="right")
    i, j = spread(np.arange(len(order)) + 1, np.maximum(last - np.arange(len(order)) - 1, 0))
    meet = np.all((low[i] <= high[j]) & (low[j] <= high[i]), axis=1)
    pairs = np.sort(np.stack([order[i[meet]], order[j[meet]]], axis=1), axis=1)
    pairs = pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
    half = placed.half[placed.which]
    rotation, shift = relative(placed, pairs)
    bound = box_gaps(rotation, shift, half[pairs[:, 0]], half[pairs[:, 1]])
    near: Ints = pairs[bound <= gap + 1e-9]  # rounding must not lose boxes that just touch
    return near


def _tightest_rectangle(polygon: Polygon) -> tuple[Floats, Floats, Floats]:
    """Return axes (2, 2) as rows, centre (2,) and half sizes (2,) of the least-area rectangle."""
    hull = shapely.get_coordinates(polygon.convex_hull)
    along = np.diff(hull, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    across = np.stack([-along[:, 1], along[:, 0]], axis=1)
    u, v = hull @ along.T, hull @ across.T
    best = int(np.argmin(np.ptp(u, axis=0) * np.ptp(v, axis=0)))
    axes = np.stack([along[best], across[best]])
    low = np.array([u[:, best].min(), v[:, best].min()])
    high = np.array([u[:, best].max(), v[:, best].max()])
    return axes, (low + high) / 2 @ axes, (high - low) / 2
