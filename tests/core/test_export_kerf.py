# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Kerf compensation: areas after elementary geometry, square corners, lost features refused."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from pinwright.core.errors import OutputError
from pinwright.core.export.kerf import circle_of, compensated
from tests.builders import circle_ring
from tests.outlines import mitred_area, plates_with_holes


def test_square_corners_stay_square() -> None:
    grown = compensated(box(0.0, 0.0, 40.0, 20.0), 0.2, "A")
    assert grown.equals(box(-0.1, -0.1, 40.1, 20.1))


def test_outer_grows_and_slot_shrinks_by_half_a_kerf_on_each_side() -> None:
    slot = box(5.0, 5.0, 25.2, 8.2)
    path = compensated(box(0.0, 0.0, 40.0, 20.0).difference(slot), 0.2, "A")
    assert path.bounds == pytest.approx((-0.1, -0.1, 40.1, 20.1))
    assert path.interiors[0].bounds == pytest.approx((5.1, 5.1, 25.1, 8.1))


def test_no_kerf_changes_nothing() -> None:
    outline = box(0.0, 0.0, 40.0, 20.0)
    assert compensated(outline, 0.0, "A") is outline


@given(plates_with_holes(), st.floats(0.01, 0.6))
def test_area_is_that_of_the_mitred_offset(outline: Polygon, kerf: float) -> None:
    path = compensated(outline, kerf, "A")
    assert path.is_valid
    assert len(path.interiors) == len(outline.interiors)
    outer = mitred_area(np.asarray(outline.exterior.coords)[:-1], kerf / 2)
    # A circle keeps its number of corners; a polygon's corners are mitred.
    inner = sum(
        _hole_area(np.asarray(hole.coords)[:-1], Polygon(hole).area, kerf / 2)
        for hole in outline.interiors
    )
    # GEOS straightens a ring by up to 1 % of the offset before it moves it.
    assert path.area == pytest.approx(outer - inner, abs=0.01 * kerf * outline.length)


@given(plates_with_holes(), st.floats(0.01, 0.6))
def test_the_beam_removes_exactly_the_waste(outline: Polygon, kerf: float) -> None:
    # What is left when a beam of that width has run along the path: the true outline again.
    path = compensated(outline, kerf, "A")
    left = path.difference(path.boundary.buffer(kerf / 2, quad_segs=32))
    lost = left.symmetric_difference(outline)
    # A round beam leaves a speck in each corner, (kerf/2)^2 (tan(w/2) - w/2) for a turn by w, and
    # GEOS straightens the ring by up to 1 % of the offset. Without compensation the difference
    # would be half the kerf times the whole length.
    corners = len(outline.exterior.coords) + 4 * len(outline.interiors)
    assert lost.area <= corners * kerf**2 + 0.01 * kerf * outline.length


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        (Polygon(box(0, 0, 40, 20).exterior, [circle_ring(20, 10, 0.4)]), "a hole of 0.4 mm"),
        (box(0, 0, 40, 20).difference(box(5, 5, 30, 5.4)), "a hole or part of one"),
        (box(0, 0, 40, 20).difference(box(15, 10, 15.4, 30)), "open slot"),
        (
            # a keyhole: the wide end stays, the neck would close
            box(0, 0, 40, 20).difference(box(5, 5, 15, 15).union(box(15, 9.8, 30, 10.2))),
            "part of a hole",
        ),
    ],
)
def test_what_the_cut_would_swallow_is_refused(outline: Polygon, words: str) -> None:
    assert compensated(outline, 0.3, "Q7").is_valid
    with pytest.raises(OutputError, match=words) as caught:
        compensated(outline, 0.5, "Q7")
    assert "Part Q7" in str(caught.value)
    assert "kerf 0.5 mm" in str(caught.value)


@pytest.mark.parametrize("count", [16, 33, 64])
def test_a_circle_is_recognised_and_stays_one(count: int) -> None:
    ring = circle_ring(7.0, -3.0, 3.2, count)
    circle = circle_of(ring)
    assert circle is not None
    assert (circle.x, circle.y, circle.radius) == pytest.approx((7.0, -3.0, 1.6), abs=1e-9)
    path = compensated(Polygon(box(0, -9, 20, 9).exterior, [ring]), 0.2, "A")
    smaller = circle_of(np.asarray(path.interiors[0].coords)[:-1])
    assert smaller is not None
    assert smaller.radius == pytest.approx(1.5, abs=1e-9)


@pytest.mark.parametrize(
    "ring",
    [
        circle_ring(0, 0, 3.2, 6),  # a hexagon is meant
        circle_ring(0, 0, 200.0, 24),  # so is a large 24-gon: 0.86 mm off its circle
        circle_ring(0, 0, 3.2, 32)[:-1],  # one corner is missing
        circle_ring(0, 0, 3.2, 32) * (1.0, 1.001),  # an ellipse
        np.asarray(Point(0, 0).buffer(3, quad_segs=8).union(box(0, -1, 6, 1)).exterior.coords)[:-1],
    ],
)
def test_what_is_no_circle_is_not_taken_for_one(ring: np.ndarray) -> None:
    assert circle_of(ring) is None


def _hole_area(ring: np.ndarray, area: float, half: float) -> float:
    circle = circle_of(ring)
    if circle is not None:
        return area * ((circle.radius - half) / circle.radius) ** 2
    return mitred_area(ring, -half)
