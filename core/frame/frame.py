# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The frame: a polyhedron about the origin, scaled to size, with its rotation group.

A bare group is a frame without vertices: symmetry and a size, nothing to stand on.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from ..design.model import FrameChoice
from ..errors import DesignError, FrameError
from ..tolerance import TOLERANCES
from .detect import detect_group
from .group import Group, rotation_group
from .mesh_checks import RawMesh, checked_mesh
from .mesh_files import read_mesh
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
    volume_centroid,
)

__all__ = [
    "Frame",
    "frame_from_choice",
    "frame_from_file",
    "frame_from_group",
    "frame_from_mesh",
    "frame_from_solid",
    "vertex_images_of",
]

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


def frame_from_mesh(
    name: str, vertices: Floats, faces: Faces, diameter: float | None = None
) -> Frame:
    """Return a frame of any closed mesh, its group found from it.

    The origin is put at the centroid of the volume: unlike the mean of the vertices it does not
    move when a face is divided, and every symmetry keeps it. Vertices that agree with the group
    within its tolerance are put exactly where it wants them.

    Parameters
    ----------
    name : for messages
    vertices : (V, 3); faces : vertex numbers from 0, turned either way
    diameter : of the sphere about the origin through the farthest vertex, mm; None: as given

    Raises
    ------
    FrameError : the mesh is open, not manifold, in pieces, flat ... (see `checked_mesh`).
    """
    given = tuple(tuple(int(v) for v in face) for face in faces)
    return _frame_from_raw(RawMesh(name, np.array(vertices, dtype=float), given), name, diameter)


def frame_from_file(path: str | Path, diameter: float | None = None) -> Frame:
    """Return the frame of an OBJ, OFF, PLY or STL file; see `frame_from_mesh` and `read_mesh`."""
    return _frame_from_raw(read_mesh(path), Path(path).stem, diameter)


def frame_from_choice(choice: FrameChoice, folder: str = "") -> Frame:
    """Return the frame that a design asks for, scaled to its diameter.

    folder : where a relative mesh path starts

    Raises
    ------
    DesignError : not exactly one of solid, mesh and group is set, or no group has that name.
    FrameError : the solid or the mesh cannot be used.
    """
    named = {"solid": choice.solid, "mesh": choice.mesh, "group": choice.group}
    given = {kind: name for kind, name in named.items() if name is not None}
    if len(given) != 1:
        raise DesignError("frame", sorted(given) or None, "exactly one of solid, mesh and group")
    if choice.mesh is not None:
        try:
            return frame_from_file(Path(folder) / choice.mesh, choice.diameter)
        except FrameError as error:
            raise FrameError(f"frame.mesh: {error}") from error
    if choice.solid is not None:
        return frame_from_solid(choice.solid, choice.diameter)
    return frame_from_group(given["group"], choice.diameter)


def _frame_from_raw(raw: RawMesh, name: str, diameter: float | None) -> Frame:
    vertices, faces = checked_mesh(raw)
    vertices = vertices - volume_centroid(vertices, corners_of(faces), len(faces))
    try:
        group = detect_group(vertices, faces)
    except FrameError as error:
        raise raw.error(str(error)) from error
    images = vertex_images_of(group, vertices)
    # The mean over all k of the inverse of k applied to where k says that vertex i should be.
    exact = np.einsum("kba,kib->ia", group.matrices, vertices[images]) / group.order
    radius = float(np.linalg.norm(exact, axis=1).max())
    wanted = radius if diameter is None else diameter / 2.0
    return Frame(name, exact * (wanted / radius), faces, group, images, wanted)


def vertex_images_of(
    group: Group, vertices: Floats, tol: float = 4.0 * TOLERANCES.symmetry
) -> Ints:
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
    numbers: Ints = index.astype(np.intp)
    return numbers


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
