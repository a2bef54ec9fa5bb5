# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Round the outward corners of a ring, leaving its curves and inner corners alone."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..tolerance import TOLERANCES

__all__ = ["circle", "round_corners"]

Floats = npt.NDArray[np.float64]

#: Corners that turn by less belong to a curve drawn as a polyline (deg).
_CURVE_TURN_DEG = 20.0


def round_corners(ring: Floats, radius: float) -> Floats:
    """Return an anticlockwise ring (n, 2) with its convex corners filleted, mm.

    The radius shrinks where half of a neighbouring edge is too short for it.
    """
    before = ring - np.roll(ring, 1, axis=0)
    after = np.roll(ring, -1, axis=0) - ring
    length_before = np.linalg.norm(before, axis=1)
    length_after = np.linalg.norm(after, axis=1)
    before, after = before / length_before[:, None], after / length_after[:, None]
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.arctan2(cross, (before * after).sum(axis=1))
    pieces = []
    for i in range(len(ring)):
        if turn[i] < np.radians(_CURVE_TURN_DEG) or turn[i] > np.radians(179):
            pieces.append(ring[i : i + 1])
            continue
        tangent = np.tan(turn[i] / 2)
        r = min(radius, 0.49 * min(length_before[i], length_after[i]) / tangent)
        start = ring[i] - before[i] * r * tangent
        left = np.array([-before[i][1], before[i][0]])
        centre = start + r * left
        chord = 2 * np.arccos(max(1 - 0.2 * TOLERANCES.chord / r, -1.0))
        angles = np.linspace(0, turn[i], max(3, int(np.ceil(turn[i] / chord)) + 1))[:, None]
        pieces.append(centre - r * left * np.cos(angles) + r * before[i] * np.sin(angles))
    return np.concatenate(pieces)


def circle(centre: Floats, radius: float, corners: int = 32) -> Floats:
    """Return an evenly spaced ring (corners, 2) on a circle, clockwise as holes are."""
    angles = -2 * np.pi * np.arange(corners) / corners
    return centre + radius * np.column_stack([np.cos(angles), np.sin(angles)])
