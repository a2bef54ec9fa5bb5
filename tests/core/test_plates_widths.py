# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Strips with wider or narrower ends: widths measured across the body by shapely."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Polygon

from pinwright.core.design.model import Bend, MotifChoice
from pinwright.core.design.read import design_from_dict
from pinwright.core.errors import DesignError
from pinwright.core.frame.group import rotation_group
from pinwright.core.plates.motif import Motif, motif_from_choice

BENT = ((0.0, 0.0), (25.0, 0.0), (120.0, 60.0), (230.0, -20.0), (300.0, 10.0), (330.0, 10.0))


def _strip(path: Any = ((0.0, 0.0), (300.0, 0.0)), **said: Any) -> Motif:
    choice = MotifChoice("leaf", (0, 0, 1), 0.0, path=path, **said)
    return motif_from_choice(choice, rotation_group("C1"))


def _wide(motif: Motif, at: float) -> float:
    """Measure a strip square to its path, `at` mm along it."""
    assert motif.path is not None
    line = LineString(motif.path)
    here, there = (np.array(line.interpolate(at + d).coords[0]) for d in (-0.01, 0.01))
    way = (there - here) / np.linalg.norm(there - here)
    side = np.array([-way[1], way[0]])
    middle = (here + there) / 2
    cut = LineString([middle - 60 * side, middle + 60 * side]).intersection(motif.body)
    piece = min(shapely.get_parts(cut), key=lambda one: one.distance(shapely.Point(middle)))
    return float(piece.length)


def _formula(at: float, length: float, width: float, end: float, taper: float) -> float:
    u = min(min(at, length - at) / taper, 1.0)
    return end + (width - end) * (3 * u**2 - 2 * u**3)


@given(
    end=st.floats(12.0, 60.0),
    width=st.floats(14.0, 40.0),
    taper=st.floats(30.0, 120.0),
    share=st.floats(0.01, 0.99),
    bend=st.sampled_from([Bend.SMOOTH, Bend.ARC]),
)
def test_the_width_along_the_path(
    end: float, width: float, taper: float, share: float, bend: Bend
) -> None:
    motif = _strip(BENT, width=width, end_width=end, taper=taper, bend=bend)
    assert motif.path is not None
    length = LineString(motif.path).length
    at = share * length
    # Off the chords' corners by up to 0.05 mm of the path and half as much of each side.
    assert _wide(motif, at) == pytest.approx(
        _formula(at, length, width, end, taper), abs=0.25 + 0.01 * max(width, end)
    )
    assert motif.body.is_valid


def test_the_area_of_a_straight_one() -> None:
    # The mean of 3 u^2 - 2 u^3 is 1/2: each taper has the mean of both widths.
    motif = _strip(width=20.0, end_width=44.0, taper=90.0)
    assert motif.body.area == pytest.approx(120 * 20 + 2 * 90 * 32, rel=1e-4)
    assert motif.end_width == 44.0
    assert motif.least_width == 20.0


def test_left_open_a_taper_is_three_wider_widths_or_half_a_short_path() -> None:
    assert _strip(width=20.0, end_width=30.0).taper.length == 90.0  # type: ignore[union-attr]
    assert _strip(width=20.0, end_width=80.0).taper.length == 150.0  # type: ignore[union-attr]


def test_even_ends_are_the_plain_strip() -> None:
    assert _strip(width=20.0, end_width=20.0).body.equals(_strip(width=20.0).body)


def test_a_sharp_corner_in_a_taper_is_one_sound_piece() -> None:
    motif = _strip(((0, 0), (40, 0), (60, 140)), width=20.0, end_width=36.0)
    assert isinstance(motif.body, Polygon)
    assert motif.body.is_valid
    assert not motif.body.interiors


def test_a_long_taper_is_refused() -> None:
    with pytest.raises(DesignError, match=r"motifs\.leaf\.taper: .* half of the path, 150\.0 mm"):
        _strip(width=20.0, end_width=30.0, taper=160.0)


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"taper": 30.0}, "recipe.taper"),
        ({"cut_size": 8.0}, "recipe.cut_size"),
        ({"cut_out": "round", "cut_length": 20.0}, "recipe.cut_length"),
    ],
)
def test_what_says_nothing_is_refused(said: dict[str, Any], field: str) -> None:
    table = {
        "schema": "pinwright-design/1",
        "name": "x",
        "sheet": {"thickness": 3.0},
        "frame": {"solid": "cube", "diameter": 500.0},
        "recipe": {"kind": "edge rotor", "width": 40.0, **said},
    }
    with pytest.raises(DesignError) as caught:
        design_from_dict(table)
    assert caught.value.field == field
