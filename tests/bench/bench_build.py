# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How long the whole build of a sculpture takes, beside solids made one by one with manifold3d.

Run by hand from the repository's root: ``python -m tests.bench.bench_build``. Figures are medians
of five after one turn for warming up, processor time and wall time; the rivals take turns, so that
other work on the machine hits all alike. Reading the design file is not counted for anybody.

Ours is everything that `build` does: frame, normal, planes, joints, outlines, parts, modules and
all checks. The rival is told where all plates stand and how large everything is, and only makes
the 60 solids: the extruded body, two tabs added, two slots and two pin holes cut, then put in
place. Its second row also tries all near pairs for clashes; its third knows that all are alike.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

import manifold3d
import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from pinwright.core.design.read import read_design
from pinwright.core.pipeline import build
from pinwright.core.results import Build

__all__ = ["main"]

Floats = npt.NDArray[np.float64]
DEMO = Path(__file__).resolve().parents[2] / "examples" / "harbour-lantern.toml"
TURNS = 5
HALF = 0.5  # mm that a tab's box reaches into the body, so that the union is one piece


@dataclass(frozen=True, slots=True)
class Box:
    """A box in a part's coordinates: middle and half sizes along x and y of its own (mm)."""

    middle: Floats
    x: Floats
    half: Floats


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a user of a modelling library would be given to model the demo's one part."""

    body: Polygon
    thickness: float
    tabs: list[Box]
    slots: list[Box]
    holes: list[tuple[Floats, float]]
    world: list[Floats]


def recipe_of(built: Build) -> Recipe:
    """Take the demo's part apart again: body, tabs, slots and holes."""
    (part,) = built.parts
    plate = built.plates[0]
    world = plate.world_from_part
    body = Polygon(part.outline.exterior)
    tabs, slots, holes = [], [], []
    for joint in built.joints:
        if 0 not in joint.plates:
            continue
        place = ((joint.centre - world[:3, 3]) @ world[:3, :3])[:2]
        line = (joint.line @ world[:3, :3])[:2]
        if joint.plates[0] == 0:
            assert joint.pin is not None
            pin = ((joint.pin.centre - world[:3, 3]) @ world[:3, :3])[:2]
            hole = next(
                r for r in part.outline.interiors if Polygon(r).contains(shapely.Point(pin))
            )
            holes.append((pin, float(np.sqrt(Polygon(hole).area / np.pi))))
            way = (joint.insertion @ world[:3, :3])[:2]
            box = _tab_box(body, place, way, part.thickness)
            tabs.append(box)
            body = body.difference(_beyond(place, way, part.thickness / 2))
            body = max(shapely.get_parts(body), key=lambda piece: float(piece.area))
        else:
            ring = next(
                r for r in part.outline.interiors if Polygon(r).contains(shapely.Point(place))
            )
            seen = (np.asarray(ring.coords) - place) @ np.column_stack([line, _left(line)])
            slots.append(Box(place, line, np.ptp(seen, axis=0) / 2))
    return Recipe(
        body, part.thickness, tabs, slots, holes, [p.world_from_part for p in built.plates]
    )


def _left(x: Floats) -> Floats:
    return np.array([-x[1], x[0]])


def _beyond(place: Floats, way: Floats, back: float) -> Polygon:
    """Everything near a joint that lies past its shoulder."""
    across = _left(way)
    corners = [(-back, -60.0), (60.0, -60.0), (60.0, 60.0), (-back, 60.0)]
    return Polygon([place + a * way + b * across for a, b in corners])


def _tab_box(body: Polygon, place: Floats, way: Floats, thickness: float) -> Box:
    """Box of the tab: square joints, so the shoulder stops half a thickness before the line."""
    grown = body.intersection(_beyond(place, way, thickness / 2))
    near = next(p for p in shapely.get_parts(grown) if p.distance(shapely.Point(place)) < 1e-6)
    seen = (np.asarray(near.exterior.coords) - place) @ np.column_stack([way, _left(way)])
    low, high = seen.min(axis=0) - (HALF, 0.0), seen.max(axis=0)
    middle = (low + high) / 2
    return Box(place + middle[0] * way + middle[1] * _left(way), way, (high - low) / 2)


def _solid_box(box: Box, height: float) -> manifold3d.Manifold:
    pose = np.zeros((3, 4))
    pose[:2, 0], pose[:2, 1], pose[2, 2] = box.x, _left(box.x), 1.0
    pose[:2, 3] = box.middle
    return manifold3d.Manifold.cube([2 * box.half[0], 2 * box.half[1], height], True).transform(
        pose
    )


def modelled(recipe: Recipe) -> manifold3d.Manifold:
    """One plate by 3D booleans: two unions, four cuts."""
    t = recipe.thickness
    ring = np.asarray(shapely.geometry.polygon.orient(recipe.body).exterior.coords)[:-1]
    section = manifold3d.CrossSection([ring])
    plate = manifold3d.Manifold.extrude(section, t).translate([0, 0, -t / 2])
    for tab in recipe.tabs:
        plate = plate + _solid_box(tab, t)
    for slot in recipe.slots:
        plate = plate - _solid_box(slot, 3 * t)
    for middle, radius in recipe.holes:
        pin = manifold3d.Manifold.cylinder(3 * t, radius, radius, 32, True)
        plate = plate - pin.translate([middle[0], middle[1], 0.0])
    return plate


def one_by_one(recipe: Recipe) -> list[manifold3d.Manifold]:
    """All plates, each modelled on its own; asking for the volume makes the library do the work."""
    plates = [modelled(recipe).transform(world[:3]) for world in recipe.world]
    assert all(plate.volume() > 0 for plate in plates)
    return plates


def with_clashes(recipe: Recipe) -> float:
    """The same, and the volume that near pairs share."""
    plates = one_by_one(recipe)
    boxes = np.array([plate.bounding_box() for plate in plates])
    low, high = boxes[:, :3], boxes[:, 3:]
    meet = ((low[:, None] <= high[None]) & (low[None] <= high[:, None])).all(axis=2)
    return sum(float((plates[i] ^ plates[j]).volume()) for i, j in np.argwhere(np.triu(meet, 1)))


def modelled_once(recipe: Recipe) -> float:
    """One plate modelled, its copies put in place."""
    plate = modelled(recipe)
    return sum(float(plate.transform(world[:3]).volume()) for world in recipe.world)


def main() -> None:
    """Print the table."""
    design = read_design(DEMO)
    built = build(design)
    recipe = recipe_of(built)
    ours, theirs = built.parts[0].outline.area * recipe.thickness, modelled(recipe).volume()
    assert abs(theirs / ours - 1.0) < 2e-3, (ours, theirs)  # the same plate but for rounded corners
    names = ("numpy", "scipy", "shapely", "manifold3d")
    print(", ".join(f"{name} {version(name)}" for name in names))
    vertices = len(shapely.get_coordinates(built.parts[0].outline))
    counts = f"{len(built.plates)} plates of {vertices} vertices, {len(built.joints)} joints"
    print(f"{design.name}: {counts}")
    rivals: dict[str, Callable[[], object]] = {
        "ours: build(design), all of it with checks": lambda: build(design),
        "manifold3d: solids one by one": lambda: one_by_one(recipe),
        "manifold3d: solids one by one, and clashes": lambda: with_clashes(recipe),
        "manifold3d: one solid, copies put in place": lambda: modelled_once(recipe),
    }
    times: dict[str, list[tuple[float, float]]] = {name: [] for name in rivals}
    for turn in range(TURNS + 1):
        for name, run in rivals.items():
            wall, work = time.perf_counter(), time.process_time()
            run()
            taken = time.process_time() - work, time.perf_counter() - wall
            if turn > 0:
                times[name].append(taken)
    medians = {
        name: tuple(statistics.median(column) * 1e3 for column in zip(*taken, strict=True))
        for name, taken in times.items()
    }
    base = medians[next(iter(rivals))]
    print(f"{'':46s}{'processor ms':>14s}{'wall ms':>10s}   ours / theirs (processor, wall)")
    for name, (work, wall) in medians.items():
        print(f"{name:46s}{work:14.1f}{wall:10.1f}   {base[0] / work:.2f}, {base[1] / wall:.2f}")


if __name__ == "__main__":
    main()
