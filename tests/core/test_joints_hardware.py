# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Ties, links, wedges and bent ends as solids: as drawn, as judged, with something in their way."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from unittest.mock import patch

import manifold3d
import numpy as np
import pytest
from shapely import LineString, Polygon

from pinwright.core import pipeline
from pinwright.core.checks.boxes import near_pairs
from pinwright.core.checks.distance import pair_distances
from pinwright.core.checks.scene import Scene, scene_of
from pinwright.core.design.model import Design, Lock, MotifChoice
from pinwright.core.design.read import read_design
from pinwright.core.joints.hardware import drawn_outline, link_wire, way_out
from pinwright.core.results import Build, Fastener
from tests.judges import as_manifold
from tests.locked import crossing_design

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LOCKS = [Lock.TIE, Lock.LINK, Lock.WEDGE, Lock.BENT]


def wire_solid(one: Fastener) -> manifold3d.Manifold:
    vertices, faces = link_wire(one.outline).mesh()
    triangles = np.concatenate([faces[:, :3], faces[:, (0, 2, 3)]])
    mesh = manifold3d.Mesh64(vert_properties=vertices, tri_verts=triangles.astype(np.uint64))
    return manifold3d.Manifold(mesh)


@pytest.mark.parametrize("lock", LOCKS)
@pytest.mark.parametrize("angle", [90.0, 45.0])
def test_what_is_drawn_lies_within_what_is_judged(lock: Lock, angle: float) -> None:
    (joint,) = pipeline.build(crossing_design(angle, lock)).joints
    assert joint.fasteners
    for one in joint.fasteners:
        judged = as_manifold(one.outline, one.thickness)
        if lock is Lock.LINK:
            drawn = wire_solid(one)
            assert drawn.status() == manifold3d.Error.NoError  # closed, and turned outwards
        else:
            drawn = as_manifold(drawn_outline(one.kind, one.outline), one.thickness)
        assert 0.7 * judged.volume() < drawn.volume() <= judged.volume() + 1e-6
        assert (drawn - judged).volume() < 1e-4 * judged.volume()


def test_a_link_is_a_round_wire_of_the_chosen_rod() -> None:
    built = pipeline.build(crossing_design(90.0, Lock.LINK))
    (one,) = built.joints[0].fasteners
    wire = link_wire(one.outline)
    assert 2 * wire.radius == pytest.approx(one.thickness, abs=1e-9)
    # Pappus: the volume is the section's area times the length of the line of its middles.
    length = LineString([*wire.centre, wire.centre[0]]).length
    assert wire_solid(one).volume() == pytest.approx(np.pi * wire.radius**2 * length, rel=0.03)
    # The line is a stadium: two straights, two half circles, all half a rod within the outer rim.
    rim = Polygon(one.outline.exterior).buffer(-wire.radius)
    assert rim.exterior.hausdorff_distance(Polygon(wire.centre).exterior) < 0.01


@pytest.mark.parametrize("lock", LOCKS)
def test_the_way_out_leads_clear_of_the_plates(lock: Lock) -> None:
    (joint,) = pipeline.build(crossing_design(90.0, lock)).joints
    for one in joint.fasteners:
        way = way_out(one.kind, one.outline, one.thickness, one.world)
        if lock is Lock.BENT:  # it is a piece of the strip
            assert not way.any()
            continue
        assert np.linalg.norm(way) > 5.0
        if lock is Lock.WEDGE:  # driven in thin end first, so the thick end leads on the way out
            assert abs(way @ joint.insertion) < 0.2 * np.linalg.norm(way)
            local = one.world[:3, :3].T @ way
            ring = np.asarray(one.outline.exterior.coords)[:-1]
            at = ring @ local[:2]
            thick, thin = (ring[np.argsort(at)[part]] for part in (slice(-2, None), slice(0, 2)))
            assert np.linalg.norm(np.diff(thick, axis=0)) > np.linalg.norm(np.diff(thin, axis=0))
        else:
            assert way @ joint.insertion == pytest.approx(np.linalg.norm(way))


@pytest.mark.parametrize("lock", LOCKS)
def test_a_plate_in_the_way_of_the_hardware_is_found_and_named(lock: Lock) -> None:
    sound = pipeline.build(crossing_design(90.0, lock))
    assert next(check for check in sound.checks if check.name == "clash").ok
    joint = sound.joints[0]
    one = joint.fasteners[-1]  # of a tie its head
    # A small plate square to the insertion, 1 mm inside the far end of the solid.
    far = max(x for x, _ in one.outline.exterior.coords) - 1.0
    ends = [(x, y) for x, y in one.outline.exterior.coords if x > far - 1.0]
    middle = np.mean(ends, axis=0)
    centre = one.world[:3, 3] + one.world[:3, :3] @ [far, middle[1], 0.0]
    normal = one.world[:3, 0]
    size = 30.0 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    x_axis = one.world[:3, 1]
    y_axis = np.cross(normal, x_axis)
    shift = np.array([centre @ x_axis, centre @ y_axis])
    lid = MotifChoice(
        "lid", tuple(normal), float(normal @ centre), tuple(x_axis),
        outline=tuple(map(tuple, (size + shift).tolist())),
    )  # fmt: skip
    found = pipeline.build(crossing_design(90.0, lock, lid))
    clash = next(check for check in found.checks if check.name == "clash")
    assert not clash.ok
    named = [where for where in clash.where if where.startswith(f"C01 and {one.kind} of J001")]
    assert len(named) == 1
    place = [float(number) for number in named[0].split("at (")[1].rstrip(")").split(",")]
    assert np.linalg.norm(np.array(place) - centre) < 20.0


def staged(design: Design) -> tuple[Scene, Build]:
    """Return the scene that a build's checks look at."""
    caught: list[Scene] = []

    def catch(*given: object, **more: object) -> Scene:
        caught.append(scene_of(*given, **more))  # type: ignore[arg-type]
        return caught[-1]

    with patch.object(pipeline, "scene_of", catch):
        built = pipeline.build(design)
    return caught[0], built


@pytest.mark.parametrize("lock", [Lock.TIE, Lock.LINK, Lock.WEDGE])
def test_distances_of_hardware_anywhere_are_those_of_manifold(lock: Lock) -> None:
    design = read_design(EXAMPLES / "harbour-lantern.toml")
    scene, built = staged(replace(design, joints=replace(design.joints, lock=lock)))
    assert next(check for check in built.checks if check.name == "clash").ok
    placed, count = scene.placed, scene.plate_count
    near = near_pairs(placed, 8.0)
    near = near[(near[:, 1] >= count)]  # a fastener against a plate, or against another
    picked = np.random.default_rng(4).choice(len(near), 60, replace=False)
    pairs = near[picked]
    assert len(np.unique(pairs[:, 1])) > 40  # all over the sculpture, not round the seed
    found = pair_distances(placed, pairs, 8.0)
    solids = [as_manifold(s.polygon, s.thickness) for s in placed.solids]
    compared = 0
    for n, (i, j) in enumerate(pairs):
        a, b = placed.which[i], placed.which[j]
        one, two = (
            placed.world_from_box[p] @ np.linalg.inv(placed.solids[k].plate_from_box)
            for p, k in ((i, a), (j, b))
        )
        moved = solids[b].transform(np.linalg.solve(one, two)[:3])
        judged = solids[a].min_gap(moved, 9.0)
        if found.at_least[n]:
            assert judged > 8.0 - 0.01
        else:
            compared += 1
            assert found.distance[n] == pytest.approx(judged, abs=0.01)
    assert compared > 20
