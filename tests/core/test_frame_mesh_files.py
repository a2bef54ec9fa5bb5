# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Mesh files: written by an independent library and read back; what cannot be read is named."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import plyfile
import pytest
import trimesh

from pinwright.core.errors import FrameError
from pinwright.core.frame.frame import Frame, frame_from_file, frame_from_solid
from pinwright.core.frame.mesh_files import read_mesh

TRIANGLES = ["tetrahedron", "octahedron", "icosahedron", "triakis octahedron"]
POLYGONS = ["cube", "truncated icosahedron", "snub cube", "pentagonal hexecontahedron", "prism 7"]


def fan(frame: Frame) -> trimesh.Trimesh:
    triangles = [(f[0], f[k], f[k + 1]) for f in frame.faces for k in range(1, len(f) - 1)]
    return trimesh.Trimesh(frame.vertices, triangles, process=False)


def cycle(face: tuple[int, ...]) -> tuple[int, ...]:
    start = face.index(min(face))
    return (*face[start:], *face[:start])


def same_polyhedron(found: Frame, wanted: Frame) -> None:
    """Assert equal vertices and faces, whatever their numbers."""
    gaps = np.linalg.norm(found.vertices[:, None] - wanted.vertices[None], axis=2)
    place = gaps.argmin(axis=1)
    assert gaps.min(axis=1).max() < 1e-4
    assert len(found.vertices) == len(wanted.vertices)
    carried = {cycle(tuple(int(place[v]) for v in face)) for face in found.faces}
    assert carried == {cycle(face) for face in wanted.faces}
    assert found.group.name == wanted.group.name


@pytest.mark.parametrize("kind", ["obj", "off", "ply", "ply_ascii", "stl", "stl_ascii"])
@pytest.mark.parametrize("name", TRIANGLES)
def test_files_that_trimesh_writes(name: str, kind: str, tmp_path: Path) -> None:
    frame = frame_from_solid(name, 900.0)
    path = tmp_path / f"solid.{kind[:3]}"
    if kind == "ply_ascii":
        path.write_bytes(trimesh.exchange.ply.export_ply(fan(frame), encoding="ascii"))
    else:
        fan(frame).export(path, file_type=kind)
    same_polyhedron(frame_from_file(path), frame)


@pytest.mark.parametrize("kind", ["stl", "stl_ascii"])
@pytest.mark.parametrize("name", POLYGONS)
def test_triangles_of_an_stl_file_become_polygons_again(
    name: str, kind: str, tmp_path: Path
) -> None:
    frame = frame_from_solid(name, 900.0)
    path = tmp_path / "solid.stl"
    fan(frame).export(path, file_type=kind)
    same_polyhedron(frame_from_file(path), frame)


def test_an_stl_file_with_needless_vertices(tmp_path: Path) -> None:
    # Each side is cut in eight triangles: vertices in the middle of faces and of edges go away.
    path = tmp_path / "box.stl"
    trimesh.creation.box((1.0, 2.0, 3.0)).subdivide().export(path)
    frame = frame_from_file(path, 900.0)
    assert (len(frame.vertices), len(frame.edges), len(frame.faces)) == (8, 12, 6)
    assert (frame.group.name, frame.radius) == ("D2", 450.0)


def test_a_round_stl_file_keeps_its_facets_and_a_ring_its_triangles(tmp_path: Path) -> None:
    trimesh.creation.icosphere(3).export(tmp_path / "ball.stl")
    assert len(frame_from_file(tmp_path / "ball.stl").faces) == 1280
    # The flat faces of a ring have a hole each, so they stay in triangles; the sides do not.
    ring = trimesh.creation.annulus(1.0, 2.0, 1.0, sections=16)
    ring.export(tmp_path / "ring.stl")
    frame = frame_from_file(tmp_path / "ring.stl")
    assert len(frame.vertices) - len(frame.edges) + len(frame.faces) == 0
    assert sorted(map(len, frame.faces)) == [3] * 64 + [4] * 32


@pytest.mark.parametrize("name", POLYGONS)
@pytest.mark.parametrize("kind", ["obj", "off", "ply", "ply_big_endian", "ply_ascii"])
def test_polygon_files(name: str, kind: str, tmp_path: Path) -> None:
    """True polygons; an independent library reads the same volume from the same OBJ file."""
    frame = frame_from_solid(name, 900.0)
    path = tmp_path / f"solid.{kind[:3]}"
    rows = [" ".join(f"{c:.9f}" for c in vertex) for vertex in frame.vertices]
    if kind == "obj":
        lines = [f"v {row}" for row in rows]
        lines += ["f " + " ".join(f"{v + 1}//1" for v in face) for face in frame.faces]
        path.write_text("# a solid\no thing\n" + "\n".join(lines) + "\n")
    elif kind == "off":
        lines = [f"{len(face)} " + " ".join(map(str, face)) for face in frame.faces]
        head = f"OFF # a solid\n\n{len(rows)} {len(frame.faces)} {len(frame.edges)}\n"
        path.write_text(head + "\n".join([*rows, *lines]) + "\n")
    else:
        points = np.array(
            [tuple(v) for v in frame.vertices], dtype=[(axis, "f8") for axis in "xyz"]
        )
        faces = np.empty(len(frame.faces), dtype=[("vertex_indices", object)])
        faces["vertex_indices"] = [np.array(face, dtype="i4") for face in frame.faces]
        elements = [
            plyfile.PlyElement.describe(points, "vertex"),
            plyfile.PlyElement.describe(faces, "face"),
        ]
        order = ">" if kind.endswith("endian") else "<"
        plyfile.PlyData(elements, text=kind == "ply_ascii", byte_order=order).write(path)
    same_polyhedron(frame_from_file(path), frame)
    if kind == "obj":  # trimesh reads no PLY or OFF file whose faces have different sizes
        assert trimesh.load_mesh(path).volume == pytest.approx(fan(frame).volume, rel=1e-6)


def test_obj_habits(tmp_path: Path) -> None:
    # Negative numbers, continued lines, texture and normal numbers, lines of no interest.
    path = tmp_path / "four.obj"
    path.write_text(
        "mtllib a.mtl\nv 0 0 0 1.0\nv 1 0 0\nv 0 \\\n 1 0\nv 0 0 1e0\nvn 0 0 1\nusemtl b\ns off\n"
        "f 1/1/1 3/2/1 2/3/1\nf 1 2 \\\n4\nf -3 -2 -1\nf 3//1 1//1 4//1\nl 1 2\n"
    )
    raw = read_mesh(path)
    assert raw.faces == ((0, 2, 1), (0, 1, 3), (1, 2, 3), (2, 0, 3))
    assert raw.face_lines == (10, 12, 13, 14)
    assert frame_from_file(path).group.name == "C3"


BROKEN = {
    "word.obj": ("v 0 0 0\nv 1 x 0\n", r"word\.obj, line 2: cannot read numbers in '1 x 0'"),
    "short.obj": ("v 0 0 0\nv 1 2\n", r"short\.obj, line 2: 2 coordinates, allowed is 3"),
    "index.obj": ("v 0 0 0\nf 1 2.5 3\n", r"line 2: cannot read whole numbers in '1 2\.5 3'"),
    "empty.obj": ("# nothing\n", "no vertices with faces"),
    "points.obj": ("v 0 0 0\nv 1 0 0\nv 0 1 0\n", "no vertices with faces"),
    "zero.obj": (
        "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 0 1 2\nf 1 2 4\nf 2 3 4\nf 3 1 4\n",
        r"face 1 \(line 5\) names vertex 0, allowed is 1 to 4",
    ),
    "open.obj": (
        "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nv 1 1 1\nf 1 3 2\nf 1 2 4\nf 2 3 5\nf 3 1 4\n",
        r"open: 4 edges .*: vertex 2 \(1, 0, 0\) - vertex 4 \(0, 0, 1\)",
    ),
    "head.off": (
        "PLY\n1 1 1\n",
        "line 1: found 'PLY', allowed is a text file that begins with OFF",
    ),
    "count.off": ("OFF\nfour\n", "line 2: cannot read whole numbers in 'four'"),
    "none.off": ("OFF\n", "numbers of vertices and faces are missing"),
    "end.off": ("OFF\n4 4 6\n0 0 0\n1 0 0\n", "ends after 2 of 4 vertices"),
    "face.off": ("OFF 3 1 3\n0 0 0\n1 0 0\n0 1 0\n4 0 1 2\n", "line 5: a face of 4 with 3"),
    "bad.ply": ("ply\nformat ascii 1.0\nelement vertex 1\n", r"bad\.ply"),
    "other.ply": (
        "ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nend_header\n0\n",
        "vertices with x, y, z and faces with vertex_indices",
    ),
    "noise.stl": ("what is this", "12 bytes are neither a text nor a binary STL file"),
    "two.stl": ("solid a\nvertex 0 0 0\nvertex 1 0 0\n", "2 corners are no whole number"),
    "word.stl": ("solid a\nfacet\nvertex 0 0 zero\n", r"word\.stl, line 3: cannot read numbers"),
    "solid.step": ("ISO", r"found extension '\.step', allowed is \.obj, \.off, \.ply, \.stl"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_broken_files_are_refused_with_the_place(name: str, tmp_path: Path) -> None:
    text, message = BROKEN[name]
    (tmp_path / name).write_text(text)
    with pytest.raises(FrameError, match=message):
        frame_from_file(tmp_path / name)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(FrameError, match=r"gone\.obj: the file cannot be read"):
        read_mesh(tmp_path / "gone.obj")
