# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Read a mesh file into vertices and polygon faces, as it stands in the file.

General mesh libraries split polygons into triangles, and a frame needs its true faces. OBJ and OFF
are a few lines of words and STL is triangles only, so they are read here; PLY, which describes its
own layout, is read by plyfile.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt

from ..errors import FrameError
from .mesh_checks import RawMesh
from .triangles import polygons_of

__all__ = ["READERS", "read_mesh"]

Floats = npt.NDArray[np.float64]

_ANEW = "Write the mesh anew: vertices and flat faces, as OBJ, OFF, PLY or STL."
_STL_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("count", "<u2")])


def read_mesh(path: str | Path) -> RawMesh:
    """Return the mesh of an OBJ, OFF, PLY or STL file; vertex units are the file's.

    The triangles of an STL file are joined: equal corners become one vertex, triangles in one plane
    one face.

    Raises
    ------
    FrameError : unknown extension, missing or unreadable file, a line that makes no sense (its
        number is given), or nothing in it.
    """
    file = Path(path)
    reader = READERS.get(file.suffix.lower())
    if reader is None:
        allowed = ", ".join(READERS)
        raise FrameError(f"{file.name}: found extension {file.suffix!r}, allowed is {allowed}.")
    try:
        data = file.read_bytes()
    except OSError as error:
        raise FrameError(f"{file}: the file cannot be read ({error.strerror}).") from error
    try:
        raw = reader(file.name, data)
    except FrameError as error:
        raise FrameError(f"{error} {_ANEW}") from error
    if not len(raw.vertices) or not raw.faces:
        raise FrameError(f"{file.name}: the file holds no vertices with faces. {_ANEW}")
    return raw


def _read_obj(name: str, data: bytes) -> RawMesh:
    vertices: list[tuple[float, ...]] = []
    faces: list[tuple[int, ...]] = []
    lines: list[int] = []
    for number, words in _lines(data, continued=True):
        if words[0] == "v":
            vertices.append(_floats(name, number, words[1:4], 3))
        elif words[0] == "f":
            given = _ints(name, number, [word.split("/")[0] for word in words[1:]])
            # OBJ counts from 1; a negative number counts back from the latest vertex.
            faces.append(tuple(v - 1 if v > 0 else len(vertices) + v if v else -1 for v in given))
            lines.append(number)
    return RawMesh(name, _array(vertices), tuple(faces), 1, tuple(lines))


def _read_off(name: str, data: bytes) -> RawMesh:
    rows = _lines(data)
    number, words = next(rows, (1, [""]))
    keyword, words = words[0], words[1:]
    if keyword not in {"OFF", "COFF", "NOFF", "CNOFF"} or words[:1] == ["BINARY"]:
        text = f"found {keyword!r}, allowed is a text file that begins with OFF"
        raise FrameError(f"{name}, line {number}: {text}.")
    if not words:
        number, words = next(rows, (number, []))
    counts = _ints(name, number, words[:3])
    if len(counts) < 2 or min(counts) < 0:
        raise FrameError(f"{name}, line {number}: the numbers of vertices and faces are missing.")
    vertices, faces, lines = [], [], []
    for number, words in _first(name, rows, counts[0], "vertices"):
        vertices.append(_floats(name, number, words[:3], 3))
    for number, words in _first(name, rows, counts[1], "faces"):
        size = _ints(name, number, words[:1])[0]
        face = _ints(name, number, words[1 : size + 1])
        if size < 3 or len(face) < size:
            raise FrameError(f"{name}, line {number}: a face of {size} with {len(face)} vertices.")
        faces.append(face)
        lines.append(number)
    return RawMesh(name, _array(vertices), tuple(faces), 0, tuple(lines))


def _read_ply(name: str, data: bytes) -> RawMesh:
    # Only this format needs the library.
    from plyfile import PlyData, PlyParseError

    try:
        ply = PlyData.read(io.BytesIO(data))
        points = ply["vertex"]
        vertices = np.stack([points[axis] for axis in "xyz"], axis=1).astype(float)
        table = ply["face"]
        key = next(k for k in ("vertex_indices", "vertex_index") if k in table)
        faces = tuple(tuple(int(v) for v in row) for row in table[key])
    except PlyParseError as error:
        raise FrameError(f"{name}: {error}.") from error
    except (KeyError, ValueError, StopIteration, UnicodeDecodeError) as error:
        wanted = "vertices with x, y, z and faces with vertex_indices"
        raise FrameError(f"{name}: this is no PLY file that holds {wanted}.") from error
    return RawMesh(name, vertices, faces)


def _read_stl(name: str, data: bytes) -> RawMesh:
    count = int.from_bytes(data[80:84], "little")
    if len(data) >= 84 and len(data) == 84 + count * _STL_RECORD.itemsize:
        corners = np.frombuffer(data, _STL_RECORD, count, 84)["corners"].astype(float)
    elif data.lstrip()[:5].lower() == b"solid":
        points = [
            _floats(name, number, words[1:4], 3)
            for number, words in _lines(data)
            if words[0].lower() == "vertex"
        ]
        if len(points) % 3:
            raise FrameError(f"{name}: {len(points)} corners are no whole number of triangles.")
        corners = _array(points).reshape(-1, 3, 3)
    else:
        raise FrameError(f"{name}: {len(data)} bytes are neither a text nor a binary STL file.")
    if not np.isfinite(corners).all():
        bad = int(np.argmin(np.isfinite(corners).all(axis=(1, 2))))
        raise FrameError(f"{name}: triangle {bad} has a corner that is not finite.")
    vertices, faces = polygons_of(corners)
    return RawMesh(name, vertices, faces)


READERS: dict[str, Callable[[str, bytes], RawMesh]] = {
    ".obj": _read_obj,
    ".off": _read_off,
    ".ply": _read_ply,
    ".stl": _read_stl,
}


def _lines(data: bytes, continued: bool = False) -> Iterator[tuple[int, list[str]]]:
    """Yield (line number from 1, words) of each line that is not empty, without # comments.

    continued : a backslash at the end of a line joins the next one to it
    """
    held: list[str] = []
    for number, line in enumerate(data.decode("utf-8", "replace").splitlines(), 1):
        text = line.split("#", 1)[0].strip()
        if continued and text.endswith("\\"):
            held += text[:-1].split()
            continue
        words, held = held + text.split(), []
        if words:
            yield number, words


def _first(
    name: str, rows: Iterator[tuple[int, list[str]]], count: int, what: str
) -> Iterator[tuple[int, list[str]]]:
    for found in range(count):
        row = next(rows, None)
        if row is None:
            raise FrameError(f"{name}: the file ends after {found} of {count} {what}.")
        yield row


def _floats(name: str, number: int, words: list[str], count: int) -> tuple[float, ...]:
    try:
        values = tuple(float(word) for word in words)
    except ValueError as error:
        shown = " ".join(words)
        raise FrameError(f"{name}, line {number}: cannot read numbers in {shown!r}.") from error
    if len(values) != count:
        raise FrameError(f"{name}, line {number}: {len(values)} coordinates, allowed is {count}.")
    return values


def _ints(name: str, number: int, words: list[str]) -> tuple[int, ...]:
    try:
        return tuple(int(word) for word in words)
    except ValueError as error:
        shown = " ".join(words)
        text = f"cannot read whole numbers in {shown!r}"
        raise FrameError(f"{name}, line {number}: {text}.") from error


def _array(points: list[tuple[float, ...]]) -> Floats:
    return np.array(points, dtype=float).reshape(-1, 3)
