# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How long plans take, and how many steps have no proved way: all examples, and 500 plates.

unproved : steps without a proved way; bent : steps that bend a plate beyond its yield stress; CPU s
: of the plan alone, one core. The judge sees all steps and sweeps some, so that it ends in minutes.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import sys
import tempfile
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


def told(name: str, design: Design, sweeps: int | None) -> None:
    """Plan one design and print what it took, and what the judge says of it.

    sweeps : steps whose ways are swept by the judge, chosen at random; None: all
    """
    result = build(design)
    begun = time.process_time()
    result = planned(result)
    cpu = time.process_time() - begun
    unproved = sum(not step.free for step in result.steps)
    bent = sum(any(spring.stress_ratio > 1.0 for spring in step.springs) for step in result.steps)
    line = f"{name:<18}{len(result.plates):>6}{len(result.modules):>8}{len(result.steps):>6}"
    line += f"{unproved:>9}{bent:>6}{cpu:>9.1f}"
    print(line, end="  ", flush=True)
    verdict = replay(json.loads(build_json(result)), sweeps)
    said = "sound" if verdict.sound else f"NOT SOUND: {dict(verdict.failures)}"
    print(f"{said} ({verdict.swept} sweeps)", flush=True)


def main() -> None:
    """Plan the examples named (all, if none is), and a boulder of about 500 plates; judge them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", help="examples, or boulder; none: all of them")
    parser.add_argument(
        "--sweeps", type=int, default=12, help="steps of each plan that are swept; -1: all"
    )
    chosen = parser.parse_args()
    sweeps = None if chosen.sweeps < 0 else chosen.sweeps
    print("design            plates modules steps unproved  bent   CPU s  judge")
    for path in sorted((ROOT / "examples").glob("*.toml")):
        if not chosen.names or path.stem in chosen.names:
            told(path.stem, read_design(path), sweeps)
    if not chosen.names or "boulder" in chosen.names:
        with tempfile.TemporaryDirectory() as folder:
            told("boulder", boulder(Path(folder)), sweeps)


if __name__ == "__main__":
    main()
