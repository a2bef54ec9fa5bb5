# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Labels beside a picture; shapely judges whether any overlap and whether leaders cross."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from shapely import LineString, box

from pinwright.core.assembly.label_places import beside

FRAME = (0.0, 0.0, 800.0, 600.0)


@pytest.mark.parametrize(("count", "seed"), [(1, 0), (2, 1), (9, 2), (24, 3), (40, 4), (40, 5)])
def test_no_label_hides_another_and_no_leaders_cross(count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = rng.uniform((250.0, 60.0), (550.0, 540.0), size=(count, 2))
    sizes = np.column_stack([rng.uniform(20.0, 60.0, count), np.full(count, 18.0)])
    corners, ends = beside(points, sizes, FRAME, 4.0)
    boxes = [box(*low, *(low + size)) for low, size in zip(corners, sizes, strict=True)]
    whole = box(*FRAME)
    assert all(whole.buffer(1e-6).covers(one) for one in boxes)
    for one, two in combinations(boxes, 2):
        assert one.distance(two) > 3.99 or one.bounds[0] != two.bounds[0]
        assert not one.intersects(two)
    lines = [LineString([end, point]) for end, point in zip(ends, points, strict=True)]
    for side in (True, False):
        mine = [k for k in range(count) if (corners[k, 0] < 400.0) == side]
        for a, b in combinations(mine, 2):
            assert not lines[a].crosses(lines[b])
    for k in range(count):  # a leader starts on its own label's edge
        assert boxes[k].distance(LineString([ends[k], ends[k] + 1e-9])) < 1e-6


def test_labels_stand_level_with_their_points_where_there_is_room() -> None:
    points = np.array([[300.0, 100.0], [310.0, 300.0], [500.0, 200.0]])
    corners, ends = beside(points, np.full((3, 2), 20.0), FRAME, 4.0)
    np.testing.assert_allclose(ends[:, 1], points[:, 1])
    np.testing.assert_allclose(corners[:, 1], points[:, 1] - 10.0)
    assert corners[:, 0].tolist() == [0.0, 0.0, 780.0]


def test_one_side_takes_what_the_other_has_no_room_for() -> None:
    points = np.column_stack([np.full(30, 200.0), np.linspace(50.0, 550.0, 30)])
    corners, _ = beside(points, np.full((30, 2), 20.0), FRAME, 5.0)  # 24 fit into a column
    assert (corners[:, 0] > 400.0).sum() == 6


def test_nothing_to_label() -> None:
    corners, ends = beside(np.zeros((0, 2)), np.zeros((0, 2)), FRAME, 4.0)
    assert corners.shape == ends.shape == (0, 2)
