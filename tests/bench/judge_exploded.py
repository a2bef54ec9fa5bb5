# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Judge the exploded views of all examples from their build files, by independent libraries.

Run from the environment: ``.venv/bin/python tests/bench/judge_exploded.py [NAME ...]``.
Each example is built and planned, its view is opened at the eleven tenths and, for `fine`, at 101
factors; every pair of plates that shares room is counted by what the plan and the view say of it.
`--unplanned` opens the view that a build has without a plan.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from pinwright.core.assembly.explode_order import exploded  # noqa: E402
from pinwright.core.assembly.plan import planned  # noqa: E402
from pinwright.core.design.read import read_design  # noqa: E402
from pinwright.core.export.build_json import build_json  # noqa: E402
from pinwright.core.pipeline import build  # noqa: E402
from tests.exploded_judge import TENTHS, judge_exploded  # noqa: E402

COLUMNS = ("sprung", "by hand", "no way found", "straight", "UNNAMED")


def main() -> int:
    """Judge and print; 1 if a pair clashes that nothing is said of."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", help="examples; all if none is named")
    parser.add_argument("--unplanned", action="store_true")
    parser.add_argument("--coarse", action="store_true", help="only the eleven tenths")
    asked = parser.parse_args()
    names = asked.names or [path.stem for path in sorted((ROOT / "examples").glob("*.toml"))]
    print(f"{'example':18}{'plates':>7}{'steps':>6}{'woven':>6}{'plan s':>8}{'view s':>8}"
          + "  factors  " + "".join(f"{name:>14}" for name in COLUMNS) + "   even")  # fmt: skip
    bad = False
    for name in names:
        result = build(read_design(ROOT / "examples" / f"{name}.toml"))
        begin = time.perf_counter()
        if not asked.unplanned:
            result = planned(result)
        middle = time.perf_counter()
        result = exploded(result)
        end = time.perf_counter()
        record = json.loads(build_json(result))
        woven = sum(not step["free"] for step in record["steps"])
        sets = {11: TENTHS} if asked.coarse else {11: TENTHS, 101: tuple(np.linspace(0, 1, 101))}
        for count, factors in sets.items():
            found = judge_exploded(record, factors)
            counts = found.counts
            bad |= bool(found.unnamed) or bool(found.uneven)
            print(f"{name:18}{len(result.plates):7}{len(result.steps):6}{woven:6}"
                  f"{middle - begin:8.1f}{end - middle:8.1f}{count:9}  "
                  + "".join(f"{counts[key]:14}" for key in COLUMNS)
                  + f"   {'yes' if not found.uneven else 'NO: ' + ', '.join(found.uneven)}",
                  flush=True)  # fmt: skip
            for pair in found.unnamed[:5]:
                volume, factor = found.clashes[pair]
                print(f"    {pair[0]} and {pair[1]}: {volume:.3g} mm3 at {factor:g}")
    return int(bad)


if __name__ == "__main__":
    sys.exit(main())
