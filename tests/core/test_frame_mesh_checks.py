# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A mesh that is no closed polyhedron is refused with what is wrong and where."""

from __future__ import annotations

import numpy as np
import pytest

from pinwright.core.errors import FrameError
from pinwright.core.frame.frame import frame_from_mesh, frame_from_solid
from pinwright.core.frame.mesh_checks import RawMesh, checked_mesh

CUBE = frame_from_solid("cube", 2.0)
VERTICES = CUBE.vertices
FACES = CUBE.faces


def refused(vertices: np.ndarray, faces: tuple[tuple[int, ...], ...]) -> str:
    with pytest.raises(FrameError) as error:
        checked_mesh(RawMesh("lump.obj", vertices, faces, first=1))
    return str(error.value)


def test_an_open_edge_is_named_with_its_places() -> None:
    gone = FACES[2]
    text = refused(VERTICES, (*FACES[:2], *FACES[3:]))
    assert text.startswith("lump.obj: the surface is open: 4 edges belong to one face only: vertex")
    for v in gone:
        place = ", ".join(f"{c:.6g}" for c in VERTICES[v])
        assert f"vertex {v + 1} ({place})" in text


def test_an_open_seam_is_told_to_be_merged() -> None:
    # The last face has four vertices of its own, at the places of the cube's.
    doubled = np.vstack([VERTICES, VERTICES[list(FACES[5])]])
    text = refused(doubled, (*FACES[:5], (8, 9, 10, 11)))
    assert "merge vertices by distance" in text


def test_an_edge_of_three_faces() -> None:
    fin = np.vstack([VERTICES, [[3.0, 3.0, 3.0]]])
    a, b = FACES[0][:2]
    text = refused(fin, (*FACES, (a, b, 8), (b, a, 8)))
    assert "is shared by 4 faces, allowed is 2" in text
    assert f"vertex {a + 1} (" in text


def test_faces_that_turn_the_wrong_way_are_turned_round() -> None:
    mixed = (FACES[0][::-1], FACES[1], FACES[2][::-1], *FACES[3:])
    inside_out = tuple(face[::-1] for face in FACES)
    for faces in (mixed, inside_out):
        frame = frame_from_mesh("cube", VERTICES, faces)
        assert (np.einsum("ij,ij->i", frame.face_normals, frame.face_centres) > 0.0).all()
        assert frame.group.name == "O"


def test_a_one_sided_surface() -> None:
    # The projective plane with six vertices (half an icosahedron): closed, every edge has two
    # faces, but no consistent way round.
    ring = [(0, k, k % 5 + 1) for k in range(1, 6)]
    cross = [(k, k % 5 + 1, (k + 2) % 5 + 1) for k in range(1, 6)]
    points = np.random.default_rng(1).normal(size=(6, 3))
    assert "one side only" in refused(points, tuple(ring + cross))


def test_several_pieces() -> None:
    both = np.vstack([VERTICES, VERTICES + 5.0])
    text = refused(both, FACES + tuple(tuple(v + 8 for v in face) for face in FACES))
    assert "several pieces: face 7 is not connected to face 1" in text


def test_two_solids_that_touch_in_a_vertex() -> None:
    # A ring whose tube is pinched to a point at one place: one surface, but not round that point.
    n = 8
    angle = 2.0 * np.pi * np.arange(n) / n
    radius = 1.0 - np.cos(angle)  # the tube closes to a point at angle 0
    rings = [
        np.stack([3 * np.cos(angle), 3 * np.sin(angle), 0 * angle], axis=1)
        + 0.4 * radius[:, None] * np.stack([c * np.cos(angle), c * np.sin(angle), s + 0 * angle], 1)
        for c, s in ((1.0, 0.0), (-0.5, 0.9), (-0.5, -0.9))
    ]
    points = np.vstack([[[3.0, 0.0, 0.0]], *[ring[1:] for ring in rings]])

    def at(r: int, k: int) -> int:
        return 0 if k % n == 0 else 1 + r * (n - 1) + k % n - 1

    faces = []
    for r in range(3):
        for k in range(n):
            corners = [at(r, k), at(r, k + 1), at((r + 1) % 3, k + 1), at((r + 1) % 3, k)]
            faces.append(tuple(dict.fromkeys(corners)))
    assert "at vertex 1 (3, 0, 0) two surfaces touch" in refused(points, tuple(faces))


def test_a_vertex_in_the_middle_of_an_edge() -> None:
    a, b = FACES[0][:2]
    middle = np.vstack([VERTICES, 0.5 * (VERTICES[a] + VERTICES[b])[None]])
    faces = []
    for face in FACES:
        after = dict(zip(face, (*face[1:], face[0]), strict=True))
        faces.append(tuple(w for v in face for w in ((v, 8) if {v, after[v]} == {a, b} else (v,))))
    assert "vertex 9 (" in refused(middle, tuple(faces))
    assert "joins two edges only" in refused(middle, tuple(faces))


def test_numbers_and_counts() -> None:
    assert "3 faces found" in refused(VERTICES, FACES[:3])
    assert "names vertex 9, allowed is 1 to 8" in refused(VERTICES, (*FACES[:5], (0, 1, 8)))
    assert "face 6 needs 3 or more different vertices, has 1 2 1" in refused(
        VERTICES, (*FACES[:5], (0, 1, 0))
    )
    spare = np.vstack([VERTICES, [[0.0, 0.0, 0.0]]])
    assert "1 vertices belong to no face: vertex 9 (0, 0, 0)" in refused(spare, FACES)
    bad = VERTICES.copy()
    bad[4, 1] = np.nan
    assert "vertex 5 (" in refused(bad, FACES)


def test_a_face_without_area_and_a_solid_without_volume() -> None:
    a, b, c, d = FACES[0]
    line = VERTICES.copy()
    line[[b, c]] = 0.5 * (line[[a]] + line[[d]])
    assert "face 1 has no area" in refused(line, FACES)
    tetrahedron = frame_from_solid("tetrahedron", 2.0)
    pressed = tetrahedron.vertices * (1.0, 1.0, 0.0)
    assert "encloses no volume" in refused(pressed, tetrahedron.faces)
