# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The plans of example designs, replayed from their build files by an independent judge.

`tests/bench/bench_plan.py` does the same for all examples, with every step.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from pinwright.core.assembly.plan import planned
from pinwright.core.design.read import read_design
from pinwright.core.export.build_json import build_json
from pinwright.core.pipeline import build
from tests.plan_judge import replay

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
#: Steps whose way is swept again, out of all (each takes the judge some tenths of a second).
SWEEPS = 5


@pytest.mark.parametrize("name", ["edge-rotor", "card-rings"])
def test_an_examples_plan_can_be_replayed(name: str) -> None:
    result = planned(build(read_design(EXAMPLES / f"{name}.toml")))
    verdict = replay(json.loads(build_json(result)), SWEEPS)
    assert verdict.sound, verdict.failures
    # Rings are closed in themselves but for a slit, and can only be threaded in by bending.
    assert (verdict.unproved == []) == (name != "card-rings")
