# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Schedules, against worked examples of the literature."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pinwright.core.assembly.schedule import list_schedule

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
