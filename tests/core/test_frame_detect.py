# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The group is found from the mesh: every solid, turned, stretched, disturbed, without symmetry."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from pinwright.core.frame.detect import detect_group, mirror_symmetric
from pinwright.core.frame.frame import Frame, frame_from_mesh, frame_from_solid, vertex_images_of
from pinwright.core.frame.group import rotation_group
from pinwright.core.frame.solids import catalogue
from pinwright.core.frame.topology import hull_faces

SOLIDS = [entry.name for entry in catalogue() if isinstance(entry.vertices, int)]
FAMILIES = [f"{kind} {n}" for kind in ("prism", "antiprism") for n in (3, 4, 5, 6, 7, 12, 60)]


def hull_frame(points: np.ndarray) -> Frame:
    return frame_from_mesh("hull", points, hull_faces(points), 2.0)


def tangent_solid(faces: int, seed: int) -> tuple[np.ndarray, tuple[tuple[int, ...], ...]]:
    """Return the solid that planes touching the unit sphere at random places cut out."""
    rng = np.random.default_rng(seed)
    normals = rng.normal(size=(faces, 3))
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    # Polar duality: the planes that bound the hull of the normals are the corners of the solid.
    planes = ConvexHull(normals).equations
    corners = planes[:, :3] / -planes[:, 3:]
    return corners, hull_faces(corners)


@pytest.mark.parametrize("name", SOLIDS + FAMILIES)
def test_every_solid_has_the_group_that_it_is_said_to_have(name: str) -> None:
    frame = frame_from_solid(name, 900.0)
    assert detect_group(frame.vertices, frame.faces) is frame.group


@pytest.mark.parametrize("name", SOLIDS + FAMILIES)
def test_only_snub_solids_and_their_duals_are_handed(name: str) -> None:
    handed = name.startswith(("snub", "pentagonal"))
    assert mirror_symmetric(frame_from_solid(name, 900.0)) is not handed


@pytest.mark.parametrize("name", ["tetrahedron", "cube", "octahedron", "icosahedron", "snub cube"])
def test_the_order_agrees_with_the_symmetries_of_the_edge_graph(name: str) -> None:
    # Independent library: networkx counts the automorphisms of the graph of edges. For these solids
    # each comes from one symmetry, and half of them are rotations if the solid has a mirror.
    frame = frame_from_solid(name, 2.0)
    graph = nx.Graph(frame.edges.tolist())
    matcher = nx.algorithms.isomorphism.GraphMatcher(graph, graph)
    count = sum(1 for _ in matcher.isomorphisms_iter())
    assert count == frame.group.order * (2 if mirror_symmetric(frame) else 1)


@given(st.sampled_from(SOLIDS + FAMILIES), st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=40)
def test_a_solid_turned_moved_and_rounded_keeps_its_group(name: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    frame = frame_from_solid(name, 900.0)
    turn = Rotation.random(random_state=seed).as_matrix()
    vertices = (frame.vertices @ turn.T + rng.normal(size=3) * 100.0).round(4)
    order = rng.permutation(len(vertices))
    place = np.argsort(order)
    faces = tuple(tuple(int(place[v]) for v in face) for face in frame.faces)
    found = frame_from_mesh("turned", vertices[order], faces)
    assert found.group.name == frame.group.name
    assert found.group.order == frame.group.order
    assert found.radius == pytest.approx(450.0, abs=1e-3)
    # The group is exact, the vertices lie exactly where it carries them.
    group = found.group
    products = group.matrices[:, None] @ group.matrices[None]
    assert np.abs(products - group.matrices[group.product]).max() < 1e-14
    carried = np.einsum("kab,ib->kia", group.matrices, found.vertices)
    assert np.abs(carried - found.vertices[found.vertex_images]).max() < 1e-10
    # It lies where the solid was turned to.
    turned = turn @ frame.group.matrices @ turn.T
    gaps = np.abs(turned[:, None] - group.matrices[None]).max(axis=(2, 3))
    assert gaps.min(axis=1).max() < 1e-5


@pytest.mark.parametrize(
    ("scale", "group"),
    [
        ((1.0, 1.0, 1.7), "D4"),
        ((1.0, 1.6, 1.0), "D4"),
        ((1.0, 1.3, 1.7), "D2"),
        ((1.0, 1.0, 1.0001), "D4"),
        ((1.0, 1.0, 1.000001), "O"),
    ],
)
def test_a_stretched_cube(scale: tuple[float, float, float], group: str) -> None:
    cube = frame_from_solid("cube", 2.0)
    found = frame_from_mesh("box", cube.vertices * np.array(scale), cube.faces)
    assert found.group.name == group


def test_pyramids_and_a_skew_solid() -> None:
    for n in (3, 4, 5, 9):
        angles = 2.0 * np.pi * np.arange(n) / n
        ring = np.stack([np.cos(angles), np.sin(angles), np.zeros(n)], axis=1)
        pyramid = hull_frame(np.vstack([ring, [[0.0, 0.0, 2.0]]]))
        assert pyramid.group.name == f"C{n}"
        assert mirror_symmetric(pyramid)
        twisted = ring @ Rotation.from_euler("z", 0.1).as_matrix().T * 0.5 + [0.0, 0.0, 2.0]
        skew = hull_frame(np.vstack([ring, twisted]))
        assert skew.group.name == f"C{n}"
        assert not mirror_symmetric(skew)


def test_the_axis_of_a_turned_pyramid() -> None:
    base = np.array([[1, 1, 0], [-1, 1, 0], [-1, -1, 0], [1, -1, 0], [0, 0, 3]], float)
    turn = Rotation.from_euler("xyz", [200.0, 40.0, 10.0], degrees=True).as_matrix()
    axes = hull_frame(base @ turn.T).group.axes()
    assert [fold for _, fold in axes] == [4]
    np.testing.assert_allclose(np.abs(axes[0][0] @ turn[:, 2]), 1.0, atol=1e-12)


def test_faces_count_as_well_as_vertices() -> None:
    # The vertices are a cube's; but one face is cut by its diagonal, which a half-turn keeps.
    cube = frame_from_solid("cube", 2.0)
    a, b, c, d = cube.faces[0]
    cut = frame_from_mesh("cut", cube.vertices, ((a, b, c), (a, c, d), *cube.faces[1:]))
    assert cut.group.name == "C2"
    assert mirror_symmetric(cut)


def test_a_solid_without_symmetry_of_500_edges() -> None:
    corners, faces = tangent_solid(169, seed=3)
    frame = frame_from_mesh("random", corners, faces, 900.0)
    assert len(frame.edges) == 501  # three at every corner: E = 3 F - 6
    assert (frame.group.name, frame.group.order) == ("C1", 1)
    assert frame.group is rotation_group("C1")
    assert not mirror_symmetric(frame)
    np.testing.assert_array_equal(frame.vertex_images, [np.arange(len(corners))])


def test_one_dented_corner_leaves_only_the_turns_that_keep_it() -> None:
    frame = frame_from_solid("icosahedron", 2.0)
    vertices = frame.vertices.copy()
    vertices[3] *= 0.9
    assert frame_from_mesh("dented", vertices, frame.faces).group.name == "C5"
    vertices[7] *= 1.05
    assert frame_from_mesh("dented", vertices, frame.faces).group.name in {"C1", "C5"}
    assert len(frame.group.stabiliser(frame.vertices[3])) == 5


def test_images_of_a_group_that_does_not_fit_are_refused() -> None:
    frame = frame_from_solid("cube", 2.0)
    with pytest.raises(ValueError, match="do not carry the vertices"):
        vertex_images_of(rotation_group("I"), frame.vertices)
