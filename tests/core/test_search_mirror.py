# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Mirror twins: the same pattern and normals with all offsets and places negated."""

from __future__ import annotations

from dataclasses import asdict, replace

import numpy as np
import pytest
from scipy.spatial import cKDTree
from scipy.spatial.distance import pdist

from pinwright.core.frame.group import Group, rotation_group
from pinwright.core.results import Build
from pinwright.core.search.finds import Wanted, design_of, normals_key
from pinwright.core.search.rank import merits_of
from pinwright.core.search.shape import shape_of
from pinwright.core.search.sliders import find_of
from pinwright.core.search.variety import signature
from tests.built import build
from tests.found import found_design


def corners(built: Build) -> np.ndarray:
    """Return all corners (k, 3) of the plates' middle planes in the world, mm."""
    return np.concatenate([ring(built, p) for p in range(len(built.plates))])


def ring(built: Build, p: int) -> np.ndarray:
    """Return the corners (k, 3) of one plate."""
    plate = built.plates[p]
    flat = np.asarray(built.parts[plate.part].outline.exterior.coords)[:-1]
    pose = plate.world_from_part
    return flat @ pose[:3, :2].T + pose[:3, 3]


def middles(built: Build) -> list[np.ndarray]:
    """Return the mean (3,) of each plate's corners."""
    return [ring(built, p).mean(axis=0) for p in range(len(built.plates))]


@pytest.fixture(scope="module")
def twins() -> tuple[Build, Build]:
    group = rotation_group("T")
    find = find_of(found_design())
    twin = replace(find, offsets=-find.offsets, places=-find.places)
    assert twin.pattern == find.pattern
    assert normals_key(group, twin) == normals_key(group, find)
    wanted = Wanted("T", 2, clearance=8.0)
    one, two = (build(design_of(group, each, wanted, "twin")) for each in (find, twin))
    return one, two


def test_a_twin_is_the_mirror_image_point_by_point(twins: tuple[Build, Build]) -> None:
    # x to -x is a mirror image turned by half a turn; scipy's tree finds the nearest corners.
    here, there = map(corners, twins)
    assert len(here) == len(there)
    apart, _ = cKDTree(-here).query(there)
    assert apart.max() < 1e-6
    # It is another sculpture: no element of the group lays one on the other.
    group = rotation_group("T")
    for matrix in group.matrices:
        apart, _ = cKDTree(here @ matrix.T).query(there)
        assert apart.max() > 5.0


def test_twins_have_the_same_merits_and_distances(twins: tuple[Build, Build]) -> None:
    group: Group = rotation_group("T")
    one, two = twins
    assert one.ok
    assert two.ok
    shapes = [shape_of(each.design, group) for each in twins]
    first, second = (asdict(merits_of(b, s)) for b, s in zip(twins, shapes, strict=True))
    # Two figures count the pixels of a coarse silhouette, whose rims fall a little differently.
    for name in ("openness", "evenness"):
        assert first.pop(name) == pytest.approx(second.pop(name), rel=1e-3)
    assert first == pytest.approx(second, rel=1e-6, abs=1e-6)
    assert np.abs(signature(shapes[0]) - signature(shapes[1])).sum() < 1e-6
    figures = [{check.name: check.figure for check in each.checks} for each in twins]
    for name, figure in figures[0].items():
        # "no joint is off square" has figures of rounding noise.
        assert figures[1][name] == pytest.approx(figure, rel=1e-6, abs=1e-6)
    # Distances of the plates' middles from each other, all of them.
    apart = [np.sort(pdist(np.array(middles(each)))) for each in twins]
    assert apart[0] == pytest.approx(apart[1], abs=1e-6)
