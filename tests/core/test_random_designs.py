# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A few of the random designs of tests/bench/random_designs.py, which judges five hundred."""

from __future__ import annotations

import numpy as np

from tests.chance import Verdict, chance_design, judge_design

COUNT = 12


def test_volumes_and_distances_are_those_of_general_libraries() -> None:
    verdicts: list[Verdict] = []
    for number in range(2 * COUNT):
        verdict = judge_design(chance_design(np.random.default_rng((2026, number))), most=25)
        if verdict is not None:
            verdicts.append(verdict)
        if len(verdicts) == COUNT:
            break
    assert len(verdicts) == COUNT
    assert [verdict for verdict in verdicts if not verdict.agrees] == []
    # A fair trial: some clash, some are joined, some have symmetry, many pairs are apart.
    assert sum(v.clashes > 0 for v in verdicts) >= 3
    assert sum(v.joints > 0 for v in verdicts) >= 3
    assert sum(v.group > 1 for v in verdicts) >= 3
    assert sum(v.apart for v in verdicts) >= 50
