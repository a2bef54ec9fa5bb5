# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The catalogue of solids, computed from their rotation groups: none is typed in.

Platonic and Archimedean solids by Wythoff's construction (H. S. M. Coxeter, Regular Polytopes,
chapter 5, from memory): the three mirrors of the group of all symmetries bound a triangle with
corners on a p-fold, a 3-fold and a 2-fold axis; a point that lies on some mirrors and equally far
from the others has an orbit with equal edges. Snub solids take the rotations only, a Catalan solid
is the polar of its Archimedean one in the sphere that touches the edges.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.optimize import root

from ..errors import FrameError
from .group import Group, rotation_group
from .topology import Faces, corners_of, face_normals_of, hull_faces, unit_rows

__all__ = ["MOST_SIDES", "CatalogueEntry", "Solid", "catalogue", "solid"]

Floats = npt.NDArray[np.float64]

# Prisms and antiprisms go from 3 sides up to this many.
MOST_SIDES = 60

# Group, and which of the mirrors opposite the p-fold, 3-fold and 2-fold axis the point stays off.
_MIRRORS: dict[str, tuple[str, tuple[int, int, int]]] = {
    "tetrahedron": ("T", (1, 0, 0)),
    "cube": ("O", (0, 1, 0)),
    "octahedron": ("O", (1, 0, 0)),
    "dodecahedron": ("I", (0, 1, 0)),
    "icosahedron": ("I", (1, 0, 0)),
    "truncated tetrahedron": ("T", (1, 0, 1)),
    "cuboctahedron": ("O", (0, 0, 1)),
    "truncated cube": ("O", (0, 1, 1)),
    "truncated octahedron": ("O", (1, 0, 1)),
    "rhombicuboctahedron": ("O", (1, 1, 0)),
    "truncated cuboctahedron": ("O", (1, 1, 1)),
    "icosidodecahedron": ("I", (0, 0, 1)),
    "truncated dodecahedron": ("I", (0, 1, 1)),
    "truncated icosahedron": ("I", (1, 0, 1)),
    "rhombicosidodecahedron": ("I", (1, 1, 0)),
    "truncated icosidodecahedron": ("I", (1, 1, 1)),
}
_PLATONIC = ("tetrahedron", "cube", "octahedron", "dodecahedron", "icosahedron")
_SNUB = {"snub cube": "O", "snub dodecahedron": "I"}
_DUAL = {
    "triakis tetrahedron": "truncated tetrahedron",
    "rhombic dodecahedron": "cuboctahedron",
    "triakis octahedron": "truncated cube",
    "tetrakis hexahedron": "truncated octahedron",
    "deltoidal icositetrahedron": "rhombicuboctahedron",
    "disdyakis dodecahedron": "truncated cuboctahedron",
    "pentagonal icositetrahedron": "snub cube",
    "rhombic triacontahedron": "icosidodecahedron",
    "triakis icosahedron": "truncated dodecahedron",
    "pentakis dodecahedron": "truncated icosahedron",
    "deltoidal hexecontahedron": "rhombicosidodecahedron",
    "disdyakis triacontahedron": "truncated icosidodecahedron",
    "pentagonal hexecontahedron": "snub dodecahedron",
}
_OTHER_NAMES = {
    "hexahedron": "cube",
    "great rhombicuboctahedron": "truncated cuboctahedron",
    "small rhombicuboctahedron": "rhombicuboctahedron",
    "great rhombicosidodecahedron": "truncated icosidodecahedron",
    "small rhombicosidodecahedron": "rhombicosidodecahedron",
    "snub cuboctahedron": "snub cube",
    "snub icosidodecahedron": "snub dodecahedron",
}
_HANDED = (*_SNUB, *(name for name, archimedean in _DUAL.items() if archimedean in _SNUB))


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A solid of the catalogue about the origin.

    vertices : (V, 3), read-only. The edge is 1; a Catalan solid shares the sphere through the
        edges of its Archimedean one. Ordered from the top down, then round z from x.
    faces : vertex numbers, anticlockwise seen from outside
    group : its rotations, exactly as `rotation_group` has them
    """

    name: str
    family: str
    vertices: Floats
    faces: Faces
    group: Group


@dataclass(frozen=True, slots=True)
class CatalogueEntry:
    """One line of the list of solids; for prisms and antiprisms formulas in n stand for numbers.

    handed : there is a mirror image too, called `name` and ``left``
    """

    name: str
    family: str
    vertices: int | str
    edges: int | str
    faces: int | str
    group: str
    handed: bool = False


def solid(name: str) -> Solid:
    """Return a solid by its English name; spaces, hyphens, underscores and case are all one.

    ``prism n`` and ``antiprism n`` have n from 3 to 60. ``snub cube`` and ``snub dodecahedron`` are
    right-handed: seen from outside, their squares or pentagons are turned clockwise from where the
    cube or dodecahedron has them. With ``left`` behind the name it is the mirror image.

    Raises
    ------
    FrameError : there is none of that name; the text suggests the nearest ones.
    """
    words = " ".join(re.sub(r"[\s_-]+", " ", name).split()).lower().removesuffix(" right")
    plain = words.removesuffix(" left")
    left = words != plain
    plain = _OTHER_NAMES.get(plain, plain)
    sides = re.fullmatch(r"(prism|antiprism) ?(\d+)", plain)
    if sides and not left and 3 <= int(sides[2]) <= MOST_SIDES:
        return _prism(int(sides[2]), sides[1] == "antiprism")
    if plain in _HANDED or (not left and plain in (*_MIRRORS, *_DUAL)):
        return _named(plain, left)
    raise FrameError(_unknown(name, plain))


@lru_cache(maxsize=1)
def catalogue() -> tuple[CatalogueEntry, ...]:
    """Return all solids: Platonic, Archimedean, Catalan, then the prisms and antiprisms."""
    entries = []
    for name in (*_MIRRORS, *_SNUB, *_DUAL):
        one = solid(name)
        v, f = len(one.vertices), len(one.faces)
        handed = name in _HANDED
        entry = CatalogueEntry(name, one.family, v, v + f - 2, f, one.group.name, handed)
        entries.append(entry)
    entries.append(CatalogueEntry("prism n", "prism", "2 n", "3 n", "n + 2", "Dn"))
    entries.append(CatalogueEntry("antiprism n", "antiprism", "2 n", "4 n", "2 n + 2", "Dn"))
    return tuple(entries)


@lru_cache(maxsize=64)
def _named(name: str, left: bool) -> Solid:
    full = f"{name} left" if left else name
    if name in _DUAL:
        archimedean = _named(_DUAL[name], left)
        return _finished(full, "Catalan", _polar(archimedean), archimedean.group)
    if name in _SNUB:
        group = rotation_group(_SNUB[name])
        return _finished(full, "Archimedean", group.orbit(_snub_seed(group, left), 1e-9), group)
    group_name, off = _MIRRORS[name]
    group = rotation_group(group_name)
    axes = _triangle(group)
    # Rows: unit normals of the mirrors opposite the p-fold, 3-fold and 2-fold axis, facing them.
    mirrors = unit_rows(np.linalg.inv(axes).T)
    seed = np.linalg.solve(mirrors, 0.5 * np.array(off))
    mirrored = seed - 2.0 * (mirrors[0] @ seed) * mirrors[0]
    points = np.concatenate([group.orbit(seed, 1e-9), group.orbit(mirrored, 1e-9)])
    return _finished(full, "Platonic" if name in _PLATONIC else "Archimedean", points, group)


@lru_cache(maxsize=64)
def _prism(sides: int, anti: bool) -> Solid:
    name = f"{'antiprism' if anti else 'prism'} {sides}"
    if (sides, anti) in {(4, False), (3, True)}:  # more symmetric than the rest of their family
        regular = _named("octahedron" if anti else "cube", False)
        return Solid(name, name.split()[0], regular.vertices, regular.faces, regular.group)
    radius = 0.5 / np.sin(np.pi / sides)
    twist = np.pi / (2 * sides) if anti else 0.0  # so that a two-fold axis is on x
    across = 2.0 * radius * np.sin(twist)  # between the ends of a side edge, seen from the top
    height = np.sqrt(1.0 - across**2)
    angles = 2.0 * np.pi * np.arange(sides) / sides
    rings = [
        np.stack([radius * np.cos(a), radius * np.sin(a), np.full(sides, z)], axis=1)
        for a, z in ((angles + twist, height / 2.0), (angles - twist, -height / 2.0))
    ]
    return _finished(name, name.split()[0], np.concatenate(rings), rotation_group(f"D{sides}"))


def _finished(name: str, family: str, points: Floats, group: Group) -> Solid:
    """Return the convex solid with these vertices: repeats dropped, in order, with its faces."""
    vertices = _distinct(points)
    vertices.setflags(write=False)
    return Solid(name, family, vertices, hull_faces(vertices), group)


def _triangle(group: Group) -> Floats:
    """Return (3, 3): unit vectors on a p-fold, 3-fold and 2-fold axis, neighbours on the sphere."""
    axes = group.axes()
    top = axes[0][0]
    both = {f: np.array([s * a for a, fold in axes if fold == f for s in (1, -1)]) for f in (2, 3)}
    dots = both[3] @ top
    three = both[3][np.argmax(np.where(dots < 1.0 - 1e-9, dots, -1.0))]
    two = both[2][np.argmax(both[2] @ (top + three))]
    corners: Floats = np.array([top, three, two])
    return corners


def _snub_seed(group: Group, left: bool) -> Floats:
    """Return the point (3,) that each of the three rotations of the triangle carries by 1."""
    axes = _triangle(group)
    folds = np.array([fold for _, fold in group.axes()[:1]] + [3, 2])
    sines = 2.0 * np.sin(np.pi / folds)  # a turn carries a point by this times its axis distance

    def uneven(weights: Floats) -> Floats:
        point = axes.T @ np.array([1.0, *weights])
        steps = sines * np.linalg.norm(np.cross(axes, point), axis=1)
        ratios: Floats = steps[1:] / steps[0] - 1.0
        return ratios

    point: Floats = axes.T @ np.array([1.0, *root(uneven, [1.0, 1.0], tol=1e-15).x])
    point /= sines[0] * np.linalg.norm(np.cross(axes[0], point))
    # The plane through the p-fold and the 3-fold axis holds a corner of the cube's (dodecahedron's)
    # face about the p-fold axis; the side that the point is on tells which way the face is turned.
    normal = np.cross(axes[0], axes[1])
    normal /= np.linalg.norm(normal)
    anticlockwise = bool(point @ normal > 0.0)
    if anticlockwise != left:
        point -= 2.0 * (point @ normal) * normal
    return point


def _distinct(points: Floats) -> Floats:
    """Return the points without repeats, from the top down, then round z beginning at x."""
    angle = np.arctan2(points[:, 1], points[:, 0]) + 1e-9
    keys = np.stack([-points[:, 2], angle % (2.0 * np.pi), points[:, 0]]).round(7) + 0.0
    _, index = np.unique(points.round(7) + 0.0, axis=0, return_index=True)
    ordered: Floats = points[index[np.lexsort(keys[::-1, index])]]
    return ordered


def _polar(archimedean: Solid) -> Floats:
    """Return the poles (F, 3) of the faces in the sphere that touches the edges."""
    vertices, faces = archimedean.vertices, archimedean.faces
    normals = unit_rows(face_normals_of(vertices, corners_of(faces), len(faces)))
    first = vertices[[face[0] for face in faces]]
    middle = 0.5 * (vertices[faces[0][0]] + vertices[faces[0][1]])
    heights = np.einsum("ij,ij->i", normals, first)
    poles: Floats = normals * ((middle @ middle) / heights)[:, None]
    return poles


def _unknown(name: str, plain: str) -> str:
    """Return the text that says so, with the nearest names."""
    known = [*_MIRRORS, *_SNUB, *_DUAL, *_OTHER_NAMES]
    if re.match(r"(anti)?prism\b", plain):
        return (
            f"frame.solid: found {name!r}, allowed is prism n or antiprism n with n from 3 to "
            f"{MOST_SIDES}, e.g. 'prism 7'."
        )
    near = difflib.get_close_matches(plain, known, n=3, cutoff=0.5)
    hint = f"The nearest: {', '.join(near)}." if near else "`pinwright frames` lists them all."
    return f"frame.solid: found {name!r}, which is no solid of the catalogue. {hint}"
