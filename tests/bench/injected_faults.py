# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Put faults into finished builds at random places: is each found, named and located?

Run by hand from the repository's root: ``python -m tests.bench.injected_faults [PLACES] [SEED]``.
All designs of examples/ are built and spoilt (tests/faults.py) at so many places for each fault
(3 if not said), and judged as ``pinwright check build.json`` does. A fault counts as found when a
check that fails, with a remedy, has a line that names the part, plate or joint, tells the amount
and the place. As a control the untouched build, and the same written in another order, must give no
finding; and manifold3d must agree that a plate that was moved runs into another.
"""

from __future__ import annotations

import json
import sys
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

import numpy as np

from pinwright.core.design.read import read_design
from pinwright.core.export.build_json import build_json, build_to_dict
from pinwright.core.pipeline import build
from pinwright.core.recheck import recheck
from tests.faults import FAULTS, harmless, reported
from tests.judges import as_manifold, shared_volume

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TRIES = 40  # random places looked at until a moved plate really hits another


def main() -> None:
    """Spoil, judge and print."""
    places = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    rng = np.random.default_rng(int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    tally: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    samples: dict[str, tuple[str, str, str]] = {}
    alarms, missed, controls = [], [], 0
    started = time.perf_counter()
    for file in sorted(EXAMPLES.glob("*.toml")):
        fresh = build(read_design(file))
        record: dict[str, Any] = json.loads(build_json(fresh))

        def judged(changed: dict[str, Any], fresh: Any = fresh) -> list[dict[str, Any]]:
            found = build_to_dict(recheck(changed, str(EXAMPLES), fresh=fresh))
            return list(found["checks"])

        for control in (record, harmless(record, rng)):
            controls += 1
            alarms += [
                f"{file.stem}: {check['name']}: {check['where'][:2]}"
                for check in judged(control)
                if not check["ok"]
            ]
        for name, inject in FAULTS.items():
            for _ in range(places):
                fault = inject(record, rng)
                if name == "plate moved into another" and fault is not None:
                    tries = 0
                    while not really_hits(fault.record, fault.names[0]) and tries < TRIES:
                        fault, tries = inject(record, rng), tries + 1
                        assert fault is not None
                if fault is None:
                    continue
                said = reported(fault, judged(fault.record))
                tally[name][0] += said is not None
                tally[name][1] += 1
                if said is None:
                    missed.append(f"{file.stem}: {name}: {fault.names}, {fault.place}")
                else:
                    samples.setdefault(name, (file.stem, *said))
        print(f"  {file.stem}: {len(record['plates'])} plates, "
              f"{time.perf_counter() - started:.0f} s so far", flush=True)  # fmt: skip
    print("\n| fault | found | by | example of what is said |\n| --- | --- | --- | --- |")
    for name, (found, tried) in tally.items():
        example, check, line = samples.get(name, ("", "", ""))
        print(f"| {name} | {found} of {tried} | {check} | {example}: {line} |")
    print(f"\ncontrols: {controls} sound builds, {len(alarms)} false findings")
    for line in (*alarms, *missed):
        print(f"  NOT AS IT SHOULD BE: {line}")
    sys.exit(1 if alarms or missed else 0)


def really_hits(record: dict[str, Any], name: str) -> bool:
    """Tell by manifold3d whether a plate shares volume with any other."""
    from shapely import Polygon

    solids = {
        part["mark"]: as_manifold(
            Polygon(part["outline"]["exterior"], part["outline"]["interiors"]), part["thickness"]
        )
        for part in record["parts"]
    }
    poses = {plate["id"]: np.array(plate["transform"]) for plate in record["plates"]}
    parts = {plate["id"]: plate["part"] for plate in record["plates"]}
    return any(
        shared_volume(solids[parts[name]], poses[name], solids[parts[other]], poses[other]) > 0.01
        for other in poses
        if other != name
    )


if __name__ == "__main__":
    main()
