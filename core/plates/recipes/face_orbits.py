# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The faces and edges of a frame sorted by its group: seeds, and how the seeds are neighbors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order

from ...errors import DesignError
from ...frame.frame import Frame
from ...frame.group import Group, group_from_matrices, name_of

__all__ = ["FaceEdge", "FaceOrbits"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class FaceEdge:
    """One kind of edge: between the face `seed` and the copy by `element` of the seed `other`.

    middle : (3,) mm; along : (3,) unit vector, its way round the face `seed`, anticlockwise seen
        from outside; matrix : (3, 3) of the element
    """

    seed: int
    other: int
    element: int
    middle: Floats
    along: Floats
    matrix: Floats

    def middle_for(self, face: int) -> tuple[Floats, Floats]:
        """Return the middle and the way round `face`, one of the two seeds, at its own place."""
        if face == self.seed:
            return self.middle, self.along
        return self.matrix.T @ self.middle, -(self.matrix.T @ self.along)


@dataclass(frozen=True, slots=True, eq=False)
class FaceOrbits:
    """The kinds of faces and edges.

    group : the frame's, or what of it keeps two sorts of faces apart
    seeds : a face of each kind; edges : one of each kind
    """

    frame: Frame
    group: Group
    seeds: tuple[int, ...]
    edges: tuple[FaceEdge, ...]
    sort: tuple[int, ...]

    @classmethod
    def of(cls, frame: Frame, two_sorts: bool) -> FaceOrbits:
        """Sort the faces.

        two_sorts : the faces are to be of two sorts, of which only unlike ones are neighbors; the
            group is made smaller where it would mix them

        Raises
        ------
        DesignError : the faces are not of two sorts.
        """
        images = _face_images(frame)
        sort = (0,) * len(frame.faces)
        group, kept = frame.group, np.arange(frame.group.order)
        if two_sorts:
            sort = _sorts(frame)
            colour = np.array(sort)
            kept = np.flatnonzero((colour[images] == colour).all(axis=1))
            if len(kept) < group.order:
                group = group_from_matrices(name_of(group.matrices[kept]), group.matrices[kept])
                # The new group numbers its elements anew.
                kept = np.array([_number(m, frame.group) for m in group.matrices])
        images, vertices = images[kept], frame.vertex_images[kept]
        seed = images.min(axis=0)
        carrier = images[:, seed] == np.arange(len(seed))
        element = carrier.argmax(axis=0)  # carries the seed to the face
        edges = []
        known: set[tuple[int, int]] = set()
        for n, (i, j) in enumerate(frame.edges.tolist()):
            if (i, j) in known:
                continue
            known |= {(min(a, b), max(a, b)) for a, b in vertices[:, (i, j)].tolist()}
            left, right = (int(f) for f in frame.edge_faces[n])
            back = int(group.inverse[element[left]])
            ends = frame.vertices[vertices[back, (i, j)]]
            other = int(images[back, right])
            # i -> j runs round the face on its left, anticlockwise seen from outside.
            way = ends[1] - ends[0]
            edges.append(
                FaceEdge(
                    int(seed[left]),
                    int(seed[other]),
                    int(element[other]),
                    ends.mean(axis=0),
                    way / np.linalg.norm(way),
                    group.matrices[int(element[other])],
                )
            )
        seeds = tuple(sorted(set(seed.tolist())))
        return cls(frame, group, seeds, tuple(edges), sort)

    def has_tab(self, one: int, two: int) -> bool:
        """Tell which of two seeds has the tabs: the sort whose faces have fewer corners."""
        corners: dict[int, int] = {}
        for face, sort in zip(self.frame.faces, self.sort, strict=True):
            corners[sort] = min(corners.get(sort, len(face)), len(face))
        first = 0 if corners[0] <= corners.get(1, corners[0]) else 1
        return self.sort[one] == first

    def sides_of(self, edge: FaceEdge, face: int) -> list[int]:
        """Return the sides of a seed that are of this kind of edge: from corner k to k + 1."""
        middle, _ = edge.middle_for(face)
        corners = self.frame.vertices[list(self.frame.faces[face])]
        middles = (corners + np.roll(corners, -1, axis=0)) / 2
        turned = self.group.matrices @ middle
        gaps = np.linalg.norm(middles[:, None] - turned[None], axis=2).min(axis=1)
        sides: list[int] = np.flatnonzero(gaps < 1e-4 * self.frame.radius).tolist()
        return sides


def _face_images(frame: Frame) -> Ints:
    """Return (order, F): element k carries face f to face [k, f]."""
    number = {frozenset(face): f for f, face in enumerate(frame.faces)}
    rows = [
        [number[frozenset(row[list(face)].tolist())] for face in frame.faces]
        for row in frame.vertex_images
    ]
    return np.array(rows, dtype=np.intp)


def _number(matrix: Floats, group: Group) -> int:
    return int(np.abs(group.matrices - matrix).max(axis=(1, 2)).argmin())


def _sorts(frame: Frame) -> tuple[int, ...]:
    """Return 0 or 1 for each face, so that neighbors differ."""
    count = len(frame.faces)
    left, right = frame.edge_faces.T
    graph = coo_array((np.ones(len(left), dtype=np.int8), (left, right)), shape=(count, count))
    order, before = breadth_first_order(graph.tocsr(), 0, directed=False)
    colour = np.zeros(count, dtype=np.intp)
    for face in order[1:]:  # each after the one that it was reached from
        colour[face] = 1 - colour[before[face]]
    if (colour[left] == colour[right]).any():
        raise DesignError(
            "recipe.joint",
            "tenon",
            f"cross-lap: the faces of the frame ({frame.name}) are not of two sorts of which only "
            "unlike ones are neighbors, as they are round corners of an even number of faces",
            "Take joint = 'cross-lap', or for example solid = 'cuboctahedron'.",
        )
    return tuple(colour.tolist())
