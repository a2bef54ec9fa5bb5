# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Ways out of the whole for one body of an exploded view: along its way in, then to its place."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..results import Snag, Step
from .explode_room import Move
from .explode_stage import Stage
from .explode_words import BY_HAND, NO_WAY, SPRUNG

__all__ = ["out"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Pair = tuple[int, int]

# Of the whole's radius, that a body goes along its way in, reversed, before it turns.
_SHARES = (0.06, 0.12, 0.25, 0.5, 1.0, 1.6)
# Of the whole's radius, that a body goes along its way in to wait there, if its place is barred.
_WAITS = (0.25, 0.5, 0.8, 1.1, 1.5, 2.0, 2.6, 3.2)
_NEAR = (0.25, 0.6)  # of the whole's radius, from which a body comes down to its place
_MOST = 32  # ways that are tried until one is free
_FEW = 3  # ways of which the one is taken that meets the fewest, where none is free


def out(
    stage: Stage,
    step: Step,
    plates: Sequence[int],
    start: Floats,
    aims: Sequence[Floats],
    others: Ints,
    settled: Collection[int],
    wait: bool = False,
) -> Floats:
    """Return a path (k, 3) from start to one of the aims for the plates of a step.

    others : plates that may be in the way, wherever they stand by now
    settled : those of them that stood when the step was done: its way in is proved to pass them
    wait : the path may end on the step's own way in, reversed, where no aim can be reached
    Its snags are noted.
    """
    sprung = [spring.joint for spring in step.springs]
    proved = step.free and step.turns is None
    moved = np.array([p not in settled or not proved for p in others.tolist()], dtype=bool)
    legs = _Legs(stage, plates, sprung, others)
    on_way = _Legs(stage, plates, sprung, others[moved])
    own = _own_way(step, start, _SHARES, stage.reach)
    reached = _reached(own, on_way)
    farther = _own_way(step, start, _WAITS, stage.reach) if wait else []
    longer = [path for path in farther if 1 < len(path) == len(step.way)]
    left = _MOST
    for number, aim in enumerate(aims if step.free else aims[:1]):
        if not legs.free(aim, aim):
            continue
        turns = _above(stage, plates, start, aim, own[-1]) if number == 0 else ()
        for last in (aim[None], *(np.array([turn, aim]) for turn in turns)):
            if not all(legs.free(*leg) for leg in pairwise(last)):
                continue
            for path in reached[:left]:
                left -= 1
                if legs.free(path[-1], last[0]):
                    return _chosen(stage, step, plates, np.concatenate([path, last]), [])
    for path in longer if len(reached) == len(own) else ():
        if on_way.free(path[-2], path[-1]):
            return _chosen(stage, step, plates, path, [])
    # None is free: rather one that stands clear in the end, for there it stays. Where the plan
    # works a plate in by hand, all that is met is by hand: no use in comparing.
    likely = [(np.array([*path, aims[0]]), len(path) - 1) for path in (reached[0], reached[-1])]
    likely += [(path, len(path) - 1) for path in longer[::_FEW]]
    best: tuple[tuple[int, int], Floats, list[Pair]] | None = None
    for path, known in likely[: _FEW if step.free else 1]:
        met = [
            pair
            for number, leg in enumerate(pairwise(path))
            for pair in (on_way if number < known else legs).met(*leg)
        ]
        price = (len(legs.met(path[-1], path[-1])), len(set(met)))
        if best is None or price < best[0]:
            best = price, path, met
    assert best is not None
    return _chosen(stage, step, plates, *best[1:])


class _Legs:
    """Which legs of some plates were found free or not: so are all parts of them, or all beyond."""

    def __init__(
        self, stage: Stage, plates: Sequence[int], sprung: Sequence[int], others: Ints
    ) -> None:
        self.room, self.plates, self.sprung = stage.room, plates, sprung
        self.others, self.shifts = others, stage.at[others]
        self.known: dict[bytes, list[tuple[Floats, bool]]] = {}  # by where they begin
        self.wary: dict[Pair, None] = {}  # what was met before, in order

    def free(self, start: Floats, end: Floats) -> bool:
        """Tell whether the plates pass all others on a leg."""
        way = end - start
        known = self.known.setdefault(np.round(start, 6).tobytes(), [])
        for other, free in known:
            if _begins(way, other) if free else _begins(other, way):
                return free
        pair = self.room.first(self._move(start, end), self.others, self.shifts, self.wary)
        if pair is not None:
            self.wary[pair] = None
        known.append((way, pair is None))
        return pair is None

    def met(self, start: Floats, end: Floats) -> list[Pair]:
        """Return all pairs of a plate and another one that share room on a leg."""
        return self.room.met(self._move(start, end), self.others, self.shifts)

    def _move(self, start: Floats, end: Floats) -> Move:
        return Move(self.plates, start, end, self.sprung)


def _begins(one: Floats, two: Floats) -> bool:
    """Tell whether a leg (3,) is a part of another one that begins where it does."""
    along, square = float(one @ two), float(two @ two)
    return (
        along <= square
        and along * along >= (1.0 - 1e-12) * square * float(one @ one)
        and (along >= 0.0)
    )


def _own_way(step: Step, start: Floats, shares: Sequence[float], reach: float) -> list[Floats]:
    """Return paths along a step's way in, reversed: to each corner, then farther and farther."""
    if len(step.way) < 2:
        return [start[None]]
    out = -np.diff(step.way, axis=0)[::-1]
    corners = start + np.concatenate([np.zeros((1, 3)), np.cumsum(out[:-1], axis=0)])
    length = float(np.linalg.norm(out[-1]))
    far = out[-1] / max(length, 1e-9)
    paths = [corners[: k + 1] for k in range(len(corners))]
    ends = [corners[-1] + share * reach * far for share in shares if share * reach <= length]
    return paths + [np.array([*corners, end]) for end in ends]


def _reached(paths: Sequence[Floats], legs: _Legs) -> list[Floats]:
    """Return those of the paths along one way that nothing is in the way of."""
    for number, path in enumerate(paths):
        if len(path) > 1 and not legs.free(path[-2], path[-1]):
            return list(paths[:number])
    return list(paths)


def _above(
    stage: Stage, plates: Sequence[int], start: Floats, aim: Floats, own: Floats
) -> Iterator[Floats]:
    """Yield places from which a body may come down to its own, round what is in the way.

    own : (k, 3), a path along its own way, which it left by
    """
    middle = stage.room.standing.balls[list(plates)].mean(axis=0)
    for share in _NEAR:
        for way in (aim - start, middle + aim, own[-1] - own[-2] if len(own) > 1 else aim - start):
            size = float(np.linalg.norm(way))
            if size > 1e-6:
                yield aim + share * stage.reach / size * way


def _chosen(
    stage: Stage, step: Step, plates: Sequence[int], path: Floats, met: list[Pair]
) -> Floats:
    """Name what does not pass freely on a path: bent joints, and what no way was found for."""
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
    return path
