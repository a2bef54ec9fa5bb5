# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates as convex pieces, for sweeps: triangles times the thickness, gathered in boxes.

A plate that is bent at a joint does not stand where its outline says, near that joint. So outlines
are cut along a circle about each of their joints, the joint's *zone*, and every piece knows in
which zones it lies: a sweep can then leave out the zones of the joints that are sprung.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Point, Polygon

__all__ = ["Body", "body_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_IN_BOX = 8  # triangles that share a box, at most
_ZONE_SIDES = 6  # sides of a quarter of the circle about a joint
_SPECK = 1e-6  # mm2: triangles below are rounding, not sheet


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """The convex pieces of one plate, in the part's own frame (z = 0 is its middle plane).

    triangles : (n, 3, 3) mm, corners on the middle plane
    rise : (3,) half the thickness along z
    zones : (n,) int, bit k is set where the triangle lies in the zone of the k-th joint
    box_of : (n,) int ascending, the box of each triangle; first : (b + 1,) int, where boxes begin
    centres : (b, 3); halves : (b, 2, 3) half axes in the plane; box_zones : (b,) int;
        box_reach : (b,) mm, half diagonals
    centre, reach : (3,) and mm: a ball that holds all
    """

    triangles: Floats
    rise: Floats
    zones: Ints
    first: Ints
    centres: Floats
    halves: Floats
    box_zones: Ints
    box_reach: Floats
    centre: Floats
    reach: float


def body_of(outline: Polygon, thickness: float, places: Floats, radii: Sequence[float]) -> Body:
    """Cut a plate into its convex pieces.

    outline : mm, valid, may have holes; thickness : mm
    places : (k, 2) mm, joints in the part's plane, k below 60; radii : of their zones, mm
    """
    found: list[Floats] = []
    marks: list[int] = []
    for piece, mark in _by_zone(outline, places, radii):
        cut = shapely.constrained_delaunay_triangles(piece)
        for triangle in cut.geoms:
            if triangle.area > _SPECK:
                found.append(shapely.get_coordinates(triangle)[:3])
                marks.append(mark)
    flat = np.array(found)
    zones = np.array(marks, dtype=np.intp)
    groups: list[Ints] = []
    for mark in np.unique(zones):
        _halved(flat.mean(axis=1), np.flatnonzero(zones == mark), groups)
    order = np.concatenate(groups)
    first = np.concatenate([[0], np.cumsum([len(group) for group in groups])]).astype(np.intp)
    boxes = [_box(flat[group].reshape(-1, 2)) for group in groups]
    triangles = np.zeros((len(order), 3, 3))
    triangles[:, :, :2] = flat[order]
    low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
    centre = np.array([*(low + high) / 2, 0.0])
    across = float(np.linalg.norm(flat - centre[:2], axis=2).max())
    return Body(
        triangles,
        np.array([0.0, 0.0, thickness / 2]),
        zones[order],
        first,
        np.array([np.append(middle, 0.0) for middle, _ in boxes]),
        np.array([np.column_stack([half, np.zeros(2)]) for _, half in boxes]),
        np.array([zones[group[0]] for group in groups], dtype=np.intp),
        np.sqrt(np.array([(half**2).sum() for _, half in boxes]) + (thickness / 2) ** 2),
        centre,
        float(np.hypot(across, thickness / 2)),
    )


def _by_zone(outline: Polygon, places: Floats, radii: Sequence[float]) -> list[tuple[Polygon, int]]:
    """Cut an outline along the circles of the zones; each piece with the bits of its zones."""
    pieces: list[tuple[Polygon, int]] = [(outline, 0)]
    for k, (place, radius) in enumerate(zip(places, radii, strict=True)):
        circle = Point(place).buffer(radius, quad_segs=_ZONE_SIDES)
        cut: list[tuple[Polygon, int]] = []
        for piece, mark in pieces:
            inner, outer = piece.intersection(circle), piece.difference(circle)
            cut += [(one, mark | 1 << k) for one in _polygons(inner)]
            cut += [(one, mark) for one in _polygons(outer)]
        pieces = cut
    return pieces


def _polygons(shape: shapely.Geometry) -> list[Polygon]:
    parts = [shape] if isinstance(shape, Polygon) else list(getattr(shape, "geoms", ()))
    return [one for one in parts if isinstance(one, Polygon) and one.area > _SPECK]


def _halved(middles: Floats, rows: Ints, groups: list[Ints]) -> None:
    """Split rows at the median of their longer side until few enough lie together."""
    if len(rows) <= _IN_BOX:
        groups.append(rows)
        return
    axis = int(np.argmax(np.ptp(middles[rows], axis=0)))
    rows = rows[np.argsort(middles[rows, axis], kind="stable")]
    half = len(rows) // 2
    _halved(middles, rows[:half], groups)
    _halved(middles, rows[half:], groups)


def _box(points: Floats) -> tuple[Floats, Floats]:
    """Return middle (2,) and half axes (2, 2) of a small rectangle round points (n, 2)."""
    ring = shapely.get_coordinates(shapely.oriented_envelope(shapely.MultiPoint(points)))
    along, across = ring[1] - ring[0], ring[3] - ring[0]
    return ring[0] + (along + across) / 2, np.array([along, across]) / 2
