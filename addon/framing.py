# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the camera stands: the nearest place from which every point is inside the picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["View", "axes", "fit"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class View:
    """A way to look: the camera stands at this side, deg, with a lens of this width of view.

    azimuth_deg : from the -y side (the front view) anticlockwise, seen from above
    elevation_deg : above the horizon; negative looks up from below
    angle_of_view_deg : over the longer side of the picture; small is a long lens
    margin : free share of the picture on each side
    """

    azimuth_deg: float = 32.0
    elevation_deg: float = 11.0
    angle_of_view_deg: float = 20.0
    margin: float = 0.07


def axes(view: View) -> Floats:
    """Return the camera's right, up and back unit vectors as rows (3, 3)."""
    turn, lift = np.radians([view.azimuth_deg, view.elevation_deg])
    back = np.array([np.sin(turn) * np.cos(lift), -np.cos(turn) * np.cos(lift), np.sin(lift)])
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    return np.stack((right, np.cross(back, right), back))


def fit(points: npt.ArrayLike, view: View, size: tuple[int, int]) -> Floats:
    """Return the place (3,) of the nearest camera that sees all points (n, 3), any unit.

    Four planes go through the eye, one for each side of the picture; each is pushed out until it
    touches the points. Opposite pairs meet on the middle line, the farther pair sets the distance.
    """
    frame = axes(view)
    local = np.asarray(points, dtype=float) @ frame.T
    half = np.tan(np.radians(view.angle_of_view_deg) / 2) * (1 - 2 * view.margin)
    tangents = half * np.asarray(size, dtype=float) / max(size)
    middle, back = np.empty(2), []
    for k, tangent in enumerate(tangents):
        high = np.max(local[:, k] + tangent * local[:, 2])
        low = np.max(-local[:, k] + tangent * local[:, 2])
        middle[k] = (high - low) / 2
        back.append((high + low) / (2 * tangent))
    return np.array([*middle, max(back)]) @ frame
