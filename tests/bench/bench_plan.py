# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How long plans take, and how many steps have no proved way: all examples, and 500 plates."""

from __future__ import annotations

import json
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.spatial import ConvexHull

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from pinwright.core.assembly.plan import planned  # noqa: E402
from pinwright.core.design.model import Design, EdgeRotor, FrameChoice, Sheet  # noqa: E402
from pinwright.core.design.read import read_design  # noqa: E402
from pinwright.core.export.build_json import build_json  # noqa: E402
from pinwright.core.pipeline import build  # noqa: E402
from tests.plan_judge import replay  # noqa: E402


def boulder(points: int, folder: Path) -> Design:
    """Return an edge rotor on the hull of random points of a sphere: no symmetry at all."""
    random = np.random.default_rng(4)
    places = np.arange(points) + 0.5
    height = 1.0 - 2.0 * places / points
    angle = np.pi * (1.0 + np.sqrt(5.0)) * places
    wide = np.sqrt(1.0 - height**2)
    ball = np.column_stack([wide * np.cos(angle), wide * np.sin(angle), height])
    ball *= 1.0 + random.uniform(-0.02, 0.02, (points, 1))
    hull = ConvexHull(ball)
    lines = [f"v {x:.6f} {y:.6f} {z:.6f}" for x, y, z in ball]
    for face, plane in zip(hull.simplices, hull.equations, strict=True):
        a, b, c = ball[face]
        outward = np.cross(b - a, c - a) @ plane[:3] > 0
        lines.append("f " + " ".join(str(k + 1) for k in (face if outward else face[::-1])))
    (folder / "boulder.obj").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return Design(
        "boulder",
        Sheet(3.0),
        FrameChoice(3000.0, mesh="boulder.obj"),
        EdgeRotor(40.0),
        folder=str(folder),
    )


def told(name: str, design: Design, judge: bool) -> None:
    """Plan one design and print what it took."""
    result = build(design)
    start, begun = time.perf_counter(), time.process_time()
    result = planned(result)
    wall, cpu = time.perf_counter() - start, time.process_time() - begun
    unproved = sum(not step.free for step in result.steps)
    line = f"{name:<16}{len(result.plates):>5} plates {len(result.steps):>5} steps "
    line += f"{unproved:>4} without a proved way {wall:>7.1f} s ({cpu:.1f} s of one core)"
    if judge:
        verdict = replay(json.loads(build_json(result)))
        line += "  sound" if verdict.sound else f"  NOT SOUND: {dict(verdict.failures)}"
    print(line, flush=True)


def main() -> None:
    """Plan all examples, judged, and a boulder of about 500 plates."""
    import tempfile

    for path in sorted((ROOT / "examples").glob("*.toml")):
        told(path.stem, read_design(path), judge=True)
    with tempfile.TemporaryDirectory() as folder:
        told("boulder", replace(boulder(170, Path(folder)), note=""), judge=False)


if __name__ == "__main__":
    main()
