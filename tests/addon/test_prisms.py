# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Prisms are closed solids of the right volume: judged by trimesh and by area times thickness."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, Polygon, box

pytest.importorskip("bpy")

import trimesh

from pinwright.addon.prisms import Prism, cylinder, prism
from tests.builders import small_build


def solid_of(made: Prism) -> trimesh.Trimesh:
    """Return the prism as triangles; faces with more corners are cut up by shapely."""
    ends = [*made.starts[1:], len(made.corners)]
    triangles = []
    for first, end in zip(made.starts, ends, strict=True):
        face = made.corners[first:end]
        if len(face) <= 4:
            triangles += [(face[0], face[k], face[k + 1]) for k in range(1, len(face) - 1)]
            continue
        flat = made.vertices[face][:, :2]
        turned = shapely.LinearRing(flat).is_ccw
        index = {tuple(point): vertex for point, vertex in zip(flat.tolist(), face, strict=True)}
        for piece in shapely.constrained_delaunay_triangles(Polygon(flat)).geoms:
            corners = [index[point] for point in piece.exterior.coords[:3]]
            triangles.append(corners if piece.exterior.is_ccw == turned else corners[::-1])
    return trimesh.Trimesh(made.vertices, triangles, process=False)


def assert_solid(made: Prism, outline: Polygon, thickness: float) -> None:
    solid = solid_of(made)
    assert solid.is_watertight
    assert solid.is_winding_consistent
    assert solid.volume == pytest.approx(outline.area * thickness, rel=1e-9)
    assert made.vertices[:, 2].min() == -thickness / 2
    assert made.vertices[:, 2].max() == thickness / 2


@pytest.mark.parametrize("index", [0, 1])
def test_parts_of_the_small_sculpture(index: int) -> None:
    part = small_build().parts[index]
    assert_solid(prism(part.outline, part.thickness), part.outline, part.thickness)


def test_without_holes_there_are_two_caps_and_a_side_for_each_edge() -> None:
    made = prism(box(0, 0, 30, 10), 3.0)
    assert len(made.vertices) == 8
    assert len(made.starts) == 6
    assert made.is_side.sum() == 4


def test_clockwise_outlines_are_turned() -> None:
    ring = [(0, 0), (0, 10), (30, 10), (30, 0)]
    hole = [(5, 3), (8, 3), (8, 6), (5, 6)]
    outline = Polygon(ring, [hole])
    assert_solid(prism(outline, 2.0), outline, 2.0)


@given(
    radii=st.lists(st.floats(20, 100), min_size=5, max_size=40),
    thickness=st.floats(0.5, 20),
    holes=st.integers(0, 4),
)
def test_any_star_with_holes(radii: list[float], thickness: float, holes: int) -> None:
    angle = 2 * np.pi * np.arange(len(radii)) / len(radii)
    outline = Polygon(np.column_stack((radii * np.cos(angle), radii * np.sin(angle))))
    for k in range(holes):
        turn = 2 * np.pi * k / holes
        outline = outline.difference(Point(4 * np.cos(turn), 4 * np.sin(turn)).buffer(2.0))
    if isinstance(outline, Polygon) and len(outline.interiors) == holes:
        assert_solid(prism(outline, thickness), outline, thickness)


def test_pin_has_the_volume_of_its_polygon() -> None:
    made = cylinder(6.0, 20.0)
    # A regular n-gon of circumradius r has the area n r^2 sin(2 pi / n) / 2 (textbook formula).
    area = 32 * 3.0**2 * np.sin(2 * np.pi / 32) / 2
    solid = solid_of(made)
    assert solid.is_watertight
    assert solid.volume == pytest.approx(20.0 * area, rel=1e-9)


def test_flat_map_keeps_true_lengths_on_caps_and_rims() -> None:
    made = prism(box(0, 0, 30, 10), 3.0)
    ends = [*made.starts[1:], len(made.corners)]
    for first, end in zip(made.starts, ends, strict=True):
        there = made.vertices[made.corners[first:end]]
        flat = made.flat_map[first:end]
        step = np.linalg.norm(np.roll(there, -1, axis=0) - there, axis=1)
        flat_step = np.linalg.norm(np.roll(flat, -1, axis=0) - flat, axis=1)
        np.testing.assert_allclose(flat_step, step, atol=1e-9)
