# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The rotation group of a mesh, found from its vertices and faces, never assumed.

A rotation that carries an oriented mesh to itself is settled by where it carries one directed edge.
So the edge whose lengths are shared by the fewest others is tried against just those.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from ..errors import FrameError
from ..tolerance import TOLERANCES
from .group import LARGEST_FOLD, Group, name_of, rotation_group
from .topology import Faces, corners_of

if TYPE_CHECKING:
    from .frame import Frame

__all__ = ["detect_group", "mirror_symmetric"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


def detect_group(vertices: Floats, faces: Faces, tol: float = TOLERANCES.symmetry) -> Group:
    """Return all rotations about the origin that carry vertices to vertices and faces to faces.

    Parameters
    ----------
    vertices : (V, 3), the origin at the mesh's own centre
    faces : of a closed mesh, all anticlockwise seen from outside
    tol : share of the radius within which an image must meet a vertex

    Returns
    -------
    Group : named C1, Cn, Dn, T, O or I, turned as the mesh is. It is exact (a turned copy of
        `rotation_group`), and is `rotation_group` itself where that agrees within `tol`.

    Raises
    ------
    FrameError : an axis has a higher fold than `rotation_group` offers.
    """
    mesh = _Mesh(vertices, faces)
    return _exact(_closed(_isometries(mesh, mesh, tol)), tol)


def mirror_symmetric(frame: Frame, tol: float = TOLERANCES.symmetry) -> bool:
    """Tell whether a mirror or a turn with inversion carries the frame to itself.

    If so, the frame's mirror image is the frame itself. A bare group has no shape and counts as
    mirror-symmetric: nothing in it is handed.
    """
    if not frame.faces:
        return True
    here = _Mesh(frame.vertices, frame.faces)
    image = _Mesh(-frame.vertices, tuple(face[::-1] for face in frame.faces))
    return len(_isometries(here, image, tol).matrices) > 0


@dataclass(slots=True, init=False, eq=False)
class _Mesh:
    """A mesh with what `_isometries` compares: its directed edges and their lengths."""

    vertices: Floats
    radius: float
    starts: Ints  # (H,) directed edges start -> end with their left face anticlockwise
    ends: Ints
    anchors: Floats  # (H, 4, 3) start, end, mean of the left face, mean of the right face
    signature: Floats  # (H, 9), the same for edges that a rotation carries to each other
    corners: Ints  # (3, C) vertices before, at and after each corner of a face
    corner_codes: Ints  # (C,) sorted, one number for each corner
    tree: cKDTree  # of the vertices

    def __init__(self, vertices: Floats, faces: Faces) -> None:
        face, before, at, after = corners_of(faces)
        count, n = len(vertices), len(faces)
        sizes = np.bincount(face, minlength=n)
        means = np.zeros((n, 3))
        np.add.at(means, face, vertices[at])
        means /= sizes[:, None]
        codes = at * count + after
        order = np.argsort(codes)
        opposite = order[np.searchsorted(codes, after * count + at, sorter=order)]
        left, right = face, face[opposite]
        valence = np.bincount(at, minlength=count)
        self.vertices, self.starts, self.ends = vertices, at, after
        self.radius = float(np.linalg.norm(vertices, axis=1).max())
        self.anchors = np.stack([vertices[at], vertices[after], means[left], means[right]], axis=1)
        lengths = np.linalg.norm(self.anchors, axis=2)
        edge = np.linalg.norm(vertices[at] - vertices[after], axis=1)
        whole = np.stack([sizes[left], sizes[right], valence[at], valence[after]], axis=1)
        # Whole numbers are spread so far that two that differ never come within the tolerance.
        self.signature = np.column_stack([lengths, edge, whole * self.radius])
        self.corners = np.stack([before, at, after])
        self.corner_codes = self.carried_corners(np.arange(count))
        self.tree = cKDTree(vertices)

    def carried_corners(self, image: Ints) -> Ints:
        """Return the sorted corner codes after vertex i has become vertex image[i]."""
        before, at, after = image[self.corners]
        return np.sort((before * len(image) + at) * len(image) + after)


@dataclass(frozen=True, slots=True, eq=False)
class _Isometries:
    """Rotations of one mesh onto another, those that fit best first.

    matrices : (m, 3, 3); images : (m, V), rotation k carries vertex i to images[k, i]
    edge : the directed edge whose image settles each of them
    """

    matrices: Floats
    images: Ints
    edge: tuple[int, int]


def _isometries(source: _Mesh, target: _Mesh, tol: float) -> _Isometries:
    reach = 4.0 * tol * source.radius  # each end is off by up to tol, lengths by twice that
    tree = cKDTree(target.signature)
    counts = tree.query_ball_point(source.signature, reach, p=np.inf, return_length=True)
    rarest = int(np.argmin(counts))
    candidates = tree.query_ball_point(source.signature[rarest], reach, p=np.inf)
    rough = _best_rotations(source.anchors[[rarest]], target.anchors[sorted(candidates)])
    found = []
    for matrix in rough:
        _, image = target.tree.query(source.vertices @ matrix.T)
        if not np.array_equal(source.carried_corners(image), target.corner_codes):
            continue
        there = target.vertices[image]
        fine = _best_rotations(source.vertices[None], there[None])[0]
        gap = float(np.linalg.norm(source.vertices @ fine.T - there, axis=1).max())
        if gap <= tol * source.radius:
            found.append((gap, fine, image))
    found.sort(key=lambda item: item[0])
    return _Isometries(
        np.array([fine for _, fine, _ in found]).reshape(-1, 3, 3),
        np.array([image for _, _, image in found], dtype=np.intp).reshape(-1, len(source.vertices)),
        (int(source.starts[rarest]), int(source.ends[rarest])),
    )


def _best_rotations(points: Floats, images: Floats) -> Floats:
    """Return the rotations (m, 3, 3) about the origin that carry points best onto images (m, k, 3).

    Least squares by singular values (W. Kabsch 1976, from memory).
    """
    u, _, vt = np.linalg.svd(images.transpose(0, 2, 1) @ points)
    u[:, :, 2] *= np.sign(np.linalg.det(u @ vt))[:, None]
    rotations: Floats = u @ vt
    return rotations


def _closed(found: _Isometries) -> Floats:
    """Return the best-fitting rotations that form a group, (n, 3, 3), the identity first.

    On a mesh that is symmetric only up to about the tolerance, a rotation may pass while its square
    does not; then the worst fitting are left out until the rest is closed.
    """
    a, b = found.edge
    size = found.images.shape[1]
    for count in range(len(found.matrices), 1, -1):
        images = found.images[:count]
        known = images[:, a] * size + images[:, b]
        products = images[:, images[:, a]] * size + images[:, images[:, b]]
        if np.isin(products, known).all():
            chosen = found.matrices[:count]
            turned = np.argsort(-np.trace(chosen, axis1=1, axis2=2), kind="stable")
            return chosen[turned]  # least angle first: the identity
    return np.eye(3)[None]


def _exact(matrices: Floats, tol: float) -> Group:
    """Return the exact group that lies nearest to a measured one."""
    name = name_of(matrices)
    if int(name[1:] or 0) > LARGEST_FOLD:
        raise FrameError(f"the mesh has a {name[1:]}-fold axis, allowed is {LARGEST_FOLD} at most.")
    standard = rotation_group(name)
    if _same_set(standard.matrices, matrices, 2.0 * tol):
        return standard
    turn = _turn_between(standard, matrices)
    exact = turn @ standard.matrices @ turn.T
    exact[0] = np.eye(3)
    exact.setflags(write=False)
    return Group(standard.name, exact, standard.product, standard.inverse)


def _turn_between(standard: Group, matrices: Floats) -> Floats:
    """Return the rotation (3, 3) that carries the standard group's axes to the measured ones."""
    ours = _axis_vectors(standard.matrices)
    theirs = _axis_vectors(matrices)
    first = int(np.argmin(np.linalg.norm(ours, axis=1)))
    start = _least_turn(theirs)
    if standard.name.startswith("C"):
        return _shortest_turn(ours[first], start)
    return _refined(_pair_turn(standard, ours, first, theirs, start), ours, theirs)


def _least_turn(vectors: Floats) -> Floats:
    """Return the shortest axis vector; of several the same one whatever their order is."""
    lengths = np.linalg.norm(vectors, axis=1)
    short = vectors[lengths < lengths.min() + 1e-3]
    chosen: Floats = short[np.lexsort(short.round(3).T + 0.0)[-1]]
    return chosen


def _pair_turn(group: Group, ours: Floats, first: int, theirs: Floats, start: Floats) -> Floats:
    """Return the turn that carries two generators of the group to two measured elements alike."""
    half = [k for k in range(len(ours)) if np.linalg.norm(ours[k]) > np.pi - 1e-6]
    # ours has no identity: row k is element k + 1
    second = next(k for k in half if len(group.subgroup([first + 1, k + 1])) == group.order)
    wanted = abs(float(ours[first] @ ours[second]))
    lengths = np.linalg.norm(theirs, axis=1)
    misfit = np.abs(np.abs(theirs @ start) - wanted) + np.where(lengths > np.pi - 1e-3, 0.0, 1e3)
    end = theirs[np.argmin(misfit)]
    # A half-turn has two axis vectors: take the one on the same side.
    if float(ours[first] @ ours[second]) * float(start @ end) < 0.0:
        end = -end
    turn: Floats = _best_rotations(ours[[first, second]][None], np.stack([start, end])[None])[0]
    return turn


def _refined(turn: Floats, ours: Floats, theirs: Floats) -> Floats:
    """Return the turn that fits all axis vectors best, beginning near the right one."""
    carried = ours @ turn.T
    both = np.concatenate([theirs, -theirs[np.linalg.norm(theirs, axis=1) > np.pi - 1e-3]])
    _, index = cKDTree(both).query(carried)
    better: Floats = _best_rotations(ours[None], both[index][None])[0]
    return better


def _axis_vectors(matrices: Floats) -> Floats:
    """Return axis x angle (rad) of each rotation but the first, the identity."""
    vectors: Floats = Rotation.from_matrix(matrices[1:]).as_rotvec()
    return vectors


def _shortest_turn(start: Floats, end: Floats) -> Floats:
    """Return the rotation by the least angle that carries the direction of start to that of end."""
    a, b = start / np.linalg.norm(start), end / np.linalg.norm(end)
    cross, dot = np.cross(a, b), float(a @ b)
    if dot < -1.0 + 1e-12:  # opposite: a half-turn about anything square to both
        side = np.cross(a, np.eye(3)[np.argmin(np.abs(a))])
        turn: Floats = Rotation.from_rotvec(np.pi * side / np.linalg.norm(side)).as_matrix()
        return turn
    angle = np.arctan2(np.linalg.norm(cross), dot)
    axis = cross / max(float(np.linalg.norm(cross)), 1e-300)
    turn = Rotation.from_rotvec(axis * angle).as_matrix()
    return turn


def _same_set(first: Floats, second: Floats, tol: float) -> bool:
    gaps, index = cKDTree(first.reshape(-1, 9)).query(second.reshape(-1, 9))
    return bool(gaps.max() <= tol and len(set(index.tolist())) == len(first))
