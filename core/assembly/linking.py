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
Ints = npt.NDArray[np.intp]

_RUN = 16  # segments that are looked at together

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
    i, j = _near(loop, loop + along, other, other + along_other)
    # The sides are those of the corners, so that two segments that follow agree about theirs.
    side = _side(along[i], loop[i], other[j])
    side_next = _side(along[i], loop[i], other[(j + 1) % len(other)])
    back = _side(along_other[j], other[j], loop[i])
    back_next = _side(along_other[j], other[j], loop[(i + 1) % len(loop)])
    crossed = ((side > 0.0) != (side_next > 0.0)) & ((back > 0.0) != (back_next > 0.0))
    i, j = i[crossed], j[crossed]
    apart = other[j] - loop[i]
    turn = along[i, 0] * along_other[j, 1] - along[i, 1] * along_other[j, 0]
    one = (apart[:, 0] * along_other[j, 1] - apart[:, 1] * along_other[j, 0]) / turn
    two = (apart[:, 0] * along[i, 1] - apart[:, 1] * along[i, 0]) / turn
    height = loop[i, 2] + one * along[i, 2] - other[j, 2] - two * along_other[j, 2]
    sign = np.sign(turn).astype(int)
    return int(sign[height > 0.0].sum()), -int(sign[height < 0.0].sum())


def _side(along: Floats, start: Floats, point: Floats) -> Floats:
    """Return on which side of lines from `start` along `along` points lie, seen along z; (n,)."""
    apart = point - start
    found: Floats = along[:, 0] * apart[:, 1] - along[:, 1] * apart[:, 0]
    return found


def _near(one: Floats, one_end: Floats, two: Floats, two_end: Floats) -> tuple[Ints, Ints]:
    """Return the pairs of segments whose runs of segments may cross, seen along z."""
    low, high = _boxes(one, one_end)
    low_two, high_two = _boxes(two, two_end)
    meet = (low[:, None] <= high_two[None]) & (low_two[None] <= high[:, None])
    run, run_two = np.nonzero(meet.all(axis=2))
    k = np.arange(_RUN)
    i = (run[:, None, None] * _RUN + k[:, None]) + 0 * k
    j = (run_two[:, None, None] * _RUN + k) + 0 * k[:, None]
    kept = (i < len(one)) & (j < len(two))
    return i[kept], j[kept]


def _boxes(start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Return the low and high corners (m, 2) of boxes round runs of segments, seen along z."""
    first = np.arange(0, len(start), _RUN)
    low, high = np.minimum(start, end)[:, :2], np.maximum(start, end)[:, :2]
    return np.minimum.reduceat(low, first), np.maximum.reduceat(high, first)


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
