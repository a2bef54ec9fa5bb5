# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Scenes for the race of clashes and distances: real sculptures, shells of strips, crowds."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from unittest.mock import patch

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation
from shapely import LineString, Polygon, box

from pinwright.core import pipeline
from pinwright.core.checks.scene import scene_of
from pinwright.core.design.read import read_design

__all__ = ["Stand", "different", "sculpture", "shells"]

THICKNESS = 3.0
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@dataclass(frozen=True, slots=True)
class Stand:
    """Plates that stand: distinct outlines, which of them each plate is, and where (n, 4, 4), mm.

    seeds : (k, 2) one pair of each kind, where there is a group; each pair of plates is carried by
        the group to one of these
    """

    name: str
    outlines: list[Polygon]
    kind: npt.NDArray[np.intp]
    world: npt.NDArray[np.float64]
    seeds: npt.NDArray[np.intp] | None = None


def sculpture(example: str) -> Stand:
    """Return the plates of an example, with all its joints, and the pairs that its checks judge."""
    caught = []

    def catch(*given, **more):
        caught.append(scene_of(*given, **more))
        return caught[-1]

    with patch.object(pipeline, "scene_of", catch):
        built = pipeline.build(read_design(EXAMPLES / f"{example}.toml"))
    (scene,) = caught
    count, placed = scene.plate_count, scene.placed
    used = np.unique(placed.which[:count])
    solids = [placed.solids[k] for k in used]
    back = np.linalg.inv([placed.solids[k].plate_from_box for k in placed.which[:count]])
    return Stand(
        f"{built.design.name}, with joints",
        [solid.polygon for solid in solids],
        np.searchsorted(used, placed.which[:count]),
        placed.world_from_box[:count] @ back,
        scene.pairs if built.group.order > 1 else None,
    )


def strip(length: float, bend: float, width: float = 22.0, steps: int = 66) -> Polygon:
    """Return a bent strip of about 2 steps + 8 vertices with two slots through it."""
    x = np.linspace(-length / 2, length / 2, steps)
    y = bend * np.cos(np.pi * x / length)
    shape = LineString(np.column_stack([x, y])).buffer(width / 2, cap_style="flat", join_style=2)
    for at in (-0.3 * length, 0.3 * length):
        middle = bend * np.cos(np.pi * at / length)
        shape = shape.difference(box(at - 1.6, middle - 5, at + 1.6, middle + 5))
    return shape


def shells(count: int, radius: float) -> Stand:
    """Return strips that sixty icosahedral rotations carry round; every sixty share an outline."""
    rng = np.random.default_rng(17)
    turns = Rotation.create_group("I").as_matrix()
    one = int(np.abs(turns - np.eye(3)).max(axis=(1, 2)).argmin())
    turns[[0, one]] = turns[[one, 0]]
    inverse = np.array([np.abs(turns - turn.T).max(axis=(1, 2)).argmin() for turn in turns])
    orbits = -(-count // 60)
    outlines, world = [], np.tile(np.eye(4), (orbits, 60, 1, 1))
    for k in range(orbits):
        outlines.append(strip(rng.uniform(110, 190), rng.uniform(10, 35), rng.uniform(14, 26)))
        frame = Rotation.random(random_state=int(rng.integers(1 << 30))).as_matrix()
        world[k, :, :3, :3] = turns @ frame
        world[k, :, :3, 3] = turns @ (radius * rng.uniform(0.85, 1.15) * frame[:, 2])
    own = np.flatnonzero(np.arange(60) <= inverse)
    seeds = [
        np.column_stack([np.full(60 * (orbits - k), 60 * k), np.arange(60 * k, 60 * orbits)])
        for k in range(orbits)
    ]
    first = np.concatenate([pairs[60:] for pairs in seeds])
    first = np.concatenate(
        [first, *([[60 * k, 60 * k + g] for g in own if g] for k in range(orbits))]
    )
    name = "one orbit" if orbits == 1 else f"{orbits} orbits"
    return Stand(
        f"strips in {name}",
        outlines,
        np.repeat(np.arange(orbits), 60)[:count],
        world.reshape(-1, 4, 4)[:count],
        first if count % 60 == 0 else None,
    )


def different(count: int, spread: float) -> Stand:
    """Return plates that are all different, anywhere in a ball."""
    rng = np.random.default_rng(3)
    outlines = [
        strip(rng.uniform(90, 220), rng.uniform(0, 40), rng.uniform(12, 30)) for _ in range(count)
    ]
    world = np.tile(np.eye(4), (count, 1, 1))
    world[:, :3, :3] = Rotation.random(count, random_state=4).as_matrix()
    world[:, :3, 3] = rng.normal(size=(count, 3)) * spread * (count / 500) ** (1 / 3)
    return Stand("all different", outlines, np.arange(count), world)
