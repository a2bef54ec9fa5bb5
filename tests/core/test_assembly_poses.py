# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a step's plates are at a moment, against turns worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pinwright.core.assembly.plan import planned
from pinwright.core.assembly.poses import ARM, body_pose, moments, plate_poses
from pinwright.core.results import Step
from tests.builders import small_design
from tests.built import build

HALF = float(np.sqrt(0.5))


def turning() -> Step:
    """Shift 100 along x, turned by 90 deg about z; then turn home; then 50 along z."""
    return Step(
        1, None, (0,), np.array([[100.0, 0, -50], [0.0, 0, -50], [0.0, 0, -50], [0.0, 0, 0]]), True,
        (), (), (), (), 1.0, 1, (), "",
        np.array([[0, 0, HALF, HALF], [0, 0, HALF, HALF], [0, 0, 0, 1.0], [0, 0, 0, 1.0]]),
        np.array([10.0, 20.0, 30.0]),
    )  # fmt: skip


def test_moments_count_shifts_and_turns() -> None:
    quarter = ARM * np.pi / 2
    total = 150.0 + quarter
    expected = np.array([0.0, 100.0, 100.0 + quarter, total]) / total
    np.testing.assert_allclose(moments(turning()), expected, atol=1e-12)


def test_a_turn_runs_at_a_constant_rate_about_the_pivot() -> None:
    step = turning()
    reached = moments(step)
    halfway = body_pose(step, float(reached[1] + reached[2]) / 2)
    # By hand: 45 deg about z; the pivot itself is 50 below its place.
    np.testing.assert_allclose(
        halfway[:3, :3], [[HALF, -HALF, 0], [HALF, HALF, 0], [0, 0, 1]], atol=1e-12
    )
    np.testing.assert_allclose(
        halfway @ np.array([10.0, 20.0, 30.0, 1.0]), [10.0, 20.0, -20.0, 1.0], atol=1e-9
    )
    start = body_pose(step, 0.0) @ np.array([11.0, 20.0, 30.0, 1.0])
    np.testing.assert_allclose(start, [110.0, 21.0, -20.0, 1.0], atol=1e-9)


def test_at_the_end_every_plate_is_in_its_place() -> None:
    result = planned(build(small_design()))
    for step in result.steps:
        for plate, pose in plate_poses(result, step, 1.0).items():
            np.testing.assert_allclose(pose, result.plates[plate].world_from_part, atol=1e-9)
    moving = next(step for step in result.steps if len(step.way) > 1)
    outside = plate_poses(result, moving, 0.0)[moving.add[0]]
    shift = outside[:3, 3] - result.plates[moving.add[0]].world_from_part[:3, 3]
    np.testing.assert_allclose(shift, moving.way[0], atol=1e-9)
    assert moments(replace(moving, way=np.zeros((1, 3)))) == pytest.approx([1.0])
