# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What comes out first, and the whole way down: against solids, and against trying every group."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings

from pinwright.core.assembly.blocking import Blocking
from pinwright.core.assembly.contacts import contacts_of
from pinwright.core.assembly.motions import Lock, unlock
from pinwright.core.assembly.takedown import Removal, removals, take_down
from pinwright.core.design.model import Design
from tests.built import build
from tests.interlocks import (
    AXES,
    PUSH,
    SHARED,
    SHEET,
    boarded_box,
    keyed_box,
    least_groups,
    rotor,
    shared_when_pushed,
    three_planks,
)
from tests.tangles import tangles

Floats = npt.NDArray[np.float64]


def _singles(blocking: Blocking) -> list[frozenset[int]]:
    return [frozenset({plate}) for plate in range(blocking.plate_count)]


@pytest.mark.parametrize(
    "design",
    [boarded_box(), keyed_box(False), keyed_box(True), three_planks(), rotor(4, 0.0, sheet=SHEET)],
    ids=["box", "keyed", "crossed", "planks", "rotor"],
)
def test_what_comes_out_first_is_what_solids_let_out(design: Design) -> None:
    built = build(design)
    blocking = Blocking.of(built, contacts_of(built))
    found = removals(blocking, _singles(blocking))
    ours = {frozenset(one.bodies) for one in found}
    assert ours == {group for group, _ in least_groups(built, AXES)}
    sizes = [len(one.bodies) for one in found]
    assert sizes == sorted(sizes)
    for one in found:
        shifts = np.zeros((len(built.plates), 3))
        shifts[list(one.bodies)] = one.direction
        for length in (PUSH, 3.0):
            assert shared_when_pushed(built, length * shifts) < SHARED


def test_a_keyed_box_comes_apart_keys_first() -> None:
    built = build(keyed_box(False))
    blocking = Blocking.of(built)
    taken = take_down(blocking, _singles(blocking))
    assert taken.locks == taken.stuck == ()
    order = [step.bodies for step in taken.steps if isinstance(step, Removal)]
    assert len(order) == len(taken.steps)
    # By hand: 4 and 5 are the keys, 0 and 1 the sides; with the sides off the boards fall apart.
    assert set(order[:2]) == {(4,), (5,)}
    assert set(order[2:]) == {(0,), (1,)}
    assert sorted(joint for step in taken.steps for joint in step.opening) == list(range(9))


def test_a_crossed_box_and_a_ring_of_planks_do_not_come_apart() -> None:
    for design in (keyed_box(True), three_planks()):
        blocking = Blocking.of(build(design))
        taken = take_down(blocking, _singles(blocking))
        assert taken.steps == ()
        assert taken.stuck == (tuple(range(blocking.plate_count)),)
        assert isinstance(taken.locks[0], Lock)
    # One joint less, and the planks come apart.
    opened = take_down(blocking, _singles(blocking), {0})
    assert opened.stuck == ()


def test_what_is_locked_keeps_what_hangs_on_it() -> None:
    """A ring of planks and a box in one list: the box comes apart, the ring does not."""
    ring, loose = Blocking.of(build(three_planks())), Blocking.of(build(boarded_box()))
    both = Blocking(
        7,
        np.concatenate([ring.first, loose.first + 3]),
        np.concatenate([ring.second, loose.second + 3]),
        np.concatenate([ring.insertion, loose.insertion]),
        np.zeros((0, 2), dtype=np.intp),
        np.zeros((0, 3)),
    )
    taken = take_down(both, _singles(both))
    assert taken.stuck == ((0, 1, 2),)
    assert {body for step in taken.steps for body in step.bodies} <= {3, 4, 5, 6}


@settings(max_examples=40)
@given(tangles())
def test_groups_are_those_found_by_trying_all(blocking: Blocking) -> None:
    count = blocking.plate_count
    ours = {frozenset(one.bodies) for one in removals(blocking, _singles(blocking))}
    for group in ours:
        assert _can_leave(blocking, group)
    for size in range(1, count):
        for chosen in combinations(range(count), size):
            group = frozenset(chosen)
            if _can_leave(blocking, group) and _hangs_together(blocking, group):
                assert any(one <= group for one in ours), group


@settings(max_examples=40)
@given(tangles())
def test_what_is_left_is_locked_and_all_else_is_apart(blocking: Blocking) -> None:
    bodies = _singles(blocking)
    taken = take_down(blocking, bodies)
    opened = {joint for step in taken.steps for joint in step.opening}
    total = [joint for step in taken.steps for joint in step.opening]
    assert len(total) == len(opened)
    for piece in taken.stuck:
        assert isinstance(unlock(blocking, [bodies[k] for k in piece], opened), Lock)
    inside = {
        k
        for k, (a, b) in enumerate(zip(blocking.first, blocking.second, strict=True))
        if any(int(a) in piece and int(b) in piece for piece in taken.stuck)
    }
    # Each joint was opened on the way, or is inside a piece that does not come apart.
    assert opened.isdisjoint(inside - opened)
    assert opened | inside == set(range(len(blocking.first)))


def _ways_tried(blocking: Blocking) -> Floats:
    """Return all directions that matter, and many that do not."""
    fine = np.array([(x, y, z) for x in range(-2, 3) for y in range(-2, 3) for z in range(-2, 3)])
    fine = fine[np.any(fine != 0, axis=1)]
    fine = fine / np.linalg.norm(fine, axis=1)[:, None]
    return np.concatenate([fine, blocking.insertion, -blocking.insertion])


def _can_leave(blocking: Blocking, group: frozenset[int]) -> bool:
    """Tell by the rules of a joint and a contact alone whether a group can leave all the rest."""
    inside = np.array([plate in group for plate in range(blocking.plate_count)])
    ways = _ways_tried(blocking)
    free = np.ones(len(ways), dtype=bool)
    held = False
    for a, b, way in zip(blocking.first, blocking.second, blocking.insertion, strict=True):
        if inside[a] != inside[b]:
            free &= np.linalg.norm(ways - (-way if inside[a] else way), axis=1) < 1e-9
            held = True
    for (a, b), normal in zip(blocking.touching, blocking.normal, strict=True):
        if inside[a] != inside[b]:
            free &= ways @ (normal if inside[a] else -normal) > -1e-9
            held = True
    return bool(free.any()) and held


def _hangs_together(blocking: Blocking, group: frozenset[int]) -> bool:
    """Tell whether the group holds no whole piece that nothing else holds."""
    ends = np.concatenate([np.column_stack([blocking.first, blocking.second]), blocking.touching])
    label = {plate: plate for plate in range(blocking.plate_count)}
    for _ in range(blocking.plate_count):
        for a, b in ends.tolist():
            label[a] = label[b] = min(label[a], label[b])
    pieces = {label[plate] for plate in group}
    whole = [
        piece for piece in pieces if all(plate in group for plate in label if label[plate] == piece)
    ]
    return not whole
