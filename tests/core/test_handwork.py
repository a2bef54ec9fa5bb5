# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Paths drawn by hand: Bezier spans equal the design's curve, and go back into the design."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from scipy.interpolate import BPoly

from pinwright.core import pipeline
from pinwright.core.design.model import Bend
from pinwright.core.design.read import read_design
from pinwright.core.errors import DesignError
from pinwright.core.frame.group import rotation_group
from pinwright.core.plates.handwork import Curve, curves_of, redrawn
from pinwright.core.plates.path import centre_line
from tests.builders import small_design

DEMO = Path(__file__).resolve().parents[2] / "examples" / "demo.toml"
GROUP = rotation_group("I")


def bezier(knots: np.ndarray, count: int = 200) -> np.ndarray:
    """Return points of Bezier spans by scipy's Bernstein polynomials."""
    spans = [
        BPoly(np.array([[a[1]], [a[2]], [b[0]], [b[1]]]), [0.0, 1.0])(np.linspace(0, 1, count))
        for a, b in pairwise(knots)
    ]
    return np.concatenate(spans)


def gap(points: np.ndarray, line: np.ndarray) -> float:
    """Return the largest distance of points from a polyline, by shapely."""
    return float(shapely.distance(shapely.points(points), shapely.LineString(line)).max())


@pytest.mark.parametrize("name", ["a", "b"])
def test_bezier_spans_are_the_smooth_path(name: str) -> None:
    choice = next(one for one in read_design(DEMO).motifs if one.name == name)
    (curve,) = curves_of(choice)
    assert gap(bezier(curve.knots), centre_line(choice.path, Bend.SMOOTH, 0.0)) < 0.06  # chord


def test_an_untouched_curve_changes_nothing() -> None:
    design = read_design(DEMO)
    for choice in design.motifs:
        same = redrawn(design, choice.name, curves_of(choice), GROUP)
        assert same.motifs == design.motifs
        for joint, old in zip(same.joint_classes, design.joint_classes, strict=True):
            assert joint.at == pytest.approx(old.at, abs=1e-6)


def test_a_bulge_is_followed_to_a_tenth_of_a_mm() -> None:
    design = read_design(DEMO)
    (curve,) = curves_of(design.motifs[0])
    knots = curve.knots.copy()
    knots[3] += (4.0, -6.0)
    changed = redrawn(design, "a", (Curve(knots),), GROUP).motifs[0]
    assert gap(bezier(knots), centre_line(changed.path, changed.bend, 0.0)) < 0.11


def test_an_end_that_moves_takes_its_joint_along_the_section_line() -> None:
    design = read_design(DEMO)
    (curve,) = curves_of(design.motifs[1])
    knots = curve.knots.copy()
    knots[:2] += (1.5, 1.5)  # not along the line: the end is laid onto it
    changed = redrawn(design, "b", (Curve(knots),), GROUP)
    moved = [
        abs(joint.at - old.at)
        for joint, old in zip(changed.joint_classes, design.joint_classes, strict=True)
    ]
    assert moved[0] == 0.0  # of motif a
    assert sorted(moved[1:])[0] < 1e-6 < 0.5 < sorted(moved[1:])[1]
    build = pipeline.build(changed)  # the tab grows out of the path's end: no error
    assert len(build.plates) == 120


def test_a_kink_makes_a_sharp_path_and_a_polyline_keeps_its_corners() -> None:
    design = read_design(DEMO)
    (curve,) = curves_of(design.motifs[0])
    knots = curve.knots.copy()
    knots[3, 2] = knots[3, 1] + (0.0, 30.0)
    sharp = redrawn(design, "a", (Curve(knots),), GROUP).motifs[0]
    assert sharp.bend is Bend.SHARP
    assert gap(bezier(knots), np.array(sharp.path)) < 0.051
    corners = np.array(design.motifs[0].path)
    poly = redrawn(design, "a", (Curve(corners),), GROUP).motifs[0]
    assert (poly.bend, len(poly.path)) == (Bend.SHARP, len(corners))


def test_an_outline_is_the_largest_curve_and_the_others_its_holes() -> None:
    design = small_design()
    (outer,) = curves_of(design.motifs[2])
    circle = 5.0 * 0.5522847498  # of the cubic spans that pass for a quarter circle (textbook)
    knots = np.array(
        [
            [[5, -circle], [5, 0], [5, circle]],
            [[circle, 5], [0, 5], [-circle, 5]],
            [[-5, circle], [-5, 0], [-5, -circle]],
            [[-circle, -5], [0, -5], [circle, -5]],
        ],
        dtype=float,
    )
    drawn = redrawn(
        design, "upright", (Curve(knots, closed=True), outer), rotation_group("C2")
    ).motifs[2]
    assert drawn.outline == design.motifs[2].outline
    assert shapely.Polygon(drawn.holes[0]).area == pytest.approx(np.pi * 25, rel=0.02)


def test_what_is_no_path_is_refused() -> None:
    design = read_design(DEMO)
    (curve,) = curves_of(design.motifs[0])
    with pytest.raises(DesignError, match="a closed curve"):
        redrawn(design, "a", (replace_closed(curve),), GROUP)
    with pytest.raises(DesignError, match="2 curves"):
        redrawn(design, "a", (curve, curve), GROUP)
    with pytest.raises(DesignError, match="name of a motif"):
        redrawn(design, "nobody", (curve,), GROUP)
    plate, (outer,) = small_design(), curves_of(small_design().motifs[2])
    with pytest.raises(DesignError, match="an open curve"):
        redrawn(plate, "upright", (replace(outer, closed=False),), rotation_group("C2"))


def replace_closed(curve: Curve) -> Curve:
    return Curve(curve.knots, closed=True)
