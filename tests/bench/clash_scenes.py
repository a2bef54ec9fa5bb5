# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Scenes for the race of clashes and distances: real sculptures, the same with plates moved, piles.

The sculptures stand with all their joints, as the checks of a design see them. The boulders are
cut as the example's pebble is and have no symmetry: each plate is a part of its own.
"""

from __future__ import annotations

import importlib.util
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from types import ModuleType
from unittest.mock import patch

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull, cKDTree
from scipy.spatial.transform import Rotation
from shapely import LineString, Polygon, box

from pinwright.core import pipeline
from pinwright.core.checks.scene import Scene, scene_of
from pinwright.core.design.read import read_design

__all__ = ["Stand", "boulder", "different", "edited", "lifted", "moved", "sculpture", "shells"]

THICKNESS = 3.0  # of the piles' plates, mm
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
    thickness: float = THICKNESS


class _Enough(Exception):
    """The scene is caught; nothing after it is wanted."""


def sculpture(path: Path, name: str = "") -> Stand:
    """Return the plates of a design, with all its joints, and the pairs that its checks judge."""
    design = read_design(path)
    caught: list[Scene] = []

    def catch(*given, **more):
        caught.append(scene_of(*given, **more))
        raise _Enough

    with patch.object(pipeline, "scene_of", catch), suppress(_Enough):
        pipeline.build(design)
    (scene,) = caught
    count, placed = scene.plate_count, scene.placed
    used = np.unique(placed.which[:count])
    solids = [placed.solids[k] for k in used]
    back = np.linalg.inv([placed.solids[k].plate_from_box for k in placed.which[:count]])
    return Stand(
        name or design.name,
        [solid.polygon for solid in solids],
        np.searchsorted(used, placed.which[:count]),
        placed.world_from_box[:count] @ back,
        scene.pairs if len(used) < count else None,
        solids[0].thickness,
    )


def boulder(frequency: int) -> Stand:
    """Return an egg of flat faces without symmetry, a strip on each of its 30 frequency^2 edges.

    The material and the strips are those of the pebble among the examples; so is their size.
    """
    count = 30 * frequency**2
    maker = _pebble_maker()
    with TemporaryDirectory() as folder:
        with (
            patch.object(maker, "_spiral", lambda: _geodesic(frequency)),
            patch.object(maker, "HALF_AXES", np.array([450.0, 410.0, 370.0])),
            patch.object(maker, "ROUNDS", 20),
        ):
            corners, faces = maker.pebble()
        lines = ["v " + " ".join(f"{c:.5f}" for c in corner) for corner in corners]
        lines += ["f " + " ".join(str(v + 1) for v in face) for face in faces]
        (Path(folder) / "boulder.obj").write_text("\n".join(lines) + "\n", encoding="utf-8")
        text = (EXAMPLES / "pebble.toml").read_text(encoding="utf-8")
        text = text.replace("meshes/river-pebble.obj", "boulder.obj")
        size = 1000.0 * (count / 174) ** 0.5
        text = text.replace("diameter = 1000.0", f"diameter = {size:.1f}")
        file = Path(folder) / "boulder.toml"
        file.write_text(text, encoding="utf-8")
        return sculpture(file, f"boulder of {count} edges")


def _pebble_maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_pebble", EXAMPLES / "make_pebble.py")
    assert spec is not None
    assert spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    return maker


def _geodesic(frequency: int) -> npt.NDArray[np.float64]:
    """Return unit vectors at the corners of an icosahedron with edges cut into so many parts."""
    golden = (1.0 + np.sqrt(5.0)) / 2.0
    some = np.array([(0.0, s, t * golden) for s in (1, -1) for t in (1, -1)])
    corners = np.concatenate([some, np.roll(some, 1, axis=1), np.roll(some, 2, axis=1)])
    steps = range(frequency + 1)
    parts = np.array([(i, j, frequency - i - j) for i in steps for j in steps[: frequency + 1 - i]])
    points = np.einsum("wk,tkc->twc", parts / frequency, corners[ConvexHull(corners).simplices])
    points = points.reshape(-1, 3)
    points = points[np.unique(points.round(6), axis=0, return_index=True)[1]]
    points /= np.linalg.norm(points, axis=1)[:, None]
    return points @ Rotation.random(random_state=1).as_matrix().T


def edited(stand: Stand) -> Stand:
    """Return the same with an outline of its own for each plate, as if all had been edited."""
    outlines = [stand.outlines[k] for k in stand.kind]
    return replace(
        stand,
        name=f"{stand.name}, edited",
        outlines=outlines,
        kind=np.arange(len(outlines)),
        seeds=None,
    )


def moved(stand: Stand, share: float = 0.05) -> Stand:
    """Return the same with some plates moved towards their nearest neighbours, into these."""
    rng = np.random.default_rng(11)
    middle = np.array([[outline.centroid.x, outline.centroid.y, 0.0] for outline in stand.outlines])
    centre = np.einsum("nij,nj->ni", stand.world[:, :3, :3], middle[stand.kind])
    centre += stand.world[:, :3, 3]
    count = len(stand.kind)
    some = rng.choice(count, max(1, round(share * count)), replace=False)
    nearest = cKDTree(centre).query(centre[some], 2)[1][:, 1]
    world = stand.world.copy()
    world[some, :3, 3] += 0.6 * (centre[nearest] - centre[some])
    return replace(stand, name=f"{stand.name}, {len(some)} moved", world=world, seeds=None)


def lifted(stand: Stand, by: float) -> Stand:
    """Return the same with all plates of one kind `by` mm farther out: the symmetry stays."""
    world = stand.world.copy()
    some = stand.kind == 0
    out = world[some, :3, 3]
    world[some, :3, 3] += by * out / np.linalg.norm(out, axis=1)[:, None]
    return replace(stand, name=f"{stand.name}, a kind moved", world=world)


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
    return Stand(
        f"pile, {count // 60} x 60 bent strips",
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
    return Stand("pile, all different", outlines, np.arange(count), world)
