# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""When which team does which step, and how far from the best possible that can be.

List scheduling: whenever a team is free it takes, of the jobs whose forerunners are done, the one
that comes first on a list. Here the list puts first what has the longest chain of work after it.
No schedule is shorter than the longest chain, nor than all work shared evenly: the greater of the
two is the lower bound. A list schedule takes at most 2 - 1/teams times the shortest (Graham,
Bounds on multiprocessing timing anomalies, SIAM J. Appl. Math. 17, 1969).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..results import Build

__all__ = ["Schedule", "Turn", "list_schedule", "schedule_steps", "spare_parts"]


@dataclass(frozen=True, slots=True)
class Turn:
    """One job of the schedule. job, team : numbers from 0; start, end : minutes from the start."""

    job: int
    team: int
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Schedule:
    """Who does what when.

    turns : in the order in which they start
    total : minutes until all is done
    bound : minutes, less than which no schedule can take with so many teams
    work : minutes of all jobs; chain : minutes of the longest chain of jobs
    teams : how many there are; people : most that work at one time
    stations : most places (tables, and the whole) where work is going on at one time
    """

    turns: tuple[Turn, ...]
    total: float
    bound: float
    work: float
    chain: float
    teams: int
    people: int
    stations: int


def list_schedule(
    times: Sequence[float],
    before: Sequence[Sequence[int]],
    teams: int,
    order: Sequence[int] | None = None,
) -> tuple[Turn, ...]:
    """Schedule jobs by a list.

    times : of the jobs; before : for each job the jobs that must be done first
    order : the list, all jobs; None: longest chain of work after it (itself included) first

    Raises
    ------
    ValueError : the jobs wait for each other in a circle, or there is no team.
    """
    if teams < 1:
        raise ValueError("there must be a team")
    if order is None:
        tails = _tails(times, before)
        order = sorted(range(len(times)), key=lambda job: (-tails[job], job))
    free = [0.0] * teams
    ends: dict[int, float] = {}
    waiting = list(order)
    turns = []
    now = 0.0
    while waiting:
        idle = [team for team in range(teams) if free[team] <= now]
        ready = [j for j in waiting if all(ends.get(b, math.inf) <= now for b in before[j])]
        for team, job in zip(idle, ready, strict=False):
            ends[job] = free[team] = now + times[job]
            turns.append(Turn(job, team, now, ends[job]))
            waiting.remove(job)
        later = [end for end in ends.values() if end > now]
        if later:
            now = min(later)
        elif waiting and not (idle and ready):
            raise ValueError("jobs wait for each other in a circle")
    return tuple(turns)


def schedule_steps(build: Build, teams: int | None = None) -> Schedule:
    """Schedule the steps of a plan; teams : None: as the design says."""
    count = build.design.assembly.teams if teams is None else teams
    steps = build.steps
    place = {step.n: k for k, step in enumerate(steps)}
    before = [[place[n] for n in step.after] for step in steps]
    times = [step.minutes for step in steps]
    turns = list_schedule(times, before, count)
    chain = max(_tails(times, before), default=0.0)
    work = sum(times)
    starts = [turn.start for turn in turns]
    people = stations = 0
    for moment in starts:
        busy = [turn for turn in turns if turn.start <= moment < turn.end]
        people = max(people, sum(steps[turn.job].people for turn in busy))
        stations = max(stations, len({steps[turn.job].module for turn in busy}))
    return Schedule(
        turns,
        max((turn.end for turn in turns), default=0.0),
        max(chain, work / count),
        work,
        chain,
        count,
        people,
        stations,
    )


def spare_parts(build: Build) -> dict[str, int]:
    """Return how many spares to take along: for each part's mark, and `pins` for all pins.

    The share that the design asks for, rounded up: a part of which there is one gets one spare.
    """
    share = build.design.assembly.spares
    needed = {part.mark: part.quantity for part in build.parts}
    if build.totals.pins:
        needed["pins"] = build.totals.pins
    # The share is a decimal fraction: 0.05 x 60 must not become 3.0000000000000004, then 4.
    return {name: math.ceil(round(share * count, 9)) for name, count in needed.items()}


def _tails(times: Sequence[float], before: Sequence[Sequence[int]]) -> list[float]:
    """Return for each job the longest chain of work from its start to the end of all."""
    after: list[list[int]] = [[] for _ in times]
    waits = [len(jobs) for jobs in before]
    for job, jobs in enumerate(before):
        for earlier in jobs:
            after[earlier].append(job)
    order = [job for job, count in enumerate(waits) if count == 0]
    for job in order:
        for later in after[job]:
            waits[later] -= 1
            if waits[later] == 0:
                order.append(later)
    if len(order) < len(times):
        raise ValueError("jobs wait for each other in a circle")
    tails = [0.0] * len(times)
    for job in reversed(order):
        tails[job] = times[job] + max((tails[later] for later in after[job]), default=0.0)
    return tails
