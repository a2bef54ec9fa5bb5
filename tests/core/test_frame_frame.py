# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The frame: shape, order round faces and vertices, size, and where the choice of one leads."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from pinwright.core.design.model import FrameChoice
from pinwright.core.errors import DesignError, FrameError
from pinwright.core.frame.frame import Frame, frame_from_choice, frame_from_mesh, frame_from_solid
from pinwright.core.frame.solids import MOST_SIDES, catalogue, solid

SOLIDS = [entry.name for entry in catalogue() if isinstance(entry.vertices, int)]
FAMILIES = [f"{kind} {n}" for kind in ("prism", "antiprism") for n in (3, 4, 5, 8, MOST_SIDES)]


def fan(frame: Frame) -> trimesh.Trimesh:
    """Return the frame as triangles for the independent library."""
    triangles = [(f[0], f[k], f[k + 1]) for f in frame.faces for k in range(1, len(f) - 1)]
    return trimesh.Trimesh(frame.vertices, triangles, process=False)


@pytest.mark.parametrize("name", SOLIDS + FAMILIES)
def test_shape_of_every_solid(name: str) -> None:
    frame = frame_from_solid(name, 900.0)
    assert len(frame.vertices) - len(frame.edges) + len(frame.faces) == 2  # Euler
    assert np.linalg.norm(frame.vertices, axis=1).max() == pytest.approx(450.0, abs=1e-9)
    assert frame.radius == 450.0
    if solid(name).family != "Catalan":
        np.testing.assert_allclose(frame.edge_lengths, frame.edge_lengths[0], rtol=1e-12)
    # Faces are plane, face outward, and their centres are the feet of their planes' normals.
    heights = np.einsum("ij,ij->i", frame.face_normals, frame.face_centres)
    assert heights.min() > 0.0
    for face, normal, height in zip(frame.faces, frame.face_normals, heights, strict=True):
        np.testing.assert_allclose(frame.vertices[list(face)] @ normal, height, atol=1e-9)
    assert (np.einsum("ij,ij->i", frame.vertex_normals, frame.vertices) > 0.0).all()
    middles = frame.vertices[frame.edges].mean(axis=1)
    assert (np.einsum("ij,ij->i", frame.edge_normals, middles) > 0.0).all()
    assert np.abs(frame.face_centres.mean(axis=0)).max() < 1e-9


@pytest.mark.parametrize("name", SOLIDS + FAMILIES)
def test_an_independent_library_sees_the_same_solid(name: str) -> None:
    # Independent library: trimesh (closed, turned alike, volume, centre of mass).
    frame = frame_from_solid(name, 900.0)
    mesh = fan(frame)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    np.testing.assert_allclose(mesh.center_mass, 0.0, atol=1e-9)
    heights = np.einsum("ij,ij->i", frame.face_normals, frame.face_centres)
    areas = np.bincount(
        np.repeat(np.arange(len(frame.faces)), [len(f) - 2 for f in frame.faces]), mesh.area_faces
    )
    assert mesh.volume == pytest.approx(float(areas @ heights) / 3.0, rel=1e-12)


@pytest.mark.parametrize("name", ["cube", "snub dodecahedron", "triakis octahedron", "antiprism 7"])
def test_neighbours_go_round_anticlockwise(name: str) -> None:
    frame = frame_from_solid(name, 2.0)
    edges = {tuple(edge) for edge in frame.edges.tolist()}
    for v, ring in enumerate(frame.vertex_neighbours):
        assert {(min(v, w), max(v, w)) for w in ring} == {e for e in edges if v in e}
        spokes = frame.vertices[list(ring)] - frame.vertices[v]
        turns = np.cross(spokes, np.roll(spokes, -1, axis=0)) @ frame.vertex_normals[v]
        assert (turns > 0.0).all()


@pytest.mark.parametrize("name", ["cube", "rhombicosidodecahedron", "prism 5"])
def test_edge_faces_are_left_and_right(name: str) -> None:
    frame = frame_from_solid(name, 2.0)
    for (i, j), (left, right), normal in zip(
        frame.edges.tolist(), frame.edge_faces.tolist(), frame.edge_normals, strict=True
    ):
        along = frame.vertices[j] - frame.vertices[i]
        to_left = np.cross(normal, along)
        assert to_left @ (frame.face_centres[left] - frame.vertices[i]) > 0.0
        assert to_left @ (frame.face_centres[right] - frame.vertices[i]) < 0.0
        assert {i, j} <= set(frame.faces[left]) & set(frame.faces[right])


@pytest.mark.parametrize("name", SOLIDS + FAMILIES)
def test_vertex_images_are_a_group_of_permutations(name: str) -> None:
    frame = frame_from_solid(name, 2.0)
    images, group = frame.vertex_images, frame.group
    carried = np.einsum("kab,ib->kia", group.matrices, frame.vertices)
    np.testing.assert_allclose(carried, frame.vertices[images], atol=1e-12)
    a, b = np.arange(group.order)[:, None], np.arange(group.order)[None]
    np.testing.assert_array_equal(images[group.product[a, b]], images[a[..., None], images[b]])
    faces = {frozenset(face) for face in frame.faces}
    for k in range(group.order):
        assert {frozenset(images[k, list(face)].tolist()) for face in frame.faces} == faces


def test_a_frame_cannot_be_changed() -> None:
    frame = frame_from_solid("cube", 2.0)
    for array in (frame.vertices, frame.edges, frame.face_normals, frame.vertex_images):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 0


def test_names_may_be_written_in_any_way() -> None:
    for name in ("Truncated Icosahedron", "truncated-icosahedron", " TRUNCATED_icosahedron "):
        assert solid(name) is solid("truncated icosahedron")
    assert solid("Prism-7").name == "prism 7"
    assert solid("antiprism_5").name == "antiprism 5"
    assert solid("snub cube right") is solid("snub cube")


def test_left_is_the_mirror_image() -> None:
    right, left = solid("snub cube").vertices, solid("snub cube left").vertices
    gaps = np.linalg.norm(-right[:, None] - left[None], axis=2)
    assert gaps.min(axis=1).max() < 1e-12
    assert np.linalg.norm(right[:, None] - left[None], axis=2).min() > 0.1


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("cuboctahedran", "nearest: cuboctahedron"),
        ("icosahedrn", "nearest: icosahedron"),
        ("prism 2", "n from 3 to 60"),
        ("prism 61", "n from 3 to 60"),
        ("antiprism", "n from 3 to 60"),
        ("cube left", "nearest: cube"),
        ("xyzzy", "no solid of the catalogue"),
    ],
)
def test_an_unknown_solid_is_refused_with_the_nearest(name: str, message: str) -> None:
    with pytest.raises(FrameError, match=message):
        solid(name)


def test_a_choice_leads_to_a_solid_a_mesh_or_a_group(tmp_path: Path) -> None:
    chosen = frame_from_choice(FrameChoice(900.0, solid="Cube"))
    assert (chosen.name, chosen.radius, chosen.group.name) == ("cube", 450.0, "O")
    bare = frame_from_choice(FrameChoice(700.0, group="D5"))
    assert (bare.radius, bare.group.order, bare.vertices.shape) == (350.0, 10, (0, 3))
    assert bare.edges.shape == (0, 2)
    assert bare.vertex_neighbours == ()
    (tmp_path / "deep").mkdir()
    trimesh.creation.box((1, 2, 3)).export(tmp_path / "deep" / "box.stl")
    mesh = frame_from_choice(FrameChoice(500.0, mesh="deep/box.stl"), str(tmp_path))
    assert (mesh.name, mesh.radius, mesh.group.name) == ("box", 250.0, "D2")
    assert len(mesh.faces) == 6


@pytest.mark.parametrize(
    "choice",
    [
        FrameChoice(1.0),
        FrameChoice(1.0, solid="cube", group="O"),
        FrameChoice(1.0, "cube", "a.obj"),
    ],
)
def test_a_choice_of_none_or_two_is_refused(choice: FrameChoice) -> None:
    with pytest.raises(DesignError, match="exactly one of solid, mesh and group"):
        frame_from_choice(choice)


def test_a_mesh_keeps_its_size_and_is_centred_on_its_volume() -> None:
    rng = np.random.default_rng(5)
    hull = trimesh.convex.convex_hull(rng.normal(size=(40, 3)) * (100.0, 60.0, 40.0) + 700.0)
    frame = frame_from_mesh("lump", hull.vertices, hull.faces.tolist())
    np.testing.assert_allclose(frame.vertices, hull.vertices - hull.center_mass, atol=1e-9)
    assert frame.radius == pytest.approx(
        float(np.linalg.norm(hull.vertices - hull.center_mass, axis=1).max())
    )
    scaled = frame_from_mesh("lump", hull.vertices, hull.faces.tolist(), 900.0)
    assert np.linalg.norm(scaled.vertices, axis=1).max() == pytest.approx(450.0)
    # Independent library: trimesh's normals (of triangles, and at vertices weighted by angle).
    np.testing.assert_allclose(frame.face_normals, hull.face_normals, atol=1e-9)
    triangles = trimesh.Trimesh(hull.vertices, hull.faces, process=False)
    weighted = trimesh.geometry.weighted_vertex_normals(
        len(hull.vertices), triangles.faces, triangles.face_normals, triangles.face_angles
    )
    np.testing.assert_allclose(frame.vertex_normals, weighted, atol=1e-9)
