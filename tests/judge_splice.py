# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Try out a splice: its key drops in square to the sheet, and holds in the plane every way.

Of a fish plate: strips, plate and pins share nothing; every pin goes through plate and strip, has
half of its hole's play in each, and the sum of all is the way that the strips can be drawn apart.
"""

from __future__ import annotations

from collections.abc import Iterator

import manifold3d
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
    if joint["fasteners"]:
        yield from _fish_plate_failures(trial, one, two)
        return
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


def _fish_plate_failures(
    trial: JointTrial, one: manifold3d.Manifold, two: manifold3d.Manifold
) -> Iterator[Failure]:
    """Try a fish plate on two strips that butt."""
    joint, tools = trial.joint, trial.tools
    way = np.array(joint["insertion"])
    out = np.cross(np.array(joint["line"]), way)
    (record,) = joint["fasteners"]
    plate = tools.prism(record).transform(np.array(record["transform"])[:3])
    poses = [tools.pin_pose(pin)[:3] for pin in joint["pins"]]
    pins = [tools.pin_solid(pin).transform(pose) for pin, pose in zip(joint["pins"], poses,
            strict=True)]  # fmt: skip
    for name, solid in (("the first strip", one), ("the second strip", two)):
        if (plate ^ solid).volume() > TOUCH:
            yield "fit", f"the fish plate shares room with {name}"
        # It lies on it: moved by a hair towards it, it bites.
        middle = np.array(record["transform"])[:3, 3] - np.array(joint["centre"])
        towards = -np.sign(middle @ way) * way
        if (plate.translate((0.02 * towards).tolist()) ^ solid).volume() < TOUCH:
            yield "fit", f"the fish plate does not lie on {name}"
    half = trial.size("hole_play") / 2
    held = [0, 0]
    for pin in pins:
        mine = [k for k, strip in enumerate((one, two)) if _through(pin, strip, way)]
        if len(mine) != 1:
            yield "pin", f"it goes through {len(mine)} strips"
            continue
        held[mine[0]] += 1
        for solid in ((one, two)[mine[0]], plate):
            if (pin ^ solid).volume() > TOUCH:
                yield "pin", f"it shares {(pin ^ solid).volume():.4g} mm3 with a plate"
            gap = _until(pin, solid, out)
            if abs(gap - half) > 0.03:
                yield "pin", f"it moves {gap:.3f} mm in its hole, {half:.3f} expected"
    if held != [2, 2]:
        yield "pin", f"{held[0]} and {held[1]} pins hold the strips"
    # From the middle: each strip moves against its pins, and these against the plate.
    if abs(4 * half - joint["play"]) > 1e-9:
        yield "loose", f"{4 * half:.3f} mm of play, {joint['play']:.3f} is stated"
    c = trial.clearance
    if (one.translate(((c + 0.05) * out).tolist()) ^ two).volume() < TOUCH:
        yield "loose", "the ends stand farther apart than the clearance"


def _through(
    pin: manifold3d.Manifold, strip: manifold3d.Manifold, way: npt.NDArray[np.float64]
) -> bool:
    """Tell whether a pin stands in a hole of a strip: moved aside any way, it bites."""
    aside = [np.cross(way, [1.0, 0.0, 0.0]), np.cross(way, [0.0, 1.0, 0.0])]
    steps = [2.0 * sign * a / np.linalg.norm(a) for a in aside if np.linalg.norm(a) > 0.1
             for sign in (1, -1)]  # fmt: skip
    return all((pin.translate(step.tolist()) ^ strip).volume() > TOUCH for step in steps)


def _until(
    pin: manifold3d.Manifold, solid: manifold3d.Manifold, way: npt.NDArray[np.float64]
) -> float:
    """Return how far a pin moves until it touches, mm."""
    low, high = 0.0, 2.0
    while high - low > 1e-3:
        middle = (low + high) / 2
        hit = (pin.translate((middle * way).tolist()) ^ solid).volume() > TOUCH
        low, high = (low, middle) if hit else (middle, high)
    return low
