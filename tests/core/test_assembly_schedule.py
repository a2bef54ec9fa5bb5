# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Schedules, against worked examples of the literature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.core.assembly.plan import planned
from pinwright.core.assembly.schedule import least_minutes, list_schedule, schedule_steps
from pinwright.core.design.model import AssemblyChoice
from pinwright.core.errors import DesignError
from pinwright.core.pipeline import build as build_design
from tests.builders import small_design

# Graham, "Bounds on multiprocessing timing anomalies", SIAM J. Appl. Math. 17 (1969) 416-429: nine
# jobs, T1 before T9, T4 before T5 ... T8. The makespans 12, 16, 13, 15 are printed in courses on
# scheduling that quote it; the times are from memory (they give all four).
TIMES = [3, 2, 2, 2, 4, 4, 4, 4, 9]
BEFORE = [[], [], [], [], [3], [3], [3], [3], [0]]
LIST = list(range(9))


def makespan(times: list[float], before: list[list[int]], teams: int, order: list[int]) -> float:
    return max(turn.end for turn in list_schedule(times, before, teams, order))


@pytest.mark.parametrize(
    ("times", "before", "teams", "total"),
    [
        (TIMES, BEFORE, 3, 12),
        (TIMES, [[], [], [], [], [], [], [3], [3], [0]], 3, 16),
        ([t - 1 for t in TIMES], BEFORE, 3, 13),
        (TIMES, BEFORE, 4, 15),
    ],
    ids=["as printed", "fewer forerunners", "shorter jobs", "one team more"],
)
def test_grahams_anomalies(
    times: list[float], before: list[list[int]], teams: int, total: float
) -> None:
    assert makespan(times, before, teams, LIST) == total


def test_a_list_of_independent_jobs() -> None:
    # The example of lecture notes on Graham's list scheduling: 18 for two machines, 13 for three.
    jobs = [4.0, 5.0, 6.0, 7.0, 8.0]
    assert makespan(jobs, [[]] * 5, 2, list(range(5))) == 18
    assert makespan(jobs, [[]] * 5, 3, list(range(5))) == 13


def test_a_project_of_the_textbook() -> None:
    # Hillier and Lieberman, Introduction to Operations Research, "Reliable Construction": 44 weeks
    # along A-B-C-E-F-J-L-N (forerunners from memory; the length is printed).
    names = "ABCDEFGHIJKLMN"
    times = [2.0, 4, 10, 6, 4, 5, 7, 9, 7, 8, 4, 5, 2, 6]
    needs = ["", "A", "B", "C", "C", "E", "D", "EG", "C", "FI", "J", "J", "H", "KL"]
    before = [[names.index(n) for n in need] for need in needs]
    turns = list_schedule(times, before, 3)
    assert max(turn.end for turn in turns) == 44


def test_jobs_in_a_circle_are_refused() -> None:
    with pytest.raises(ValueError, match="circle"):
        list_schedule([1.0, 1.0], [[1], [0]], 2, [0, 1])
    with pytest.raises(ValueError, match="team"):
        list_schedule([1.0], [[]], 0)


@given(st.data())
def test_any_schedule_keeps_the_rules_and_grahams_bound(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 14))
    times = data.draw(st.lists(st.integers(1, 9), min_size=count, max_size=count))
    before = [
        data.draw(st.lists(st.integers(0, job - 1), max_size=3, unique=True)) if job else []
        for job in range(count)
    ]
    teams = data.draw(st.integers(1, 4))
    turns = list_schedule([float(t) for t in times], before, teams)
    end = {turn.job: turn.end for turn in turns}
    assert sorted(end) == list(range(count))
    for turn in turns:
        assert turn.end - turn.start == times[turn.job]
        assert all(end[job] <= turn.start for job in before[turn.job])
    for team in range(teams):
        mine = sorted((t.start, t.end) for t in turns if t.team == team)
        assert all(one[1] <= two[0] for one, two in pairwise(mine))
    chain = [0] * count
    for job in range(count):
        chain[job] = times[job] + max((chain[b] for b in before[job]), default=0)
    # Graham 1969: at most (2 - 1/m) times the best; the best is at least the longest chain and the
    # shared work. Brent's form of the bound holds for every list: work/m + chain (m - 1)/m.
    assert max(end.values()) <= sum(times) / teams + max(chain) * (teams - 1) / teams + 1e-9


def shortest(
    times: Sequence[float],
    before: Sequence[Sequence[int]],
    teams: int,
    needs: Sequence[int],
    people: int,
) -> float:
    """Return the least makespan: every order of jobs, each put in as early as it fits.

    Serial schedules hold a shortest one (Kolisch, Serial and parallel resource-constrained project
    scheduling methods revisited, Eur. J. Oper. Res. 90, 1996).
    """
    best = float("inf")
    for order in permutations(range(len(times))):
        if any(order.index(b) > order.index(job) for job in order for b in before[job]):
            continue
        placed: dict[int, float] = {}
        for job in order:
            ready = max((placed[b] + times[b] for b in before[job]), default=0.0)
            moments = sorted({ready, *(s + times[j] for j, s in placed.items())})
            for start in (m for m in moments if m >= ready):
                inside = [start, *(s for s in placed.values() if start < s < start + times[job])]
                if all(
                    len(at) < teams and sum(needs[j] for j in at) + needs[job] <= people
                    for m in inside
                    for at in [[j for j, s in placed.items() if s <= m < s + times[j]]]
                ):
                    placed[job] = start
                    break
        best = min(best, max(s + times[j] for j, s in placed.items()))
    return best


@settings(max_examples=40)
@given(st.data())
def test_no_schedule_beats_the_bound(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 5))
    times = [float(data.draw(st.integers(1, 6))) for _ in range(count)]
    before = [
        data.draw(st.lists(st.integers(0, job - 1), max_size=2, unique=True)) if job else []
        for job in range(count)
    ]
    teams, people = data.draw(st.integers(1, 3)), data.draw(st.integers(2, 4))
    needs = [data.draw(st.integers(1, 2)) for _ in range(count)]
    best = shortest(times, before, teams, needs, people)
    assert least_minutes(times, before, teams, needs, people) <= best + 1e-9
    mine = list_schedule(times, before, teams, None, needs, people)
    assert max(turn.end for turn in mine) >= best - 1e-9
    for turn in mine:
        busy = [t for t in mine if t.start <= turn.start < t.end]
        assert len(busy) <= teams
        assert sum(needs[t.job] for t in busy) <= people


def test_the_bound_by_hand() -> None:
    # Two teams; one hour before all, one after all, between them three jobs of two hours: 1 + 3 + 1
    # (three jobs of two hours for two teams are three hours each). Chain 4, shared work 4.
    times = [1.0, 2.0, 2.0, 2.0, 1.0]
    before = [[], [0], [0], [0], [1, 2, 3]]
    assert least_minutes(times, before, 2) == 5.0
    # With two people for each of the three and three people in all they follow one another.
    assert least_minutes(times, before, 2, [1, 2, 2, 2, 1], 2) == 8.0


def test_a_plan_keeps_to_the_people_that_are_there() -> None:
    build = planned(build_design(replace(small_design(), assembly=AssemblyChoice(teams=3))))
    free = schedule_steps(build)
    assert free.bound <= free.total
    one = schedule_steps(build, people=max(step.people for step in build.steps))
    assert one.people <= max(step.people for step in build.steps)
    assert one.total >= free.total
    with pytest.raises(DesignError, match=r"assembly\.people: found 0, allowed is at least"):
        schedule_steps(build, people=0)
