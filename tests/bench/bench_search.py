# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What it costs to judge one candidate of the search, beside building and intersecting solids.

Run by hand from the repository's root: ``python -m tests.bench.bench_search``. Two motifs in the
icosahedral group, one core, processor time. A candidate is one place for every joint class and one
order of the slots along every strip; all candidates of a weave are counted, also those that fall
with one strip. "Solids" takes one design of 120 finished plates, extrudes its two outlines with
manifold3d and intersects the seed of each motif with every other plate.
"""

from __future__ import annotations

import time

import manifold3d
import numpy as np

from pinwright.core.frame.group import rotation_group
from pinwright.core.pipeline import build
from pinwright.core.results import Build
from pinwright.core.search.batch import Proved, run_batch
from pinwright.core.search.finds import Wanted
from pinwright.core.search.geometry import Geometry
from pinwright.core.search.patterns import TWO_ROTORS, random_pattern
from pinwright.core.search.solve import two_rotor_normals
from pinwright.core.search.weave import Limits, weave
from tests.judges import as_manifold

GEOMETRIES, DRAWS = 60, 4


def geometries(count: int) -> list[Geometry]:
    group, rng = rotation_group("I"), np.random.default_rng(1)
    found: list[Geometry] = []
    while len(found) < count:
        pattern = random_pattern(group, TWO_ROTORS, rng)
        if pattern is not None:
            solved = two_rotor_normals(group, pattern)
            found += [Geometry.of(group, pattern, n) for n in solved.normals[:1]]
    return found


def weaving() -> tuple[int, int, int, float]:
    """Return candidates judged, strips laid, candidates left and seconds of processor time."""
    rng = np.random.default_rng(2)
    ready = geometries(GEOMETRIES)
    judged = laid = left = 0
    start = time.process_time()
    for geometry in ready:
        for _ in range(DRAWS):
            offsets = rng.uniform(0.15, 0.72, 2) * rng.choice([-1.0, 1.0], 2)
            woven = weave(geometry, offsets, float(rng.uniform(0.036, 0.075)), Limits(), rng)
            judged, laid = judged + woven.judged, laid + woven.laid
            left += len(woven.places)
    return judged, laid, left, time.process_time() - start


def some_design(wanted: Wanted) -> tuple[Proved, int, int, float]:
    """Run whole batches until one finds a design; return it, counts and processor time."""
    start = time.process_time()
    judged = found = batch = 0
    proved: Proved | None = None
    while batch < 10 or proved is None:
        result = run_batch(wanted, 1, batch)
        judged, found, batch = judged + result.judged, found + len(result.proved), batch + 1
        proved = result.proved[0] if result.proved else proved
    return proved, judged, found, time.process_time() - start


def by_solids(built: Build) -> float:
    """Return the greatest volume that a seed plate shares with another, by manifold3d."""
    solids = [as_manifold(part.outline, part.thickness) for part in built.parts]
    placed = [solids[p.part].transform(p.world_from_part[:3]) for p in built.plates]
    worst = 0.0
    for seed in {built.plates.index(next(p for p in built.plates if p.motif == m))
                 for m in {p.motif for p in built.plates}}:  # fmt: skip
        for other, solid in enumerate(placed):
            if other != seed:
                shared: manifold3d.Manifold = placed[seed] ^ solid
                worst = max(worst, shared.volume())
    return worst


def least(run: object, turns: int = 5) -> float:
    """Return the least processor time of several turns, seconds."""
    assert callable(run)
    times = []
    for _ in range(turns):
        start = time.process_time()
        run()
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    """Print all figures."""
    judged, laid, left, seconds = weaving()
    each = seconds / judged * 1e6
    print(f"weaving: {judged:,} candidates, {laid:,} strips laid, {left:,} left, {seconds:.2f} s")
    print(f"    {each:.3f} us a candidate, {seconds / laid * 1e6:.2f} us a strip")
    proved, every, found, whole = some_design(Wanted("I", 2))
    print(f"whole batches: {every:,} candidates, {found} designs proved, {whole:.2f} s")
    print(f"    {whole / every * 1e6:.3f} us a candidate with improvement, proof and figures")
    built = build(proved.design)
    ours, solids = least(lambda: build(proved.design)), least(lambda: by_solids(built))
    print(f"one design of {len(built.plates)} plates, shared volume {by_solids(built):.6f} mm3")
    print(f"    our build, all checks {ours * 1e3:.1f} ms, {ours / each * 1e6:,.0f} candidates")
    print(f"    manifold3d alone {solids * 1e3:.1f} ms, {solids / each * 1e6:,.0f} candidates")


if __name__ == "__main__":
    main()
