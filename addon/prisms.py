# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Closed prisms of outlines and pins as plain arrays: what a mesh data-block needs, in mm.

An outline without holes gets one face on each side, one with holes is triangulated; every edge
belongs to exactly two faces. Rims are not bevelled: materials round them while rendering.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from mathutils.geometry import tessellate_polygon
from shapely import Polygon
from shapely.geometry.polygon import orient

__all__ = ["Prism", "cylinder", "prism"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Flags = npt.NDArray[np.bool_]
_PIN_SIDES = 32


@dataclass(frozen=True, slots=True)
class Prism:
    """A closed solid as flat arrays.

    vertices : (n, 3) mm; corners : vertex of every face corner, face after face
    starts : first corner of each face; is_side, is_smooth : one flag for each face
    flat_map : (corners, 2) mm: x, y on the two caps; way along the rim and height on the sides
    """

    vertices: Floats
    corners: Ints
    starts: Ints
    is_side: Flags
    is_smooth: Flags
    flat_map: Floats


def prism(outline: Polygon, thickness: float) -> Prism:
    """Return the solid of an outline (mm), from -thickness/2 to +thickness/2."""
    outline = orient(outline, 1.0)  # exterior anticlockwise, holes clockwise: material on the left
    rings = [shapely.get_coordinates(ring)[:-1] for ring in (outline.exterior, *outline.interiors)]
    return _solid(rings, _caps(outline, rings), thickness, smooth=False)


def cylinder(diameter: float, length: float) -> Prism:
    """Return a pin along z about the origin, mm."""
    angle = 2 * np.pi * np.arange(_PIN_SIDES) / _PIN_SIDES
    ring = diameter / 2 * np.column_stack((np.cos(angle), np.sin(angle)))
    return _solid([ring], np.arange(_PIN_SIDES)[None, :], length, smooth=True)


def _caps(outline: Polygon, rings: list[Floats]) -> Ints:
    """Return the faces of one cap, anticlockwise (faces, corners of each).

    They are indices into the concatenated rings: one face round the only ring, or triangles.
    Blender's own triangulation is taken where it proves to fill the outline, as it nearly always
    does; shapely's takes ten times as long.
    """
    if len(rings) == 1:
        return np.arange(len(rings[0]))[None, :]
    points = np.concatenate(rings)
    flat = np.column_stack((points, np.zeros(len(points)))).tolist()
    ends = np.cumsum([len(ring) for ring in rings]).tolist()
    loops = [flat[first:end] for first, end in pairwise([0, *ends])]
    found = np.array(tessellate_polygon(loops), dtype=np.intp).reshape(-1, 3)
    found = _anticlockwise(points, found)
    if not _fills(points, rings, found, outline.area):
        found = _anticlockwise(points, _triangles(outline, points))
    return found


def _triangles(outline: Polygon, points: Floats) -> Ints:
    """Return shapely's constrained Delaunay triangles, vertices as indices into `points`."""
    index = {(x, y): k for k, (x, y) in enumerate(points.tolist())}
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(outline))
    corners = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    return np.array([index[x, y] for x, y in corners.reshape(-1, 2).tolist()]).reshape(-1, 3)


def _twice_areas(points: Floats, triangles: Ints) -> Floats:
    x, y = points[triangles, 0], points[triangles, 1]
    return (x[:, 1] - x[:, 0]) * (y[:, 2] - y[:, 0]) - (y[:, 1] - y[:, 0]) * (x[:, 2] - x[:, 0])


def _anticlockwise(points: Floats, triangles: Ints) -> Ints:
    turned = triangles.copy()
    clockwise = _twice_areas(points, triangles) < 0
    turned[clockwise] = turned[clockwise][:, ::-1]
    return turned


def _fills(points: Floats, rings: list[Floats], triangles: Ints, area: float) -> bool:
    """Tell whether triangles have the outline's area and rims, and share all their other edges."""
    count = len(points)
    if len(triangles) != count + 2 * (len(rings) - 1) - 2:
        return False
    twice = float(_twice_areas(points, triangles).sum())
    if abs(twice / 2 - area) > 1e-9 * area:
        return False
    edges = (triangles * count + triangles[:, (1, 2, 0)]).ravel()
    back = (triangles[:, (1, 2, 0)] * count + triangles).ravel()
    there = np.zeros(count * count, dtype=bool)
    there[edges] = True
    here, after = _next(rings)
    alone = edges[~there[back]]
    on_rim = there[here * count + after]
    once = np.count_nonzero(there) == len(edges)
    return bool(once and on_rim.all() and len(alone) == len(here))


def _next(rings: list[Floats]) -> tuple[Ints, Ints]:
    """Return for every rim edge its two vertices, ring after ring."""
    ends = np.cumsum([len(ring) for ring in rings])
    here = np.arange(ends[-1])
    after = here + 1
    after[ends - 1] = ends - [len(ring) for ring in rings]
    return here, after


def _solid(rings: list[Floats], caps: Ints, thickness: float, *, smooth: bool) -> Prism:
    flat = np.concatenate(rings)
    count = len(flat)
    heights = np.repeat([-thickness / 2, thickness / 2], count)
    vertices = np.column_stack((np.concatenate((flat, flat)), heights))
    here, after, along, along_after = _rims(rings)
    sides = np.column_stack((here, after, after + count, here + count))
    side_map = np.empty((count, 4, 2))
    side_map[:, (0, 3), 0] = along[:, None]
    side_map[:, (1, 2), 0] = along_after[:, None]
    side_map[..., 1] = np.array((-1, -1, 1, 1)) * thickness / 2
    cap_corners = np.concatenate((caps[:, ::-1].ravel(), (caps + count).ravel()))
    lengths = np.repeat((caps.shape[1], 4), (2 * len(caps), count))
    is_side = np.arange(len(lengths)) >= 2 * len(caps)
    return Prism(
        vertices=vertices,
        corners=np.concatenate((cap_corners, sides.ravel())),
        starts=np.cumsum(lengths) - lengths,
        is_side=is_side,
        is_smooth=is_side & smooth,
        flat_map=np.concatenate((vertices[cap_corners, :2], side_map.reshape(-1, 2))),
    )


def _rims(rings: list[Floats]) -> tuple[Ints, Ints, Floats, Floats]:
    """Return for every rim edge its two vertices and the way along the ring at both."""
    here, after = _next(rings)
    points = np.concatenate(rings)
    step = points[after] - points
    way = np.cumsum(np.sqrt(step[:, 0] ** 2 + step[:, 1] ** 2))
    firsts = np.cumsum([0] + [len(ring) for ring in rings[:-1]])
    before = np.repeat(np.concatenate(([0.0], way))[firsts], [len(ring) for ring in rings])
    along = np.concatenate(([0.0], way[:-1])) - before
    return here, after, along, way - before
