# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How often two closed polygons are linked: the integral of Gauss.

Two loops that pass through each other without touching and have a linking number that is not 0
cannot be drawn apart, whatever shape they are bent to. A number of 0 proves nothing: the loops of
Whitehead's link have it, and any two of the Borromean rings.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["linking_numbers"]

Floats = npt.NDArray[np.float64]


def linking_numbers(loop: Floats, others: Floats) -> Floats:
    """Return the linking numbers (R,) of a closed polygon (P, 3) with polygons (R, Q, 3).

    The integral of Gauss, exact for pairs of straight segments: the solid angle of the
    parallelogram that their differences span (formula of Klenin and Langowski, Biopolymers 54,
    2000, from memory). Far loops are passed over: loops whose balls are apart are not linked.
    """
    numbers = np.zeros(len(others))
    middle, middles = loop.mean(axis=0), others.mean(axis=1)
    ball = np.linalg.norm(loop - middle, axis=1).max()
    balls = np.linalg.norm(others - middles[:, None], axis=2).max(axis=1)
    near = np.flatnonzero(np.linalg.norm(middles - middle, axis=1) < ball + balls)
    a, b = loop, np.roll(loop, -1, axis=0)
    for r in near:
        c, d = others[r], np.roll(others[r], -1, axis=0)
        if np.abs(c[:, None] - a[None]).max(axis=2).min() < 1e-9:
            continue  # the loop itself, or one that shares a joint with it
        numbers[r] = _gauss(a, b, c, d)
    return numbers


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
