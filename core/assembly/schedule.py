# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""When which team does which step, and how far from the best possible that can be.

List scheduling: whenever a team is free it takes, of the jobs whose forerunners are done and for
which there are hands, the one that comes first on a list. Several lists are tried, first the one
that puts first what has the longest chain of work after it. With no limit of hands a list schedule
takes at most 2 - 1/teams times the shortest (Graham, Bounds on multiprocessing timing anomalies,
SIAM J. Appl. Math. 17, 1969). A lower bound stands beside each schedule, see `least_minutes`.
"""

from __future__ import annotations

import math
from bisect import insort
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from random import Random
from typing import Any

import numpy as np

from ..errors import DesignError
from ..results import Build

__all__ = [
    "Schedule",
    "Turn",
    "least_minutes",
    "list_schedule",
    "schedule_record",
    "schedule_steps",
    "spare_parts",
]

_LISTS = 60  # that are tried until one meets the bound
_JITTER = 0.25  # of the longest chain: by so much the places on the later lists are shuffled


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
    bound : minutes, less than which no schedule can take with so many teams and people
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
    needs: Sequence[int] | None = None,
    people: int | None = None,
) -> tuple[Turn, ...]:
    """Schedule jobs by a list.

    times : of the jobs; before : for each job the jobs that must be done first
    order : the list, all jobs; None: longest chain of work after it (itself included) first
    needs : people for each job; people : that are there; None: there is no limit

    Raises
    ------
    ValueError : the jobs wait for each other in a circle, there is no team, or a job needs more
        people than are there.
    """
    if teams < 1:
        raise ValueError("there must be a team")
    hands = [0] * len(times) if needs is None or people is None else list(needs)
    there = 0 if people is None else people
    if max(hands, default=0) > there:
        raise ValueError("a job needs more people than are there")
    if order is None:
        tails = _tails(times, before)
        order = sorted(range(len(times)), key=lambda job: (-tails[job], job))
    rank = {job: place for place, job in enumerate(order)}
    after, waits = _after(before)
    ready = sorted((rank[job], job) for job in rank if waits[job] == 0)
    idle = list(range(teams))
    running: list[tuple[float, int, int]] = []
    turns: list[Turn] = []
    now = 0.0
    busy = 0
    while ready or running:
        fits = next((k for k, (_, job) in enumerate(ready) if busy + hands[job] <= there), None)
        if idle and fits is not None:
            _, job = ready.pop(fits)
            turns.append(Turn(job, heappop(idle), now, now + times[job]))
            heappush(running, (turns[-1].end, turns[-1].team, job))
            busy += hands[job]
            if times[job] > 0:
                continue
        now = running[0][0]
        while running and running[0][0] <= now:
            _, team, job = heappop(running)
            heappush(idle, team)
            busy -= hands[job]
            for later in after[job]:
                waits[later] -= 1
                if waits[later] == 0:
                    insort(ready, (rank[later], later))
    if len(turns) < len(times):
        raise ValueError("jobs wait for each other in a circle")
    return tuple(turns)


def least_minutes(
    times: Sequence[float],
    before: Sequence[Sequence[int]],
    teams: int,
    needs: Sequence[int] | None = None,
    people: int | None = None,
) -> float:
    """Return a time that no schedule can beat.

    Of any set of jobs none can start before the least head (the longest chain before a job) has
    passed, all their work is shared by the teams, and after the last of them the least tail (the
    longest chain after a job) is still to do; the longest chain itself is one more bound, and so is
    the people's time shared by all people (Carlier, Scheduling jobs with release dates and tails on
    identical machines to minimize the makespan, Eur. J. Oper. Res. 29, 1987). Only sets are looked
    at that hold every job whose head and tail are at least given ones.
    """
    if not times:
        return 0.0
    length = np.array(times, dtype=float)
    tail = np.array(_tails(times, before)) - length
    head = np.array(_tails(times, _after(before)[0])) - length
    shares = [length / teams]
    if needs is not None and people is not None:
        shares.append(length * np.array(needs, dtype=float) / people)
    best = float((head + length + tail).max())
    order = np.argsort(-tail, kind="stable")
    for least in np.unique(head):
        rows = order[head[order] >= least]
        for share in shares:
            sums = np.cumsum(share[rows]) + tail[rows]
            best = max(best, float(least + sums.max()))
    return best


def schedule_steps(build: Build, teams: int | None = None, people: int | None = None) -> Schedule:
    """Schedule the steps of a plan; teams, people : None: as the design says.

    Raises
    ------
    DesignError : a step needs more people than are there.
    """
    choice = build.design.assembly
    count = choice.teams if teams is None else teams
    there = choice.people if people is None else people
    steps = build.steps
    place = {step.n: k for k, step in enumerate(steps)}
    before = [[place[n] for n in step.after] for step in steps]
    times = [step.minutes for step in steps]
    needs = [step.people for step in steps]
    if there is not None and max(needs, default=0) > there:
        worst = max(steps, key=lambda step: step.people)
        raise DesignError(
            "assembly.people",
            there,
            f"at least {worst.people}",
            f"So many have their hands full in step {worst.n}.",
        )
    chain = max(_tails(times, before), default=0.0)
    bound = least_minutes(times, before, count, needs, there)
    turns = _best(times, before, count, needs, there, bound)
    most = stations = 0
    for moment in [turn.start for turn in turns]:
        busy = [turn for turn in turns if turn.start <= moment < turn.end]
        most = max(most, sum(steps[turn.job].people for turn in busy))
        stations = max(stations, len({steps[turn.job].module for turn in busy}))
    total = max((turn.end for turn in turns), default=0.0)
    bound = min(bound, total)  # sums in another order differ in the last digit
    return Schedule(turns, total, bound, sum(times), chain, count, most, stations)


def schedule_record(build: Build, schedule: Schedule) -> dict[str, Any]:
    """Return a schedule as the build file writes it: teams from 1, steps by their numbers."""
    return {
        "teams": schedule.teams,
        "people": schedule.people,
        "stations": schedule.stations,
        "minutes": schedule.total,
        "least_minutes": schedule.bound,
        "work_minutes": schedule.work,
        "longest_chain_minutes": schedule.chain,
        "turns": [
            {
                "n": build.steps[turn.job].n,
                "team": turn.team + 1,
                "start": turn.start,
                "end": turn.end,
            }
            for turn in sorted(schedule.turns, key=lambda turn: turn.job)
        ],
        "spares": spare_parts(build),
    }


def _best(
    times: Sequence[float],
    before: Sequence[Sequence[int]],
    teams: int,
    needs: Sequence[int],
    people: int | None,
    bound: float,
) -> tuple[Turn, ...]:
    """Return the shortest of several list schedules; equal input gives an equal one."""
    tails = _tails(times, before)
    jitter = _JITTER * max(tails, default=0.0)
    random = Random(1)
    best: tuple[Turn, ...] = ()
    shortest = math.inf
    for number in range(_LISTS):
        shift = [0.0 if number == 0 else random.uniform(-jitter, jitter) for _ in times]
        keys = [(-tails[job] + shift[job], job) for job in range(len(times))]
        order = [job for _, job in sorted(keys)]
        turns = list_schedule(times, before, teams, order, needs, people)
        total = max((turn.end for turn in turns), default=0.0)
        if total < shortest - 1e-9:
            best, shortest = turns, total
        if shortest <= bound + 1e-9:
            break
    return best


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
    after, waits = _after(before)
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


def _after(before: Sequence[Sequence[int]]) -> tuple[list[list[int]], list[int]]:
    """Return the jobs that wait for each job, and for how many each waits itself."""
    after: list[list[int]] = [[] for _ in before]
    for job, jobs in enumerate(before):
        for earlier in jobs:
            after[earlier].append(job)
    return after, [len(jobs) for jobs in before]
