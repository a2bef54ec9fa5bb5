# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The cut plates as a cloud of samples: the seed plate of each motif once, and where its copies go.

Faces are sampled on a square grid, the cut edge along the outline in a few layers. A picture needs
nothing else: it carries the samples of a seed to all its plates and lets the nearest one win.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..design.materials import material
from ..design.model import Design
from ..frame.group import Group, rotation_group
from ..joints.classes import joint_classes
from ..joints.features import motif_features
from ..outlines.finish import finished_outline
from ..pipeline import sizes_of
from ..plates.motif import motif_from_choice
from ..plates.orbits import orbits_of

__all__ = ["Cloud", "Samples", "cloud_of", "sampled"]

Floats = npt.NDArray[np.float32]
Reals = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """One motif's samples, in its own plane and in units of the sculpture's radius.

    face : (n, 2) of the flat face, those from number `rim` on lie on its outline
    edge : (k, 3) of the cut edge, through the thickness
    out : (k, 2) unit vectors out of the plate at the edge's samples
    """

    face: Floats
    rim: int
    edge: Floats
    out: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Cloud:
    """A sculpture ready to be painted; its lengths are shares of `radius`, mm.

    outlines : of the motifs, cut, in their own planes
    turns, origins : of each motif the (K, 3, 3) and (K, 3) that carry its plane to its K plates
    thickness : of the sheet
    axes : (A, 3) directions of the group's axes that no turn makes one, those of most folds first
    finish : how the sheet looks (core/design/materials.py)
    """

    outlines: tuple[Polygon, ...]
    turns: tuple[Floats, ...]
    origins: tuple[Floats, ...]
    thickness: float
    radius: float
    axes: Floats
    finish: str


def cloud_of(design: Design) -> Cloud:
    """Return a design with explicit motifs in a bare group, its joinery cut.

    Raises DesignError when the design cannot be built.
    """
    assert design.frame.group is not None  # the search writes bare groups
    group = rotation_group(design.frame.group)
    sizes = sizes_of(design)
    motifs = [motif_from_choice(choice, group) for choice in design.motifs]
    classes = joint_classes(design.joint_classes, motifs, group, sizes)
    features = motif_features(classes, motifs, group)
    outlines = [
        finished_outline(motif, found, classes, sizes).outer
        for motif, found in zip(motifs, features, strict=True)
    ]
    orbits = orbits_of(motifs, group)
    radius = max(_reach(o, m.offset) for o, m in zip(outlines, motifs, strict=True))
    transforms = [orbits.transforms[orbits.motif == m] for m in range(len(motifs))]
    return Cloud(
        tuple(shapely.transform(outline, lambda xy: xy / radius) for outline in outlines),
        tuple(np.ascontiguousarray(t[:, :3, :3], dtype=np.float32) for t in transforms),
        tuple(np.ascontiguousarray(t[:, :3, 3] / radius, dtype=np.float32) for t in transforms),
        design.sheet.thickness / radius,
        radius,
        _different_axes(group).astype(np.float32),
        material(design.sheet.material).finish.value,
    )


def sampled(cloud: Cloud, step: float) -> tuple[Samples, ...]:
    """Sample all motifs: points at most `step` radii apart on the faces and along the edges."""
    layers = int(np.ceil(cloud.thickness / step))
    return tuple(_sampled(outline, step, layers, cloud.thickness) for outline in cloud.outlines)


def _sampled(outline: Polygon, step: float, layers: int, thickness: float) -> Samples:
    corners = [np.asarray(ring.coords) for ring in (outline.exterior, *outline.interiors)]
    rings = [_along(ring, step) for ring in corners]
    points = np.concatenate([points for points, _ in rings])
    out = np.concatenate([out for _, out in rings])
    inner = _grid(corners, step)
    # The rim belongs to the face: so its outline is sharp wherever the grid stops short of it.
    face = np.concatenate([inner, points])
    heights = (np.arange(layers) + 0.5) / layers * thickness - thickness / 2
    edge = np.concatenate([np.column_stack([points, np.full(len(points), z)]) for z in heights])
    return Samples(
        face.astype(np.float32),
        len(inner),
        edge.astype(np.float32),
        np.tile(out, (layers, 1)).astype(np.float32),
    )


def _grid(rings: list[Reals], step: float) -> Reals:
    """Return the points (n, 2) of a square grid inside closed rings.

    Row by row: at each crossing of an edge, in turn, one goes in or out.
    """
    start = np.concatenate([ring[:-1] for ring in rings])
    end = np.concatenate([ring[1:] for ring in rings])
    low = np.minimum(start, end).min(axis=0)
    columns, rows = np.ceil((np.maximum(start, end).max(axis=0) - low) / step).astype(int) + 1
    # In rows and columns; an edge crosses the rows from the first at or above its foot.
    a, b = (start - low) / step, (end - low) / step
    first = np.ceil(np.minimum(a[:, 1], b[:, 1])).astype(int)
    count = np.ceil(np.maximum(a[:, 1], b[:, 1])).astype(int) - first
    edge = np.repeat(np.arange(len(a)), count)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    share = (row - a[edge, 1]) / (b[edge, 1] - a[edge, 1])
    column = np.ceil(a[edge, 0] + share * (b[edge, 0] - a[edge, 0])).astype(int)
    turns = np.bincount(row * (columns + 1) + column, minlength=rows * (columns + 1))
    inside = np.cumsum(turns.reshape(rows, columns + 1), axis=1) % 2 == 1
    row, column = np.nonzero(inside)
    points: Reals = np.column_stack([column, row]) * step + low
    return points


def _along(ring: Reals, step: float) -> tuple[Reals, Reals]:
    """Return points along a closed ring and the unit vectors out of the plate there."""
    run = np.diff(ring, axis=0)
    length = np.hypot(run[:, 0], run[:, 1])
    way = np.concatenate([[0.0], np.cumsum(length)])
    places = np.arange(0.0, way[-1], step)
    segment = np.clip(np.searchsorted(way, places, side="right") - 1, 0, len(run) - 1)
    share = (places - way[segment]) / length[segment]
    points = ring[segment] + share[:, None] * run[segment]
    # A plate's exterior runs counter-clockwise and its holes clockwise: out is to the right.
    out = np.column_stack([run[:, 1], -run[:, 0]])[segment] / length[segment, None]
    return points, out


def _different_axes(group: Group) -> Reals:
    kept: list[Reals] = []
    for axis, _ in sorted(group.axes(), key=lambda pair: -pair[1]):
        for way in (axis, -axis):  # the two ends of an axis may look different
            if all((group.matrices @ other @ way).max() < 1 - 1e-6 for other in kept):
                kept.append(way)
    return np.array(kept).reshape(-1, 3)


def _reach(outline: Polygon, offset: float) -> float:
    corners = shapely.get_coordinates(outline)
    return float(np.sqrt((corners**2).sum(axis=1).max() + offset**2))
