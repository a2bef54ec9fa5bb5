# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A mesh is fit to be a frame when it is one closed surface with a clear inside.

Faces that only turn the wrong way are turned round; everything else is refused with the numbers and
places of what is wrong, so that it can be found in the program that the mesh came from.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from ..errors import FrameError
from .topology import Faces, corners_of, face_normals_of, volume_of

__all__ = ["RawMesh", "checked_mesh"]

Floats = npt.NDArray[np.float64]

# A face or a solid is nothing when its area or volume is below this share of size^2 or size^3.
_FLAT = 1e-9
# How many places a message names at most.
_SHOWN = 4


@dataclass(frozen=True, slots=True, eq=False)
class RawMesh:
    """A mesh as it was read, not yet looked at.

    source : file or object, for messages
    vertices : (V, 3) float, any unit
    faces : vertex numbers from 0
    first : number that the source gives to its first vertex and face (OBJ counts from 1)
    face_lines : line of each face in a text file; empty if there are none
    """

    source: str
    vertices: Floats
    faces: Faces
    first: int = 0
    face_lines: tuple[int, ...] = ()

    def vertex_text(self, v: int) -> str:
        """Return e.g. ``vertex 7 (0, 12.5, -3)``."""
        return f"vertex {v + self.first} ({', '.join(f'{c:.6g}' for c in self.vertices[v])})"

    def face_text(self, f: int) -> str:
        """Return e.g. ``face 12 (line 40)``."""
        line = f" (line {self.face_lines[f]})" if self.face_lines else ""
        return f"face {f + self.first}{line}"

    def error(self, text: str) -> FrameError:
        """Return the error that says `text` of this source."""
        return FrameError(f"{self.source}: {text}")


def checked_mesh(raw: RawMesh) -> tuple[Floats, Faces]:
    """Return vertices (V, 3) and faces, all anticlockwise seen from outside.

    Raises
    ------
    FrameError : not a number, vertex out of range, repeated or unused vertex, fewer than 4 faces,
        face without area, open or non-manifold edge, two surfaces that touch in a vertex, vertex
        with only two edges, several pieces, no inside.
    """
    _check_numbers(raw)
    _check_areas(raw)
    neighbours = _edge_neighbours(raw)
    faces = _turned_alike(raw, neighbours)
    _check_vertices(raw, faces)
    return raw.vertices, _turned_outward(raw, faces)


def _check_numbers(raw: RawMesh) -> None:
    count = len(raw.vertices)
    bad = np.flatnonzero(~np.isfinite(raw.vertices).all(axis=1))
    if len(bad):
        raise raw.error(f"{raw.vertex_text(int(bad[0]))} is not finite.")
    if len(raw.faces) < 4:
        raise raw.error(f"{len(raw.faces)} faces found; a closed polyhedron has at least 4.")
    for f, face in enumerate(raw.faces):
        out = next((v for v in face if not 0 <= v < count), None)
        if out is not None:
            last = count - 1 + raw.first
            text = f"{raw.face_text(f)} names vertex {out + raw.first}"
            raise raw.error(f"{text}, allowed is {raw.first} to {last}.")
        if len(set(face)) != len(face) or len(face) < 3:
            shown = " ".join(str(v + raw.first) for v in face)
            raise raw.error(f"{raw.face_text(f)} needs 3 or more different vertices, has {shown}.")
    unused = np.setdiff1d(np.arange(count), [v for face in raw.faces for v in face])
    if len(unused):
        named = _listed([raw.vertex_text(int(v)) for v in unused])
        raise raw.error(f"{len(unused)} vertices belong to no face: {named}. Delete them.")


def _check_areas(raw: RawMesh) -> None:
    areas = np.linalg.norm(
        face_normals_of(raw.vertices, corners_of(raw.faces), len(raw.faces)), axis=1
    )
    size = float(np.ptp(raw.vertices, axis=0).max())
    flat = np.flatnonzero(areas <= _FLAT * size**2)
    if len(flat):
        f = int(flat[0])
        named = _listed([raw.vertex_text(v) for v in raw.faces[f]])
        raise raw.error(f"{raw.face_text(f)} has no area: {named}.")


def _edge_neighbours(raw: RawMesh) -> dict[tuple[int, int], list[int]]:
    """Return the two faces of every edge (i, j), i < j."""
    faces_at: dict[tuple[int, int], list[int]] = {}
    for f, face in enumerate(raw.faces):
        for v, w in zip(face, (*face[1:], face[0]), strict=True):
            faces_at.setdefault((min(v, w), max(v, w)), []).append(f)
    open_edges = [edge for edge, at in faces_at.items() if len(at) == 1]
    if open_edges:
        raise raw.error(_open_text(raw, open_edges))
    for (v, w), at in faces_at.items():
        if len(at) > 2:
            named = _listed([raw.face_text(f) for f in at])
            ends = f"{raw.vertex_text(v)} - {raw.vertex_text(w)}"
            raise raw.error(f"edge {ends} is shared by {len(at)} faces, allowed is 2: {named}.")
    return faces_at


def _open_text(raw: RawMesh, open_edges: list[tuple[int, int]]) -> str:
    ends = _listed([f"{raw.vertex_text(v)} - {raw.vertex_text(w)}" for v, w in open_edges])
    counted = "1 edge belongs" if len(open_edges) == 1 else f"{len(open_edges)} edges belong"
    text = f"the surface is open: {counted} to one face only: {ends}."
    size = float(np.ptp(raw.vertices, axis=0).max())
    rim = np.unique(np.array(open_edges))
    twins = rim[cKDTree(raw.vertices[rim]).query_pairs(1e-6 * size, output_type="ndarray")]
    if len(twins):
        v, w = twins[0].tolist()
        pair = f"{v + raw.first} and {w + raw.first}"
        return f"{text} Vertices {pair} are at one place: merge vertices by distance."
    return f"{text} Close the surface there."


def _turned_alike(raw: RawMesh, neighbours: dict[tuple[int, int], list[int]]) -> Faces:
    """Return the faces turned so that every edge is run through once each way."""
    faces = list(raw.faces)
    across: list[list[tuple[int, int, int]]] = [[] for _ in faces]
    for (v, w), (f, g) in neighbours.items():
        across[f].append((g, v, w))
        across[g].append((f, v, w))
    done = {0}
    waiting = deque([0])
    while waiting:
        f = waiting.popleft()
        for g, v, w in across[f]:
            alike = _runs(faces[f], v, w) != _runs(faces[g], v, w)
            if g not in done:
                done.add(g)
                waiting.append(g)
                if not alike:
                    faces[g] = faces[g][::-1]
            elif not alike:
                ends = f"{raw.vertex_text(v)} - {raw.vertex_text(w)}"
                raise raw.error(f"the surface has one side only (see edge {ends}).")
    if len(done) < len(faces):
        apart = next(f for f in range(len(faces)) if f not in done)
        text = f"the mesh is in several pieces: {raw.face_text(apart)} is not connected to"
        raise raw.error(f"{text} {raw.face_text(0)}. Keep one piece.")
    return tuple(faces)


def _runs(face: Sequence[int], v: int, w: int) -> bool:
    """Tell whether the face runs through its edge from v to w (not from w to v)."""
    return face[(face.index(v) + 1) % len(face)] == w


def _check_vertices(raw: RawMesh, faces: Faces) -> None:
    """Refuse a vertex where two surfaces touch, and one that only two edges reach."""
    following: list[dict[int, int]] = [{} for _ in raw.vertices]
    for face in faces:
        for u, v, w in zip((face[-1], *face[:-1]), face, (*face[1:], face[0]), strict=True):
            following[v][w] = u
    for v, turn in enumerate(following):
        start = min(turn)
        ring, at = 1, turn[start]
        while at != start:
            ring, at = ring + 1, turn[at]
        if ring < len(turn):
            raise raw.error(f"at {raw.vertex_text(v)} two surfaces touch. Separate them there.")
        if len(turn) == 2:
            named = raw.vertex_text(v)
            raise raw.error(f"{named} joins two edges only, allowed is 3 or more. Dissolve it.")


def _turned_outward(raw: RawMesh, faces: Faces) -> Faces:
    volume = volume_of(raw.vertices, corners_of(faces), len(faces))
    size = float(np.ptp(raw.vertices, axis=0).max())
    if abs(volume) <= _FLAT * size**3:
        raise raw.error("the mesh encloses no volume.")
    return faces if volume > 0.0 else tuple(face[::-1] for face in faces)


def _listed(names: Sequence[str]) -> str:
    """Return the first few names, then how many more there are."""
    more = len(names) - _SHOWN
    return ", ".join(names[:_SHOWN]) + (f" and {more} more" if more > 0 else "")
