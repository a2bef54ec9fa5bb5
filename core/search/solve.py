# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Normals of several motifs that make every joint class of a pattern square.

Each class (a, b, g) asks n_a . g n_b = 0 of the unit normals. Two rotors linked both ways have a
closed form: n_2 must be square to h^-1 n_1 and h' n_1, so it is their cross product; that it lies
on the circle of its own rotor is one trigonometric equation of degree 8 in the turn of n_1 on its
circle. Every other pattern is solved by Newton's method from many starts at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ..frame.group import Group
from ..plates.recipes.square_normals import square_cosine
from .patterns import Pattern

__all__ = ["Normals", "newton_normals", "polished", "slopes", "two_rotor_normals"]

Floats = npt.NDArray[np.float64]

_STEPS = 40
_DEGREE = 8  # of the trigonometric equation of two rotors (see `_closed_form`)


@dataclass(frozen=True, slots=True, eq=False)
class Normals:
    """Solutions of one pattern; n and -n are one.

    normals : (k, M, 3) unit vectors, residuals below 1e-12
    free : (k,) int, numbers that stay free at the solution (0: isolated; from the rank of the
        equations' derivatives)
    """

    normals: Floats
    free: npt.NDArray[np.intp]

    def __len__(self) -> int:
        """Return their number."""
        return len(self.free)


def two_rotor_normals(group: Group, pattern: Pattern) -> Normals:
    """Return all isolated solutions of ((0,0,g1), (0,1,h), (1,1,g2), (1,0,h')), complete.

    Patterns whose equation holds for every turn (curves of solutions) give none here.
    """
    (_, _, g1), (_, _, h), (_, _, g2), (_, _, back) = pattern.classes
    first = _circle(group, g1)
    axis, cosine = _axis_cosine(group, g2)
    link, return_link = group.matrices[h].T, group.matrices[back]

    def second(turns: Floats) -> Floats:
        n = first(turns)
        crossed: Floats = np.cross(n @ link.T, n @ return_link.T)
        return crossed

    # (axis . w)^2 - cos^2 w . w with w quadratic in n: degree 4 in n, so degree 4 in cos and sin;
    # 2 x 4 + 1 samples would do, more make the coefficients' noise visible.
    count = 2 * _DEGREE + 2
    w = second(2 * np.pi * np.arange(count) / count)
    values = (w @ axis) ** 2 - cosine**2 * (w * w).sum(axis=1)
    coefficients = np.fft.fft(values) / count
    half = _DEGREE // 2
    # `around` holds c_-k .. c_k with c_-k = conj(c_k): a palindromic polynomial in e^(i t).
    around = np.concatenate([coefficients[-half:], coefficients[: half + 1]])
    if np.abs(around).max() < 1e-12:
        return _nothing(2)
    roots = np.roots(around[::-1])
    turns = np.angle(roots[np.abs(np.abs(roots) - 1) < 1e-4])
    w = second(turns)
    length = np.linalg.norm(w, axis=1)
    good = length > 1e-6
    n1, n2 = first(turns[good]), w[good] / length[good, None]
    pairs = np.concatenate([np.stack([n1, n2], axis=1), _on_link_axis(group, pattern)])
    return polished(group, pattern, pairs)


def _on_link_axis(group: Group, pattern: Pattern) -> Floats:
    """Return the solutions (k, 2, 3) in which both links ask the same of n_2.

    Then h^-1 n_1 and h' n_1 are parallel: n_1 lies on the axis of h h', or is turned over by it
    (a half-turn), and must lie on its own circle.
    """
    (_, _, g1), (_, _, h), (_, _, g2), (_, _, back) = pattern.classes
    axis, angle = group.axis_angle_deg(int(group.product[h, back]))
    own, cosine = _axis_cosine(group, g1)
    firsts = [axis] if abs(abs(axis @ own) - cosine) < 1e-9 else []
    if abs(angle - 180) < 1e-6:
        firsts += _on_two(own, cosine, axis, 0.0)
    other, other_cosine = _axis_cosine(group, g2)
    pairs = [
        (n1, n2)
        for n1 in firsts
        for n2 in _on_two(other, other_cosine, group.matrices[back] @ n1, 0.0)
    ]
    return np.array(pairs).reshape(-1, 2, 3)


def _on_two(a: Floats, p: float, b: Floats, q: float) -> list[Floats]:
    """Return the unit vectors n with a . n = p and b . n = q (none where a and b are parallel)."""
    across = np.cross(a, b)
    sine2 = float(across @ across)
    if sine2 < 1e-12:
        return []
    between = float(a @ b)
    flat = ((p - q * between) * a + (q - p * between) * b) / sine2
    rest = 1 - float(flat @ flat)
    if rest < -1e-12:
        return []
    height = np.sqrt(max(rest, 0.0) / sine2)
    return [flat + height * across, flat - height * across]


def newton_normals(
    group: Group, pattern: Pattern, rng: np.random.Generator, starts: int = 48
) -> Normals:
    """Return the solutions that Newton's method reaches from random starts."""
    begin = rng.standard_normal((starts, pattern.motifs, 3))
    begin /= np.linalg.norm(begin, axis=2, keepdims=True)
    return polished(group, pattern, begin)


def polished(group: Group, pattern: Pattern, normals: Floats, same_side: bool = True) -> Normals:
    """Refine normals (k, M, 3) by damped Newton steps; keep what converges, each once.

    same_side : turn each normal to one side, so that n and -n are one
    """
    here = normals.copy()
    count, size = len(here), 3 * pattern.motifs
    if count == 0:
        return _nothing(pattern.motifs)
    damping = np.eye(size)
    for _ in range(_STEPS):
        residual, slope = _equations(group, pattern, here)
        worst = np.abs(residual).max(axis=1)
        if (worst < 1e-14).all():
            break
        turned = slope.transpose(0, 2, 1)
        # Damping fades with the residual, so that the last steps are Newton's own.
        weight = 1e-3 * np.minimum(worst, 1.0)[:, None, None] ** 2 + 1e-12
        step = np.linalg.solve(turned @ slope + weight * damping, -(turned @ residual[:, :, None]))[
            :, :, 0
        ]
        here = here + step.reshape(here.shape)
        here /= np.linalg.norm(here, axis=2, keepdims=True)
    residual, slope = _equations(group, pattern, here)
    found, slope = (part[np.abs(residual).max(axis=1) < 1e-12] for part in (here, slope))
    found, keep = _distinct(found) if same_side else (found, np.arange(len(found)))
    rank = np.linalg.matrix_rank(slope[keep], tol=1e-6) if len(keep) else np.zeros(0, dtype=int)
    return Normals(found, np.asarray(size - rank, dtype=np.intp))


def slopes(group: Group, pattern: Pattern, normals: Floats) -> Floats:
    """Return the derivatives (k, E + M, 3 M) of squareness and unit length at normals (k, M, 3)."""
    return _equations(group, pattern, normals)[1]


def _equations(group: Group, pattern: Pattern, normals: Floats) -> tuple[Floats, Floats]:
    """Return residuals (k, E + M) and derivatives (k, E + M, 3 M) of squareness and unit length."""
    count, motifs = normals.shape[:2]
    rows = len(pattern.classes) + motifs
    residual = np.zeros((count, rows))
    slope = np.zeros((count, rows, motifs, 3))
    for row, (a, b, g) in enumerate(pattern.classes):
        matrix = group.matrices[g]
        turned, back = normals[:, b] @ matrix.T, normals[:, a] @ matrix
        residual[:, row] = (normals[:, a] * turned).sum(axis=1)
        slope[:, row, a] += turned
        slope[:, row, b] += back
    for m in range(motifs):
        row = len(pattern.classes) + m
        residual[:, row] = ((normals[:, m] ** 2).sum(axis=1) - 1) / 2
        slope[:, row, m] = normals[:, m]
    return residual, slope.reshape(count, rows, 3 * motifs)


def _distinct(normals: Floats) -> tuple[Floats, npt.NDArray[np.intp]]:
    """Turn each normal to one side and keep each solution once."""
    if len(normals) == 0:
        return normals, np.zeros(0, dtype=np.intp)
    side = normals @ np.array([0.31313, 0.77717, 0.54551])
    normals = normals * np.where(side < 0, -1.0, 1.0)[:, :, None]
    flat = normals.reshape(len(normals), -1)
    keep: list[int] = []
    for i, one in enumerate(flat):
        if not keep or np.abs(flat[keep] - one).max(axis=1).min() > 1e-6:
            keep.append(i)
    chosen = np.array(keep, dtype=np.intp)
    return normals[chosen], chosen


@lru_cache(maxsize=1024)
def _axis_cosine(group: Group, element: int) -> tuple[Floats, float]:
    axis, angle = group.axis_angle_deg(element)
    cosine = square_cosine(angle)
    assert cosine is not None  # patterns take their rotors from `rotor_elements`
    return axis, cosine


def _circle(group: Group, element: int) -> Callable[[Floats], Floats]:
    """Return the function from turns (k,) rad to the normals (k, 3) square for a rotor."""
    axis, cosine = _axis_cosine(group, element)
    x = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    x /= np.linalg.norm(x)
    y = np.cross(axis, x)
    sine = np.sqrt(1 - cosine**2)

    def normals(turns: Floats) -> Floats:
        round_it = np.cos(turns)[:, None] * x + np.sin(turns)[:, None] * y
        found: Floats = cosine * axis + sine * round_it
        return found

    return normals


def _nothing(motifs: int) -> Normals:
    return Normals(np.zeros((0, motifs, 3)), np.zeros(0, dtype=np.intp))
