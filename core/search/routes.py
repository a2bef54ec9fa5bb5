# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Strips laid through their ports, thousands at once: the smooth path of core/plates/path.py.

A strip leaves each of its two tabs on a straight lead square to the joint's line and runs as one
clamped cubic spline through its slots between. Arrays hold one strip in each row.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

__all__ = ["FREE", "LEAD", "Course", "course", "knots_of", "outline", "squares"]

Floats = npt.NDArray[Any]  # float32 where candidates are judged, float64 where they are measured

#: Length of the straight leads, and of a free end beyond its last slot, in strip widths.
LEAD = 0.6
FREE = 1.4


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """Sampled centre paths of S strips.

    points, tangents : (S, N, 2), from tab to tab, leads included; curvature : (S, N); length : (S,)
    """

    points: Floats
    tangents: Floats
    curvature: Floats
    length: Floats

    def of(self, rows: npt.NDArray[np.intp]) -> Course:
        """Return the same for some of the strips."""
        return Course(*(getattr(self, name)[rows] for name in self.__slots__))

    def thinned(self) -> Course:
        """Return every second point of the curve, both ends kept."""
        points, tangents, curvature = (
            np.concatenate([part[:, :1], part[:, 1:-1:2], part[:, -1:]], axis=1)
            for part in (self.points, self.tangents, self.curvature)
        )
        return Course(points, tangents, curvature, self.length)


def squares(vectors: Floats) -> Floats:
    """Return the squared lengths (...) of vectors (..., 2); quicker than a sum over an axis."""
    found: Floats = vectors[..., 0] ** 2 + vectors[..., 1] ** 2
    return found


def knots_of(
    start: Floats, slots: Floats, end: Floats | None, ways: Floats, width: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return the path's points (S, k + 4, 2) and its directions (S, 2) at both ends, inwards.

    start, end : (S, 2) tab ports; slots : (S, k, 2) in their order along the strip; ways : (2, 2)
    unit vectors square to the joints' lines; width : (S,). No `end`: the strip runs straight on
    beyond its last slot, by `FREE` widths, and ends there (there must be a slot then).
    """
    last = slots[:, -1] if slots.shape[1] else start
    if end is None:
        way = last - (slots[:, -2] if slots.shape[1] > 1 else start)
        way = way / np.maximum(np.sqrt(squares(way)), 1e-6)[:, None]
        end, out_of = last + (FREE * width)[:, None] * way, -way
    else:
        out_of = _towards(end, last, ways[1])
    first = slots[:, 0] if slots.shape[1] else end
    into = _towards(start, first, ways[0])
    lead = (LEAD * width)[:, None]
    path = np.concatenate(
        [
            np.stack([start, start + lead * into], axis=1),
            slots,
            np.stack([end + lead * out_of, end], axis=1),
        ],
        axis=1,
    )
    return path, into, out_of


def course(path: Floats, into: Floats, out_of: Floats, per_span: int) -> Course:
    """Sample the paths of `knots_of`, `per_span` chords to each span between two knots."""
    knots = path[:, 1:-1]
    spans = np.diff(knots, axis=1)
    lengths = np.maximum(np.sqrt(squares(spans)), 1e-6)
    slopes = _slopes(spans, lengths, into, -out_of)
    t = (np.arange(per_span, dtype=path.dtype) / per_span)[:, None]
    points, velocity, bending = _hermite(knots, spans, lengths, slopes, t)
    last_slope, last = slopes[:, -1:], knots[:, -1:]
    # The curve's end has the bending of its last span at t = 1.
    h = lengths[:, -1, None]
    end_bend = (-6 * spans[:, -1] / h + 2 * slopes[:, -2] + 4 * slopes[:, -1]) / h
    velocity = np.concatenate([velocity, last_slope], axis=1)
    bending = np.concatenate([bending, end_bend[:, None]], axis=1)
    points = np.concatenate([points, last], axis=1)
    speed = np.sqrt(squares(velocity))
    turn = velocity[..., 0] * bending[..., 1] - velocity[..., 1] * bending[..., 0]
    curvature = np.abs(turn) / np.maximum(speed, 1e-6) ** 3
    tangents = velocity / np.maximum(speed, 1e-6)[..., None]
    points = np.concatenate([path[:, :1], points, path[:, -1:]], axis=1)
    tangents = np.concatenate([into[:, None], tangents, -out_of[:, None]], axis=1)
    steps = np.diff(points, axis=1)
    length = np.sqrt(squares(steps)).sum(axis=1)
    none = np.zeros((len(path), 1), dtype=path.dtype)
    return Course(points, tangents, np.concatenate([none, curvature, none], axis=1), length)


def outline(laid: Course, width: Floats, cut: float) -> Floats:
    """Return the outlines (S, 2 N, 2) of strips of `width` (S,), their ends `cut` short."""
    side = np.stack([-laid.tangents[..., 1], laid.tangents[..., 0]], axis=2)
    side = side * (width / 2)[:, None, None]
    points = laid.points.copy()
    points[:, 0] += cut * laid.tangents[:, 0]
    points[:, -1] -= cut * laid.tangents[:, -1]
    return np.concatenate([points + side, (points - side)[:, ::-1]], axis=1)


def _towards(port: Floats, target: Floats, way: Floats) -> Floats:
    side = (target - port) @ way
    return np.where(side[:, None] > 0, way, -way)


def _slopes(spans: Floats, lengths: Floats, first: Floats, last: Floats) -> Floats:
    """Return the curve's derivatives (S, n, 2) at its knots: a tridiagonal system (Thomas)."""
    count = spans.shape[1] - 1  # inner knots
    inverse = 1 / lengths
    right = 3 * spans * (inverse**2)[..., None]
    rhs = right[:, :-1] + right[:, 1:]
    slopes = [first]
    if count:
        rhs[:, 0] -= first * inverse[:, 0, None]
        rhs[:, -1] -= last * inverse[:, -1, None]
        middle = 2 * (inverse[:, :-1] + inverse[:, 1:])
        for i in range(1, count):
            share = inverse[:, i] / middle[:, i - 1]
            middle[:, i] -= share * inverse[:, i]
            rhs[:, i] -= share[:, None] * rhs[:, i - 1]
        solved = [rhs[:, -1] / middle[:, -1, None]]
        for i in range(count - 2, -1, -1):
            above = rhs[:, i] - inverse[:, i + 1, None] * solved[0]
            solved.insert(0, above / middle[:, i, None])
        slopes += solved
    return np.stack([*slopes, last], axis=1)


def _hermite(
    knots: Floats, spans: Floats, lengths: Floats, slopes: Floats, t: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return points and first and second derivatives (S, spans x len(t), 2), end left out.

    One product of all spans' four vectors (start, step, both slopes) with the Hermite polynomials
    and their derivatives; the length of a span divides out of the derivatives afterwards.
    """
    t = t[:, 0]
    one, zero = np.ones_like(t), np.zeros_like(t)
    t2, t3 = t**2, t**3
    basis = np.concatenate(
        [
            [one, 3 * t2 - 2 * t3, t - 2 * t2 + t3, t3 - t2],
            [zero, 6 * (t - t2), 1 - 4 * t + 3 * t2, 3 * t2 - 2 * t],
            [zero, 6 - 12 * t, 6 * t - 4, 6 * t - 2],
        ],
        axis=1,
    )  # (4, 3 T)
    h = lengths[..., None]
    vectors = np.stack([knots[:, :-1], spans, h * slopes[:, :-1], h * slopes[:, 1:]], axis=-1)
    count, pieces = spans.shape[:2]
    every = (vectors.reshape(-1, 4) @ basis).reshape(count, pieces, 2, 3, len(t))
    every = every.transpose(3, 0, 1, 4, 2)  # (3, S, spans, T, 2)
    h = h[:, :, None]
    flat = (count, pieces * len(t), 2)
    return (
        every[0].reshape(flat),
        (every[1] / h).reshape(flat),
        (every[2] / h**2).reshape(flat),
    )
