# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Judge a random choice of a search's finds by solids, after full joinery.

Run by hand from the repository's root: ``python -m tests.bench.judge_finds FOLDER [COUNT] [SEED]``.
Each design file is read back, built and written; the independent judge of tests/judge.py
(manifold3d, networkx, trimesh) looks at build.json alone. Besides, the angles of all joints are
reckoned anew from the plates' transforms, and the least distance from one plate of each motif to
every plate that it has no joint with is measured with manifold3d's `min_gap`.
"""

from __future__ import annotations

import json
import multiprocessing
import os
import random
import sys
import tempfile
from pathlib import Path
from typing import Any

import manifold3d
import numpy as np
import shapely

from pinwright.core.design.read import read_design
from pinwright.core.export.files import write_build
from pinwright.core.pipeline import build
from tests.judge import judge_file
from tests.judges import as_manifold

SEARCHED = 40.0  # mm: gaps are looked for up to this width


def judged(file: Path) -> tuple[str, list[str], float, float, float]:
    """Return name, failures, interference (mm3), worst angle off 90 (deg), clearance (mm)."""
    with tempfile.TemporaryDirectory() as folder:
        built = build(read_design(file))
        write_build(built, Path(folder))
        verdict = judge_file(Path(folder) / "build.json")
        record = json.loads((Path(folder) / "build.json").read_text())
    normals = {p["id"]: np.array(p["transform"])[:3, 2] for p in record["plates"]}
    cosines = [
        float(np.clip(normals[a] @ normals[b], -1, 1))
        for a, b in (joint["plates"] for joint in record["joints"])
    ]
    off = float(np.degrees(np.arcsin(np.abs(cosines))).max())
    failures = [f"{kind}: {what[:2]}" for kind, what in verdict.failures.items()]
    failures += [c["name"] for c in record["checks"] if not c["ok"]]
    return file.stem, failures, float(verdict.interference), off, least_gap(record)


def least_gap(record: dict[str, Any]) -> float:
    """Return the least gap from one plate of each motif to the plates it has no joint with, mm."""
    solids = {
        part["mark"]: as_manifold(
            shapely.Polygon(part["outline"]["exterior"], part["outline"]["interiors"]),
            part["thickness"],
        )
        for part in record["parts"]
    }
    placed: dict[str, manifold3d.Manifold] = {
        p["id"]: solids[p["part"]].transform(np.array(p["transform"])[:3]) for p in record["plates"]
    }
    seeds = {p["motif"]: p["id"] for p in reversed(record["plates"])}
    joined = {frozenset(joint["plates"]) for joint in record["joints"]}
    return min(
        placed[seed].min_gap(other, SEARCHED)
        for seed in seeds.values()
        for name, other in placed.items()
        if name != seed and frozenset((seed, name)) not in joined
    )


def main() -> None:
    """Judge and print."""
    folder = Path(sys.argv[1])
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 100
    files = sorted((folder / "designs").glob("*.toml"))
    chosen = random.Random(int(sys.argv[3]) if len(sys.argv) > 3 else 1).sample(
        files, min(count, len(files))
    )
    with multiprocessing.Pool(os.cpu_count()) as pool:
        results = pool.map(judged, chosen, chunksize=1)
    failed = [one for one in results if one[1]]
    for name, failures, *_ in failed:
        print(f"{name}: {failures}")
    print(f"{len(results)} of {len(files)} designs judged, {len(failed)} failed")
    print(f"    shared volume at most {max(one[2] for one in results):.3g} mm3")
    print(f"    joints off the right angle by at most {max(one[3] for one in results):.3g} deg")
    print(f"    least gap of plates without a joint {min(one[4] for one in results):.2f} mm")


if __name__ == "__main__":
    main()
