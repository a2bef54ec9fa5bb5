# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Clashes and distances of plates against manifold3d (volumes) and python-fcl (distances).

Both are general libraries for meshes that know nothing of flat plates; see tests/judges.py.
"""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point

from pinwright.core.checks.distance import Distances, least_distance, pair_distances
from pinwright.core.checks.overlap import Overlaps, pair_overlaps
from pinwright.core.checks.solids import PlacedPlates, PlateSolid
from pinwright.core.tolerance import TOLERANCES
from tests.judges import (
    Crowd,
    as_fcl,
    as_manifold,
    crowd,
    fcl_distance,
    fcl_mesh,
    shared_volume,
)

PAIRS = 10_000


@pytest.fixture(scope="module")
def many() -> Crowd:
    return crowd(seed=2026, pairs=PAIRS)


@pytest.fixture(scope="module")
def placed(many: Crowd) -> PlacedPlates:
    solids = [PlateSolid.of(p, t) for p, t in zip(many.outlines, many.thicknesses, strict=True)]
    return PlacedPlates.of([solids[kind] for kind in many.kind], many.world)


@pytest.fixture(scope="module")
def pairs() -> np.ndarray:
    return np.arange(2 * PAIRS).reshape(-1, 2)


@pytest.fixture(scope="module")
def overlaps(placed: PlacedPlates, pairs: np.ndarray) -> Overlaps:
    return pair_overlaps(placed, pairs)


@pytest.fixture(scope="module")
def distances(placed: PlacedPlates, pairs: np.ndarray) -> Distances:
    return pair_distances(placed, pairs)


@pytest.fixture(scope="module")
def volumes(many: Crowd) -> np.ndarray:
    solids = [as_manifold(p, t) for p, t in zip(many.outlines, many.thicknesses, strict=True)]
    kind, world = many.kind, many.world
    return np.array(
        [
            shared_volume(solids[kind[i]], world[i], solids[kind[i + 1]], world[i + 1])
            for i in range(0, 2 * PAIRS, 2)
        ]
    )


def test_every_verdict_and_volume_is_that_of_mesh_booleans(overlaps, volumes):
    # The crowd is a fair trial: many of each verdict.
    assert (volumes > TOLERANCES.clash_volume).sum() > 2_000
    assert (volumes == 0.0).sum() > 2_000
    # A judge that is 1e-4 from the limit (or we) may be rounded to either side of it.
    undecided = np.abs(volumes - TOLERANCES.clash_volume) < 1e-4
    assert undecided.sum() < 10
    wrong = (overlaps.clash != (volumes > TOLERANCES.clash_volume)) & ~undecided
    assert np.flatnonzero(wrong).tolist() == []
    error = np.abs(overlaps.volume - volumes)
    assert np.all(error <= np.maximum(1e-3, 1e-6 * volumes)), error.max()


def test_no_volume_is_invented_where_there_is_none(overlaps, volumes):
    # Not even 1e-13 mm3: the distance of two plates is 0 as soon as they share any volume.
    assert np.all(overlaps.volume[volumes == 0.0] == 0.0)
    assert np.isnan(overlaps.point[volumes == 0.0]).all()


def test_the_quick_verdict_is_the_exact_one(placed, pairs, overlaps):
    quick = pair_overlaps(placed, pairs, exact=False)
    assert np.array_equal(overlaps.clash, quick.clash)
    assert not overlaps.at_least.any()
    assert quick.at_least.sum() > 1_000
    assert np.all(quick.volume <= overlaps.volume * (1.0 + 1e-9) + 1e-9)


def test_every_distance_is_that_of_triangle_trees(many, pairs, distances, volumes):
    meshes = [fcl_mesh(p, t) for p, t in zip(many.outlines, many.thicknesses, strict=True)]
    apart = np.flatnonzero(volumes == 0.0)  # by mesh booleans, not by our own verdict
    objects = {
        int(plate): as_fcl(meshes[many.kind[plate]], many.world[plate])
        for plate in pairs[apart].ravel()
    }
    judged = np.array([fcl_distance(objects[2 * k], objects[2 * k + 1]) for k in apart])
    assert (judged < 1.0).sum() > 200
    # fcl works in doubles too; we promise 1e-6 mm.
    assert np.abs(distances.distance[apart] - judged).max() < 1e-6
    assert np.all(distances.distance[volumes > 1e-6] == 0.0)


def test_nearest_points_lie_in_both_plates_at_that_distance(many, pairs, distances):
    assert not distances.at_least.any()
    gap = np.linalg.norm(distances.point_a - distances.point_b, axis=1)
    assert np.abs(gap - distances.distance).max() < 1e-9
    for k in np.flatnonzero(distances.distance > 0.0)[:500]:
        for plate, point in zip(
            pairs[k], (distances.point_a[k], distances.point_b[k]), strict=True
        ):
            assert outside_by(many, int(plate), point) < 1e-6


def test_the_point_of_a_clash_lies_in_both_plates(many, placed, pairs, overlaps):
    for found in (overlaps, pair_overlaps(placed, pairs, exact=False)):
        for k in np.flatnonzero(found.clash)[:300]:
            for plate in pairs[k]:
                assert outside_by(many, int(plate), found.point[k]) == 0.0
            assert found.extent[k] > 0.0


def test_a_limit_changes_no_distance_below_it(placed, pairs, distances):
    limited = pair_distances(placed, pairs, limit=2.0)
    near = distances.distance <= 2.0
    assert np.array_equal(near, ~limited.at_least)
    assert np.abs(distances.distance - limited.distance)[near].max() < 1e-9
    assert np.all(limited.distance[~near] >= 0.0)
    assert np.all(limited.distance[~near] <= distances.distance[~near] + 1e-9)


def test_the_least_distance_is_the_least_of_all(placed, pairs, distances):
    apart = np.flatnonzero(distances.distance > 0.0)
    for part in np.array_split(apart, 20):
        distance, row, points = least_distance(placed, pairs[part])
        assert distance == pytest.approx(distances.distance[part].min(), abs=1e-9)
        assert distances.distance[part][row] == pytest.approx(distance, abs=1e-9)
        assert np.linalg.norm(points[0] - points[1]) == pytest.approx(distance, abs=1e-9)


def outside_by(many: Crowd, plate: int, point: np.ndarray) -> float:
    """Return how far a world point is outside a plate, by shapely; 0 inside."""
    local = np.linalg.solve(many.world[plate], np.append(point, 1.0))
    aside = many.polygon(plate).distance(Point(local[:2]))
    return float(np.hypot(aside, max(abs(local[2]) - many.thickness(plate) / 2, 0.0)))
