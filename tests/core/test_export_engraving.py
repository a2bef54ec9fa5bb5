# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The engraved mark: an alphabet that can be told apart, clear of every edge."""

from __future__ import annotations

import string
from collections.abc import Sequence
from itertools import combinations, permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiLineString, Polygon, box, hausdorff_distance

from pinwright.core.export.engraving import engraved
from pinwright.core.export.stroke_font import SIGNS, text_strokes, text_width
from tests.outlines import plates_with_holes


def test_the_alphabet_is_complete() -> None:
    assert set(string.ascii_uppercase + string.digits + "- ") == SIGNS


def test_every_sign_fills_its_box_and_no_other() -> None:
    for sign in sorted(SIGNS - set("- ")):
        points = np.concatenate(text_strokes(sign, 6.0))
        assert (points[:, 1].min(), points[:, 1].max()) == (-3.0, 3.0)
        assert np.abs(points[:, 0]).max() <= 2.0


def test_no_two_signs_look_alike() -> None:
    for a, b in combinations(sorted(SIGNS - {" "}), 2):
        assert _difference(text_strokes(a, 6.0), text_strokes(b, 6.0)) >= 0.5, (a, b)


def test_no_letter_upside_down_is_another_letter() -> None:
    # Parts lie on the table in any way.
    for a, b in permutations(string.ascii_uppercase, 2):
        turned = [-stroke for stroke in text_strokes(a, 6.0)]
        assert _difference(turned, text_strokes(b, 6.0)) >= 0.5, (a, b)


def test_text_is_centred_and_as_wide_as_said() -> None:
    points = np.concatenate(text_strokes("HH", 12.0))
    assert points.max(axis=0) == pytest.approx((6.0 * text_width("HH"), 6.0))
    assert points.min(axis=0) == pytest.approx((-6.0 * text_width("HH"), -6.0))
    assert text_width("") == 0.0


def test_small_letters_are_written_as_capitals() -> None:
    for small, capital in zip(text_strokes("ab", 5.0), text_strokes("AB", 5.0), strict=True):
        assert np.array_equal(small, capital)


def test_an_unknown_sign_is_refused() -> None:
    with pytest.raises(ValueError, match="no strokes for"):
        text_strokes("Ä", 5.0)


@given(plates_with_holes(), st.sampled_from(["A", "W", "AA", "QX", "B-12"]))
def test_the_mark_keeps_a_millimetre_from_every_edge(outline: Polygon, mark: str) -> None:
    strokes, warnings = engraved(mark, outline)
    assert warnings == ()
    lines = MultiLineString(strokes)
    assert outline.contains(lines)
    assert lines.distance(outline.boundary) >= 1.0 - 1e-9
    height = np.ptp(np.concatenate(strokes)[:, 1])
    assert 2.5 - 1e-9 <= height <= 12.0 + 1e-9


def test_height_follows_the_room() -> None:
    heights = [
        np.ptp(np.concatenate(engraved("H", box(0, 0, 200, width))[0])[:, 1])
        for width in (8.0, 12.0, 40.0)
    ]
    assert heights[0] < heights[1] < heights[2] == 12.0


@pytest.mark.parametrize("mark", ["A", "ABC"])
def test_no_room_is_said(mark: str) -> None:
    strokes, (warning,) = engraved(mark, box(0.0, 0.0, 100.0, 4.5))
    assert strokes == ()
    assert f"Part {mark}" in warning
    assert "no room" in warning


def test_a_mark_that_cannot_be_engraved_is_said() -> None:
    strokes, (warning,) = engraved("Ω", box(0.0, 0.0, 100.0, 50.0))
    assert strokes == ()
    assert "cannot be engraved" in warning


def _difference(a: Sequence[np.ndarray], b: Sequence[np.ndarray]) -> float:
    """Return how far one drawing strays from the other at most (six units are its height)."""
    return hausdorff_distance(MultiLineString(a), MultiLineString(b), densify=0.25)
