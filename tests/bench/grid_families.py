# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Is every family of designs of one motif found? A fine grid over all of them is the judge.

Run by hand from the repository's root: ``python -m tests.bench.grid_families [GROUP ...]``. What a
family is: tests/families.py. Some best cells, and cells beside that should clash, are judged by
manifold3d's booleans besides.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Sequence

import numpy as np

from pinwright.core.errors import PinwrightError
from pinwright.core.export.build_json import build_to_dict
from pinwright.core.frame.group import rotation_group
from pinwright.core.pipeline import build
from pinwright.core.search.batch import run_batch
from pinwright.core.search.finds import Wanted
from pinwright.core.search.measure import measure
from tests.families import (
    Family,
    Grid,
    built_of,
    design_at,
    families,
    fields,
    hits,
    places_of,
    row_of,
    shaped,
)  # fmt: skip
from tests.judge import judge

__all__ = ["by_solids"]

HANDFUL = 6  # cells; smaller families may slip between the cells of any grid


def clashing_beside(grid: Grid, family: Family, rng: np.random.Generator) -> np.ndarray | None:
    """Return a row near a family whose strips run into each other, by the search's own figures."""
    one = family.field
    some = family.cells[rng.integers(len(family.cells), size=200)]
    rows = np.array([row_of(grid, cell) for cell in some])
    rows = rows + rng.uniform(-0.15, 0.15, rows.shape)
    rows = rows[rows[:, 0] > grid.step]
    rows = rows[shaped(grid, one, rows)]
    if len(rows) == 0:
        return None
    figures = measure(
        one.geometry, one.order, rows[:, :1], places_of(one, rows),
        np.full(len(rows), grid.width), 0.05,
    )  # fmt: skip
    clash = np.flatnonzero((figures.gap < -0.25 * grid.width) & (figures.bend > 0.2))
    return rows[clash[0]] if len(clash) else None


def by_solids(grid: Grid, every: Sequence[Family]) -> tuple[int, int, int, int]:
    """Let solids judge best cells and clashing rows beside them.

    Return how many sound designs of how many buildable ones are free of shared room, and how many
    of how many clashing ones share some.
    """
    rng = np.random.default_rng(5)
    free = sound = shared = clashing = 0
    for family in every:
        built = built_of(grid, family)
        if built is not None:
            verdict = judge(build_to_dict(built), copies=0)
            sound += 1
            free += verdict.sound and verdict.interference == 0.0
        row = clashing_beside(grid, family, rng)
        if row is None:
            continue
        try:
            bad = build(design_at(grid, family.field, row))
        except PinwrightError:
            continue
        clashing += 1
        shared += judge(build_to_dict(bad), copies=0).interference > 1.0
    return free, sound, shared, clashing


def main(names: Sequence[str], batches: int = 40) -> None:
    """Print how many families there are, and how many the search hit."""
    for name in names:
        group = rotation_group(name)
        grid = Grid(Wanted(name, 1), step=0.03 if name == "I" else 0.01)
        start = time.process_time()
        every = [family for one in fields(group) for family in families(grid, one)]
        for family in every:
            family.built = built_of(grid, family) is not None
        real = [family for family in every if family.built]
        print(f"{name}: {len(every)} components, {len(real)} that can be built, "
              f"{time.process_time() - start:.0f} s", flush=True)  # fmt: skip
        free, sound, shared, clashing = by_solids(grid, real[:: max(1, len(real) // 12)])
        print(f"  solids: {free} of {sound} best cells share no room, {shared} of {clashing} cells "
              "that should clash do", flush=True)  # fmt: skip
        start, finds, nowhere = time.process_time(), 0, 0
        for batch in range(batches):
            for proved in run_batch(grid.wanted, 1, batch).proved:
                finds += 1
                nowhere += hits(grid, real, proved.design, batch) == 0
        print(f"  {batches} batches, {finds} finds, {nowhere} of them in no family of this width, "
              f"{time.process_time() - start:.0f} s")  # fmt: skip
        for family in real:
            classes = [g for _, _, g in family.field.geometry.pattern.classes]
            normal = np.round(family.field.geometry.normals[0], 3)
            said = f"{len(family.hit)} finds, first in batch {family.hit[0]}" if family.hit else (
                "missed" if len(family.cells) >= HANDFUL else "missed, a handful")  # fmt: skip
            low, high = family.cells.min(axis=0), family.cells.max(axis=0)
            print(f"  {len(family.cells):6d} cells, classes {classes}, normal {normal}, slots "
                  f"{family.field.order[0]}, h {grid.offsets[low[0]]:.2f} to "
                  f"{grid.offsets[high[0]]:.2f}: {said}", flush=True)  # fmt: skip
        large = [family for family in real if len(family.cells) >= HANDFUL]
        print(f"  families of {HANDFUL} cells or more: {len(large)}, hit "
              f"{sum(bool(family.hit) for family in large)}, missed "
              f"{sum(not family.hit for family in large)}")  # fmt: skip


if __name__ == "__main__":
    main(sys.argv[1:] or ["T", "I"])
