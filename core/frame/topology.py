# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Edges, normals, centres and the order round a vertex of a closed, consistently turned mesh.

Faces are tuples of vertex numbers, anticlockwise seen from outside. A *corner* (a, b, c) is three
vertices in sequence round a face; corners in arrays keep all of this free of loops.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull

__all__ = [
    "Corners",
    "corners_of",
    "edges_of",
    "face_centres_of",
    "face_normals_of",
    "hull_faces",
    "neighbours_of",
    "unit_rows",
    "vertex_normals_of",
    "volume_centroid",
    "volume_of",
]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Faces = tuple[tuple[int, ...], ...]
# (face, before, at, after), each (C,): one entry for every corner of every face.
Corners = tuple[Ints, Ints, Ints, Ints]


def corners_of(faces: Sequence[Sequence[int]]) -> Corners:
    """Return (face, before, at, after), four (C,) arrays: the corners of all faces in order."""
    sizes = np.array([len(face) for face in faces], dtype=np.intp)
    at = np.array([v for face in faces for v in face], dtype=np.intp)
    before = np.array([v for face in faces for v in (face[-1], *face[:-1])], dtype=np.intp)
    after = np.array([v for face in faces for v in (*face[1:], face[0])], dtype=np.intp)
    return np.repeat(np.arange(len(sizes)), sizes), before, at, after


def edges_of(faces: Sequence[Sequence[int]]) -> tuple[Ints, Ints]:
    """Return edges (E, 2), i < j, sorted, and edge_faces (E, 2).

    The first face of an edge lies on the left of i -> j seen from outside, the second on its right.
    """
    face, _, at, after = corners_of(faces)
    leftward = at < after
    left = np.lexsort((after[leftward], at[leftward]))
    right = np.lexsort((at[~leftward], after[~leftward]))
    edges = np.stack([at[leftward][left], after[leftward][left]], axis=1)
    return edges, np.stack([face[leftward][left], face[~leftward][right]], axis=1)


def face_normals_of(vertices: Floats, corners: Corners, count: int) -> Floats:
    """Return the vector areas (F, 3) of the faces by Newell's sum (half the sum of p x q)."""
    face, _, at, after = corners
    areas = np.zeros((count, 3))
    np.add.at(areas, face, 0.5 * np.cross(vertices[at], vertices[after]))
    return areas


def face_centres_of(vertices: Floats, corners: Corners, areas: Floats) -> Floats:
    """Return the centroid of area (F, 3) of each face, from triangles about its vertices' mean."""
    face, _, at, after = corners
    count = len(areas)
    sizes = np.bincount(face, minlength=count)[:, None]
    means = np.zeros((count, 3))
    np.add.at(means, face, vertices[at])
    means /= sizes
    normals = areas / np.linalg.norm(areas, axis=1)[:, None]
    spokes = vertices[at] - means[face], vertices[after] - means[face]
    weights = np.einsum("ij,ij->i", np.cross(*spokes), normals[face])
    shift = np.zeros((count, 3))
    np.add.at(shift, face, weights[:, None] * (spokes[0] + spokes[1]) / 3.0)
    total = np.bincount(face, weights, minlength=count)[:, None]
    centres: Floats = means + shift / total
    return centres


def vertex_normals_of(vertices: Floats, corners: Corners, face_normals: Floats) -> Floats:
    """Return unit outward normals (V, 3): unit face normals averaged by the angle at the vertex."""
    face, before, at, after = corners
    first, second = vertices[after] - vertices[at], vertices[before] - vertices[at]
    sine = np.einsum("ij,ij->i", np.cross(first, second), face_normals[face])
    angles = np.arctan2(sine, np.einsum("ij,ij->i", first, second)) % (2.0 * np.pi)
    sums = np.zeros_like(vertices)
    np.add.at(sums, at, angles[:, None] * face_normals[face])
    return unit_rows(sums)


def unit_rows(rows: Floats) -> Floats:
    """Return each row divided by its length."""
    unit: Floats = rows / np.linalg.norm(rows, axis=-1, keepdims=True)
    return unit


def neighbours_of(faces: Sequence[Sequence[int]], count: int) -> Faces:
    """Return for each of `count` vertices its neighbours, anticlockwise seen from outside.

    The first is the one with the least number. The face on the left of v -> w comes to v from the
    neighbour that follows w anticlockwise.
    """
    _, before, at, after = corners_of(faces)
    following: list[dict[int, int]] = [{} for _ in range(count)]
    for u, v, w in zip(before.tolist(), at.tolist(), after.tolist(), strict=True):
        following[v][w] = u
    rounds = []
    for turn in following:
        ring = [min(turn)]
        while len(ring) < len(turn):
            ring.append(turn[ring[-1]])
        rounds.append(tuple(ring))
    return tuple(rounds)


def volume_of(vertices: Floats, corners: Corners, count: int) -> float:
    """Return the signed volume of the closed mesh: positive when faces turn the right way."""
    return float(_cones(vertices, corners, count)[1].sum())


def volume_centroid(vertices: Floats, corners: Corners, count: int) -> Floats:
    """Return the centre of mass (3,) of the solid inside the closed mesh of `count` faces."""
    centres, volumes = _cones(vertices, corners, count)
    centroid: Floats = volumes @ centres / volumes.sum()
    return centroid


def hull_faces(points: Floats, tol: float = 1e-7) -> Faces:
    """Return the faces of the convex hull of points (V, 3), coplanar triangles made one.

    tol : share of the size within which points are on a face. Each face starts with its least
    vertex; faces are sorted.
    """
    size = float(np.ptp(points, axis=0).max())
    planes: list[Floats] = []
    for plane in ConvexHull(points).equations:
        if not any(np.abs(plane - other).max() < tol * max(1.0, size) for other in planes):
            planes.append(plane)
    faces = []
    for plane in planes:
        on = np.flatnonzero(np.abs(points @ plane[:3] + plane[3]) < tol * size)
        spokes = points[on] - points[on].mean(axis=0)
        across = np.cross(plane[:3], spokes[0])
        ring = on[np.argsort(np.arctan2(spokes @ across, spokes @ spokes[0]))].tolist()
        start = ring.index(min(ring))
        faces.append((*ring[start:], *ring[:start]))
    return tuple(sorted(faces))


def _cones(vertices: Floats, corners: Corners, count: int) -> tuple[Floats, Floats]:
    """Return centres (C, 3) and signed volumes (C,) of the tetrahedra that fill the solid.

    Each stands on a triangle (mean of a face, corner, next corner), its tip at the vertices' mean.
    """
    face, _, at, after = corners
    tip = vertices.mean(axis=0)
    means = np.zeros((count, 3))
    np.add.at(means, face, vertices[at])
    means = (means / np.bincount(face, minlength=count)[:, None] - tip)[face]
    first, second = vertices[at] - tip, vertices[after] - tip
    volumes = np.einsum("ij,ij->i", means, np.cross(first, second)) / 6.0
    return tip + (means + first + second) / 4.0, volumes
