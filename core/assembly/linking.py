# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How often two closed polygons are linked: signed crossings, or the integral of Gauss.

Two loops that pass through each other without touching and have a linking number that is not 0
cannot be drawn apart, whatever shape they are bent to. A number of 0 proves nothing: the loops of
Whitehead's link have it, and any two of the Borromean rings.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

__all__ = ["linking_numbers"]

Floats = npt.NDArray[np.float64]

#: Columns: right, up and the line of sight, which lies askew to all that designs are made of.
_VIEW = np.linalg.qr(np.array([[0.31, 0.87, 0.53], [0.79, -0.41, 0.61], [-0.47, 0.29, 0.83]]))[0]


def linking_numbers(loop: Floats, others: Floats) -> Floats:
    """Return the linking numbers (R,) of a closed polygon (P, 3) with polygons (R, Q, 3).

    Seen from anywhere, the signed crossings at which the one passes over the other add up to the
    number, and so do those at which it passes under. Where these two do not agree, for lines of
    sight that graze a corner, the integral of Gauss is taken, exact for pairs of straight segments:
    the solid angle of the parallelogram that their differences span (formula of Klenin and
    Langowski, Biopolymers 54, 2000, from memory). Far loops are passed over: loops whose balls are
    apart are not linked.
    """
    numbers = np.zeros(len(others))
    middle, middles = loop.mean(axis=0), others.mean(axis=1)
    ball = np.linalg.norm(loop - middle, axis=1).max()
    balls = np.linalg.norm(others - middles[:, None], axis=2).max(axis=1)
    near = np.flatnonzero(np.linalg.norm(middles - middle, axis=1) < ball + balls)
    a, b = loop, np.roll(loop, -1, axis=0)
    tree = cKDTree(loop)
    for r in near:
        c, d = others[r], np.roll(others[r], -1, axis=0)
        if tree.query(c)[0].min() < 1e-9:
            continue  # the loop itself, or one that shares a joint with it
        over, under = _crossings(a @ _VIEW, c @ _VIEW)
        numbers[r] = over if over == under else _gauss(a, b, c, d)
    return numbers


def _crossings(loop: Floats, other: Floats) -> tuple[int, int]:
    """Return the signed crossings of `loop` (P, 3) over `other` (Q, 3) seen along z, and under."""
    along, along_other = np.roll(loop, -1, axis=0) - loop, np.roll(other, -1, axis=0) - other
    apart = other[None] - loop[:, None]
    side = along[:, None, 0] * apart[:, :, 1] - along[:, None, 1] * apart[:, :, 0]
    back = along_other[:, 1] * apart[:, :, 0] - along_other[:, 0] * apart[:, :, 1]
    crossed = ((side > 0.0) != (np.roll(side, -1, axis=1) > 0.0)) & (
        (back > 0.0) != (np.roll(back, -1, axis=0) > 0.0)
    )
    i, j = np.nonzero(crossed)
    turn = along[i, 0] * along_other[j, 1] - along[i, 1] * along_other[j, 0]
    one = (apart[i, j, 0] * along_other[j, 1] - apart[i, j, 1] * along_other[j, 0]) / turn
    two = (apart[i, j, 0] * along[i, 1] - apart[i, j, 1] * along[i, 0]) / turn
    height = loop[i, 2] + one * along[i, 2] - other[j, 2] - two * along_other[j, 2]
    sign = np.sign(turn).astype(int)
    return int(sign[height > 0.0].sum()), -int(sign[height < 0.0].sum())


def _gauss(a: Floats, b: Floats, c: Floats, d: Floats) -> float:
    p, q = c[None] - a[:, None], d[None] - a[:, None]
    s, t = d[None] - b[:, None], c[None] - b[:, None]
    normals = []
    for u, v in ((p, q), (q, s), (s, t), (t, p)):
        n = np.cross(u, v)
        normals.append(n / np.maximum(np.linalg.norm(n, axis=2, keepdims=True), 1e-300))
    angle = np.zeros(p.shape[:2])
    for u, v in zip(normals, [*normals[1:], normals[0]], strict=True):
        angle += np.arcsin(np.clip((u * v).sum(axis=2), -1.0, 1.0))
    sign = np.sign((np.cross((d - c)[None], (b - a)[:, None]) * p).sum(axis=2))
    return float((angle * sign).sum() / (4 * np.pi))
