# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Centre paths and strip bodies: elementary geometry of fillets, mitres and circles."""

from __future__ import annotations

import re

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline
from shapely import LineString, Point

from pinwright.core.design.model import Bend
from pinwright.core.errors import DesignError
from pinwright.core.plates.path import centre_line, end_direction, least_radius, strip_body
from pinwright.core.tolerance import TOLERANCES

Floats = npt.NDArray[np.float64]

ZIGZAG = np.array([[0.0, 0.0], [60.0, 0.0], [100.0, 50.0], [160.0, 40.0], [220.0, 90.0]])


def _corner(turn_deg: float, before: float, after: float) -> Floats:
    """Return a path that comes along x and turns by an angle at the origin."""
    angle = np.radians(turn_deg)
    return np.array([[-before, 0.0], [0.0, 0.0], [after * np.cos(angle), after * np.sin(angle)]])


def _turns(path: Floats) -> Floats:
    """Return the angle (k - 2,) by which a path turns at each inner point, rad."""
    step = np.diff(path, axis=0)
    cross = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
    return np.arctan2(cross, (step[:-1] * step[1:]).sum(axis=1))


@pytest.mark.parametrize(("bend", "radius"), [(Bend.SHARP, 9.0), (Bend.ROUND, 0.0)])
def test_a_sharp_path_keeps_its_points(bend: Bend, radius: float) -> None:
    assert centre_line(ZIGZAG, bend, radius).tolist() == ZIGZAG.tolist()


@pytest.mark.parametrize("bend", list(Bend))
def test_a_straight_path_stays_as_it_is(bend: Bend) -> None:
    assert centre_line(ZIGZAG[:2], bend, 5.0).tolist() == ZIGZAG[:2].tolist()


@given(st.floats(-150, 150).filter(lambda deg: abs(deg) > 1), st.floats(1, 40))
def test_a_fillet_is_an_arc_that_touches_both_segments(turn_deg: float, radius: float) -> None:
    turn = abs(np.radians(turn_deg))
    tangent = radius * np.tan(turn / 2)
    path = centre_line(_corner(turn_deg, tangent + 20, tangent + 30), Bend.ROUND, radius)
    arc = path[1:-1]
    # The centre stands square to the incoming segment, at its tangent point.
    centre = np.array([-tangent, np.sign(turn_deg) * radius])
    assert np.linalg.norm(arc - centre, axis=1) == pytest.approx(radius)
    assert np.linalg.norm(arc[0]) == pytest.approx(tangent)
    assert np.linalg.norm(arc[-1]) == pytest.approx(tangent)
    # A chord c of a circle has the sagitta r - sqrt(r^2 - c^2 / 4).
    chord = np.linalg.norm(np.diff(arc, axis=0), axis=1)
    assert (radius - np.sqrt(radius**2 - chord**2 / 4)).max() <= TOLERANCES.chord + 1e-9
    length = float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())
    assert length <= 50 + radius * turn + 1e-9
    assert length >= 50 + radius * turn * 0.89  # two chords at least: sin(x) / x at 45 deg is 0.9
    assert _turns(path).sum() == pytest.approx(np.radians(turn_deg))


def test_every_inner_corner_gets_its_fillet() -> None:
    path = centre_line(ZIGZAG, Bend.ROUND, 15.0)
    assert least_radius(path) == pytest.approx(15.0, rel=0.05)
    assert path[[0, -1]].tolist() == ZIGZAG[[0, -1]].tolist()
    for corner in ZIGZAG[1:-1]:
        assert LineString(path).distance(Point(corner)) > 0.5


def test_a_fillet_that_does_not_fit_is_refused_with_one_that_does() -> None:
    with pytest.raises(
        DesignError, match=r"motifs\.wave\.bend_radius: found 200.*corner 2"
    ) as info:
        centre_line(_corner(90, 50, 80), Bend.ROUND, 200.0, "wave")
    said = re.search(r"about ([\d.]+) mm", str(info.value))
    assert said is not None
    assert len(centre_line(_corner(90, 50, 80), Bend.ROUND, 0.99 * float(said[1]))) > 4


def test_neighbouring_fillets_share_their_segment() -> None:
    steps = np.array([[0.0, 0.0], [50.0, 0.0], [50.0, 50.0], [100.0, 50.0]])
    assert len(centre_line(steps, Bend.ROUND, 24.0)) > 6
    with pytest.raises(DesignError, match="corner 3"):
        centre_line(steps, Bend.ROUND, 26.0)


def test_a_path_that_folds_back_has_no_fillet() -> None:
    with pytest.raises(DesignError, match="bend_radius"):
        centre_line([[0.0, 0.0], [50.0, 0.0], [10.0, 0.0]], Bend.ROUND, 1.0)


@pytest.mark.parametrize("path", [ZIGZAG, ZIGZAG[:4], ZIGZAG[:3], ZIGZAG * (1.0, -3.0)])
def test_a_smooth_path_is_straight_at_its_ends_and_smooth_between(path: Floats) -> None:
    line = centre_line(path, Bend.SMOOTH, 0.0)
    assert line[[0, -1]].tolist() == path[[0, -1]].tolist()
    assert end_direction(line, last=False) == pytest.approx(end_direction(path, last=False))
    assert end_direction(line, last=True) == pytest.approx(end_direction(path, last=True))
    # The curve begins at the first inner point, along the first segment, and ends likewise.
    if len(path) > 3:
        assert line[1] == pytest.approx(path[1])
        assert line[-2] == pytest.approx(path[-2])
        for inner in path[1:-1]:
            assert LineString(line).distance(Point(inner)) <= 1.02 * TOLERANCES.chord
    turns = _turns(line)
    assert np.abs(turns).max() < np.radians(20)  # what is more counts as a corner, not as a curve
    # Curvature does not jump: neighbouring corners turn alike, but for the straight ends.
    assert np.abs(np.diff(turns[1:-1])).max() < np.radians(5)


@given(st.lists(st.tuples(st.floats(10, 90), st.floats(-90, 90)), min_size=4, max_size=7))
def test_a_smooth_path_is_as_fine_as_the_tolerance_asks(steps: list[tuple[float, float]]) -> None:
    path = np.cumsum(steps, axis=0)
    line = centre_line(path, Bend.SMOOTH, 0.0)
    # scipy's spline through the inner points, clamped to the end segments, drawn very finely.
    inner = path[1:-1]
    knots = np.cumsum(np.linalg.norm(np.diff(inner, axis=0, prepend=inner[:1]), axis=1))
    ends = (1, -end_direction(path, last=False)), (1, end_direction(path, last=True))
    curve = CubicSpline(knots, inner, bc_type=ends)
    drawn = shapely.points(curve(np.linspace(0, knots[-1], 5000)))
    assert shapely.distance(drawn, LineString(line)).max() < 1.02 * TOLERANCES.chord


def test_end_directions_point_out_of_the_path() -> None:
    assert end_direction(ZIGZAG, last=False) == pytest.approx([-1.0, 0.0])
    assert end_direction(ZIGZAG, last=True) == pytest.approx(np.array([6.0, 5.0]) / np.sqrt(61))


def test_the_least_radius_is_that_of_the_circle_through_three_points() -> None:
    # The circle round a right-angled triangle has its hypotenuse as diameter (Thales).
    assert least_radius(np.array([[0.0, 4.0], [0.0, 0.0], [3.0, 0.0]])) == pytest.approx(2.5)
    angle = np.linspace(0, 2, 30)
    arc = 70 * np.column_stack([np.cos(angle), np.sin(angle)])
    assert least_radius(arc) == pytest.approx(70.0)
    assert least_radius(np.array([[0.0, 0.0], [1.0, 1.0], [5.0, 5.0]])) == np.inf
    assert least_radius(ZIGZAG[:2]) == np.inf


@given(st.floats(1, 60), st.floats(0, 9), st.floats(0, 9))
def test_a_straight_strip_is_a_rectangle(width: float, first: float, last: float) -> None:
    body = strip_body(np.array([[10.0, 20.0], [10.0, 120.0]]), width, (first, last))
    assert body.bounds == pytest.approx((10 - width / 2, 20 - first, 10 + width / 2, 120 + last))
    assert body.area == pytest.approx(width * (100 + first + last))


@given(st.floats(-100, 100), st.floats(2, 50))
def test_a_mitred_strip_is_as_large_as_its_path_is_long(turn_deg: float, width: float) -> None:
    # What the outer side of a mitred corner gains the inner side loses (elementary geometry).
    body = strip_body(_corner(turn_deg, 90, 110), width)
    assert body.is_valid
    assert body.area == pytest.approx(width * 200)


def test_a_bent_strip_keeps_its_width() -> None:
    path = centre_line(ZIGZAG, Bend.ROUND, 20.0)
    body = strip_body(path, 24.0)
    for here in LineString(path).segmentize(2.0).coords[15:-15]:
        assert body.exterior.distance(Point(here)) == pytest.approx(12.0, abs=0.02)
