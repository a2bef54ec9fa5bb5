# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Section lines of a plate, judged by planes that trimesh cuts and by shapely's intersections."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh

from pinwright.core.design.read import read_design
from pinwright.core.rough import Rough, rough
from pinwright.core.section_map import HAIR, SectionMap, section_map
from tests.builders import small_design

DEMO = Path(__file__).resolve().parents[2] / "examples" / "demo.toml"


@pytest.fixture(scope="module")
def demo() -> Rough:
    return rough(read_design(DEMO))


@pytest.fixture(scope="module")
def seen(demo: Rough) -> SectionMap:
    return section_map(demo, "a")


def length(segments: np.ndarray) -> float:
    return float(np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1).sum())


def test_lines_lie_in_both_planes(demo: Rough, seen: SectionMap) -> None:
    places = demo.places()
    plane = places["a", 0]
    world = seen.lines @ plane[:3, :2].T + plane[:3, 3]
    normals = np.array([other[:3, 2] for other in places.values()])
    offsets = np.array([other[:3, 2] @ other[:3, 3] for other in places.values()])
    off = np.abs(world @ normals.T - offsets).max(axis=1)  # of both ends, from every plane
    assert (np.sort(off, axis=1)[:, 1] < 1e-6).all()  # the plate's own and one more


def test_right_angles_are_those_of_the_normals(demo: Rough, seen: SectionMap) -> None:
    normals = np.array([other[:3, 2] for other in demo.places().values()])
    cosines = np.abs(normals @ demo.places()["a", 0][:3, 2])
    square = (cosines < 1e-6).sum()
    assert seen.plates[seen.square].sum() == square > 0
    assert seen.plates.sum() <= (cosines < 1 - 1e-9).sum()


def test_own_stretches_are_what_shapely_cuts_of_the_body(demo: Rough, seen: SectionMap) -> None:
    body = demo.bodies()["a"]
    lines = shapely.linestrings(seen.lines)
    expected = sum(shapely.length(shapely.intersection(body, line)) for line in lines)
    assert length(seen.own) == pytest.approx(expected, abs=4 * HAIR * len(seen.own))


def test_taken_stretches_are_where_the_plane_cuts_the_other_plates(
    demo: Rough, seen: SectionMap
) -> None:
    # trimesh cuts thin solids of all other plates by the plane: each face of a solid gives a line.
    plane = demo.places()["a", 0]
    expected = 0.0
    thin = 1e-3
    for (name, _), other in demo.places().items():
        if abs(other[:3, 2] @ plane[:3, 2]) > 1 - 1e-9:
            continue
        solid = trimesh.creation.extrude_polygon(
            demo.bodies()[name].buffer(HAIR, join_style="mitre"), thin
        )
        solid.apply_transform(other)
        cut = trimesh.intersections.mesh_plane(solid, plane[:3, 2], plane[:3, 3])
        expected += float(np.linalg.norm(cut[:, 1] - cut[:, 0], axis=1).sum()) / 2
    assert length(seen.taken) == pytest.approx(expected, rel=2e-3)


def test_plates_side_by_side_share_their_lines_and_parallel_ones_have_none() -> None:
    found = rough(small_design())
    seen = section_map(found, "upright")
    # Plates A01, A02 stand in one pair of parallel planes, A03, A04 in the same two: two lines.
    assert len(seen.lines) == 2
    assert seen.plates.tolist() == [2, 2]
    assert seen.square.all()
    with pytest.raises(KeyError):
        section_map(found, "nobody")
