# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A grid over all designs of one motif in the tetrahedral group: the search finds its families.

``tests/bench/grid_families.py`` does the same more finely, and for the icosahedral group.
"""

from __future__ import annotations

from collections import defaultdict

import pytest

from pinwright.core.frame.group import rotation_group
from pinwright.core.search.batch import run_batch
from pinwright.core.search.finds import Wanted
from tests.bench.grid_families import by_solids
from tests.families import Family, Grid, built_of, families, fields, hits

GRID = Grid(Wanted("T", 1), step=0.03)
LARGE = 110  # cells; the bench counts smaller ones, which take more batches


@pytest.fixture(scope="module")
def every() -> list[Family]:
    group = rotation_group("T")
    found = [family for one in fields(group) for family in families(GRID, one)]
    return [family for family in found if len(family.cells) >= LARGE]


def test_solids_agree_with_the_grid(every: list[Family]) -> None:
    # manifold3d's booleans: best cells share no room, cells beside that should clash do.
    assert len(every) >= 12
    free, sound, shared, clashing = by_solids(GRID, every[:3])
    assert free == sound == 3
    assert shared == clashing >= 2


def test_every_large_family_of_a_fine_grid_is_found(every: list[Family]) -> None:
    finds = 0
    for batch in range(2):
        for one in run_batch(GRID.wanted, 1, batch).proved:
            hits(GRID, every, one.design, batch)
            finds += 1
    assert finds >= 20
    # A quarter turn of the frame carries T to itself, so every family is there twice.
    twins: dict[tuple[int, ...], list[bool]] = defaultdict(list)
    for family in every:
        twins[len(family.cells), *family.field.order[0]].append(bool(family.hit))
    assert all(len(pair) == 2 for pair in twins.values())
    assert len(twins) >= 6
    assert all(any(pair) for pair in twins.values())
    assert all(built_of(GRID, family) is not None for family in every[:4])
