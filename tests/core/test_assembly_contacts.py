# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Contacts: plates brought together until they touch; python-fcl and manifold3d judge them."""

from __future__ import annotations

from dataclasses import replace

import fcl
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from pinwright.core.assembly.blocking import Blocking
from pinwright.core.assembly.contacts import contacts_of
from pinwright.core.assembly.motions import Lock, free_directions, unlock
from pinwright.core.results import Build, Part
from tests.builders import small_build
from tests.built import build
from tests.interlocks import keyed_box
from tests.judges import as_fcl, as_manifold, crowd, fcl_distance, fcl_mesh, shared_volume

Floats = npt.NDArray[np.float64]

BOARD = box(-50.0, -20.0, 50.0, 20.0)


def _standing(shapes: list[tuple[object, float]], worlds: list[Floats]) -> Build:
    """Return a build of plates without any joint."""
    base = small_build()
    parts = tuple(Part(str(k), s, t, 1, 1.0) for k, (s, t) in enumerate(shapes))  # type: ignore[arg-type]
    plates = tuple(
        replace(base.plates[0], id=f"P{k}", part=k, world_from_part=world)
        for k, world in enumerate(worlds)
    )
    return replace(base, parts=parts, plates=plates, joints=(), modules=())


def _at(x: float, y: float, z: float, turn: Floats | None = None) -> Floats:
    world = np.eye(4)
    world[:3, 3] = x, y, z
    if turn is not None:
        world[:3, :3] = turn
    return world


#: Carries a plate's own x to x, its y to z: it stands on edge.
UPRIGHT = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])


@pytest.mark.parametrize(
    ("world", "normal"),
    [
        (_at(0, 0, 4.0), (0, 0, -1)),  # one on the other
        (_at(30, 10, 4.0), (0, 0, -1)),
        (_at(0, 0, 22.0, UPRIGHT), (0, 0, -1)),  # on edge, on its face
        (_at(100, 0, 0), (-1, 0, 0)),  # side by side in one plane
        (_at(90, 0, 22.0, UPRIGHT), (0, 0, -1)),  # half over its rim
        (_at(0, 22.0, 0, UPRIGHT), (0, -1, 0)),  # its face at its rim
    ],
)
def test_two_boards_touch(world: Floats, normal: tuple[float, float, float]) -> None:
    built = _standing([(BOARD, 4.0), (BOARD, 4.0)], [_at(0, 0, 0), world])
    found = contacts_of(built)
    assert len(found) == 1
    assert found[0].plates == (0, 1)
    assert found[0].normal == pytest.approx(np.array(normal, dtype=float), abs=1e-9)
    # A hair farther off they do not touch; edge to edge they touch, and nothing is said.
    apart = world.copy()
    apart[:3, 3] -= 0.2 * np.array(normal)
    assert contacts_of(_standing([(BOARD, 4.0)] * 2, [_at(0, 0, 0), apart])) == ()


def test_corners_and_clashes_say_nothing() -> None:
    edge = _standing([(BOARD, 4.0)] * 2, [_at(0, 0, 0), _at(100, 0, 4.0)])
    assert contacts_of(edge) == ()
    clash = _standing([(BOARD, 4.0)] * 2, [_at(0, 0, 0), _at(0, 0, 1.0, UPRIGHT)])
    assert contacts_of(clash) == ()


def test_joined_plates_are_left_to_their_joints() -> None:
    assert contacts_of(build(keyed_box(False))) == ()


@settings(max_examples=30)
@given(st.integers(0, 10**6))
def test_any_two_plates_brought_together_part_along_the_contact(seed: int) -> None:
    """Move one plate straight at the other by their distance (python-fcl), then ask for the way."""
    pair = crowd(seed, 1, kinds=2, least_angle_deg=20.0)
    outlines, thick = [pair.polygon(0), pair.polygon(1)], [pair.thickness(0), pair.thickness(1)]
    meshes = [fcl_mesh(outline, t) for outline, t in zip(outlines, thick, strict=True)]
    objects = [as_fcl(mesh, pair.world[k]) for k, mesh in enumerate(meshes)]
    if fcl_distance(*objects) < 0.2:
        return
    worlds = [pair.world[0], pair.world[1].copy()]
    way = _nearest_way(objects)
    worlds[1][:3, 3] -= way
    built = _standing(list(zip(outlines, thick, strict=True)), worlds)
    found = contacts_of(built, 1e-3)
    unit = way / np.linalg.norm(way)
    # Plate 0 may move against the way that plate 1 came from. A corner on a corner says nothing.
    assert all(contact.normal @ -unit > 1.0 - 1e-4 for contact in found)
    solids = [as_manifold(outline, t) for outline, t in zip(outlines, thick, strict=True)]
    for contact in found:
        pushed = worlds[0].copy()
        pushed[:3, 3] -= 0.3 * contact.normal
        assert shared_volume(solids[0], pushed, solids[1], worlds[1]) > 0.0


def _nearest_way(objects: list[fcl.CollisionObject]) -> Floats:
    """Return the vector from plate 0 to plate 1 between their nearest points."""
    result = fcl.DistanceResult()
    fcl.distance(objects[0], objects[1], fcl.DistanceRequest(enable_nearest_points=True), result)
    return np.asarray(result.nearest_points[1]) - np.asarray(result.nearest_points[0])


def test_a_lid_between_four_walls_comes_out_upwards_only() -> None:
    lid = box(-50.0, -20.0, 50.0, 20.0)
    walls = [
        _at(52.0, 0, 0, np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])),
        _at(-52.0, 0, 0, np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])),
        _at(0, 22.0, 0, UPRIGHT),
        _at(0, -22.0, 0, UPRIGHT),
    ]
    floor = _at(0, 0, -4.0)
    shapes = [(lid, 4.0)] + [(box(-30.0, -10.0, 30.0, 10.0), 4.0)] * 4 + [(lid, 4.0)]
    tray = _standing(shapes, [_at(0, 0, 0), *walls, floor])
    found = [one for one in contacts_of(tray) if 0 in one.plates]
    assert len(found) == 5
    blocking = Blocking.of(tray, contacts_of(tray))
    cone = free_directions(blocking, {0}, set(range(1, 6)))
    assert cone.directions == pytest.approx(np.array([[0.0, 0.0, 1.0]]), abs=1e-9)
    covered = _standing([*shapes, (lid, 4.0)], [_at(0, 0, 0), *walls, floor, _at(0, 0, 4.0)])
    shut = Blocking.of(covered, contacts_of(covered))
    assert not free_directions(shut, {0}, set(range(1, 7))).free
    box_of_all = [frozenset({0}), frozenset(range(1, 7))]
    assert isinstance(unlock(shut, box_of_all), Lock)
