# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Try out a splice: its key drops in square to the sheet, and holds in the plane every way."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from tests.judge_joints import TOUCH, JointTrial

__all__ = ["splice_failures"]

Failure = tuple[str, str]


def splice_failures(trial: JointTrial) -> Iterator[Failure]:
    """Try a key in its socket."""
    joint = trial.joint
    one, two = (p.solid.transform(p.world[:3]) for p in (trial.first, trial.second))
    line, way = np.array(joint["line"]), np.array(joint["insertion"])
    out = np.cross(line, way)
    normals = [p.world[:3, 2] for p in (trial.first, trial.second)]
    tilt = max(float(np.linalg.norm(np.cross(way, n))) for n in normals)
    if tilt > 1e-9 or abs(line @ way) > 1e-9 or joint["angle"] != 0.0:
        yield "direction", "the insertion is not square to both plates"

    def hit(move: npt.ArrayLike) -> float:
        return float((one.translate(np.asarray(move, dtype=float).tolist()) ^ two).volume())

    if hit((0.0, 0.0, 0.0)) > TOUCH:
        yield "fit", f"key and socket share {hit((0.0, 0.0, 0.0)):.4g} mm3 at rest"
    c, play = trial.clearance, joint["play"]
    for name, step, free in (
        ("apart", -out, play),
        ("together", out, c),
        ("to one side", line, c),
        ("to the other side", -line, c),
    ):
        if hit((free + 0.05) * step) < TOUCH:
            yield "loose", f"{name}: {free + 0.05:.3f} mm and still free"
        if free > 0.02 and hit((free - 0.02) * step) > TOUCH:
            yield "tight", f"{name}: {free - 0.02:.3f} mm and it touches already"
    if not trial.companions:
        for far in np.linspace(0.0, 2 * trial.first.thickness, 7):
            if hit(-far * way) > TOUCH or hit(far * way) > TOUCH:
                yield "insertion", f"drawn out by {far:.2f} mm it touches"
                return
