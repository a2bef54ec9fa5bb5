# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Strips along drawn curves: planes against a general library, joints found where strips meet."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from pinwright.core.design.model import (
    Design,
    DrawnStrips,
    FrameChoice,
    JointKind,
    Sheet,
)
from pinwright.core.errors import DesignError
from pinwright.core.plates.along import flat_curve
from tests.built import build
from tests.crossings import assert_sound

Floats = npt.NDArray[np.float64]


def _design(curves: list[Any], group: str = "C1", width: float = 30.0, **said: Any) -> Design:
    drawn = tuple(tuple((float(x), float(y), float(z)) for x, y, z in one) for one in curves)
    recipe = DrawnStrips(width, drawn, **said)
    return Design("drawn", Sheet(3.0), FrameChoice(600.0, group=group), recipe)


def _arch(radius: float = 300.0, first: float = 20.0, last: float = 160.0) -> Floats:
    turns = np.radians(np.linspace(first, last, 9))
    return radius * np.column_stack([np.cos(turns), 0 * turns, np.sin(turns)])


@given(seed=st.integers(0, 10**6), rough=st.floats(0.0, 8.0))
def test_the_plane_is_that_of_a_general_library(seed: int, rough: float) -> None:
    rng = np.random.default_rng(seed)
    turn = Rotation.random(random_state=seed).as_matrix()
    points = _arch() + rng.normal(0.0, rough, (9, 3))
    points = points @ turn.T + turn @ [20.0, 130.0, 10.0]
    found = flat_curve(points)
    point, normal = trimesh.points.plane_fit(points)
    assert abs(found.normal @ normal) == pytest.approx(1.0, abs=1e-9)
    assert found.offset == pytest.approx(abs(point @ normal), abs=1e-6)
    assert found.off == pytest.approx(np.abs((points - point) @ normal).max(), abs=1e-9)


def test_a_straight_curve_stands_on_edge() -> None:
    found = flat_curve([(-50.0, 80.0, 10.0), (0.0, 80.0, 10.0), (70.0, 80.0, 10.0)])
    assert found.offset == pytest.approx(0.0, abs=1e-9)
    assert found.normal @ [1.0, 0.0, 0.0] == pytest.approx(0.0, abs=1e-12)
    assert len(found.path) == 3


def test_two_arches_cross_by_a_lap() -> None:
    turned = _arch()[:, [1, 0, 2]]
    built = build(_design([_arch(), turned]))
    (joint,) = built.joints
    assert joint.kind is JointKind.CROSS_LAP
    # They cross over the middle, at the radius at which both were drawn.
    assert np.abs(joint.centre - [0.0, 0.0, 300.0]).max() < 0.5
    assert_sound(built)


@pytest.mark.parametrize("short", [-8.0, 0.0, 12.0])
def test_an_end_near_another_strip_gets_a_tab_in_it(short: float) -> None:
    lead = [(0.0, -200.0, 260.0), (0.0, -100.0, 292.0), (0.0, -40.0, 300.0), (0.0, -short, 300.0)]
    built = build(_design([_arch(), lead]))
    (joint,) = built.joints
    assert joint.kind is JointKind.TENON
    assert built.plates[joint.plates[0]].motif == "strip-2"
    assert np.abs(joint.centre - [0.0, 0.0, 300.0]).max() < 0.5
    assert_sound(built)


def test_the_group_carries_a_curve_round_and_its_copies_are_joined() -> None:
    arch = _arch(290.0, -70.0, 70.0) + np.array([0.0, 100.0, 0.0])
    built = build(_design([arch], "T"))
    assert len(built.plates) == 12
    assert len(built.parts) == 1
    assert len(built.joints) == 24
    assert_sound(built)


def test_styles_go_along() -> None:
    turned = _arch()[:, [1, 0, 2]]
    plain = build(_design([_arch(), turned]))
    wide = build(_design([_arch(), turned], end_width=50.0))
    # Each of four tapers of 150 mm has half of 20 mm more: 1500 mm2.
    more = wide.totals.sheet_area - plain.totals.sheet_area
    assert more == pytest.approx(4 * 1500.0, rel=0.01)


@pytest.mark.parametrize(
    ("curves", "message"),
    [
        ([], r"recipe\.curves: .*at least one curve"),
        ([[(1, 2, 3)]], r"recipe\.curves\[1\]: .*at least 2 points"),
        ([[(1, 2, 3), (1, 2, 3)]], r"at least 2 points"),
        ([_arch(), _arch(300, 0, 360)], r"recipe\.curves\[2\]: found 'a closed curve'"),
        ([_arch(), _arch() + np.array([0, 400, 0])], r"2 curves whose strips meet nowhere"),
        (
            [[(0, 0, 0), (100, 0, 90), (200, 0, -90), (300, 90, 0), (400, -90, 0)]],
            r"recipe\.curves\[1\]: .*strays [\d.]+ mm from its best plane",
        ),
    ],
)
def test_what_cannot_be_strips_is_refused(curves: list[Any], message: str) -> None:
    with pytest.raises(DesignError, match=message):
        build(_design(curves))
