# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The quick geometry of the search against scipy's splines, shapely's polygons and known links."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from scipy.interpolate import CubicSpline
from shapely import LineString, Point, Polygon

from pinwright.core.frame.group import rotation_group
from pinwright.core.plates.planes import section_line
from pinwright.core.search.geometry import Geometry
from pinwright.core.search.links import linking_numbers
from pinwright.core.search.listing import every_pattern
from pinwright.core.search.measure import measure
from pinwright.core.search.patterns import TWO_ROTORS
from pinwright.core.search.routes import course, knots_of, outline
from pinwright.core.search.sections import occupancy, sight
from pinwright.core.search.solve import two_rotor_normals
from pinwright.core.search.weave import Limits, weave


@pytest.fixture(scope="module")
def geometry() -> Geometry:
    group = rotation_group("I")
    for pattern in every_pattern(group, TWO_ROTORS)[40:]:
        solved = two_rotor_normals(group, pattern)
        if len(solved) and solved.free[0] == 0:
            return Geometry.of(group, pattern, solved.normals[0])
    raise AssertionError("no pattern has normals")


@pytest.mark.parametrize("slots", [0, 1, 2, 4])
def test_paths_are_clamped_cubic_splines(slots: int) -> None:
    rng = np.random.default_rng(slots)
    start, end = rng.uniform(-1, 1, (2, 50, 2))
    middle = rng.uniform(-1, 1, (50, slots, 2))
    turns = rng.uniform(0, 2 * np.pi, 2)
    ways = np.column_stack([np.cos(turns), np.sin(turns)])
    path, into, out_of = knots_of(start, middle, end, ways, np.full(50, 0.1))
    laid = course(path, into, out_of, 6)
    for i in range(50):
        knots = path[i, 1:-1]
        along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(knots, axis=0), axis=1))]
        curve = CubicSpline(along, knots, bc_type=((1, into[i]), (1, -out_of[i])))
        places = np.concatenate(
            [np.linspace(a, b, 6, endpoint=False) for a, b in itertools.pairwise(along)]
            + [along[-1:]]
        )
        assert np.abs(laid.points[i, 1:-1] - curve(places)).max() < 1e-12
        v, a = curve(places, 1), curve(places, 2)
        speed = np.linalg.norm(v, axis=1)
        bent = np.abs(v[:, 0] * a[:, 1] - v[:, 1] * a[:, 0]) / speed**3
        assert np.allclose(laid.curvature[i, 1:-1], bent, rtol=1e-7, atol=1e-9)


def test_views_are_the_section_lines_of_the_planes(geometry: Geometry) -> None:
    offsets = np.array([0.41, -0.28])
    group = geometry.group
    for encounter in geometry.encounters:
        a, b = encounter.first.own, encounter.first.other
        level = encounter.first.level(offsets)
        for k, element in enumerate(encounter.elements):
            turned = group.matrices[element] @ geometry.normals[b]
            line = section_line(geometry.normals[a], offsets[a], turned, offsets[b])
            assert line is not None
            flat = geometry.axes[a] @ line.point
            assert abs(encounter.first.across[k] @ flat - level[k]) < 1e-12
            ahead = geometry.axes[a] @ line.direction
            assert np.abs(encounter.first.along[k] - ahead).max() < 1e-9
            # The mate has the same coordinate on the common line.
            point = line.point + 0.3 * line.direction
            back = group.matrices[element].T @ point
            seen = geometry.axes[b] @ (back - offsets[b] * geometry.normals[b])
            assert abs(encounter.second.along[k] @ seen - 0.3) < 1e-9


def test_occupancy_is_what_shapely_covers(geometry: Geometry) -> None:
    rng = np.random.default_rng(3)
    turns = np.sort(rng.uniform(0, 2 * np.pi, (12, 9)), axis=1)
    far = rng.uniform(0.2, 0.9, (12, 9))
    rings = np.stack([far * np.cos(turns), far * np.sin(turns)], axis=2)  # stars about the origin
    views = geometry.encounters[0].first
    level = views.level(np.array([0.3, 0.5]))
    bits = occupancy(rings, views, level)
    places = -1 + (np.arange(64) + 0.5) / 32
    checked = 0
    for s, ring in enumerate(rings):
        polygon = Polygon(ring)
        edge = polygon.exterior
        for v in range(0, len(level), 3):
            points = level[v] * views.across[v] + places[:, None] * views.along[v]
            shapes = shapely.points(points)
            clear = shapely.distance(shapes, edge) > 1e-9
            covered = shapely.contains(polygon, shapes)
            found = (int(bits[s, v]) >> np.arange(64)) & 1
            assert (found[clear] == covered[clear]).all()
            checked += int(covered.sum())
    assert checked > 500


def test_intervals_are_what_shapely_cuts(geometry: Geometry) -> None:
    rng = np.random.default_rng(5)
    turns = np.sort(rng.uniform(0, 2 * np.pi, (8, 7)), axis=1)
    far = rng.uniform(0.3, 0.9, (8, 7))
    rings = np.stack([far * np.cos(turns), far * np.sin(turns)], axis=2)
    views = geometry.encounters[0].first
    level = np.repeat(views.level(np.array([0.3, 0.5]))[None], 8, axis=0)
    seen = sight(rings, views, level)
    for s, ring in enumerate(rings):
        for v in range(0, level.shape[1], 4):
            middle = level[s, v] * views.across[v]
            line = LineString([middle - 3 * views.along[v], middle + 3 * views.along[v]])
            length = line.intersection(Polygon(ring)).length
            ends = seen.ends[s, v][np.isfinite(seen.ends[s, v])]
            assert len(ends) % 2 == 0
            assert (ends[1::2] - ends[0::2]).sum() == pytest.approx(length, abs=1e-9)


def test_what_the_weave_leaves_does_not_run_into_itself(geometry: Geometry) -> None:
    """Every pair of copies is cut by shapely on its section line; nothing may be covered twice."""
    rng = np.random.default_rng(1)
    group, pattern = geometry.group, geometry.pattern
    limits = Limits(shared=24, private=24)
    judged = 0
    for _ in range(60):
        offsets = rng.uniform(0.2, 0.7, 2) * rng.choice([-1.0, 1.0], 2)
        woven = weave(geometry, offsets, 0.04, limits, rng)
        for places, orders in list(zip(woven.places, woven.orders, strict=True))[:2]:
            strips = []
            for m in range(2):
                slots = [pattern.slots(m)[k] for k in orders[m]]
                at = places[None]
                tabs = pattern.tabs(m)
                start, end = (geometry.tab_port(c, offsets[None], at) for c in tabs)
                middle = np.stack([geometry.slot_port(c, offsets[None], at) for c in slots], axis=1)
                width = np.array([0.04])
                path, into, out_of = knots_of(start, middle, end, geometry.way[list(tabs)], width)
                ring = outline(course(path, into, out_of, 4), width, 0.02)[0]
                # The coarse outline of a sharp bend may cross itself and then has no clear inside;
                # such strips are left to the finer figures of `measure`.
                strips.append(Polygon(ring) if Polygon(ring).is_valid else None)
            assert worst_overlap(geometry, strips, offsets) < 0.035
            judged += sum(strip is not None for strip in strips)
    assert judged >= 10
    assert group.order == 60


def worst_overlap(geometry: Geometry, strips: list[Polygon | None], offsets: np.ndarray) -> float:
    """Longest stretch of a section line that two strips cover both.

    Bits stand 1/32 apart, so what is left may overlap by a little more than that and no more.
    """
    worst = 0.0
    for encounter in geometry.encounters:
        one, two = encounter.first, encounter.second
        if strips[one.own] is None or strips[two.own] is None:
            continue
        first, second = one.level(offsets), two.level(offsets)
        for v in range(len(first)):
            cuts = []
            for views, level, strip in (
                (one, first, strips[one.own]),
                (two, second, strips[two.own]),
            ):
                middle = level[v] * views.across[v]
                line = LineString([middle - 2 * views.along[v], middle + 2 * views.along[v]])
                cut = shapely.get_parts(line.intersection(strip))
                cuts.append(
                    [sorted((shapely.get_coordinates(c) - middle) @ views.along[v]) for c in cut]
                )
            for p in cuts[0]:
                for q in cuts[1]:
                    if p and q:
                        worst = max(worst, min(p[-1], q[-1]) - max(p[0], q[0]))
    return worst


def test_width_and_ends_of_an_outline() -> None:
    path = np.array([[[0.0, 0.0], [0.06, 0.0], [0.94, 0.0], [1.0, 0.0]]])
    laid = course(path, np.array([[1.0, 0.0]]), np.array([[-1.0, 0.0]]), 5)
    ring = outline(laid, np.array([0.1]), 0.02)[0]
    # A straight strip 1 long and 0.1 wide, both ends 0.02 short.
    assert Polygon(ring).area == pytest.approx(0.096, abs=1e-12)
    assert Polygon(ring).distance(Point(0, 0)) == pytest.approx(0.02, abs=1e-12)


def test_measure_scales_with_the_sculpture(geometry: Geometry) -> None:
    # All figures are lengths: twice the sculpture has twice the reach, the gap and the length.
    order = tuple(geometry.pattern.slots(m) for m in range(2))
    rng = np.random.default_rng(7)
    offsets, places = rng.uniform(0.2, 0.5, (6, 2)), rng.uniform(-0.5, 0.5, (6, 4))
    width = np.full(6, 0.05)
    once = measure(geometry, order, offsets, places, width, 0.05)
    twice = measure(geometry, order, 2 * offsets, 2 * places, 2 * width, 0.1)
    assert np.allclose(2 * once.length, twice.length)
    assert np.allclose(once.bend, twice.bend)


def hoop(middle: tuple[float, float, float], x: int, y: int, turns: int = 1) -> np.ndarray:
    angle = np.linspace(0, 2 * np.pi * turns, 60, endpoint=False)
    points = np.tile(np.asarray(middle, dtype=float), (60, 1))
    points[:, x] += np.cos(angle)
    points[:, y] += np.sin(angle)
    return points


def test_linking_numbers_of_known_links() -> None:
    # Hopf link 1, hoops apart 0, torus link T(2, 4) 2 (Rolfsen, Knots and Links, 1976).
    first = hoop((0, 0, 0), 0, 1)
    through, beside = hoop((1, 0, 0), 0, 2), hoop((2.5, 0, 0), 0, 2)
    numbers = linking_numbers(first, np.array([through, beside, first]))
    assert np.abs(numbers) == pytest.approx([1, 0, 0], abs=1e-9)
    angle = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    torus = []
    for shift in (0.0, np.pi):
        far = 2 + np.cos(2 * angle + shift)
        torus.append(
            np.column_stack([far * np.cos(angle), far * np.sin(angle), np.sin(2 * angle + shift)])
        )
    assert abs(linking_numbers(torus[0], torus[1][None])[0]) == pytest.approx(2, abs=1e-9)
