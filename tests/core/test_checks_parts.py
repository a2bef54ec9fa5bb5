# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks of single parts against shapely's distances, brute force, and pencil and paper."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity, box

from pinwright.core.checks.outline_views import outline_views
from pinwright.core.checks.slivers import sharp_corners, slivers
from pinwright.core.checks.stock import check_stock, least_overhang
from pinwright.core.checks.tabs import tab_strength
from pinwright.core.design.materials import material
from pinwright.core.design.model import Design, FrameChoice, MotifChoice, Rings, Sheet
from pinwright.core.outlines.tips import blunted
from pinwright.core.results import Build, Check
from tests.builders import small_design
from tests.built import build
from tests.outlines import plates_with_holes

SMALL = small_design()


def _check(result: Build, name: str) -> Check:
    (found,) = (check for check in result.checks if check.name == name)
    return found


@pytest.mark.parametrize("turn", [0.0, 33.0])
def test_a_neck_between_two_notches_is_measured(turn: float) -> None:
    # A bar 20 mm wide with notches from both sides that leave 1.2 mm at (50, 11.4).
    bar = box(0, 0, 100, 20) - box(45, -1, 55, 10.8) - box(45, 12, 55, 21)
    bar = affinity.rotate(bar, turn, origin=(0, 0))
    (neck,) = slivers(bar, 3.0)
    assert neck.width == pytest.approx(1.2, abs=1e-6)
    middle = affinity.rotate(shapely.Point(50, 11.4), turn, origin=(0, 0))
    assert np.hypot(*(neck.place - middle.coords[0])) < 5.01
    assert slivers(bar, 1.19) == []


def test_a_tongue_that_ends_free_is_found_and_a_wide_one_is_not() -> None:
    plate = box(0, 0, 60, 40) | box(60, 10, 90, 11.5)
    (tongue,) = slivers(plate, 3.0)
    assert tongue.width == pytest.approx(1.5, rel=0.05)
    assert tongue.place[0] > 60
    assert slivers(box(0, 0, 60, 40) | box(60, 10, 90, 13.1), 3.0) == []


@settings(max_examples=25)
@given(plates_with_holes(), st.floats(0.3, 2.5))
def test_a_hole_near_the_edge_leaves_what_shapely_measures(outline: Polygon, left: float) -> None:
    edge = outline.exterior
    spot = np.array(edge.interpolate(0.37, normalized=True).coords[0])
    inward = np.array(outline.centroid.coords[0]) - spot
    inward /= np.linalg.norm(inward)
    hole = shapely.Point(spot + 5.0 * inward).buffer(3.0, quad_segs=32)
    gap = edge.distance(hole)
    if gap <= 0.1 or gap > 4.0 or Polygon(edge).boundary.distance(hole) != gap:
        return
    solid = Polygon(edge).difference(hole)
    before = len(slivers(Polygon(edge), gap + left))
    if before:
        return  # the outline itself is thin there
    found = slivers(solid, gap + left)
    assert found
    assert found[0].width == pytest.approx(gap, abs=1e-6)


@given(st.floats(2.0, 80.0))
def test_corners_are_those_of_the_triangle(apex: float) -> None:
    half = 50.0 * math.tan(math.radians(apex) / 2)
    triangle = Polygon([(0, 0), (50, -half), (50, half)])
    found = sharp_corners(triangle, 179.0)
    assert sorted(angle for angle, _ in found) == pytest.approx(
        sorted([apex, 90 - apex / 2, 90 - apex / 2])
    )
    # As a hole it leaves no corner of sheet; a hole like an arrow leaves the one that points in.
    assert [a for a, _ in sharp_corners(box(-200, -200, 200, 200) - triangle, 89.0)] == []
    arrow = Polygon([(0, 0), (50, -10), (20, 0), (50, 10)])
    ((angle, place),) = sharp_corners(box(-200, -200, 200, 200) - arrow, 89.9)
    assert angle == pytest.approx(2 * math.degrees(math.atan2(10, 30)))
    assert place == pytest.approx((20, 0))


@settings(max_examples=60)
@given(plates_with_holes(), st.floats(100, 200), st.floats(100, 220))
def test_the_best_turn_in_the_sheet_is_that_of_brute_force(
    outline: Polygon, long: float, wide: float
) -> None:
    over, along, across = least_overhang(outline, (long, wide))
    hull = shapely.get_coordinates(outline.convex_hull)
    angles = np.radians(np.arange(0.0, 180.0, 0.05))
    ways = np.stack([np.cos(angles), np.sin(angles)])
    x = np.ptp(hull @ ways, axis=0) - long
    y = np.ptp(hull @ np.stack([-ways[1], ways[0]]), axis=0) - wide
    brute = float(np.maximum(x, y).min())
    assert (over <= 1e-6) == (brute <= 0.0) or abs(brute) < 0.2  # brute force steps by 0.05 deg
    if over <= 1e-6:
        assert along <= long + 1e-6
        assert across <= wide + 1e-6


def test_a_long_strip_goes_on_the_sheet_across_its_diagonal() -> None:
    strip = box(0, 0, 3200, 50)  # the diagonal of 3000 x 1500 is 3354
    assert least_overhang(strip, (3000, 1500))[0] <= 0
    assert least_overhang(box(0, 0, 3340, 50), (3000, 1500))[0] > 0


@pytest.mark.parametrize(("stock", "ok"), [((400.0, 200.0), True), ((150.0, 50.0), False)])
def test_a_part_larger_than_the_sheet_is_found(stock: tuple[float, float], ok: bool) -> None:
    # The upright is 160 x 60.
    check = _check(build(replace(SMALL, sheet=replace(SMALL.sheet, stock=stock))), "stock")
    assert check.ok is ok
    if not ok:
        assert check.where[0].startswith("part B: 160 x 60 mm at (80.0, 30.0)")
        assert check.figure == pytest.approx(10.0)
        assert "Splice" in check.remedy


def test_each_part_larger_than_the_sheet_is_named_and_placed_however_many() -> None:
    (view, *_) = outline_views(build(SMALL))
    shapes = [box(0, 0, 100 + 10 * k, 40) for k in range(40)]
    views = [replace(view, mark=f"P{k}", outline=shape) for k, shape in enumerate(shapes)]
    found = check_stock(views, (150.0, 50.0))
    assert [line.split(":")[0] for line in found.where] == [f"part P{k}" for k in range(39, 5, -1)]
    assert all(f"at ({50 + 5 * k:.1f}, 20.0)" in found.where[39 - k] for k in range(6, 40))


def test_a_tab_bears_what_pencil_and_paper_say() -> None:
    # 20 x 3 mm with a hole of 3.2, 4 mm to its end; aluminium 130 MPa, sheared at 130/sqrt 3.
    result = build(SMALL)
    view = next(v for v in outline_views(result) if v.tabs)
    found = tab_strength(view.outline, view.tabs[0], 3.0, material("aluminium-5052"))
    assert found.width == pytest.approx(20.0)
    assert found.net == pytest.approx(16.8, abs=0.02)  # the hole is a polygon
    assert found.behind == pytest.approx(4.0, abs=0.02)
    assert found.pull == pytest.approx(2 * 3 * 4.0 * 130 / math.sqrt(3), rel=0.01)
    assert found.why == "torn out behind its hole"
    assert found.moment == pytest.approx(20 * 9 / 6 * 130)
    assert _check(result, "tab").ok


def test_a_tab_of_thin_card_under_a_heavy_plate_is_found() -> None:
    # Long arms of single-wall card on one tab each: M = m g r against w t^2/6 of 1.5 MPa.
    long = tuple((x - 1400.0 if x < -60 else x, y) for x, y in SMALL.motifs[0].outline or ())
    arm = replace(SMALL.motifs[0], outline=long)
    heavy = replace(
        SMALL,
        sheet=replace(SMALL.sheet, material="corrugated-card", stock=(3000.0, 1500.0)),
        motifs=(arm, *SMALL.motifs[1:]),
        joint_classes=SMALL.joint_classes[:1],
    )
    check = _check(build(heavy), "tab")
    mass = 1e-9 * 140 * 3 * (1400 * 40)
    lever, moment = 700.0, 20 * 9 / 6 * 1.5
    assert check.figure == pytest.approx(9.81 * mass * lever / moment, rel=0.15)
    assert check.ok == (check.figure <= 1.0)
    assert not check.ok
    assert "tab of J001: its neck bends" in check.where[0]


def test_a_mark_that_cannot_be_read_is_found() -> None:
    # 3 mm wide: less 1 mm on both sides there is 1 mm for a letter.
    rod = MotifChoice("rod", (0, 0, 1), 0.0, (1, 0, 0), outline=((0, 0), (80, 0), (80, 3), (0, 3)))
    one = Design("thin", Sheet(2.0), FrameChoice(200.0, group="C1"), motifs=(rod,))
    check = _check(build(one), "mark")
    assert not check.ok
    assert check.figure < 1.0
    assert check.where[0].startswith("part A: 0.")


def test_tips_of_slanted_laps_are_cut_off_where_the_web_is_wide() -> None:
    # A slot through a bar at 10 deg to its edge; the bar's own corners stay.
    bar = box(0, 0, 200, 20)
    slot = affinity.rotate(box(100, 9, 220, 12), 10.0, origin=(100, 10))
    pieces = shapely.get_parts(bar - slot)
    whole = max(pieces, key=shapely.area)
    assert min(angle for angle, _ in sharp_corners(whole, 179.0)) == pytest.approx(10.0, abs=0.01)
    cut = blunted(whole, bar, 20.0, 3.0)
    assert min(angle for angle, _ in sharp_corners(cut, 179.0)) > 80.0
    assert whole.contains(cut.buffer(-1e-6))
    assert whole.area - cut.area == pytest.approx(3.0**2 / 4 / math.tan(math.radians(5)), rel=0.01)
    assert blunted(whole, whole, 20.0, 3.0).equals(whole)
    assert slivers(cut, 3.0) == [] or slivers(cut, 3.0)[0].width > 2.9


def test_rings_and_plates_with_nothing_wrong_give_no_finding() -> None:
    result = build(Design("r", Sheet(3.0), FrameChoice(400.0, solid="cube"), Rings(40.0, 4)))
    for name in ("sliver", "corner", "stock", "tab", "mark"):
        assert _check(result, name).ok
