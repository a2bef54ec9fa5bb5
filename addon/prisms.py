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
    rings = [np.asarray(ring.coords)[:-1, :2] for ring in (outline.exterior, *outline.interiors)]
    caps = _caps(outline, rings)
    return _solid(rings, caps, thickness, smooth=False)


def cylinder(diameter: float, length: float) -> Prism:
    """Return a pin along z about the origin, mm."""
    angle = 2 * np.pi * np.arange(_PIN_SIDES) / _PIN_SIDES
    ring = diameter / 2 * np.column_stack((np.cos(angle), np.sin(angle)))
    return _solid([ring], np.arange(_PIN_SIDES)[None, :], length, smooth=True)


def _caps(outline: Polygon, rings: list[Floats]) -> Ints:
    """Return the faces of one cap, anticlockwise (faces, corners of each).

    They are indices into the concatenated rings: one face round the only ring, or triangles.
    """
    if len(rings) == 1:
        return np.arange(len(rings[0]))[None, :]
    points = np.concatenate(rings)
    index = {(x, y): k for k, (x, y) in enumerate(points.tolist())}
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(outline))
    corners = shapely.get_coordinates(triangles).reshape(-1, 4, 2)[:, :3]
    found = np.array([index[x, y] for x, y in corners.reshape(-1, 2).tolist()]).reshape(-1, 3)
    a, b, c = points[found[:, 0]], points[found[:, 1]], points[found[:, 2]]
    ab, ac = b - a, c - a
    clockwise = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0] < 0
    found[clockwise] = found[clockwise][:, ::-1]
    return found


def _solid(rings: list[Floats], caps: Ints, thickness: float, *, smooth: bool) -> Prism:
    flat = np.concatenate(rings)
    count = len(flat)
    heights = np.repeat([-thickness / 2, thickness / 2], count)
    vertices = np.column_stack((np.tile(flat, (2, 1)), heights))
    here, after, along, along_after = _rims(rings)
    sides = np.column_stack((here, after, after + count, here + count))
    side_map = np.stack(
        [
            np.column_stack((way, np.full(count, level * thickness / 2)))
            for way, level in ((along, -1), (along_after, -1), (along_after, 1), (along, 1))
        ],
        axis=1,
    )
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
    firsts = np.cumsum([0] + [len(ring) for ring in rings])
    here = np.arange(firsts[-1])
    after = here + 1
    along, along_after = [], []
    for ring, (first, end) in zip(rings, pairwise(firsts), strict=True):
        after[end - 1] = first
        way = np.cumsum(np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1))
        along_after.append(way)
        along.append(np.concatenate(([0.0], way[:-1])))
    return here, after, np.concatenate(along), np.concatenate(along_after)
