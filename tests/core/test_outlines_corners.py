# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rounded corners by the elementary geometry of fillets."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LinearRing, Point, Polygon

from pinwright.core.outlines.corners import circle, round_corners
from tests.outlines import shoelace

Floats = npt.NDArray[np.float64]


def _regular(sides: int, radius: float = 100.0) -> Floats:
    angle = 2 * np.pi * np.arange(sides) / sides
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


@given(st.integers(3, 12), st.floats(0.5, 12))
def test_each_corner_loses_the_area_outside_its_fillet(sides: int, radius: float) -> None:
    ring = _regular(sides)
    rounded = round_corners(ring, radius)
    # A corner that turns by w loses the kite r^2 tan(w/2) but for the sector r^2 w / 2.
    turn = 2 * np.pi / sides
    lost = sides * radius**2 * (np.tan(turn / 2) - turn / 2)
    # The arc is drawn by chords, a fifth of the chord tolerance off at most.
    chords = sides * radius * turn * 0.01
    assert lost - 1e-9 <= shoelace(ring) - shoelace(rounded) <= lost + chords
    assert Polygon(ring).buffer(1e-9).covers(Polygon(rounded))


@given(st.integers(3, 8), st.floats(0.5, 12))
def test_fillets_touch_their_edges(sides: int, radius: float) -> None:
    ring = _regular(sides)
    rounded = round_corners(ring, radius)
    depth = LinearRing(rounded).distance(Point(ring[0]))
    # From the corner to the arc: r (1 / cos(w/2) - 1).
    assert depth == pytest.approx(radius * (1 / np.cos(np.pi / sides) - 1), abs=0.011)
    sides_kept = [LinearRing(ring).distance(Point(p)) < 1e-9 for p in rounded]
    assert sum(sides_kept) >= 2 * sides


def test_inner_corners_and_curves_stay() -> None:
    # An L: five convex corners, one inner corner at (20, 20).
    ell = np.array([[0, 0], [60, 0], [60, 20], [20, 20], [20, 70], [0, 70]], dtype=float)
    rounded = round_corners(ell, 4.0)
    assert [20.0, 20.0] in rounded.tolist()
    assert [60.0, 0.0] not in rounded.tolist()
    assert shoelace(ell) - shoelace(rounded) == pytest.approx(5 * 16 * (1 - np.pi / 4), rel=0.02)
    disc = _regular(60)
    assert round_corners(disc, 4.0).tolist() == disc.tolist()


def test_the_radius_shrinks_where_an_edge_is_short() -> None:
    # Two corners share the side of 6 mm: each fillet may take less than half of it.
    bar = np.array([[0, 0], [100, 0], [100, 6], [0, 6]], dtype=float)
    rounded = round_corners(bar, 50.0)
    assert Polygon(rounded).is_valid
    assert Polygon(rounded).area > 600 - 4 * 9 * (1 - np.pi / 4) - 0.5
    assert len(rounded) > 12


@given(st.floats(0.5, 20), st.integers(8, 64))
def test_a_circle_is_a_regular_polygon_that_runs_clockwise(radius: float, corners: int) -> None:
    centre = np.array([30.0, -20.0])
    ring = circle(centre, radius, corners)
    assert np.linalg.norm(ring - centre, axis=1) == pytest.approx(radius)
    assert shoelace(ring) == pytest.approx(-corners / 2 * radius**2 * np.sin(2 * np.pi / corners))
    assert ring.mean(axis=0) == pytest.approx(centre)
