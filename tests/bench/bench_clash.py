# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How long clashes and distances take, beside python-fcl and manifold3d in the same run.

Run by hand from the repository's root: ``python -m tests.bench.bench_clash``. Each figure is the
least processor time of several turns, the rivals taking turns: other work on the machine counts
little, and hits all alike.
Each method is given the same pairs, found by `near_pairs`; set-up (our outlines, their meshes) is
counted for all. fcl's collision query says yes or no; manifold3d's and our exact run give volumes.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import fcl
import numpy as np
from scipy.spatial.transform import Rotation
from shapely import LineString, Polygon, box

from pinwright.core.checks.distance import least_distance, pair_distances
from pinwright.core.checks.overlap import pair_overlaps
from pinwright.core.checks.solids import PlacedPlates, PlateSolid, near_pairs
from tests.judges import as_fcl, as_manifold, fcl_distance, fcl_mesh, shared_volume

THICKNESS = 3.0
TURNS = 5


@dataclass(frozen=True, slots=True)
class Scene:
    """Plates, each an outline (shared by copies) and a transform; pairs to be judged."""

    name: str
    outlines: list[Polygon]
    kind: list[int]
    world: np.ndarray
    pairs: np.ndarray

    def solids(self) -> PlacedPlates:
        solids = [PlateSolid.of(outline, THICKNESS) for outline in self.outlines]
        return PlacedPlates.of([solids[k] for k in self.kind], self.world)


def strip(length: float, bend: float, width: float = 22.0, steps: int = 66) -> Polygon:
    """Return a bent strip of about 2 steps + 8 vertices with two slots through it."""
    x = np.linspace(-length / 2, length / 2, steps)
    y = bend * np.cos(np.pi * x / length)
    shape = LineString(np.column_stack([x, y])).buffer(width / 2, cap_style="flat", join_style=2)
    for at in (-0.3 * length, 0.3 * length):
        middle = bend * np.cos(np.pi * at / length)
        shape = shape.difference(box(at - 1.6, middle - 5, at + 1.6, middle + 5))
    return shape


def icosahedral(length: float, symmetry: bool) -> Scene:
    """Sixty copies of one strip under the icosahedral rotations; one pair of each kind, or all."""
    turns = Rotation.create_group("I").as_matrix()
    normal = np.array([0.9450, 0.2021, 0.2571])
    normal /= np.linalg.norm(normal)
    along = np.cross(normal, [0.3, 0.9, -0.2])
    along /= np.linalg.norm(along)
    seed = np.column_stack([along, np.cross(normal, along), normal])
    world = np.tile(np.eye(4), (60, 1, 1))
    world[:, :3, :3] = turns @ seed
    world[:, :3, 3] = turns @ (124.0 * normal)
    outlines = [strip(length, 30.0)]
    inverse = [int(np.abs(turns - turn.T).max(axis=(1, 2)).argmin()) for turn in turns]
    one = int(np.abs(turns - np.eye(3)).max(axis=(1, 2)).argmin())
    pairs = [(one, g) for g in range(60) if g != one and g <= inverse[g]]
    kind = [0] * 60
    name = f"60 plates, strips of {length:.0f} mm"
    if symmetry:
        return Scene(f"{name}, one pair of each kind", outlines, kind, world, np.array(pairs))
    scene = Scene(name, outlines, kind, world, np.empty((0, 2), dtype=int))
    every = near_pairs(scene.solids(), 5.0)
    return Scene(f"{name}, all near pairs", outlines, kind, world, every)


def distinct(count: int, spread: float) -> Scene:
    """Return plates that are all different, anywhere in a ball."""
    rng = np.random.default_rng(3)
    outlines = [
        strip(rng.uniform(90, 220), rng.uniform(0, 40), rng.uniform(12, 30)) for _ in range(count)
    ]
    world = np.tile(np.eye(4), (count, 1, 1))
    world[:, :3, :3] = Rotation.random(count, random_state=4).as_matrix()
    world[:, :3, 3] = rng.normal(size=(count, 3)) * spread
    kind = list(range(count))
    bare = Scene("", outlines, kind, world, np.empty((0, 2), dtype=int))
    return Scene(
        f"{count} different plates, all near pairs",
        outlines, kind, world, near_pairs(bare.solids(), 5.0),
    )  # fmt: skip


def by_fcl(scene: Scene, distance: bool) -> int | float:
    meshes = [fcl_mesh(outline, THICKNESS) for outline in scene.outlines]
    objects = [as_fcl(meshes[k], world) for k, world in zip(scene.kind, scene.world, strict=True)]
    if distance:
        return min(fcl_distance(objects[i], objects[j]) for i, j in scene.pairs)
    return sum(
        bool(fcl.collide(objects[i], objects[j], fcl.CollisionRequest(), fcl.CollisionResult()))
        for i, j in scene.pairs
    )


def by_manifold(scene: Scene) -> int:
    solids = [as_manifold(outline, THICKNESS) for outline in scene.outlines]
    volumes = [
        shared_volume(solids[scene.kind[i]], scene.world[i], solids[scene.kind[j]], scene.world[j])
        for i, j in scene.pairs
    ]
    return sum(volume > 1e-3 for volume in volumes)


def race(rivals: dict[str, Callable[[], int | float]]) -> None:
    """Print the least time of each rival (ms), what it found, and its ratio to the first."""
    least = dict.fromkeys(rivals, np.inf)
    found: dict[str, int | float] = {}
    began = time.process_time()
    turn = 0
    while turn < TURNS or time.process_time() - began < 1.0:
        turn += 1
        for name, run in rivals.items():
            start = time.process_time()
            found[name] = run()
            least[name] = min(least[name], (time.process_time() - start) * 1e3)
    base = next(iter(least.values()))
    for name, taken in least.items():
        print(f"    {name:44s}{taken:10.2f} ms {taken / base:8.2f} x   found {found[name]:.6g}")


def main() -> None:
    """Print all scenes."""
    for scene in (
        icosahedral(160.0, symmetry=True),
        icosahedral(260.0, symmetry=True),
        icosahedral(160.0, symmetry=False),
        distinct(500, 330.0),
        distinct(500, 115.0),
    ):
        ready = scene.solids()
        clear = scene.pairs[~pair_overlaps(ready, scene.pairs).clash]
        apart = Scene(scene.name, scene.outlines, scene.kind, scene.world, clear)
        vertices = np.mean(ready.count)
        print(f"{scene.name}: {len(scene.pairs)} pairs, {vertices:.0f} vertices each")
        print("  do they clash (number of clashes), set-up counted")
        race(
            {
                "ours, verdict only": lambda s=scene: int(
                    pair_overlaps(s.solids(), s.pairs, exact=False).clash.sum()
                ),
                "ours, exact volumes": lambda s=scene: int(
                    pair_overlaps(s.solids(), s.pairs).clash.sum()
                ),
                "ours, verdict only, outlines ready": lambda s=scene, p=ready: int(
                    pair_overlaps(p, s.pairs, exact=False).clash.sum()
                ),
                "python-fcl collide": lambda s=scene: by_fcl(s, distance=False),
                "manifold3d volumes": lambda s=scene: by_manifold(s),
            }
        )
        if len(clear) == 0:
            continue
        print(f"  least distance of the {len(clear)} clear pairs (mm), set-up counted")
        race(
            {
                "ours, least distance": lambda s=apart: least_distance(s.solids(), s.pairs)[0],
                "ours, every distance": lambda s=apart: float(
                    pair_distances(s.solids(), s.pairs).distance.min()
                ),
                "ours, least distance, outlines ready": lambda s=apart, p=ready: least_distance(
                    p, s.pairs
                )[0],
                "python-fcl every distance": lambda s=apart: by_fcl(s, distance=True),
            }
        )


if __name__ == "__main__":
    main()
