# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The exploded view in the order of the plan: the plan played backwards, to places that are even.

At full explosion equal plates stand at equal distances. On the way there the whole comes apart as
the plan puts it together, last step first: a body leaves along its own way in until its joints are
open, and goes straight to its exploded place. First the modules, one after another; then, at all
tables at once, the plates. Each leg is swept against all plates, wherever they stand by then.
What cannot part without a bent plate is named as a snag.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from ..results import Build, Exploded, Step
from .explode import SPLIT
from .explode_paths import out
from .explode_room import Room
from .explode_stage import Moves, Stage
from .explode_straight import straight_snags
from .explode_together import bring_back, pass_each_other

__all__ = ["exploded"]

Floats = npt.NDArray[np.float64]
Progress = Callable[[str, float], None]

# Where what the plan keeps out of its module may wait: times the module's way, times its own.
_BESIDE = ((1.8, 2.0), (1.6, 4.0), (2.2, 2.0), (1.4, 3.0), (1.8, -1.0))
# Where a body waits until all have left that cannot stand at its own place yet: times its way.
_BEYOND = (1.5, 2.0, 3.0)
_THERE = 1e-6  # mm: a body that is nearer to its place stands there


def exploded(build: Build, progress: Progress | None = None) -> Build:
    """Return a planned build whose plates come apart in the order of the plan.

    Without a plan all modules move at once, straight, and then all plates; what gets in each
    other's way is named all the same.
    """
    if not build.steps:
        return replace(build, exploded=Exploded(False, SPLIT, straight_snags(build)))
    say = progress if progress is not None else _silent
    say("explode", 0.0)
    springs = [spring for step in build.steps for spring in step.springs]
    room = Room.of(build, springs)
    count = len(build.plates)
    stage = Stage(
        build, room, build.totals.diameter / 2, np.zeros((count, 3)), [[] for _ in range(count)], {}
    )
    final = np.array([p.explode + build.modules[p.module].explode for p in build.plates])
    whole = [step for step in build.steps if step.module is None]
    tables = [step for step in build.steps if step.module is not None]
    many = len(build.modules) > 1
    split = SPLIT if many else 1.0  # one module: all is done at the whole
    _take_apart(stage, whole[::-1], final, split, say)
    _empty_tables(stage, tables, final, split)
    say("explode", 1.0)
    plates = tuple(
        replace(plate, explode_way=_way(keys))
        for plate, keys in zip(build.plates, stage.keys, strict=True)
    )
    snags = tuple(stage.snags[pair] for pair in sorted(stage.snags))
    return replace(build, plates=plates, exploded=Exploded(True, split if many else 0.0, snags))


def _take_apart(
    stage: Stage, steps: Sequence[Step], final: Floats, split: float, say: Progress
) -> None:
    """Move the bodies of the whole out, one after another."""
    build = stage.build
    standing = {plate for step in steps for plate in step.add}
    gone: list[int] = []
    rounds: list[Moves] = []
    main = _main_bodies(build, steps)
    many = len(build.modules) > 1
    waiting: list[tuple[Sequence[int], Floats]] = []
    for k, step in enumerate(steps):
        say("explode", k / len(steps))
        standing -= set(step.add)
        away = build.modules[build.plates[step.add[0]].module].explode
        aside = bool(main) and step.n not in main  # the plan keeps it out of its module
        goal = final[list(step.add)].mean(axis=0) if aside or not main else away
        aims = [times * goal for times in (1.0, *_BEYOND)]
        if aside:  # it may wait beside its module
            aims[1:] = [share * away + times * (goal - away) for share, times in _BESIDE]
        others = np.array([*gone, *standing], dtype=np.intp)
        path = out(stage, step, step.add, np.zeros(3), aims, others, standing, many)
        stage.go(step.add, path)
        rounds.append([(step.add, path)])
        gone += step.add
        if np.linalg.norm(path[-1] - goal) > _THERE:
            waiting.append((step.add, goal))
    rounds += bring_back(stage, waiting)
    stage.record(rounds, 0.0, split)


def _main_bodies(build: Build, steps: Sequence[Step]) -> set[int]:
    """Return the numbers of the steps that bring in each module's largest body."""
    found: dict[int, Step] = {}
    for step in steps:
        module = build.plates[step.add[0]].module
        if module not in found or len(step.add) >= len(found[module].add):
            found[module] = step
    return {step.n for step in found.values()} if len(build.modules) > 1 else set()


def _empty_tables(stage: Stage, steps: Sequence[Step], final: Floats, split: float) -> None:
    """Move the plates out of their modules, at all tables at once."""
    tables: dict[int, list[Step]] = {}
    for step in steps[::-1]:
        if step.module is not None:
            tables.setdefault(step.module, []).append(step)
    rounds: list[Moves] = []
    for k in range(max((len(rows) for rows in tables.values()), default=0)):
        paths: dict[int, Floats] = {}
        for rows in tables.values():
            if k < len(rows):
                step, (plate, *_) = rows[k], rows[k].add
                others = np.delete(np.arange(len(stage.at)), plate)
                start = stage.at[plate].copy()
                aims = [start + times * (final[plate] - start) for times in (1.0, *_BEYOND)]
                rest = {p for later in rows[k + 1 :] for p in later.add}
                paths[plate] = out(stage, step, [plate], start, aims, others, rest)
        moves: Moves = [([plate], path) for plate, path in paths.items()]
        pass_each_other(stage, moves)
        for moved, path in moves:
            stage.go(moved, path)
        rounds.append(moves)
    if split < 1.0:
        late = np.flatnonzero(np.linalg.norm(final - stage.at, axis=1) > _THERE)
        rounds += bring_back(stage, [([plate], final[plate]) for plate in late.tolist()], last=True)
        stage.record(rounds, split, 1.0)


def _way(keys: list[Floats]) -> Floats:
    """Return the rows of one plate from factor 0 to 1, without rows that say nothing."""
    rows = [np.zeros(4), *keys, np.array([1.0, *(keys[-1][1:] if keys else np.zeros(3))])]
    kept = [rows[0]]
    for row in rows[1:]:
        if row[0] - kept[-1][0] > 1e-12:
            kept.append(row)
    way = np.array(kept)
    way.setflags(write=False)
    return way


def _silent(stage: str, share: float) -> None:
    """Take the progress of callers that do not want it."""
