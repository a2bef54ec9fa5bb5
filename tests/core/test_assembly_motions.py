# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Motions and locks: each verdict is replayed from its proof; solids judge the motions."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.core.assembly.blocking import Blocking, bodies_of
from pinwright.core.assembly.contacts import contacts_of
from pinwright.core.assembly.loops import locking_loops
from pinwright.core.assembly.motions import (
    Cone,
    Lock,
    Motion,
    free_directions,
    unlock,
)
from pinwright.core.design.model import Design
from tests.built import build
from tests.interlocks import (
    PUSH,
    SHARED,
    SHEET,
    TRIAD,
    boarded_box,
    keyed_box,
    rotor,
    shared_when_pushed,
    three_planks,
)
from tests.tangles import tangles

Floats = npt.NDArray[np.float64]


def _singles(blocking: Blocking) -> list[frozenset[int]]:
    return [frozenset({plate}) for plate in range(blocking.plate_count)]


def _assert_moves(blocking: Blocking, motion: Motion, body: npt.NDArray[np.intp]) -> None:
    """Replay a motion: every joint opens along its way or not at all, every contact parts."""
    v = motion.velocities[body]
    apart = v[blocking.first] - v[blocking.second]
    rate = -np.einsum("ij,ij->i", apart, blocking.insertion)
    assert np.abs(apart + rate[:, None] * blocking.insertion).max(initial=0.0) < 1e-6
    assert rate.min(initial=0.0) > -1e-6
    assert set(motion.opening) == set(np.flatnonzero(rate > 1e-6).tolist())
    assert np.allclose(motion.rates, rate[list(motion.opening)], atol=1e-9)
    leaving = v[blocking.touching[:, 0]] - v[blocking.touching[:, 1]]
    normal = np.einsum("ij,ij->i", leaving, blocking.normal)
    assert normal.min(initial=0.0) > -1e-6
    assert set(motion.moving) == set(np.flatnonzero(np.any(motion.velocities != 0, axis=1)))


def _assert_locks(blocking: Blocking, lock: Lock, body: npt.NDArray[np.intp]) -> None:
    """Add up the certificate: the velocities cancel, and only a sum above 0 x rates is left."""
    balance = np.zeros((body.max() + 1, 3))
    joints, contacts = list(lock.joints), list(lock.contacts)
    press = -lock.pressures[:, None] * blocking.normal[contacts]
    for ends, force in (
        (np.column_stack([blocking.first, blocking.second])[joints], lock.forces),
        (blocking.touching[contacts], press),
    ):
        np.add.at(balance, body[ends[:, 0]], force)
        np.add.at(balance, body[ends[:, 1]], -force)
    size = max(np.abs(lock.forces).max(initial=1.0), np.abs(lock.pressures).max(initial=1.0))
    assert np.abs(balance).max() < 1e-6 * size
    pull = np.einsum("ij,ij->i", lock.forces, blocking.insertion[joints])
    assert pull.min(initial=0.0) > -1e-6 * size
    assert lock.pressures.min(initial=0.0) > -1e-6 * size
    assert pull.sum() + lock.pressures.sum() > 0.5


@settings(max_examples=30)
@given(tangles())
def test_each_verdict_is_proved(blocking: Blocking) -> None:
    bodies = _singles(blocking)
    body = np.arange(len(bodies))
    found = unlock(blocking, bodies)
    if isinstance(found, Motion):
        _assert_moves(blocking, found, body)
        assert found.moving
        held = set(found.held)
    else:
        _assert_locks(blocking, found, body)
        assert set(found.joints) == set(range(len(blocking.first)))
        # Each one of all joints and contacts is proved shut, not only their sum.
        pull = np.einsum("ij,ij->i", found.forces, blocking.insertion)
        assert min(pull.min(initial=1.0), found.pressures.min(initial=1.0)) > 0.99
        held = set(found.joints)
    loops = locking_loops(blocking, bodies)
    for loop in loops:
        _assert_locks(blocking, loop, body)
        assert sorted(loop.loop) == sorted(loop.joints)
    assert held <= {joint for loop in loops for joint in loop.joints}


@settings(max_examples=30)
@given(tangles(), st.integers(0, 5), st.integers(0, 8))
def test_groups_and_open_joints_are_as_if_made_so(
    blocking: Blocking, joined: int, left_open: int
) -> None:
    """Rigid groups and open joints must be the same as a tangle without those joints."""
    group = frozenset(range(min(joined, blocking.plate_count - 2) + 1))
    bodies = [group, *({p} for p in range(blocking.plate_count) if p not in group)]
    body = np.array([next(k for k, b in enumerate(bodies) if p in b) for p in _plates(blocking)])
    opened = {left_open} if left_open < len(blocking.first) else set()
    keep = np.array(
        [
            k not in opened and body[a] != body[b]
            for k, (a, b) in enumerate(zip(blocking.first, blocking.second, strict=True))
        ]
    )
    touch = body[blocking.touching[:, 0]] != body[blocking.touching[:, 1]]
    fewer = Blocking(
        len(bodies),
        body[blocking.first[keep]],
        body[blocking.second[keep]],
        blocking.insertion[keep],
        body[blocking.touching[touch]],
        blocking.normal[touch],
    )
    found, same = unlock(blocking, bodies, opened), unlock(fewer, _singles(fewer))
    assert type(found) is type(same)
    number = np.flatnonzero(keep)
    if isinstance(found, Motion) and isinstance(same, Motion):
        assert set(found.held) == set(number[list(same.held)].tolist())
        _assert_moves(fewer, same, np.arange(len(bodies)))
        v = found.velocities
        _assert_moves(
            fewer,
            Motion(v, found.moving, _renumbered(number, found.opening), found.rates, (), ()),
            np.arange(len(bodies)),
        )


def _plates(blocking: Blocking) -> range:
    return range(blocking.plate_count)


def _renumbered(number: npt.NDArray[np.intp], joints: tuple[int, ...]) -> tuple[int, ...]:
    return tuple(int(np.flatnonzero(number == joint)[0]) for joint in joints)


def test_an_orthogonal_triad_is_locked_by_equal_forces_along_its_axis() -> None:
    built = build(rotor(3, TRIAD))
    assert [joint.angle for joint in built.joints] == pytest.approx([90.0] * 3)
    blocking = Blocking.of(built)
    lock = unlock(blocking, _singles(blocking))
    assert isinstance(lock, Lock)
    _assert_locks(blocking, lock, np.arange(3))
    assert sorted(lock.loop) == [0, 1, 2]
    # By hand: three square insertions each at atan(sqrt 2) to the axis, so one force along the
    # axis with f . d = 1 is sqrt 3 long, the same in all three joints.
    assert lock.forces == pytest.approx(np.tile([0.0, 0.0, np.sqrt(3.0)], (3, 1)))


@pytest.mark.parametrize("fold", [3, 4, 5, 6])
def test_a_rotor_opens_all_at_once_only_when_its_tabs_are_square_to_its_axis(fold: int) -> None:
    upright = build(rotor(fold, 0.0, sheet=SHEET))
    blocking = Blocking.of(upright)
    motion = unlock(blocking, _singles(blocking))
    assert isinstance(motion, Motion)
    assert motion.held == ()
    _assert_moves(blocking, motion, np.arange(fold))
    for share in (0.1, 1.0, 20.0):
        assert shared_when_pushed(upright, share * PUSH * motion.velocities) < SHARED
    tilted = Blocking.of(build(rotor(fold, 3.0)))
    assert isinstance(unlock(tilted, _singles(tilted)), Lock)


def test_either_side_of_a_box_with_parallel_tenons_can_be_drawn_off() -> None:
    built = build(boarded_box())
    blocking = Blocking.of(built)
    motion = unlock(blocking, _singles(blocking))
    assert isinstance(motion, Motion)
    # By hand: plates 0 and 1 are the sides at x = -100 and x = 100, tabs come from within.
    assert motion.moving in ((0,), (1,))
    side = motion.moving[0]
    assert motion.velocities[side] == pytest.approx([-1.0 if side == 0 else 1.0, 0.0, 0.0])
    assert len(motion.opening) == 2
    for length in (PUSH, 5.0, 40.0):
        assert shared_when_pushed(built, length * motion.velocities) < SHARED
        assert shared_when_pushed(built, -length * motion.velocities) > SHARED


@pytest.mark.parametrize(
    ("design", "locked"),
    [(keyed_box(False), False), (keyed_box(True), True), (three_planks(), True)],
    ids=["keyed", "crossed", "planks"],
)
def test_interlocks_are_known(design: Design, locked: bool) -> None:
    built = build(design)
    assert built.ok
    blocking = Blocking.of(built, contacts_of(built))
    found = unlock(blocking, _singles(blocking))
    assert isinstance(found, Lock) is locked
    if isinstance(found, Lock):
        _assert_locks(blocking, found, np.arange(len(built.plates)))
    else:
        assert shared_when_pushed(built, PUSH * found.velocities) < SHARED


def test_modules_move_as_one() -> None:
    built = build(boarded_box())
    blocking = Blocking.of(built)
    tied = unlock(blocking, bodies_of([[0, 1], [2], [3]]))
    assert isinstance(tied, Lock)
    # Left with front, right with back: one tab each way, both along x.
    halves = unlock(blocking, bodies_of([[0, 2], [1, 3]]))
    assert isinstance(halves, Motion)
    assert sorted(halves.opening) == [1, 2]
    assert halves.velocities[1] - halves.velocities[0] == pytest.approx([1.0, 0.0, 0.0])
    assert isinstance(unlock(blocking, bodies_of([[0, 1], [2], [3]]), {0, 2}), Motion)
    with pytest.raises(ValueError, match="two bodies"):
        unlock(blocking, bodies_of([[0, 2], [2, 3]]))


def test_bodies_that_nothing_holds_need_no_motion() -> None:
    blocking = Blocking.of(build(boarded_box()))
    motion = unlock(blocking, bodies_of([[0], [1]]))
    assert isinstance(motion, Motion)
    assert motion.moving == motion.opening == motion.held == ()


def _cone(moving: set[int], standing: set[int], open_joints: set[int] | None = None) -> Cone:
    blocking = Blocking.of(build(keyed_box(False)))
    return free_directions(blocking, moving, standing, open_joints or set())


def test_free_directions_of_one_body() -> None:
    # Plates: 0 left, 1 right, 2 front, 3 back, 4 the upper key, 5 the lower; joints as written.
    key = _cone({4}, {0, 1, 2, 3, 5})
    assert key.free
    assert key.directions == pytest.approx(np.array([[0.0, 0.0, 1.0]]))
    assert sorted(key.joints[0]) == [4, 5, 8]
    left = _cone({0}, {1, 2, 3, 4, 5})
    assert not left.free
    assert {tuple(way) for way in left.exits.round(6) + 0.0} == {(-1.0, 0.0, 0.0), (0.0, 0.0, -1.0)}
    assert sorted(map(sorted, left.joints)) == [[0, 2], [4]]
    assert _cone({0}, {1, 2, 3, 5}).directions == pytest.approx(np.array([[-1.0, 0.0, 0.0]]))
    assert _cone({0}, {1, 2, 3, 4, 5}, {4}).free
    alone = _cone({0}, {1})
    assert alone.unrestricted
    assert alone.free


def test_contacts_narrow_the_ways_out() -> None:
    """A peg in a corner: three contacts leave an octant; a fourth, from above, forbids its way."""
    corner = np.eye(3)
    none = np.zeros(0, dtype=np.intp)
    blocking = Blocking(
        2,
        none,
        none,
        np.zeros((0, 3)),
        np.array([[0, 1], [0, 1], [1, 0]]),
        corner * [[1], [1], [-1]],
    )
    cone = free_directions(blocking, {0}, {1})
    assert not cone.unrestricted
    assert {tuple(way) for way in cone.directions.round(6) + 0.0} >= {tuple(row) for row in corner}
    assert (cone.directions @ corner.T).min() > -1e-9
    held = Blocking(
        2,
        np.array([0]),
        np.array([1]),
        np.array([[0.0, 0.0, -1.0]]),
        np.array([[0, 1], [0, 1]]),
        np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0]]),
    )
    shut = free_directions(held, {0}, {1})
    assert not shut.free
    assert shut.blocked_by == (1,)
    assert isinstance(unlock(held, _singles(held)), Lock)


def test_bodies_may_slide_where_nothing_parts() -> None:
    """A block in a channel closed above, and then at both ends too."""
    none, empty = np.zeros(0, dtype=np.intp), np.zeros((0, 3))
    walls = np.array([[0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]], dtype=float)
    channel = Blocking(2, none, none, empty, np.tile([0, 1], (4, 1)), walls)
    motion = unlock(channel, _singles(channel))
    assert isinstance(motion, Motion)
    assert motion.opening == motion.parting == ()
    assert np.abs(motion.velocities[1] - motion.velocities[0]) == pytest.approx([1.0, 0.0, 0.0])
    ends = np.concatenate([walls, [[1.0, 0, 0], [-1.0, 0, 0]]])
    shut = Blocking(2, none, none, empty, np.tile([0, 1], (6, 1)), ends)
    lock = unlock(shut, _singles(shut))
    assert isinstance(lock, Lock)
    _assert_locks(shut, lock, np.arange(2))
