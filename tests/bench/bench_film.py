# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Judge assembly films of the examples by solids at sampled frames, and time the laying out.

    .venv/bin/python tests/bench/bench_film.py [SECONDS [FRAMES [EXAMPLE ...]]]

Overlaps are found by manifold3d (tests/timeline_judge.py); planned springs do not count. The time
is given as a share of that which planning the same build takes.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from pinwright.core.assembly.plan import planned  # noqa: E402
from pinwright.core.assembly.timeline import Timeline, assembly_timeline  # noqa: E402
from pinwright.core.design.read import read_design  # noqa: E402
from pinwright.core.pipeline import build as build_design  # noqa: E402
from tests.timeline_judge import film_overlaps  # noqa: E402

USUAL = ("edge-rotor", "first-knot", "demo")


def main() -> None:
    """Print a row for each example."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 16.0
    frames = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    print(f"films of {seconds:g} s, {frames} frames judged\n")
    print("example            steps turned by hand in the air  overlaps  end, mm  time/plan")
    for name in sys.argv[3:] or USUAL:
        start = time.process_time()
        done = planned(build_design(read_design(ROOT / "examples" / f"{name}.toml")))
        plan_time = time.process_time() - start
        start = time.process_time()
        film = assembly_timeline(done, seconds)
        film_time = time.process_time() - start
        wrong = film_overlaps(done, film, np.linspace(0.0, seconds, frames))
        end = max(float(np.abs(track.pose(seconds) - np.eye(4)).max()) for track in film.plates)
        print(
            f"{name:18s} {len(done.steps):5d} {sum(s.turns is not None for s in done.steps):6d} "
            f"{len(film.by_hand):7d} {at_once(film):10d} {len(wrong):9d} {end:8.6f} "
            f"{film_time / plan_time:10.2f}"
        )
        for line in wrong[:5]:
            print("   ", line)


def at_once(film: Timeline) -> int:
    """Return how many bodies are in the air at most."""
    return max(
        sum(other.start <= mark.start < other.landed for other in film.marks) for mark in film.marks
    )


if __name__ == "__main__":
    main()
