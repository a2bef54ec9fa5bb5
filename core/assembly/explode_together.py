# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Bodies of an exploded view that move at the same time; and what waits aside brought to its place.

Bodies that move in one round cover equal shares of their paths in equal times, so one sees another
move along straight legs again, and each leg is swept once.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..results import Snag
from .explode_room import Move
from .explode_stage import Moves, Stage, lengths, place_on
from .explode_words import NO_WAY

__all__ = ["bring_back", "pass_each_other"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Pair = tuple[int, int]
Body = tuple[Sequence[int], Floats]

_DETOURS = (0.25, 0.6)  # of the whole's radius, farther out than start and goal
_BEND = math.radians(40.0)  # of an arc, from one corner to the next


def pass_each_other(stage: Stage, moves: Moves) -> None:
    """Note which plates of bodies that move at the same time meet."""
    for i, (first, path) in enumerate(moves):
        for second, other in moves[:i]:
            for a in first:
                for b in second:
                    if _meet(stage, a, path, b, other):
                        _stuck(stage, a, b)


def bring_back(stage: Stage, waiting: Sequence[Body], last: bool = False) -> list[Moves]:
    """Move bodies that wait aside to where they belong; note what is met if there is no other way.

    waiting : plates that move as one, with the displacement (3,) that they go to
    last : all get there now; otherwise those that cannot stand there go on waiting
    Returns the rounds of these moves. As many go at the same time as pass each other.
    """
    rounds: list[Moves] = []
    pending = list(waiting)
    detours = False
    while pending:
        moves: Moves = []
        rest: list[Body] = []
        for body in pending:
            path = _free_path(stage, body, moves, detours)
            if path is None:
                rest.append(body)
            else:
                moves.append((body[0], path))
        if not moves and not detours:
            detours = True
            continue
        if not moves:  # none passes: all go straight, and what they meet is named
            rest = rest if last else _settling(stage, rest)
            moves = [(plates, np.array([stage.at[plates[0]], goal])) for plates, goal in rest]
            _force(stage, moves)
            rest = []
            if not moves:
                break
        for plates, path in moves:
            stage.go(plates, path)
        rounds.append(moves)
        pending, detours = rest, False
    return rounds


def _free_path(stage: Stage, body: Body, moves: Moves, detours: bool) -> Floats | None:
    """Return a path on which a body passes all that stands and all that moves; None: none found."""
    plates, goal = body
    others = _others(stage, [*moves, (plates, goal[None])])
    for path in (
        _routes(stage, plates, goal) if detours else [np.array([stage.at[plates[0]], goal])]
    ):
        legs = (Move(plates, *leg) for leg in pairwise(path))
        if any(stage.room.first(leg, others, stage.at[others]) is not None for leg in legs):
            continue
        if not any(
            _meet(stage, a, path, b, other)
            for second, other in moves
            for a in plates
            for b in second
        ):
            return path
    return None


def _routes(stage: Stage, plates: Sequence[int], goal: Floats) -> Iterator[Floats]:
    """Yield paths (k, 3) round what is in the way, the shorter ones first.

    Up from the start, along an arc about the middle of the whole, and down to the goal.
    """
    start = stage.at[plates[0]]
    balls, radii = stage.room.standing.balls, stage.room.standing.radii
    middle = balls[list(plates)].mean(axis=0)
    low, high = (float(np.linalg.norm(middle + shift)) for shift in (start, goal))
    own = float((np.linalg.norm(balls[list(plates)] - middle, axis=1) + radii[list(plates)]).max())
    outside = float((np.linalg.norm(balls + stage.at, axis=1) + radii).max()) + own
    here, there = _unit(middle + start), _unit(middle + goal)
    angle = math.acos(min(max(float(here @ there), -1.0), 1.0))
    across = there - float(here @ there) * here
    if np.linalg.norm(across) < 1e-3:  # right opposite: any arc will do
        across = np.cross(here, np.eye(3)[int(np.abs(here).argmin())])
    across = _unit(across)
    steps = max(1, math.ceil(angle / _BEND))
    angles = np.linspace(0.0, angle, steps + 1)[:, None]
    turns = np.cos(angles) * here + np.sin(angles) * across
    for radius in (*(max(low, high) + share * stage.reach for share in _DETOURS), outside):
        arc = radius * turns - middle
        yield np.array([start, *arc[1:], goal])
        yield np.array([start, *arc[:-1], goal])
        yield np.array([start, *arc, goal])


def _force(stage: Stage, moves: Moves) -> None:
    """Note what bodies meet that go straight all at once."""
    others = _others(stage, moves)
    for plates, path in moves:
        for a, b in stage.room.met(Move(plates, *path), others, stage.at[others]):
            _stuck(stage, a, b)
    pass_each_other(stage, moves)


def _settling(stage: Stage, bodies: list[Body]) -> list[Body]:
    """Return those of some bodies that stand clear at their goals once all of them are there."""
    everyone = np.arange(len(stage.at))
    while bodies:
        there = stage.at.copy()
        for plates, goal in bodies:
            there[list(plates)] = goal
        kept = []
        for plates, goal in bodies:
            others = np.setdiff1d(everyone, plates)
            if stage.room.first(Move(plates, goal, goal), others, there[others]) is None:
                kept.append((plates, goal))
        if len(kept) == len(bodies):
            break
        bodies = kept
    return bodies


def _stands(stage: Stage, plates: Sequence[int], goal: Floats) -> bool:
    """Tell whether a body stands clear at a place."""
    others = _others(stage, [(plates, goal[None])])
    return stage.room.first(Move(plates, goal, goal), others, stage.at[others]) is None


def _others(stage: Stage, moves: Moves) -> Ints:
    moving = [plate for plates, _ in moves for plate in plates]
    return np.setdiff1d(np.arange(len(stage.at)), moving)


def _stuck(stage: Stage, a: int, b: int) -> None:
    pair = (min(a, b), max(a, b))
    stage.snags.setdefault(pair, Snag(pair, (), NO_WAY))


def _meet(stage: Stage, a: int, path: Floats, b: int, other: Floats) -> bool:
    """Tell whether two plates share room while both go along their paths: each leg as b sees a."""
    standing = stage.room.standing
    gap = np.linalg.norm(standing.balls[a] + path[0] - standing.balls[b] - other[0])
    runs = [float(np.linalg.norm(np.diff(one, axis=0), axis=1).sum()) for one in (path, other)]
    if gap > standing.radii[a] + standing.radii[b] + sum(runs):
        return False
    shares = np.union1d(lengths(path), lengths(other))
    seen = place_on(path, shares) - place_on(other, shares)
    return any(standing.blocker([a], [b], *leg) is not None for leg in pairwise(seen))


def _unit(vector: Floats) -> Floats:
    unit: Floats = vector / max(float(np.linalg.norm(vector)), 1e-9)
    return unit
