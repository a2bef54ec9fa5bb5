# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Random outlines with holes, and their measures from elementary geometry."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from hypothesis import strategies as st
from shapely import Polygon, box

from tests.builders import circle_ring

__all__ = ["mitred_area", "plates_with_holes", "shoelace"]

Floats = npt.NDArray[np.float64]


@st.composite
def plates_with_holes(draw: st.DrawFn) -> Polygon:
    """Draw a star-shaped plate 60 to 100 mm in radius with up to four slots and round holes."""
    count = draw(st.integers(8, 24))
    radius = np.array(draw(st.lists(st.floats(60, 100), min_size=count, max_size=count)))
    angle = 2 * np.pi * np.arange(count) / count + draw(st.floats(0, 6.3))
    ring = np.column_stack((radius * np.cos(angle), radius * np.sin(angle)))
    places = [(-20.0, -20.0), (20.0, -20.0), (20.0, 20.0), (-20.0, 20.0)]
    holes = [draw(_hole(x, y)) for x, y in places[: draw(st.integers(0, 4))]]
    shift = draw(st.tuples(st.floats(-500, 500), st.floats(-500, 500)))
    return Polygon(ring + shift, [hole + shift for hole in holes])


@st.composite
def _hole(draw: st.DrawFn, x: float, y: float) -> Floats:
    if draw(st.booleans()):
        return circle_ring(x, y, draw(st.floats(2.0, 12.0)), 64)
    length, width = draw(st.floats(5, 15)), draw(st.floats(1.5, 15))
    return np.asarray(box(x - length, y - width, x + length, y + width).exterior.coords)[:-1]


def shoelace(ring: Floats) -> float:
    """Return the signed area of a ring (n, 2), anticlockwise positive (Gauss's area formula)."""
    x, y = (ring - ring[0]).T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def mitred_area(ring: Floats, distance: float) -> float:
    """Return the area inside a ring that is offset outwards with mitred corners.

    Each edge sweeps length x distance; each corner that turns by w adds distance^2 tan(w/2), a
    reflex one takes it away (elementary geometry: two kites to each corner).
    """
    anticlockwise = ring if shoelace(ring) > 0 else ring[::-1]
    edge = np.roll(anticlockwise, -1, axis=0) - anticlockwise
    before = np.roll(edge, 1, axis=0)
    cross = before[:, 0] * edge[:, 1] - before[:, 1] * edge[:, 0]
    turning = np.arctan2(cross, (before * edge).sum(axis=1))
    length = float(np.hypot(*edge.T).sum())
    corners = float(np.tan(turning / 2).sum())
    return shoelace(anticlockwise) + length * distance + corners * distance**2
