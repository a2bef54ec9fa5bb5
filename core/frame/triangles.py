# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Loose triangles become a mesh of polygons: equal corners one vertex, one plane one face."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from .topology import Faces

__all__ = ["polygons_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


def polygons_of(corners: Floats, tol: float = 2e-6) -> tuple[Floats, Faces]:
    """Return vertices (V, 3) and faces of a set of triangles.

    Parameters
    ----------
    corners : (T, 3, 3), the three corners of each triangle
    tol : share of the mesh's size within which corners are one point, and a triangle lies in its
        neighbour's plane. Single precision, in which STL files are written, is good to 6e-8.

    A plane patch with a hole in it, or that touches itself, stays in triangles.
    """
    size = float(np.ptp(corners.reshape(-1, 3), axis=0).max(initial=0.0))
    vertices, triangles = _welded(corners, tol * size)
    distinct = (triangles != np.roll(triangles, 1, axis=1)).all(axis=1)
    triangles = triangles[distinct]
    patches = _patches(vertices, triangles, tol * size)
    faces: list[tuple[int, ...]] = []
    for members in patches:
        loop = _outline(triangles[members])
        faces += [loop] if loop else [tuple(row) for row in triangles[members].tolist()]
    faces = _without_straight_vertices(vertices, faces, tol * size)
    used = np.unique([v for face in faces for v in face]).astype(np.intp)
    renumbered = {v: k for k, v in enumerate(used.tolist())}
    return vertices[used], tuple(tuple(renumbered[v] for v in face) for face in faces)


def _welded(corners: Floats, reach: float) -> tuple[Floats, Ints]:
    """Return vertices, in order of appearance, and triangles (T, 3) of vertex numbers."""
    points = corners.reshape(-1, 3)
    pairs = cKDTree(points).query_pairs(reach, output_type="ndarray")
    links = coo_matrix((np.ones(len(pairs)), pairs.T), shape=(len(points), len(points)))
    _, label = connected_components(links, directed=False)
    _, first, index = np.unique(label, return_index=True, return_inverse=True)
    rank = np.argsort(np.argsort(first))
    return points[np.sort(first)], rank[index.reshape(-1)].reshape(-1, 3).astype(np.intp)


def _patches(vertices: Floats, triangles: Ints, reach: float) -> list[Ints]:
    """Return the triangle numbers of each patch: side by side in one plane."""
    count = len(triangles)
    ends = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=-1).reshape(-1, 2)
    tip = np.roll(triangles, 1, axis=1).reshape(-1)
    owner = np.repeat(np.arange(count), 3)
    low, high = ends.min(axis=1), ends.max(axis=1)
    order = np.lexsort((high, low))
    same = (low[order][:-1] == low[order][1:]) & (high[order][:-1] == high[order][1:])
    a, b = order[:-1][same], order[1:][same]
    cross = np.cross(
        vertices[triangles[:, 1]] - vertices[triangles[:, 0]],
        vertices[triangles[:, 2]] - vertices[triangles[:, 0]],
    )
    normals = cross / np.maximum(np.linalg.norm(cross, axis=1), 1e-300)[:, None]
    heights = [
        np.abs(np.einsum("ij,ij->i", vertices[tip[y]] - vertices[ends[x, 0]], normals[owner[x]]))
        for x, y in ((a, b), (b, a))
    ]
    # Two triangles that turn opposite ways along their edge lie alike when both run it differently.
    facing = np.einsum("ij,ij->i", normals[owner[a]], normals[owner[b]])
    facing = np.where(ends[a, 0] == ends[b, 0], -facing, facing)
    flat = (np.minimum(*heights) <= reach) & (facing > 0.0)
    links = coo_matrix((np.ones(flat.sum()), (owner[a][flat], owner[b][flat])), (count, count))
    _, label = connected_components(links, directed=False)
    return [np.flatnonzero(label == k).astype(np.intp) for k in dict.fromkeys(label.tolist())]


def _outline(triangles: Ints) -> tuple[int, ...] | None:
    """Return the loop of edges round a patch; None if it has several or touches itself."""
    ends = {(int(t[k]), int(t[(k + 1) % 3])) for t in triangles for k in range(3)}
    rim = [(v, w) for v, w in ends if (w, v) not in ends]
    following = dict(rim)
    if not rim or len(following) < len(rim):
        return None
    start = min(following)
    loop, at = [start], following[start]
    while at != start and at in following and len(loop) < len(rim):
        loop.append(at)
        at = following[at]
    return tuple(loop) if at == start and len(loop) == len(rim) else None


def _without_straight_vertices(
    vertices: Floats, faces: list[tuple[int, ...]], reach: float
) -> list[tuple[int, ...]]:
    """Leave out vertices that only two faces meet, where both faces run straight on."""
    meeting = np.bincount([v for face in faces for v in face], minlength=len(vertices))
    kept = []
    for face in faces:
        at = vertices[list(face)]
        chord = np.roll(at, -1, axis=0) - np.roll(at, 1, axis=0)
        along = chord / np.maximum(np.linalg.norm(chord, axis=1), 1e-300)[:, None]
        off = np.linalg.norm(np.cross(at - np.roll(at, 1, axis=0), along), axis=1)
        straight = (meeting[list(face)] == 2) & (off <= reach)
        kept.append(tuple(v for v, drop in zip(face, straight.tolist(), strict=True) if not drop))
    return kept
