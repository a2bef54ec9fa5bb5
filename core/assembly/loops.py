# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The smallest parts of a lock: rings of joints that no motion opens, each with its proof.

A lock of some bodies is a lock of all: so each search starts with the neighbours of one joint, and
takes in more bodies only when these are not locked by themselves.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .blocking import Blocking, Links
from .programme import ROUNDING, balance, freedom

__all__ = ["Lock", "break_locks", "locking_loops", "smallest_lock"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Rings of at most so many links from a joint are broken one by one, in so many sweeps.
_SMALL = 2
_SWEEPS = 2
#: Beyond those, one joint in so many is opened before the rest is looked at again.
_AT_ONCE = 30


@dataclass(frozen=True, slots=True, eq=False)
class Lock:
    """A proof that no joint can open: forces in balance (see motions.py).

    joints, forces : (k,) and (k, 3): +force on the body of the joint's first plate, -force on the
        other; force . insertion > 0
    contacts, pressures : (c,) and (c,): -pressure x normal on the first body, > 0
    loop : joints of a smallest part of the lock, in order round it where it is one ring
    """

    joints: tuple[int, ...]
    forces: Floats
    contacts: tuple[int, ...]
    pressures: Floats
    loop: tuple[int, ...]


def locking_loops(
    blocking: Blocking,
    bodies: Sequence[Collection[int]],
    open_joints: Collection[int] = (),
    most: int = 1000,
) -> tuple[Lock, ...]:
    """Return small locks that together name every joint that cannot open, at most `most` of them.

    Each is a proof by itself: what it names is locked whatever else is done elsewhere.
    """
    links = blocking.between(bodies, open_joints)
    waiting = set(np.flatnonzero(~freedom(links).opens).tolist())
    found: list[Lock] = []
    while waiting and len(found) < most:
        row = min(waiting)
        lock = smallest_lock(links, row)
        named = set(lock.joints)
        waiting -= {r for r in waiting if int(links.joints[r]) in named} | {row}
        found.append(lock)
    return tuple(found)


def break_locks(links: Links, cost: Floats) -> tuple[int, ...]:
    """Pick joints to open so that nothing stays locked; the greatest cost of one is least.

    Small rings are broken first, each at its cheapest joint. Every choice has to break them, so
    what they cost is a lower bound; in what is still locked then, joints that cost no more may be
    opened freely, and where there are none left, the cheapest has to be. There may be choices with
    fewer joints.

    cost : of all joints; inf: cannot be opened, and is picked only where a lock has no other
    """
    picked: list[int] = []
    for _ in range(_SWEEPS):
        links = _break_small(_peeled(links), cost, picked)
    links = _peeled(links)
    while len(links.joints):
        bound = cost[picked].max(initial=-np.inf)
        free = links.joints[cost[links.joints] <= bound * (1 + 1e-9)]
        some = free if len(free) else links.joints
        chosen = _cheapest(some, cost, max(1, len(free) // _AT_ONCE))
        picked.extend(chosen)
        links = _peeled(_without(links, chosen))
    return tuple(picked)


def _break_small(links: Links, cost: Floats, picked: list[int]) -> Links:
    """Break small rings, none of which shares a joint with another; add to what is picked."""
    seen: set[int] = set()
    for joint in links.joints.tolist():
        if joint in seen:
            continue
        found = _lock_within(links, int(np.searchsorted(links.joints, joint)), _SMALL)
        if found is None or not seen.isdisjoint(found.joints):
            continue
        seen.update(found.joints)
        chosen = _cheapest(np.array(found.joints), cost, 1)
        picked.extend(chosen)
        links = _without(links, chosen)
    return links


def _cheapest(joints: Ints, cost: Floats, count: int) -> list[int]:
    """Return the cheapest joints, of equals the first; all of them where none can be opened."""
    if np.isinf(cost[joints]).all():
        return [int(joint) for joint in joints]
    order = np.lexsort((joints, cost[joints].round(9)))
    return [int(joint) for joint in joints[order[:count]]]


def _peeled(links: Links) -> Links:
    """Take off what can open until all that is left is locked."""
    while True:
        found = freedom(links)
        if not found.opens.any() and not found.parts.any():
            return links
        links = _part(links, np.flatnonzero(~found.opens), np.flatnonzero(~found.parts))


def _without(links: Links, joints: Collection[int]) -> Links:
    kept = ~np.isin(links.joints, list(joints))
    return _part(links, np.flatnonzero(kept), np.arange(len(links.contacts)))


def smallest_lock(links: Links, row: int) -> Lock:
    """Return a lock that names the joint in `row` (which no motion opens), as near as can be."""
    found = _lock_within(links, row, 2 * links.body_count)
    if found is None:
        raise ArithmeticError("a joint that cannot open has no proof of it")
    return found


def _lock_within(links: Links, row: int, most: int) -> Lock | None:
    """Return a lock that names a joint among the bodies at most so many links from it, or None."""
    reach = 1
    while reach <= most:
        inside = _near(links, links.pairs[row], reach)
        rows = np.flatnonzero(inside[links.pairs].all(axis=1))
        touching = np.flatnonzero(inside[links.touching].all(axis=1))
        part = _part(links, rows, touching)
        force = balance(part, int(np.searchsorted(rows, row)))
        if force is not None:
            return _named(part, force)
        reach = max(reach * 2, most + 1 if inside.all() else 0)
    return None


def _part(links: Links, rows: Ints, touching: Ints) -> Links:
    """Return some of the joints and contacts, their bodies numbered anew."""
    ends = np.concatenate([links.pairs[rows], links.touching[touching]])
    bodies, number = np.unique(ends, return_inverse=True)
    number = number.reshape(-1, 2)
    return Links(
        len(bodies),
        links.joints[rows],
        number[: len(rows)],
        links.insertion[rows],
        links.contacts[touching],
        number[len(rows) :],
        links.normal[touching],
    )


def _near(links: Links, start: Ints, reach: int) -> npt.NDArray[np.bool_]:
    """Tell which bodies are within `reach` links of the two given ones."""
    inside = np.zeros(links.body_count, dtype=bool)
    inside[start] = True
    for _ in range(reach):
        inside[links.ends[inside[links.ends].any(axis=1)].ravel()] = True
    return inside


def _named(links: Links, force: Floats) -> Lock:
    """Return the lock with only the joints and contacts that bear a force."""
    j = len(links.joints)
    size = np.linalg.norm(force, axis=1)
    borne = size > ROUNDING * size.max()
    rows, contacts = np.flatnonzero(borne[:j]), np.flatnonzero(borne[j:])
    order = _round(links.pairs[rows])
    return Lock(
        _numbers(links.joints[rows]),
        force[rows],
        _numbers(links.contacts[contacts]),
        size[j + contacts],
        _numbers(links.joints[rows[order]]),
    )


def _round(pairs: Ints) -> Ints:
    """Return joints in order round their ring; as they are where they make no single ring."""
    k = len(pairs)
    _, ends = np.unique(pairs, return_inverse=True)
    ends = ends.reshape(-1, 2)
    if k == 0 or np.any(np.bincount(ends.ravel()) != 2):
        return np.arange(k)
    order, at = [0], int(ends[0, 1])
    while len(order) < k:
        ahead = [r for r in np.flatnonzero((ends == at).any(axis=1)).tolist() if r not in order]
        if not ahead:  # two rings or more
            return np.arange(k)
        order.append(ahead[0])
        at = int(ends[ahead[0]].sum() - at)
    return np.array(order)


def _numbers(values: Ints) -> tuple[int, ...]:
    return tuple(int(value) for value in values)
