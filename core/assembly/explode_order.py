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

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..results import Build, Exploded, Snag, Step
from .explode import SPLIT
from .explode_room import Move, Room
from .explode_straight import straight_snags
from .explode_words import BY_HAND, NO_WAY, SPRUNG

__all__ = ["exploded"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Pair = tuple[int, int]
Moves = list[tuple[Sequence[int], Floats]]
Progress = Callable[[str, float], None]

# Of the whole's radius, that a body goes out before it turns.
_SHARES = (0.06, 0.12, 0.25, 0.5, 1.0, 1.6)
# Where what the plan keeps out of its module may wait: times the module's way, times its own.
_BESIDE = ((1.8, 2.0), (1.6, 4.0), (2.2, 2.0), (1.4, 3.0), (1.8, -1.0))
# Where a body waits until all have left that cannot stand at its own place yet: times its way.
_BEYOND = (1.5, 2.0, 3.0)
_MOST = 24  # ways that are tried until one is free
_PINS = 0.25  # of a body's share of the factor: its pins are drawn before it moves
_FEW = 3  # ways of which the one is taken that meets the fewest, where none is free


@dataclass(slots=True)
class _Stage:
    """Where everything stands by now, and what was found so far.

    at : (P, 3) mm, displacement of each plate; keys : of each plate, rows [factor, x, y, z]
    """

    build: Build
    room: Room
    reach: float
    at: Floats
    keys: list[list[Floats]]
    snags: dict[Pair, Snag]

    def record(self, rounds: Sequence[Moves], low: float, high: float) -> None:
        """Note rounds of moves between two factors, one round after another; first the pins go.

        rounds : of each the bodies that move at the same time, with their paths (k, 3)
        """
        for number, moves in enumerate(rounds):
            begin, end = _slot(number, len(rounds), low, high)
            for plates, path in moves:
                run = (1.0 - _PINS) * (end - begin) * (1.0 - _lengths(path))
                rows = np.column_stack([np.append(begin, end - run), [path[0], *path]])
                for plate in plates:
                    self.keys[plate] += list(rows)

    def go(self, plates: Sequence[int], path: Floats) -> None:
        """Let plates stand at the end of a path."""
        self.at[list(plates)] = path[-1]


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
    stage = _Stage(
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
    stage: _Stage, steps: Sequence[Step], final: Floats, split: float, say: Progress
) -> None:
    """Move the bodies of the whole out, one after another."""
    build = stage.build
    standing = {plate for step in steps for plate in step.add}
    gone: list[int] = []
    rounds: list[Moves] = []
    goal = stage.at.copy()
    main = _main_bodies(build, steps)
    for k, step in enumerate(steps):
        say("explode", k / len(steps))
        standing -= set(step.add)
        away = build.modules[build.plates[step.add[0]].module].explode
        if not main:
            away = final[step.add[0]]
        aims = [times * away for times in (1.0, *_BEYOND)]
        goal[list(step.add)] = away
        if main and step.n not in main:  # what the plan keeps out of its module waits beside it
            own = final[list(step.add)].mean(axis=0) - away
            aims = [share * away + times * own for share, times in _BESIDE]
            goal[list(step.add)] = np.nan  # it comes back when the tables are empty
        others = np.array([*gone, *standing], dtype=np.intp)
        path = _out(stage, step, step.add, np.zeros(3), aims, others, standing)
        stage.go(step.add, path)
        rounds.append([(step.add, path)])
        gone += step.add
    rounds += _bring_back(stage, np.where(np.isnan(goal), stage.at, goal))
    stage.record(rounds, 0.0, split)


def _slot(k: int, count: int, low: float, high: float) -> tuple[float, float]:
    """Return from which factor to which the k-th of so many bodies moves, between two tenths.

    At the tenths, where pictures are taken, all is at rest: no move goes on beyond one.
    """
    tenths = round(10 * (high - low))
    tenth = k * tenths // count
    first, after = (-(-t * count // tenths) for t in (tenth, tenth + 1))
    here = max(after - first, 1)
    begin = low + (tenth + (k - first) / here) / 10
    return begin, begin + 0.1 / here


def _main_bodies(build: Build, steps: Sequence[Step]) -> set[int]:
    """Return the numbers of the steps that bring in each module's largest body."""
    found: dict[int, Step] = {}
    for step in steps:
        module = build.plates[step.add[0]].module
        if module not in found or len(step.add) >= len(found[module].add):
            found[module] = step
    return {step.n for step in found.values()} if len(build.modules) > 1 else set()


def _empty_tables(stage: _Stage, steps: Sequence[Step], final: Floats, split: float) -> None:
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
                paths[plate] = _out(stage, step, [plate], start, aims, others, rest)
        _pass_each_other(stage, paths)
        for plate, path in paths.items():
            stage.go([plate], path)
        rounds.append([([plate], path) for plate, path in paths.items()])
    if split < 1.0:
        rounds += _bring_back(stage, final)
        stage.record(rounds, split, 1.0)


def _pass_each_other(stage: _Stage, paths: dict[int, Floats]) -> None:
    """Note which of the plates that move at the same time meet: each leg as the other sees it."""
    plates = list(paths)
    standing = stage.room.standing
    for i, a in enumerate(plates):
        for b in plates[:i]:
            gap = np.linalg.norm(standing.balls[a] + paths[a][0] - standing.balls[b] - paths[b][0])
            runs = [float(np.linalg.norm(np.diff(paths[p], axis=0), axis=1).sum()) for p in (a, b)]
            if gap > standing.radii[a] + standing.radii[b] + sum(runs):
                continue
            shares = np.union1d(_lengths(paths[a]), _lengths(paths[b]))
            seen = _at(paths[a], shares) - _at(paths[b], shares)
            if any(standing.blocker([a], [b], *leg) is not None for leg in pairwise(seen)):
                pair = (min(a, b), max(a, b))
                stage.snags.setdefault(pair, Snag(pair, (), NO_WAY))


def _at(path: Floats, shares: Floats) -> Floats:
    """Return where a path is at shares of its length, (n, 3)."""
    lengths = _lengths(path)
    return np.column_stack([np.interp(shares, lengths, path[:, axis]) for axis in range(3)])


def _bring_back(stage: _Stage, goal: Floats) -> list[Moves]:
    """Move what still waits aside to where it belongs, all at once; note what is met.

    Returns the round of these moves, if there is one.
    """
    late = np.flatnonzero(np.linalg.norm(goal - stage.at, axis=1) > 1e-6)
    paths = {plate: np.array([stage.at[plate], goal[plate]]) for plate in late.tolist()}
    others = np.setdiff1d(np.arange(len(goal)), late)
    for plate, path in paths.items():
        for a, b in stage.room.met(Move([plate], *path), others, stage.at[others]):
            pair = (min(a, b), max(a, b))
            stage.snags.setdefault(pair, Snag(pair, (), NO_WAY))
    _pass_each_other(stage, paths)
    for plate, path in paths.items():
        stage.go([plate], path)
    return [[([plate], path) for plate, path in paths.items()]] if paths else []


def _out(
    stage: _Stage,
    step: Step,
    plates: Sequence[int],
    start: Floats,
    aims: Sequence[Floats],
    others: Ints,
    settled: Collection[int],
) -> Floats:
    """Return a path (k, 3) from start to one of the aims for the plates of a step.

    others : plates that may be in the way, wherever they stand by now
    settled : those of them that stood when the step was done: its way in is proved to pass them
    Its snags are noted.
    """
    sprung = [spring.joint for spring in step.springs]
    paths = [path for aim in aims for path in _paths(step, start, aim, stage.reach)]

    def moves(path: Floats) -> list[Move]:
        return [Move(plates, a, b, sprung) for a, b in pairwise(path)]

    shifts = stage.at[others]
    proved = step.free and step.turns is None
    moved = np.array([p not in settled or not proved for p in others.tolist()], dtype=bool)
    on_way = _Legs(stage.room, others[moved], shifts[moved])
    legs = _Legs(stage.room, others, shifts)
    for path in paths[: _MOST if step.free else _FEW]:
        *along, last = moves(path)
        if all(on_way.free(move) for move in along) and legs.free(last):
            _note(stage, step, plates, path, [])
            return path
    # None is free: rather one that stands clear in the end, for there it stays.
    stuck = [
        len(stage.room.met(Move(plates, path[-1], path[-1]), others, shifts)) for path in paths
    ]
    # Where the plan works a plate in by hand, all that is met is by hand: no use in comparing.
    likely = sorted(range(len(paths)), key=stuck.__getitem__)[: _FEW if step.free else 1]
    met = {
        k: [pair for m in moves(paths[k]) for pair in stage.room.met(m, others, shifts)]
        for k in likely
    }
    best = min(likely, key=lambda k: (stuck[k], len(set(met[k]))))
    _note(stage, step, plates, paths[best], met[best])
    return paths[best]


class _Legs:
    """Which legs of some plates were found free or not: so are all parts of them, or all beyond."""

    def __init__(self, room: Room, others: Ints, shifts: Floats) -> None:
        self.room, self.others, self.shifts = room, others, shifts
        self.known: list[tuple[Move, bool]] = []
        self.wary: set[Pair] = set()

    def free(self, move: Move) -> bool:
        """Tell whether a leg passes all others."""
        for leg, free in self.known:
            if _begins(move, leg) if free else _begins(leg, move):
                return free
        pair = self.room.first(move, self.others, self.shifts, self.wary)
        if pair is not None:
            self.wary.add(pair)
        self.known.append((move, pair is None))
        return pair is None


def _begins(part: Move, leg: Move) -> bool:
    """Tell whether a leg begins with another one."""
    one, two = part.end - part.start, leg.end - leg.start
    along, size = float(one @ two), float(np.linalg.norm(one) * np.linalg.norm(two))
    same = bool((np.abs(part.start - leg.start) < 1e-9).all())
    return same and along <= float(two @ two) and along >= (1.0 - 1e-12) * size


def _paths(step: Step, start: Floats, aim: Floats, reach: float) -> Iterator[Floats]:
    """Yield paths to try, the likeliest first: out of the joints, then to the aim."""
    out = -np.diff(step.way, axis=0)[::-1] if len(step.way) > 1 else np.zeros((0, 3))
    if len(out) == 0:
        yield np.array([start, aim])
    corners = [start]
    for leg in out[:-1]:  # the last leg leads far away
        corners.append(corners[-1] + leg)
        yield np.array([*corners, aim])
    if len(out):
        far = out[-1] / np.linalg.norm(out[-1])
        for share in _SHARES:
            if share * reach > np.linalg.norm(out[-1]):
                break  # nothing is proved beyond
            yield np.array([*corners, corners[-1] + share * reach * far, aim])
        yield np.array([start, aim])
        beyond = (aim - start) / max(float(np.linalg.norm(aim - start)), 1e-9)
        for share in _SHARES[1:4]:  # round what is in the way
            turn = corners[-1] + share * reach * far
            yield np.array([*corners, turn, aim + share * reach * beyond, aim])


def _note(stage: _Stage, step: Step, plates: Sequence[int], path: Floats, met: list[Pair]) -> None:
    """Name what does not pass freely: bent joints, and what no way was found for."""
    build = stage.build
    for spring in step.springs:
        for a, b in pairwise(path):
            mover, other = build.joints[spring.joint].plates
            if mover not in plates:
                mover, other = other, mover
            shift = stage.at[other]
            if stage.room.bends(Move(plates, a - shift, b - shift), spring.joint):
                pair = (min(mover, other), max(mover, other))
                stage.snags[pair] = Snag(pair, (spring.joint,), SPRUNG)
                break
    for a, b in met:
        pair = (min(a, b), max(a, b))
        joints = tuple(j for j in step.close if set(build.joints[j].plates) == set(pair))
        stage.snags[pair] = Snag(
            pair, joints, NO_WAY if step.free and step.turns is None else BY_HAND
        )


def _lengths(path: Floats) -> Floats:
    """Return the share of its length at which a path reaches each corner, (k,) from 0 to 1."""
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    shares: Floats = run / run[-1] if run[-1] > 0.0 else np.linspace(0.0, 1.0, len(run))
    return shares


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
