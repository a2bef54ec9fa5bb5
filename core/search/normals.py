# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""One motif: every normal that makes two or more of its joint classes square, and no other.

A plate with the normal n is square to its copy by an element g exactly when n lies on a circle
about g's axis (core/plates/recipes/right_angle.py derives it). Normals are lines here: n and -n are
one plane direction. Circles of two elements cross in isolated normals, all found in closed form.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from ..frame.group import Group
from ..plates.recipes.square_normals import right_angle_normals, square_cosine

__all__ = [
    "Circle",
    "OrbitNormal",
    "frame_turns",
    "one_motif_normals",
    "right_angle_circles",
    "same_line",
    "square_elements",
]

Floats = npt.NDArray[np.float64]

# Two computed normals are one; roots are good to 1e-14, different ones lie 1e-2 apart.
_SAME = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Circle:
    """A family of normals with one free number: the circle axis . n = cosine (n and -n are one).

    element : one of its class of conjugates and inverses; turn it to get every normal for which
        the joint class of `element` is square
    """

    element: int
    axis: Floats
    angle_deg: float
    cosine: float

    def normals(self, turns_deg: npt.ArrayLike) -> Floats:
        """Return the unit normals (k, 3) at the given angles about the axis, deg."""
        turns = np.radians(np.asarray(turns_deg, dtype=float))[:, None]
        helper = np.eye(3)[np.argmin(np.abs(self.axis))]
        x = np.cross(self.axis, helper)
        x /= np.linalg.norm(x)
        round_it = np.cos(turns) * x + np.sin(turns) * np.cross(self.axis, x)
        found: Floats = self.cosine * self.axis + np.sqrt(1 - self.cosine**2) * round_it
        return found


@dataclass(frozen=True, slots=True, eq=False)
class OrbitNormal:
    """An isolated normal, one for each orbit of the group on lines.

    elements : all g, one of each pair g and g^-1, with n . g n = 0
    lines : size of the orbit (|G| when no element but 1 keeps the line)
    plates_in_plane : elements that keep n itself; 1: every copy has a plane direction of its own
    own_mirror : some element turns n into -n. Then a plate at distance +h and its mirror image at
        -h have the same planes; else (n, h) and (n, -h) are a pair of mirror twins
    kind : equal for normals that a turn of the whole frame (its normaliser) carries into each other
    """

    normal: Floats
    elements: tuple[int, ...]
    lines: int
    plates_in_plane: int
    own_mirror: bool
    kind: int


def square_elements(group: Group) -> tuple[int, ...]:
    """Return the elements, one of each pair g and g^-1, for which square normals exist."""
    return tuple(
        k
        for k in range(1, group.order)
        if k <= group.inverse[k] and square_cosine(group.axis_angle_deg(k)[1]) is not None
    )


def right_angle_circles(group: Group) -> tuple[Circle, ...]:
    """Return the one-parameter families of one motif, one for each class of elements."""
    circles, seen = [], set()
    for members in group.classes():
        if members[0] in seen:
            continue
        seen |= {*members, *(int(group.inverse[k]) for k in members)}
        axis, angle = group.axis_angle_deg(members[0])
        cosine = square_cosine(angle)
        if cosine is not None:
            circles.append(Circle(members[0], axis, angle, cosine))
    return tuple(circles)


def one_motif_normals(group: Group) -> tuple[OrbitNormal, ...]:
    """Return all normals with two or more square joint classes, one for each orbit.

    Complete: every pair of elements is solved in closed form. Sorted by the number of square
    classes, most first.
    """
    elements = square_elements(group)
    found = [
        normal
        for i, a in enumerate(elements)
        for b in elements[i + 1 :]
        for normal in _crossings(group, a, b)
    ]
    matrices = group.matrices
    turns = frame_turns(group)
    orbits: list[Floats] = []
    solved: list[OrbitNormal] = []
    for normal in found:
        if any(same_line(orbit, normal) for orbit in orbits):
            continue
        images = matrices @ normal
        kind = next(
            (
                known.kind
                for known, orbit in zip(solved, orbits, strict=True)
                if any(same_line(orbit, turn @ normal) for turn in turns)
            ),
            len({known.kind for known in solved}),
        )
        orbits.append(images)
        solved.append(_described(group, normal, images, elements, kind))
    return tuple(sorted(solved, key=lambda one: (-len(one.elements), -one.lines, one.kind)))


def same_line(images: Floats, normal: Floats) -> bool:
    """Tell whether a unit vector (3,) is one of the images (k, 3) or the opposite of one."""
    return bool((1 - np.abs(images @ normal) < _SAME**2 + 1e-13).any())


def frame_turns(group: Group) -> Floats:
    """Return rotations (k, 3, 3), one of each coset of G in its normaliser, identity first.

    T lies in O, D2 in an O, Dn in D2n; O and I are their own normalisers. (Textbook facts of the
    finite rotation groups.) The normaliser of Cn is infinite; only the identity is given for it.
    """
    axes = group.axes()
    if group.name == "D2":
        frame = np.column_stack([axis for axis, _ in axes])
        frame[:, 2] *= np.sign(np.linalg.det(frame))
        cubes = Rotation.create_group("O").as_matrix()
        # One turn for each way in which the three axes can be permuted.
        ways = {tuple(np.argmax(np.abs(cube), axis=0)): cube for cube in cubes[::-1]}
        rest = [frame @ cube @ frame.T for way, cube in ways.items() if way != (0, 1, 2)]
        return np.array([np.eye(3), *rest])
    if group.name == "T":
        axis = next(axis for axis, fold in axes if fold == 2)
        quarter = Rotation.from_rotvec(axis * np.pi / 2).as_matrix()
        return np.array([np.eye(3), quarter])
    if group.name.startswith("D"):
        axis, fold = axes[0]
        half_step = Rotation.from_rotvec(axis * np.pi / fold).as_matrix()
        return np.array([np.eye(3), half_step])
    return np.eye(3)[None]


def _crossings(group: Group, first: int, second: int) -> list[Floats]:
    """Return the normals square for both elements, exact too where their circles only touch."""
    across = np.cross(group.axis_angle_deg(first)[0], group.axis_angle_deg(second)[0])
    found = []
    for normal in right_angle_normals(group, first, second):
        height = float(normal @ across)
        if abs(height) < 1e-6:
            # Circles touch in the plane of their axes; a root of a rounding error led off it.
            flat = normal - across * (height / float(across @ across))
            found.append(flat / np.linalg.norm(flat))
        else:
            found.append(normal)
    return found


def _described(
    group: Group, normal: Floats, images: Floats, elements: tuple[int, ...], kind: int
) -> OrbitNormal:
    cosines = images @ normal
    keeps, turns = cosines > 1 - 1e-9, cosines < -1 + 1e-9
    return OrbitNormal(
        normal,
        tuple(k for k in elements if abs(cosines[k]) < 1e-9),
        int(group.order // (keeps | turns).sum()),
        int(keeps.sum()),
        bool(turns.any()),
        kind,
    )
