# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How long clashes and distances take, beside python-fcl and manifold3d in the same run.

Run by hand from the repository's root: ``python -m tests.bench.bench_clash``; with ``--quick`` only
up to 180 plates. All answer the same questions about one scene: which pairs of plates clash; and
for some scenes besides, how far apart are those that come within 5 mm. Everything is counted from
the outlines and transforms on: our solids, fcl's trees of triangles. Figures are medians of the
calling thread's processor time over several turns, the rivals taking turns, so that other work on
the machine hits all alike (threads that manifold3d starts are not counted against it). Who takes
less than 50 ms is run once untimed before each turn, whoever it is: else the caches are those of
the slowest rival, and what is measured of a few ms is mostly how long it takes to fill them.

ours, symmetry   one pair of each kind, as the checks of a design do it
ours, all pairs  sort and sweep over boxes, then all near pairs; no use is made of symmetry
fcl              BVH meshes (one for each outline); the quicker of two ways to its pairs: its own
                 DynamicAABBTree manager, or the near pairs that we found, for which it does not pay
                 (only this above 500 plates: building the meshes is then nearly all it does)
manifold         the solids, and a boolean of each near pair (not paid for either) in the frame of
                 one of the two, which is quicker than in the world; for distances min_gap

Sculptures come first: with their joints, as designed, with plates moved into others, with each
plate's outline its own. Piles are not what anybody builds: nearly all their near pairs clash, which
is when trees of triangles are at their quickest, since they stop at the first two that meet.

The last columns are ratios of times. Every verdict and every distance is compared: where fcl and we
differ, manifold3d's volume decides.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version

import fcl
import numpy as np
import numpy.typing as npt

from pinwright.core.checks.boxes import near_pairs
from pinwright.core.checks.distance import pair_distances
from pinwright.core.checks.overlap import pair_overlaps
from pinwright.core.checks.solids import PlacedPlates, plate_solids
from pinwright.core.tolerance import TOLERANCES
from tests.bench.clash_scenes import (
    EXAMPLES,
    Stand,
    boulder,
    different,
    edited,
    lifted,
    moved,
    sculpture,
    shells,
)
from tests.judges import as_fcl, as_manifold, crowd, fcl_mesh, shared_volume

__all__ = ["main"]

LIMIT = 5.0  # mm, up to which distances are wanted
WARM = 50.0  # ms; who takes less is run once before it is timed
Pairs = npt.NDArray[np.intp]
Answer = tuple[npt.NDArray[np.bool_], npt.NDArray[np.float64]]


@dataclass(frozen=True, slots=True)
class Question:
    """distance : not only who clashes, but also how near the others come, up to LIMIT."""

    distance: bool

    @property
    def reach(self) -> float:
        return LIMIT if self.distance else 0.0


def ours(stand: Stand, asked: Question, pairs: Pairs | None) -> Answer:
    """Answer for `pairs`, or for all near pairs, found here."""
    solids = plate_solids(stand.outlines, [stand.thickness] * len(stand.outlines))
    placed = PlacedPlates.of([solids[k] for k in stand.kind.tolist()], stand.world)
    if pairs is None:
        pairs = near_pairs(placed, asked.reach)
    found = pair_overlaps(placed, pairs, exact=False)
    if not asked.distance:
        return found.clash, np.zeros(len(pairs))
    return found.clash, pair_distances(placed, pairs, LIMIT, found).distance


def _objects(stand: Stand) -> list[fcl.CollisionObject]:
    meshes = [fcl_mesh(outline, stand.thickness) for outline in stand.outlines]
    return [as_fcl(meshes[k], world) for k, world in zip(stand.kind, stand.world, strict=True)]


ASK_HIT, ASK_GAP = fcl.CollisionRequest(), fcl.DistanceRequest()


def _judge(one: fcl.CollisionObject, two: fcl.CollisionObject, asked: Question) -> float:
    """Return -1 for a clash, else the distance (0 where it is not asked)."""
    if fcl.collide(one, two, ASK_HIT, fcl.CollisionResult()):
        return -1.0
    if not asked.distance:
        return 0.0
    return float(fcl.distance(one, two, ASK_GAP, fcl.DistanceResult()))


def by_fcl_pairs(stand: Stand, asked: Question, pairs: Pairs) -> Answer:
    objects = _objects(stand)
    found = np.array([_judge(objects[i], objects[j], asked) for i, j in pairs.tolist()])
    return found < 0.0, np.maximum(found, 0.0)


def by_fcl_tree(stand: Stand, asked: Question) -> int:
    objects = _objects(stand)
    manager = fcl.DynamicAABBTreeCollisionManager()
    manager.registerObjects(objects)
    manager.setup()
    found: list[float] = []

    def touched(one: fcl.CollisionObject, two: fcl.CollisionObject, _: object) -> bool:
        found.append(_judge(one, two, asked))
        return False

    def near(one: fcl.CollisionObject, two: fcl.CollisionObject, _: object) -> tuple[bool, float]:
        found.append(_judge(one, two, asked))
        return False, LIMIT  # pairs whose boxes are farther apart than this are left out

    if asked.distance:
        manager.distance(None, near)
    else:
        manager.collide(None, touched)
    return sum(value < 0.0 for value in found)


def by_manifold(stand: Stand, asked: Question, pairs: Pairs) -> Answer:
    solids = [as_manifold(outline, stand.thickness) for outline in stand.outlines]
    hits, gaps = np.zeros(len(pairs), dtype=bool), np.zeros(len(pairs))
    for n, (i, j) in enumerate(pairs.tolist()):
        one = solids[stand.kind[i]]
        two = solids[stand.kind[j]].transform(np.linalg.solve(stand.world[i], stand.world[j])[:3])
        hits[n] = (one ^ two).volume() > TOLERANCES.clash_volume
        if asked.distance and not hits[n]:
            gaps[n] = one.min_gap(two, LIMIT)
    return hits, gaps


@dataclass(slots=True)
class Tally:
    """Pairs that were compared with the judges, and what they say of us."""

    pairs: int = 0
    hits: int = 0
    close: int = 0
    misses: int = 0
    invented: int = 0
    worst: float = 0.0

    def compare(self, stand: Stand, pairs: Pairs, mine: Answer, theirs: Answer) -> None:
        """Count; where verdicts differ, the volume of a boolean decides."""
        self.pairs += len(pairs)
        self.hits += int(mine[0].sum())
        for n in np.flatnonzero(mine[0] != theirs[0]).tolist():
            i, j = pairs[n]
            one, two = (as_manifold(stand.outlines[stand.kind[p]], stand.thickness) for p in (i, j))
            volume = shared_volume(one, stand.world[i], two, stand.world[j])
            clash = volume > TOLERANCES.clash_volume
            self.misses += bool(clash and not mine[0][n])
            self.invented += bool(mine[0][n] and not clash)
        both = ~mine[0] & ~theirs[0] & (np.minimum(mine[1], theirs[1]) < LIMIT - 1e-6)
        self.close += int((both & (theirs[1] < 0.5)).sum())
        if both.any():
            self.worst = max(self.worst, float(np.abs(mine[1] - theirs[1])[both].max()))


def race(stand: Stand, asked: Question, turns: int, booleans: bool, tally: Tally) -> list[str]:
    """Return the row of a scene: pairs, clashes, median times (ms), ratios."""
    solids = plate_solids(stand.outlines, [stand.thickness] * len(stand.outlines))
    placed = PlacedPlates.of([solids[k] for k in stand.kind], stand.world)
    pairs = near_pairs(placed, asked.reach)
    rivals: dict[str, Callable[[], object]] = {
        "all": lambda: ours(stand, asked, None),
        "fcl": lambda: by_fcl_pairs(stand, asked, pairs),
    }
    if len(stand.kind) <= 500:
        rivals["tree"] = lambda: by_fcl_tree(stand, asked)
    if stand.seeds is not None:
        rivals["symmetry"] = lambda: ours(stand, asked, stand.seeds)
    if booleans:
        rivals["manifold"] = lambda: by_manifold(stand, asked, pairs)
    times: dict[str, list[float]] = {name: [] for name in rivals}
    answers: dict[str, object] = {}
    for turn in range(0 if len(stand.kind) <= 180 else 1, turns + 1):
        for name, run in rivals.items():
            if turn > 1 and len(times[name]) * times[name][-1] > 2000.0:
                continue  # so slow that once or twice is enough
            if times[name] and times[name][-1] < WARM:
                run()
            start = time.thread_time()
            answers[name] = run()
            if turn > 0:  # turn 0 warms up
                times[name].append((time.thread_time() - start) * 1e3)
    tally.compare(stand, pairs, answers["all"], answers["fcl"])
    taken = {name: statistics.median(of) for name, of in times.items()}
    rival = min(taken["fcl"], taken.get("tree", np.inf))
    symmetry, manifold = taken.get("symmetry"), taken.get("manifold")
    columns = [symmetry, taken["all"], taken["fcl"], taken.get("tree"), manifold]
    return [
        f"{len(stand.kind)}",
        f"{len(pairs)}",
        f"{int(answers['all'][0].sum())}",
        *("" if value is None else f"{value:.1f}" for value in columns),
        "" if symmetry is None else f"1/{rival / symmetry:.1f}",
        f"1/{rival / taken['all']:.1f}" if taken["all"] < rival else f"{taken['all'] / rival:.2f}",
        "" if symmetry is None or manifold is None else f"1/{manifold / symmetry:.0f}",
    ]


def near_misses(tally: Tally, count: int) -> None:
    """Compare a crowd of pairs that all but touch, or sink in a little: shapes of all kinds."""
    many = crowd(seed=77, pairs=count)
    solids = plate_solids(many.outlines, many.thicknesses)
    placed = PlacedPlates.of([solids[k] for k in many.kind], many.world)
    pairs = np.arange(2 * count).reshape(-1, 2)
    found = pair_overlaps(placed, pairs, exact=False)
    gaps = pair_distances(placed, pairs, LIMIT, found).distance
    shapes = list(zip(many.outlines, many.thicknesses, strict=True))
    booleans, meshes = ([make(*shape) for shape in shapes] for make in (as_manifold, fcl_mesh))
    for n, (i, j) in enumerate(pairs.tolist()):
        a, b = many.kind[i], many.kind[j]
        volume = shared_volume(booleans[a], many.world[i], booleans[b], many.world[j])
        clash = volume > TOLERANCES.clash_volume
        settled = abs(volume - TOLERANCES.clash_volume) > 1e-4  # else rounding decides
        tally.pairs += 1
        tally.hits += int(clash)
        tally.misses += bool(clash and settled and not found.clash[n])
        tally.invented += bool(found.clash[n] and settled and not clash)
        if volume == 0.0 and gaps[n] < LIMIT:
            one, two = as_fcl(meshes[a], many.world[i]), as_fcl(meshes[b], many.world[j])
            judged = max(float(fcl.distance(one, two, ASK_GAP, fcl.DistanceResult())), 0.0)
            tally.close += int(judged < 0.5)
            tally.worst = max(tally.worst, abs(judged - gaps[n]))


HEAD = (
    "scene", "plates", "pairs", "clash", "symmetry", "all", "fcl pairs", "fcl tree", "manifold",
    "sym/fcl", "all/fcl", "sym/manif",
)  # fmt: skip


def main() -> None:
    """Print both tables and the tally."""
    quick = "--quick" in sys.argv
    names = ("numpy", "shapely", "python-fcl", "manifold3d")
    print(", ".join(f"{name} {version(name)}" for name in names), "- medians, processor ms")
    lantern, whirl, pebble = (
        sculpture(EXAMPLES / f"{name}.toml") for name in ("harbour-lantern", "tide-whirl", "pebble")
    )
    boulders = [] if quick else [boulder(frequency) for frequency in (4, 6, 8)]
    real = [lantern, whirl, lifted(lantern, 8.0), lifted(whirl, 8.0)]
    for stand in (edited(lantern), pebble, *boulders):
        real += [stand, moved(stand)]
    piles = [shells(60, 124.0), shells(60, 210.0), shells(180, 210.0 * 3**0.5)]
    piles += [] if quick else [shells(480, 210.0 * 8**0.5), different(500, 115.0)]
    tally = Tally()
    for asked, stands in (
        (Question(False), real + piles),
        (Question(True), [lantern, whirl, edited(lantern), pebble]),
    ):
        print("\nwho clashes, and how far apart up to 5 mm" if asked.distance else "\nwho clashes")
        print(f"{HEAD[0]:40s}" + "".join(f"{name:>10s}" for name in HEAD[1:]))
        for stand in stands:
            small = len(stand.kind) <= 180
            turns = 7 if small and not asked.distance else 2
            row = race(stand, asked, turns, small, tally)
            print(f"{stand.name:40s}" + "".join(f"{value:>10s}" for value in row), flush=True)
    near_misses(tally, 1_000 if quick else 10_000)
    print(
        f"\n{tally.pairs} pairs compared, {tally.hits} of them clash, {tally.close} pass within "
        f"0.5 mm: {tally.misses} missed, {tally.invented} invented; "
        f"distances differ by {tally.worst:.1e} mm at most"
    )


if __name__ == "__main__":
    main()
