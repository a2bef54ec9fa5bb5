# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Normals that are square to their copies by two turns at once: where two pairs of circles cross.

A plate and its copy by a turn g (angle phi about the unit axis a) are perpendicular exactly when
the angle alpha between the normal n and the axis has cos^2(alpha) = -cos(phi) / (1 - cos(phi)):
each turn of 90 degrees or more gives two small circles of normals, and circles of two turns cross
in isolated normals. (From n . g n = cos(phi) + (1 - cos(phi)) (a . n)^2 = 0, Rodrigues' rotation
formula.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...frame.group import Group
from ...tolerance import TOLERANCES

__all__ = ["SquareNormals", "right_angle_normals", "square_cosine", "square_normals"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# The signs of the two cosines and of the height above the axes' plane: eight crossings at most.
_SIGNS = np.array([(p, q, up) for p in (1, -1) for q in (1, -1) for up in (1, -1)], dtype=float)


@dataclass(frozen=True, slots=True, eq=False)
class SquareNormals:
    """Isolated normals and the two turns by whose copies each is square.

    normals : (k, 3) unit vectors
    elements : (k, 2) int, elements of the group
    """

    normals: Floats
    elements: Ints

    def __len__(self) -> int:
        """Return their number."""
        return len(self.normals)

    def take(self, which: npt.NDArray[np.bool_] | Ints) -> SquareNormals:
        """Return some of them, by a mask or by their numbers."""
        return SquareNormals(self.normals[which], self.elements[which])


def square_cosine(angle_deg: float) -> float | None:
    """Return the cosine, 0 or more, of the angle between axis and normal that makes a turn square.

    angle_deg : of the turn, 0 to 180; None is returned below 90
    """
    cosine = float(np.cos(np.radians(angle_deg)))
    if cosine > TOLERANCES.direction:
        return None
    return float(np.sqrt(max(-cosine, 0.0) / (1.0 - cosine)))


def right_angle_normals(group: Group, first: int, second: int) -> list[Floats]:
    """Return the unit normals square to their copies by both elements: at most 8, in closed form.

    There is none for a turn of less than 90 degrees, or when both turns have one axis.
    """
    return list(square_normals(group, [(first, second)]).normals)


def square_normals(group: Group, pairs: Sequence[tuple[int, int]]) -> SquareNormals:
    """Return the normals of all pairs of elements, in the order of the pairs.

    With unit axes a, b and cosines p, q the normal is x a + y b + z a x b: x and y from its
    products with a and b, z from its length.
    """
    turns = {k: group.axis_angle_deg(k) for k in {k for pair in pairs for k in pair}}
    cosines = {k: square_cosine(angle) for k, (_, angle) in turns.items()}
    usable = [(i, j) for i, j in pairs if cosines[i] is not None and cosines[j] is not None]
    if not usable:
        return SquareNormals(np.zeros((0, 3)), np.zeros((0, 2), dtype=np.intp))
    elements = np.array(usable, dtype=np.intp)
    a, b = (np.array([turns[k][0] for k in column.tolist()])[:, None] for column in elements.T)
    p, q = (np.array([cosines[k] for k in column.tolist()])[:, None] for column in elements.T)
    between = (a * b).sum(axis=2)
    across = np.cross(a, b)
    sine2 = (across * across).sum(axis=2)
    apart = np.broadcast_to(sine2 > TOLERANCES.symmetry, (len(elements), len(_SIGNS)))
    sine2 = np.where(sine2 > TOLERANCES.symmetry, sine2, 1.0)
    wanted_a, wanted_b = p * _SIGNS[:, 0], q * _SIGNS[:, 1]
    x, y = (wanted_a - wanted_b * between) / sine2, (wanted_b - wanted_a * between) / sine2
    flat = x[..., None] * a + y[..., None] * b
    rest = 1.0 - (flat * flat).sum(axis=2)
    height = np.sqrt(np.maximum(rest, 0.0) / sine2)
    # One crossing is listed once: not again for the other sign of a zero.
    touching = rest < TOLERANCES.direction
    twice = ((p == 0.0) & (_SIGNS[:, 0] < 0)) | ((q == 0.0) & (_SIGNS[:, 1] < 0))
    twice |= touching & (_SIGNS[:, 2] < 0)
    kept = apart & (rest > -TOLERANCES.direction) & ~twice
    normals = flat + (height * _SIGNS[:, 2])[..., None] * across
    normals = normals[kept]
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    return SquareNormals(normals, np.repeat(elements, kept.sum(axis=1), axis=0))
