# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Sizes of a tenon against the section drawn as polygons, and the rules of the sheet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, box
from shapely.affinity import rotate

from pinwright.core.design.model import JointSizes, Sheet
from pinwright.core.errors import DesignError
from pinwright.core.fit.sizes import LEAST_ANGLE_DEG, Sizes, resolve_sizes
from pinwright.core.fit.tenon import check_angle, half_band, slot_width, tenon_sizes

thicknesses = st.floats(0.5, 20)
angles = st.floats(LEAST_ANGLE_DEG, 90)

SIZES = Sizes(
    thickness=3.0,
    clearance=0.1,
    tab_width=18.0,
    pin_diameter=3.0,
    pin_length=12.0,
    pin_play=0.5,
    hole_play=0.2,
    web=3.0,
    corner_radius=0.0,
    gap=2.0,
)


def _crossing(t: float, s: float, angle_deg: float) -> tuple[Polygon, Polygon]:
    """Return the sections of two long plates: A flat, thickness t; B, thickness s, at the angle."""
    a, b = box(-1e3, -t / 2, 1e3, t / 2), box(-1e3, -s / 2, 1e3, s / 2)
    return a, rotate(b, angle_deg, origin=(0, 0))


@given(thicknesses, thicknesses, angles)
def test_the_band_is_what_the_other_plate_fills(t: float, s: float, angle_deg: float) -> None:
    a, b = _crossing(t, s, angle_deg)
    x0, _, x1, _ = a.intersection(b).bounds
    assert x1 == pytest.approx(half_band(t, s, angle_deg), rel=1e-6)
    assert x0 == pytest.approx(-x1, rel=1e-6)


@given(thicknesses, thicknesses, angles, st.floats(0, 1))
def test_a_slot_lets_the_plate_pass_with_its_clearance(
    t: float, s: float, angle_deg: float, clearance: float
) -> None:
    # The slot is cut square to B: it is as wide as the plate A appears over B's thickness.
    b, a = _crossing(s, t, angle_deg)
    x0, _, x1, _ = a.intersection(b).bounds
    assert slot_width(t, s, angle_deg, clearance) == pytest.approx(
        x1 - x0 + 2 * clearance, rel=1e-6
    )


def test_square_plates_need_a_slot_of_their_thickness() -> None:
    assert slot_width(3.0, 5.0, 90.0, 0.1) == pytest.approx(3.2)
    assert half_band(3.0, 5.0, 90.0) == pytest.approx(2.5)


@given(angles, thicknesses, st.floats(2, 8), st.floats(0, 3), st.floats(1, 12))
def test_the_pin_clears_the_far_face_by_its_play(
    angle_deg: float, t: float, diameter: float, play: float, shown: float
) -> None:
    sizes = replace(
        SIZES, thickness=t, pin_diameter=diameter, pin_play=play, pin_length=t + 2 * shown
    )
    tenon = tenon_sizes(sizes, angle_deg, 18.0, "x")
    # In the section along A the pin is a rectangle; moved back by its play it touches B, no more.
    half = sizes.pin_length / 2
    _, b = _crossing(t, t, angle_deg)
    pin = box(tenon.pin_centre - diameter / 2, -half, tenon.pin_centre + diameter / 2, half)
    moved = box(pin.bounds[0] - play, -half, pin.bounds[2] - play, half)
    assert b.distance(moved) == pytest.approx(0.0, abs=1e-6)
    assert b.intersection(moved).area == pytest.approx(0.0, abs=1e-6)
    assert b.distance(pin) == pytest.approx(play * np.sin(np.radians(angle_deg)), abs=1e-6)
    # Beyond the hole stands a web; before the line the shoulder stops short of B.
    assert tenon.tab_end - tenon.pin_centre - tenon.hole_diameter / 2 == pytest.approx(sizes.web)
    assert tenon.hole_diameter == pytest.approx(diameter + sizes.hole_play)
    assert b.intersection(box(-1e3, -t / 2, -tenon.shoulder, t / 2)).area < 1e-6
    assert tenon.slot_length == pytest.approx(18.2)


@pytest.mark.parametrize("angle_deg", [29.99, 10.0, 0.001])
def test_oblique_planes_are_refused(angle_deg: float) -> None:
    with pytest.raises(DesignError, match=r"joint_classes\.a: found .* an angle of 30 to 90 deg"):
        check_angle(angle_deg, "joint_classes.a")
    with pytest.raises(DesignError, match="30 to 90"):
        tenon_sizes(SIZES, angle_deg, 18.0, "x")


def test_the_least_angle_itself_is_allowed() -> None:
    check_angle(LEAST_ANGLE_DEG, "x")
    assert slot_width(1.0, 1.0, 30.0, 0.0) == pytest.approx(2 + np.sqrt(3))  # 1/sin + cot by hand


@given(st.floats(0.5, 25), st.floats(0.001, 200))
def test_default_sizes_hold_together(thickness: float, more: float) -> None:
    # By hand: pin, play, two webs in the tab; clearances and two webs beside the slot.
    # A hole is half as wide as the sheet is thick at least (common practice, no published source).
    web = max(thickness, 2.0)
    pin = max(min(max(thickness, 2.0), 8.0), thickness / 2 - 0.2)
    width = (pin + 0.2 + 2 * web) + 0.2 + 2 * web + more
    with pytest.raises(DesignError, match=r"width .*: found .* a web on each side of the slot"):
        resolve_sizes(JointSizes(), Sheet(thickness), width - more - 0.001)
    sizes = resolve_sizes(JointSizes(), Sheet(thickness), width)
    assert sizes.tab_width >= sizes.hole_diameter + 2 * sizes.web - 1e-9
    assert sizes.tab_width + 2 * sizes.clearance + 2 * sizes.web <= width + 1e-9
    assert sizes.pin_length >= thickness + 8.0
    assert sizes.web >= max(thickness, 2.0)
    assert 2.0 <= sizes.pin_diameter <= max(8.0, thickness / 2)


def test_chosen_sizes_are_kept_and_zero_is_a_choice() -> None:
    chosen = JointSizes(
        tab_width=19.0,
        pin_diameter=4.0,
        pin_length=21.0,
        pin_play=0.0,
        hole_play=0.0,
        web=2.5,
        corner_radius=1.5,
        gap=0.0,
    )
    sizes = resolve_sizes(chosen, Sheet(3.0, clearance=0.0), 50.0)
    for name in ("tab_width", "pin_diameter", "pin_length", "pin_play", "hole_play", "web", "gap"):
        assert getattr(sizes, name) == getattr(chosen, name)
    assert sizes.hole_diameter == 4.0
    assert sizes.clearance == 0.0
    assert sizes.corner_radius == 1.5


@pytest.mark.parametrize(
    ("chosen", "narrowest", "said"),
    [
        (
            JointSizes(tab_width=9.0),
            None,
            r"joints\.tab_width: found 9\.0.*at least 9\.2 mm: the pin",
        ),
        (
            JointSizes(tab_width=30.0),
            36.0,
            r"joints\.tab_width: found 30\.0.*at most 29\.8 mm for a strip 36 mm wide",
        ),
        (JointSizes(), 15.0, r"width .*: found 15\.0, allowed is at least 15\.4 mm"),
        (
            JointSizes(pin_length=4.5),
            None,
            r"joints\.pin_length: found 4\.5.*at least 5 mm: 1 mm more",
        ),
    ],
)
def test_sizes_that_do_not_agree_are_refused(
    chosen: JointSizes, narrowest: float | None, said: str
) -> None:
    with pytest.raises(DesignError, match=said):
        resolve_sizes(chosen, Sheet(3.0, clearance=0.1), narrowest)


def test_the_limits_in_the_messages_are_the_limits() -> None:
    sheet = Sheet(3.0, clearance=0.1)
    assert resolve_sizes(JointSizes(tab_width=9.2), sheet, None).tab_width == 9.2
    assert resolve_sizes(JointSizes(tab_width=29.8), sheet, 36.0).tab_width == 29.8
    assert resolve_sizes(JointSizes(pin_length=5.0), sheet, None).pin_length == 5.0
