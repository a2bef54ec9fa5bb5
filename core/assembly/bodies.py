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

__all__ = ["RUN", "Body", "body_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

RUN = 8  # boxes that one ball holds, for a first look
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
    runs : (r, 3), run_reach : (r,) mm: balls that hold `RUN` boxes each, in order, the last fewer
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
    runs: Floats
    run_reach: Floats
    centre: Floats
    reach: float


def body_of(outline: Polygon, thickness: float, places: Floats, radii: Sequence[float]) -> Body:
    """Cut a plate into its convex pieces.

    outline : mm, valid, may have holes; thickness : mm
    places : (k, 2) mm, joints in the part's plane, k below 60; radii : of their zones, mm
    """
    pieces, marks = zip(*_by_zone(outline, places, radii), strict=True)
    cut, owner = shapely.get_parts(
        shapely.constrained_delaunay_triangles(np.array(pieces)), return_index=True
    )
    kept = shapely.area(cut) > _SPECK
    flat = shapely.get_coordinates(cut[kept]).reshape(-1, 4, 2)[:, :3]
    zones = np.array(marks, dtype=np.intp)[owner[kept]]
    groups: list[Ints] = []
    for mark in np.unique(zones):
        _halved(flat.mean(axis=1), np.flatnonzero(zones == mark), groups)
    order = np.concatenate(groups)
    first = np.concatenate([[0], np.cumsum([len(group) for group in groups])]).astype(np.intp)
    middles, halves = _boxes(flat[order], first)
    triangles = np.zeros((len(order), 3, 3))
    triangles[:, :, :2] = flat[order]
    low, high = flat.min(axis=(0, 1)), flat.max(axis=(0, 1))
    centre = np.array([*(low + high) / 2, 0.0])
    across = float(np.linalg.norm(flat - centre[:2], axis=2).max())
    centres = np.column_stack([middles, np.zeros(len(middles))])
    box_reach = np.sqrt((halves**2).sum(axis=(1, 2)) + (thickness / 2) ** 2)
    runs, run_reach = _in_runs(centres, box_reach)
    return Body(
        triangles,
        np.array([0.0, 0.0, thickness / 2]),
        zones[order],
        first,
        centres,
        np.concatenate([halves, np.zeros((len(halves), 2, 1))], axis=2),
        np.array([zones[group[0]] for group in groups], dtype=np.intp),
        box_reach,
        runs,
        run_reach,
        centre,
        float(np.hypot(across, thickness / 2)),
    )


def _in_runs(centres: Floats, reach: Floats) -> tuple[Floats, Floats]:
    """Return balls (r, 3) and (r,) that hold boxes (b, 3), (b,), `RUN` at a time."""
    first = np.arange(0, len(centres), RUN)
    low = np.minimum.reduceat(centres - reach[:, None], first)
    high = np.maximum.reduceat(centres + reach[:, None], first)
    middle = (low + high) / 2
    away = np.linalg.norm(centres - np.repeat(middle, RUN, axis=0)[: len(centres)], axis=1)
    return middle, np.maximum.reduceat(away + reach, first)


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


def _boxes(flat: Floats, first: Ints) -> tuple[Floats, Floats]:
    """Return middles (b, 2) and half axes (b, 2, 2) of small rectangles round runs of triangles."""
    box_of = np.repeat(np.arange(len(first) - 1), 3 * np.diff(first))
    rings = shapely.oriented_envelope(shapely.multipoints(flat.reshape(-1, 2), indices=box_of))
    corners = shapely.get_coordinates(rings).reshape(-1, 5, 2)
    along, across = corners[:, 1] - corners[:, 0], corners[:, 3] - corners[:, 0]
    return corners[:, 0] + (along + across) / 2, np.stack([along, across], axis=1) / 2
