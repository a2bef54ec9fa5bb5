# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Planes and section lines: rigid frames, published dihedral angles, shapely as judge of cuts."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation
from shapely import LinearRing, LineString, get_coordinates

from pinwright.core.errors import DesignError
from pinwright.core.frame.frame import frame_from_solid
from pinwright.core.plates.planes import (
    cut_line,
    default_x_axis,
    section_line,
    to_plane,
    world_from_plane,
)

Floats = npt.NDArray[np.float64]


@st.composite
def directions(draw: st.DrawFn) -> Floats:
    vector = np.array(draw(st.tuples(*[st.floats(-1, 1)] * 3)))
    length = float(np.linalg.norm(vector))
    assume(length > 0.1)
    return vector / length


offsets = st.floats(-500, 500)


@given(directions())
def test_the_default_x_axis_lies_in_the_plane_and_is_level(normal: Floats) -> None:
    axis = default_x_axis(normal)
    assert np.linalg.norm(axis) == pytest.approx(1.0)
    assert axis @ normal == pytest.approx(0.0, abs=1e-12)
    assert axis[2 if abs(normal[2]) < 0.999 else 1] == pytest.approx(0.0, abs=1e-12)


@given(directions(), offsets, directions())
def test_a_plane_has_a_rigid_frame_at_the_foot_of_the_origin(
    normal: Floats, offset: float, x_axis: Floats
) -> None:
    assume(np.linalg.norm(np.cross(normal, x_axis)) > 1e-3)
    for given_axis in (None, x_axis):
        plane = world_from_plane(normal, offset, given_axis)
        rotation = plane[:3, :3]
        assert rotation.T @ rotation == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(rotation) == pytest.approx(1.0)
        assert rotation[:, 2] == pytest.approx(normal, abs=1e-12)
        assert plane[:3, 3] == pytest.approx(normal * offset, abs=1e-9)
        assert plane[3].tolist() == [0, 0, 0, 1]
    assert rotation[:, 0] @ x_axis > 0
    assert np.cross(x_axis, normal) @ rotation[:, 0] == pytest.approx(0.0, abs=1e-9)


@given(directions(), offsets, st.floats(-99, 99), st.floats(-99, 99), st.floats(-9, 9))
def test_plane_coordinates_go_to_the_world_and_back(
    normal: Floats, offset: float, x: float, y: float, z: float
) -> None:
    plane = world_from_plane(normal, offset)
    world = plane @ (x, y, z, 1.0)
    assert world[:3] @ normal == pytest.approx(offset + z, abs=1e-9)
    assert to_plane(plane, [world[:3]] * 2) == pytest.approx(np.array([[x, y]] * 2), abs=1e-9)


def test_an_x_axis_along_the_normal_is_refused() -> None:
    with pytest.raises(DesignError, match=r"motifs\.x_axis.*not parallel to the plane's normal"):
        world_from_plane((0, 0, 2.0), 5.0, (0, 0, -3.0))


# Dihedral angles of the Platonic solids (H. S. M. Coxeter, Regular Polytopes, table I): two faces
# whose dihedral angle is obtuse cross at its supplement.
@pytest.mark.parametrize(
    ("solid", "dihedral_deg"),
    [
        ("tetrahedron", 70.528779),
        ("cube", 90.0),
        ("octahedron", 109.471221),
        ("dodecahedron", 116.565051),
        ("icosahedron", 138.189685),
    ],
)
def test_faces_of_a_solid_cross_along_its_edges_at_the_dihedral_angle(
    solid: str, dihedral_deg: float
) -> None:
    frame = frame_from_solid(solid, 200.0)
    for (i, j), (left, right) in zip(frame.edges, frame.edge_faces, strict=True):
        n, m = frame.face_normals[left], frame.face_normals[right]
        corner = frame.vertices[i]
        line = section_line(n, float(n @ corner), m, float(m @ corner))
        assert line is not None
        assert line.angle_deg == pytest.approx(min(dihedral_deg, 180 - dihedral_deg), abs=1e-6)
        for end in (frame.vertices[i], frame.vertices[j]):
            apart = np.cross(end - line.point, line.direction)
            assert np.linalg.norm(apart) == pytest.approx(0.0, abs=1e-9)


@given(directions(), offsets, directions(), offsets)
def test_a_section_line_lies_in_both_planes_and_starts_nearest_to_the_origin(
    n: Floats, h: float, m: Floats, k: float
) -> None:
    assume(np.linalg.norm(np.cross(n, m)) > 1e-3)
    line = section_line(n, h, m, k)
    assert line is not None
    for along in (-70.0, 0.0, 200.0):
        point = line.point + along * line.direction
        assert point @ n == pytest.approx(h, abs=1e-6)
        assert point @ m == pytest.approx(k, abs=1e-6)
    assert line.point @ line.direction == pytest.approx(0.0, abs=1e-6)
    assert line.direction @ np.cross(n, m) == pytest.approx(np.linalg.norm(np.cross(n, m)))
    assert abs(n @ m) == pytest.approx(np.cos(np.radians(line.angle_deg)), abs=1e-9)
    assert 0 < line.angle_deg <= 90
    other = section_line(m, k, n, h)
    assert other is not None
    assert other.direction == pytest.approx(-line.direction)
    assert other.point == pytest.approx(line.point, abs=1e-6)


@given(directions(), offsets, directions(), offsets, st.integers(0, 2**31))
def test_a_section_line_turns_with_its_planes(
    n: Floats, h: float, m: Floats, k: float, seed: int
) -> None:
    assume(np.linalg.norm(np.cross(n, m)) > 1e-2)
    turn = Rotation.random(random_state=seed).as_matrix()
    here, there = section_line(n, h, m, k), section_line(turn @ n, h, turn @ m, k)
    assert here is not None
    assert there is not None
    assert there.direction == pytest.approx(turn @ here.direction, abs=1e-9)
    assert there.point == pytest.approx(turn @ here.point, abs=1e-6)


def test_parallel_planes_have_no_section_line() -> None:
    n = np.array([0.6, 0.0, 0.8])
    assert section_line(n, 5.0, n, 9.0) is None
    assert section_line(n, 5.0, -n, 5.0) is None


@given(
    st.lists(st.floats(20, 80), min_size=5, max_size=24),
    st.tuples(st.floats(-30, 30), st.floats(-30, 30)),
    st.floats(0, 6.28),
)
def test_places_where_a_line_cuts_a_ring_are_those_of_shapely(
    radii: list[float], point: tuple[float, float], bearing: float
) -> None:
    angle = 2 * np.pi * np.arange(len(radii)) / len(radii)
    ring = np.array(radii)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    start, way = np.array(point), np.array([np.cos(bearing), np.sin(bearing)])
    places = cut_line(ring, start, way)
    ruler = LineString([start - 400 * way, start + 400 * way])
    wanted = np.sort((get_coordinates(ruler.intersection(LinearRing(ring))) - start) @ way)
    assume(len(wanted) == 0 or np.diff(wanted, prepend=-1e3).min() > 1e-6)  # no graze at a corner
    assert len(places) % 2 == 0
    assert places == pytest.approx(wanted, abs=1e-6)
