# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The frame: a polyhedron about the origin, scaled to size, with its rotation group.

A bare group is a frame without vertices: symmetry and a size, nothing to stand on.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from ..design.model import FrameChoice
from ..errors import DesignError, FrameError
from .group import Group, rotation_group
from .solids import solid
from .topology import (
    Faces,
    corners_of,
    edges_of,
    face_centres_of,
    face_normals_of,
    neighbours_of,
    unit_rows,
    vertex_normals_of,
)

__all__ = ["Frame", "frame_from_choice", "frame_from_group", "frame_from_solid", "vertex_images_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A polyhedron about the origin (mm). The fields after `radius` are found from those before.

    vertices : (V, 3); V = 0 for a bare group
    faces : vertex numbers, anticlockwise seen from outside
    group : rotations about the origin that carry the frame to itself
    vertex_images : (order, V) int, element k carries vertex i to vertex_images[k, i]
    radius : of the sphere about the origin through the farthest vertex
    edges : (E, 2) int, i < j, sorted
    edge_faces : (E, 2) int, the faces on the left and right of i -> j seen from outside
    face_centres : (F, 3) centroids of area; face_normals : (F, 3) unit, outward
    vertex_normals : (V, 3) unit, outward: face normals averaged by their angle at the vertex
    edge_normals : (E, 3) unit, outward, halfway between the two faces' normals
    vertex_neighbours : for each vertex its neighbours, anticlockwise seen from outside
    """

    name: str
    vertices: Floats
    faces: Faces
    group: Group
    vertex_images: Ints
    radius: float
    edges: Ints = field(init=False, repr=False)
    edge_faces: Ints = field(init=False, repr=False)
    face_centres: Floats = field(init=False, repr=False)
    face_normals: Floats = field(init=False, repr=False)
    vertex_normals: Floats = field(init=False, repr=False)
    edge_normals: Floats = field(init=False, repr=False)
    vertex_neighbours: Faces = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Find edges, centres, normals and neighbours; make all arrays read-only."""
        derived = _derived(self.vertices, self.faces)
        for name, value in derived.items():
            object.__setattr__(self, name, value)
        for value in (self.vertices, self.vertex_images, *derived.values()):
            if isinstance(value, np.ndarray):
                value.setflags(write=False)

    @property
    def edge_lengths(self) -> Floats:
        """Lengths (E,) of the edges, mm."""
        ends = self.vertices[self.edges]
        lengths: Floats = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
        return lengths


def frame_from_solid(name: str, diameter: float) -> Frame:
    """Return a solid of the catalogue, its farthest vertices on a sphere of `diameter` (mm).

    Raises
    ------
    FrameError : no solid has that name.
    """
    one = solid(name)
    radius = diameter / 2.0
    vertices = one.vertices * (radius / float(np.linalg.norm(one.vertices, axis=1).max()))
    images = vertex_images_of(one.group, vertices)
    return Frame(one.name, vertices, one.faces, one.group, images, radius)


def frame_from_group(name: str, diameter: float) -> Frame:
    """Return the bare group of that name as a frame without vertices, of `diameter` (mm).

    Raises
    ------
    DesignError : there is no such group.
    """
    group = rotation_group(name)
    none = np.zeros((0, 3))
    return Frame(group.name, none, (), group, np.zeros((group.order, 0), np.intp), diameter / 2.0)


def frame_from_choice(choice: FrameChoice) -> Frame:
    """Return the frame that a design asks for, scaled to its diameter.

    Raises
    ------
    DesignError : not exactly one of solid and group is set, or no group has that name.
    FrameError : the solid cannot be used.
    """
    if choice.solid is not None and choice.group is None:
        return frame_from_solid(choice.solid, choice.diameter)
    if choice.group is not None and choice.solid is None:
        return frame_from_group(choice.group, choice.diameter)
    raise DesignError("frame", None, "exactly one of solid and group")


def vertex_images_of(group: Group, vertices: Floats, tol: float = 1e-5) -> Ints:
    """Return (order, V): element k carries vertex i to vertex [k, i].

    tol : share of the radius within which an image must meet a vertex

    Raises
    ------
    FrameError : an element does not carry the vertices to themselves.
    """
    radius = float(np.linalg.norm(vertices, axis=1).max())
    images = vertices @ group.matrices.transpose(0, 2, 1)
    gaps, index = cKDTree(vertices).query(images)
    if gaps.max() > tol * radius or (np.sort(index, axis=1) != np.arange(len(vertices))).any():
        raise FrameError(f"the rotations of group {group.name} do not carry the vertices along.")
    return index.astype(np.intp)


def _derived(vertices: Floats, faces: Faces) -> dict[str, Floats | Ints | Faces]:
    if not faces:
        none, pairs = np.zeros((0, 3)), np.zeros((0, 2), np.intp)
        arrays = dict.fromkeys(_VECTORS, none)
        return {"edges": pairs, "edge_faces": pairs, **arrays, "vertex_neighbours": ()}
    corners = corners_of(faces)
    edges, edge_faces = edges_of(faces)
    areas = face_normals_of(vertices, corners, len(faces))
    normals = unit_rows(areas)
    return {
        "edges": edges,
        "edge_faces": edge_faces,
        "face_centres": face_centres_of(vertices, corners, areas),
        "face_normals": normals,
        "vertex_normals": vertex_normals_of(vertices, corners, normals),
        "edge_normals": unit_rows(normals[edge_faces].sum(axis=1)),
        "vertex_neighbours": neighbours_of(faces, len(vertices)),
    }


_VECTORS = ("face_centres", "face_normals", "vertex_normals", "edge_normals")
