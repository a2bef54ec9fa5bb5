# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Everything that `make test` judges, stage by stage, closed by one line: N passed, N failed.

    python tools/run_tests.py .venv [.venv-bpy45] [.venv-py313]

The first environment runs all stages, the others the tests that they are there for. A stage that
fails does not stop the next, so that one run tells everything. A linter counts as one test.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from limit import run_limited

ROOT = Path(__file__).resolve().parent.parent
RESULTS = ROOT / ".venv" / "results"
CORE = ["tests", "--ignore=tests/addon", "--ignore=tests/gui", "--numprocesses=auto"]
# Two at most: each worker starts a Blender of its own.
ADDON = ["tests/addon", "--numprocesses=2"]
# Long judgments of geometry, which no Python's version changes: made once, on the first one.
ONCE = [
    f"--ignore=tests/{name}.py"
    for name in (
        "core/test_assembly_explode",
        "core/test_assembly_modules",
        "core/test_assembly_motions",
        "core/test_assembly_partition",
        "core/test_assembly_remedies",
        "core/test_assembly_springing",
        "core/test_assembly_takedown",
        "core/test_assembly_timeline",
        "core/test_assembly_turning",
        "core/test_checks_fit",
        "core/test_checks_judge",
        "core/test_checks_mistakes",
        "core/test_checks_prisms",
        "core/test_checks_prisms_judges",
        "core/test_checks_prisms_pins",
        "core/test_export_coupon",
        "core/test_export_marks",
        "core/test_fit_plain_corners",
        "core/test_joint_fish_plate",
        "core/test_joint_kinds",
        "core/test_joint_laps",
        "core/test_joint_splice",
        "core/test_joints_hardware",
        "core/test_outlines_tool_corners",
        "core/test_pipeline",
        "core/test_property_edge_rotor",
        "core/test_property_joints",
        "core/test_property_orbits",
        "core/test_random_designs",
        "core/test_recheck",
        "core/test_recipes_right_angle",
        "core/test_recipes_rings",
        "core/test_recipes_triads",
        "core/test_search_families",
        "core/test_search_listing",
        "core/test_search_normals",
        "core/test_search_patterns",
        "core/test_search_sliders",
        "core/test_splice_mistakes",
        "integration/test_examples",
        "integration/test_exploded",
        "integration/test_plans",
    )
]
# The stages of each environment besides the first: pytest's arguments and whether bpy is needed.
EXTRA = {
    ".venv-bpy45": {"Blender layer": ADDON},
    ".venv-py313": {"core": [*CORE, *ONCE], "Blender layer": ADDON},
}
WHY_NOT = {
    ".venv-bpy45": "Blender layer on bpy 4.5: no Python 3.11 was found (set PYTHON311)",
    ".venv-py313": "Python 3.13: no Python 3.13 that runs was found (set PYTHON313)",
}


@dataclass(slots=True)
class Tally:
    """Closing figures; what was not run at all is kept in words."""

    passed: int = 0
    failed: int = 0
    skipped: int = 0
    not_run: list[str] | None = None

    def line(self) -> str:
        """Return the closing line in the plain form that other programs read."""
        return f"{self.passed} passed, {self.failed} failed, {self.skipped} skipped"


class Runner:
    """Runs stages one after another and adds up what they say."""

    def __init__(self, scratch: str) -> None:
        self.tally = Tally(not_run=[])
        self.failures: list[str] = []
        # Blender's settings of whoever runs this must not matter, nor be touched.
        self.env = {**os.environ, "BLENDER_USER_RESOURCES": scratch, "PYTHONUNBUFFERED": "1"}
        self.env.setdefault("OPENBLAS_NUM_THREADS", "1")  # the workers fill the cores already

    def judge(self, title: str, command: list[str], seconds: float) -> None:
        """Run a linter: it passes or fails as one."""
        if self._run(title, command, seconds) == 0:
            self.tally.passed += 1
        else:
            self.tally.failed += 1
            self.failures.append(title)

    def pytest(self, title: str, python: str, arguments: list[str], seconds: float) -> None:
        """Run pytest and add its counts; a run that ended badly is at least one failure."""
        counts = RESULTS / f"{title.replace(' ', '-').replace(',', '')}.json"
        counts.unlink(missing_ok=True)
        command = [python, "tools/run_pytest.py", str(counts), *arguments]
        status = self._run(title, command, seconds)
        found = json.loads(counts.read_text(encoding="utf-8")) if counts.is_file() else {}
        self.tally.passed += found.get("passed", 0)
        self.tally.skipped += found.get("skipped", 0)
        failed = found.get("failed", 0)
        if status != 0:
            failed = max(failed, 1)
            self.failures.append(title)
        self.tally.failed += failed

    def leave_out(self, what: str) -> None:
        """Say now, and again at the end, that something was not run."""
        print(f"\n=== NOT RUN: {what}", flush=True)
        assert self.tally.not_run is not None
        self.tally.not_run.append(what)

    def _run(self, title: str, command: list[str], seconds: float) -> int:
        print(f"\n=== {title}", flush=True)
        start = time.monotonic()
        status = run_limited(command, seconds, self.env)
        print(f"=== {title}: status {status}, {time.monotonic() - start:.0f} s", flush=True)
        return status


def main() -> int:
    """Return 0 when nothing failed."""
    os.chdir(ROOT)
    RESULTS.mkdir(parents=True, exist_ok=True)
    environments = sys.argv[1:]
    with tempfile.TemporaryDirectory() as scratch:
        runner = Runner(scratch)
        run_first(runner, environments[0])
        for name, stages in EXTRA.items():
            if name not in environments:
                runner.leave_out(WHY_NOT[name])
                continue
            for stage, arguments in stages.items():
                run_stage(runner, name, stage, arguments)
    return close(runner)


def run_first(runner: Runner, environment: str) -> None:
    """Style, types and all tests in the main environment."""
    python = python_of(environment)
    ruff = [python, "-m", "ruff"]
    runner.judge("style", [*ruff, "check", "--quiet", "."], 120)
    runner.judge("format", [*ruff, "format", "--check", "--quiet", "."], 120)
    runner.env["MYPYPATH"] = f"{environment}/types"
    types = ["-m", "mypy", "-p", "pinwright.core", "-p", "pinwright.addon"]
    runner.judge("types", [python, *types], 600)
    run_stage(runner, environment, "core", CORE)
    run_stage(runner, environment, "Blender layer", ADDON)


def run_stage(runner: Runner, environment: str, stage: str, arguments: list[str]) -> None:
    """Run one set of tests, or say why not."""
    python = python_of(environment)
    title = f"{stage}, {environment}"
    if arguments is ADDON and run_limited([python, "-c", CHECK_BPY], 120) != 0:
        runner.leave_out(f"{title}: no bpy for this Python")
        return
    runner.pytest(title, python, arguments, 1500)


CHECK_BPY = "import importlib.util as u, sys; sys.exit(u.find_spec('bpy') is None)"


def python_of(environment: str) -> str:
    """Return the path of an environment's Python."""
    return f"{environment}/bin/python"


def close(runner: Runner) -> int:
    """Print what failed, what was left out, and the closing line; keep that line in a file."""
    print()
    for what in runner.tally.not_run or ():
        print(f"NOT RUN: {what}")
    for title in runner.failures:
        print(f"FAILED: {title}")
    line = runner.tally.line()
    (RESULTS / "summary.txt").write_text(line + "\n", encoding="utf-8")
    print(line, flush=True)
    return 1 if runner.tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
