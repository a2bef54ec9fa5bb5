# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How long plans take, and how many steps have no proved way: all examples, and 500 plates."""

from __future__ import annotations

import importlib.util
import json
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from pinwright.core.assembly.plan import planned  # noqa: E402
from pinwright.core.design.model import Design, EdgeRotor, FrameChoice, Sheet  # noqa: E402
from pinwright.core.design.read import read_design  # noqa: E402
from pinwright.core.errors import DesignError  # noqa: E402
from pinwright.core.export.build_json import build_json  # noqa: E402
from pinwright.core.pipeline import build  # noqa: E402
from tests.plan_judge import replay  # noqa: E402


def boulder(folder: Path) -> Design:
    """Return the pebble of the examples with 170 faces in place of 60: 504 strips, no symmetry.

    Of the first seeds the one is taken whose corners are not too sharp for the recipe.
    """
    spec = importlib.util.spec_from_file_location("pebble", ROOT / "examples" / "make_pebble.py")
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    maker.FACES = 170
    for seed in range(40):
        maker.SEED = seed
        corners, faces = maker.pebble()
        lines = ["v " + " ".join(f"{c:.5f}" for c in corner) for corner in corners]
        lines += ["f " + " ".join(str(v + 1) for v in face) for face in faces]
        (folder / "boulder.obj").write_text("\n".join(lines) + "\n", encoding="utf-8")
        design = Design(
            "boulder",
            Sheet(3.0),
            FrameChoice(5000.0, mesh="boulder.obj"),
            EdgeRotor(40.0),
            folder=str(folder),
        )
        try:
            build(design)
        except DesignError:
            continue
        return design
    raise SystemExit("no seed gives a boulder that can be built")


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
        told("boulder", boulder(Path(folder)), judge=False)


if __name__ == "__main__":
    main()
