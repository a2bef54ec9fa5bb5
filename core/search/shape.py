# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A built sculpture as points on its plates, for views, figures and the signature."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..design.model import Design
from ..frame.group import Group
from ..joints.classes import JointClass, joint_classes
from ..pipeline import sizes_of
from ..plates.motif import Motif, motif_from_choice

__all__ = ["Shape", "shape_of", "view_axes"]

Floats = npt.NDArray[np.float64]

# Views along directions of no symmetry, spread over the sphere; any six would do.
_VIEWS = np.array(
    [
        [0.31, -0.90, 0.31], [0.86, 0.40, 0.33], [-0.45, 0.12, 0.88],
        [0.05, 0.62, -0.78], [-0.83, -0.50, -0.25], [0.55, -0.15, 0.82],
    ]
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Strips as points.

    points : (K, L, W, 3) of K plates, L along and W across each, mm, world; normals : (K, 3)
    colour : (K,) number of the motif
    """

    motifs: tuple[Motif, ...]
    classes: tuple[JointClass, ...]
    points: Floats
    normals: Floats
    colour: npt.NDArray[np.intp]

    @property
    def radius(self) -> float:
        """Radius of the sphere that holds all points, mm."""
        return float(np.linalg.norm(self.points, axis=3).max())

    def covered(self) -> Floats:
        """Return what share of each of 32 cells of equal size of the silhouette's disc is covered.

        Shape (6, 4, 8): views, rings, sectors. On a raster of 120 x 120 points.
        """
        size = 120
        radius = self.radius
        grid = (np.arange(size) + 0.5) / size * 2 - 1
        x, y = np.meshgrid(grid, grid, indexing="xy")
        far = np.hypot(x, y)
        # Rings between these radii have equal areas.
        ring = np.minimum((far**2 * 4).astype(int), 4)
        sector = np.minimum(((np.arctan2(y, x) + np.pi) / (2 * np.pi) * 8).astype(int), 7)
        cell = np.where(ring < 4, ring * 8 + sector, 32)
        room = np.bincount(cell.reshape(-1), minlength=33)[:32]
        flat = self.points.reshape(-1, 3) / radius
        found = []
        for view in _VIEWS:
            right, up, _ = view_axes(view)
            column = ((flat @ right + 1) / 2 * size).astype(int).clip(0, size - 1)
            row = ((flat @ up + 1) / 2 * size).astype(int).clip(0, size - 1)
            seen = np.zeros((size, size))
            seen[row, column] = 1.0
            full = np.bincount(cell.reshape(-1), seen.reshape(-1), minlength=33)[:32]
            found.append((full / room).reshape(4, 8))
        return np.array(found)

    def breadths(self) -> Floats:
        """Return the sculpture's extent (200,) in directions all over the sphere, mm."""
        k = np.arange(200) + 0.5
        z = k / 200
        turn = np.pi * (1 + np.sqrt(5)) * k
        ways = np.column_stack(
            [np.cos(turn) * np.sqrt(1 - z * z), np.sin(turn) * np.sqrt(1 - z * z), z]
        )
        outer = self.points[:, :, [0, -1]].reshape(-1, 3)
        along = outer @ ways.T
        extent: Floats = along.max(axis=0) - along.min(axis=0)
        return extent


def shape_of(design: Design, group: Group, along: float = 5.0, across: int = 5) -> Shape:
    """Return the strips of an explicit design, points every `along` mm, `across` over the width."""
    motifs = tuple(motif_from_choice(choice, group) for choice in design.motifs)
    classes = joint_classes(design.joint_classes, motifs, group, sizes_of(design))
    strips = [_strip(motif, along, across) for motif in motifs]
    most = max(len(strip) for strip in strips)
    points, normals, colour = [], [], []
    for m, (motif, strip) in enumerate(zip(motifs, strips, strict=True)):
        # Strips of one count of points: the last row again and again.
        filled = np.concatenate([strip, np.repeat(strip[-1:], most - len(strip), axis=0)])
        points.append(np.einsum("gij,lwj->glwi", group.matrices, filled))
        normals.append(group.matrices @ motif.normal)
        colour.append(np.full(group.order, m))
    return Shape(
        motifs, classes, np.concatenate(points), np.concatenate(normals), np.concatenate(colour)
    )


def view_axes(view: npt.ArrayLike) -> tuple[Floats, Floats, Floats]:
    """Return unit vectors to the right, up and towards the eye of a view from direction `view`."""
    eye = np.asarray(view, dtype=float)
    eye = eye / np.linalg.norm(eye)
    helper = np.array([0.0, 0.0, 1.0]) if abs(eye[2]) < 0.95 else np.array([0.0, 1.0, 0.0])
    right = np.cross(helper, eye)
    right /= np.linalg.norm(right)
    return right, np.cross(eye, right), eye


def _strip(motif: Motif, along: float, across: int) -> Floats:
    """Return points (L, W, 3) of a motif's strip, world, mm."""
    assert motif.path is not None
    assert motif.width is not None
    steps = np.linalg.norm(np.diff(motif.path, axis=0), axis=1)
    way = np.concatenate([[0.0], np.cumsum(steps)])
    count = max(int(np.ceil(way[-1] / along)), 2) + 1
    places = np.linspace(0, way[-1], count)
    path = np.column_stack([np.interp(places, way, motif.path[:, i]) for i in (0, 1)])
    tangent = np.gradient(path, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1)[:, None]
    side = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    offsets = np.linspace(-0.5, 0.5, across) * motif.width
    flat = path[:, None] + offsets[None, :, None] * side[:, None]
    plane = motif.world_from_plane
    points: Floats = flat @ plane[:3, :2].T + plane[:3, 3]
    return points
