# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Paths of arcs: circles worked out by hand, and chains that touch without a kink."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point

from pinwright.core.design.model import Bend
from pinwright.core.errors import DesignError
from pinwright.core.plates.path import centre_line


def _arc(points: list[tuple[float, float]]) -> np.ndarray:
    return centre_line(points, Bend.ARC, 0.0, "bow")


def test_three_points_lie_on_one_circle() -> None:
    # Chord 100, rise 20: radius (50^2 + 20^2) / (2 x 20) = 72.5 about (50, -52.5).
    path = _arc([(0, 0), (50, 20), (100, 0)])
    assert np.abs(np.hypot(path[:, 0] - 50, path[:, 1] + 52.5) - 72.5).max() < 1e-9
    assert LineString(path).distance(Point(50, 20)) < 0.05
    # Length of the arc: radius x twice the angle whose sine is 50 / 72.5.
    assert LineString(path).length == pytest.approx(145 * np.arcsin(50 / 72.5), rel=1e-3)


def test_three_points_in_a_row_are_a_line() -> None:
    assert LineString(_arc([(0, 0), (50, 0), (100, 0)])).length == pytest.approx(100.0)


def test_a_half_circle_between_straight_leads() -> None:
    # Leads upwards at 0 and downwards at 60: one half circle of radius 30.
    path = _arc([(0, -20), (0, 0), (60, 0), (60, -20)])
    curve = path[1:-1]
    assert np.abs(np.hypot(curve[:, 0] - 30, curve[:, 1]) - 30).max() < 1e-9
    assert curve[:, 1].max() == pytest.approx(30.0, abs=0.05)


def test_an_s_of_two_quarter_circles() -> None:
    # Leads along x, 40 apart and 40 aside: two quarter circles of radius 20.
    path = _arc([(-10, 0), (0, 0), (40, 40), (50, 40)])
    first = path[(path[:, 0] > 0) & (path[:, 0] < 20)]
    assert np.abs(np.hypot(first[:, 0], first[:, 1] - 20) - 20).max() < 1e-9


@given(
    st.lists(
        st.tuples(st.floats(40, 90), st.floats(-40, 40)), min_size=3, max_size=5
    )
)  # fmt: skip
def test_a_chain_has_no_kink_and_meets_its_points(steps: list[tuple[float, float]]) -> None:
    points = np.cumsum([(0.0, 0.0), (20.0, 0.0), *steps, (20.0, 0.0)], axis=0)
    path = centre_line(points, Bend.ARC, 0.0, "chain")
    line = LineString(path)
    assert max(line.distance(Point(p)) for p in points) < 1e-6
    chords = np.diff(path, axis=0)
    lengths = np.linalg.norm(chords, axis=1)
    kept = chords[lengths > 1e-6] / lengths[lengths > 1e-6][:, None]
    turn = np.arccos(np.clip((kept[1:] * kept[:-1]).sum(axis=1), -1, 1))
    # Chords of an arc within 0.05 mm turn by the arc's own step; a kink would turn at once.
    size = lengths[lengths > 1e-6]
    own = 2 * np.arccos(1 - 0.05 / np.maximum((size / 2) ** 2 / 0.1, 0.06))
    assert (turn <= np.maximum(own[1:], own[:-1]) + 0.6).all()
    assert np.degrees(turn).max() < 60.0


def test_an_arc_that_runs_round_is_refused() -> None:
    with pytest.raises(DesignError, match=r"motifs\.bow\.path: .* an arc turns by at most 300 deg"):
        _arc([(0, 0), (-200, 1), (2, 0)])
