# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What can be taken out first, and the whole way down to single bodies; backwards it is an order.

For one direction u, draw an arrow from each body to every body that would have to move along with
it: A to B where a joint or contact forbids that A moves along u while B stands. Bodies that arrows
join both ways round move together; a group that no arrow leaves can be drawn out along u, and each
least group that can is one of those. The arrows change only at the directions of joints and where
the contacts' planes cross, so a list of directions is enough (non-directional blocking graph;
Wilson and Latombe, Geometric reasoning about mechanical assembly, 1994, from memory). What needs
several directions at once is left to the linear programme of motions.py.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.sparse import csgraph

from .blocking import Blocking, Links
from .directions import SAME_WAY, distinct, turning_points
from .motions import Lock, Motion, unlock_links
from .programme import components

__all__ = ["Removal", "Takedown", "removals", "take_down"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Removal:
    """A group of bodies that leaves in one straight move, all others standing.

    bodies : that move, as one; direction : (3,) unit vector, the way out
    opening : joints that open; standing : bodies that it was joined to, or touched, itself or by
        way of others
    """

    bodies: tuple[int, ...]
    direction: Floats
    opening: tuple[int, ...]
    standing: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Takedown:
    """How a set of bodies comes apart, in order; backwards it is a way to put it together.

    steps : straight moves of one group, and motions of many at once; the bodies of a motion are
        those of the whole set
    locks : one proof for each piece that does not come apart; none: it comes apart to single bodies
    stuck : the bodies of each such piece
    """

    steps: tuple[Removal | Motion, ...]
    locks: tuple[Lock, ...]
    stuck: tuple[tuple[int, ...], ...]


def removals(
    blocking: Blocking,
    bodies: Sequence[Collection[int]],
    open_joints: Collection[int] = (),
) -> tuple[Removal, ...]:
    """Return the least groups that can leave in one straight move, the fewest plates first.

    Of a piece that nothing else holds no removal is needed, and none is listed.
    """
    links = blocking.between(bodies, open_joints)
    plates = np.array([len(body) for body in bodies])
    return _removals(links, plates, ())


def take_down(
    blocking: Blocking,
    bodies: Sequence[Collection[int]],
    open_joints: Collection[int] = (),
) -> Takedown:
    """Take bodies apart as far as straight moves go.

    Single bodies that can leave go first, then the least groups, then motions of many bodies at
    once. What one move opens never closes again, and a joint less never holds anything the faster:
    so the order does not matter for how far it goes, and what is left is locked for good.
    """
    plates = np.array([len(body) for body in bodies])
    opened = set(open_joints)
    parted: list[tuple[int, ...]] = [tuple(range(len(bodies)))]
    steps: list[Removal | Motion] = []
    locks: list[Lock] = []
    stuck: list[tuple[int, ...]] = []
    apart = np.zeros(len(blocking.touching), dtype=bool)  # contacts that have parted
    while parted:
        piece = parted.pop()
        members = [bodies[number] if number in set(piece) else () for number in range(len(bodies))]
        links = _touching(blocking.between(members, opened), apart)
        pieces = _pieces(links, piece)
        if len(pieces) > 1:
            parted.extend(pieces)
            continue
        if len(links.ends) == 0:
            continue
        found = _singles(links)
        motion: Motion | None = None
        if not found:
            tried = unlock_links(links, plates.astype(float))
            if isinstance(tried, Lock):
                locks.append(tried)
                stuck.append(piece)
                continue
            motion = tried
            found = list(_removals(links, plates, motion.held)[:1])
        if found or motion is None:
            steps.extend(found)
            for removal in found:
                opened.update(removal.opening)
                parted.append(removal.bodies)
            gone = {number for removal in found for number in removal.bodies}
            parted.append(tuple(number for number in piece if number not in gone))
            continue
        steps.append(motion)
        opened.update(motion.opening)
        moved = motion.velocities[links.touching[:, 0]] != motion.velocities[links.touching[:, 1]]
        apart[links.contacts[moved.any(axis=1)]] = True
        parted.append(piece)
    return Takedown(tuple(steps), tuple(locks), tuple(stuck))


def _touching(links: Links, apart: npt.NDArray[np.bool_]) -> Links:
    """Leave out contacts that have parted."""
    kept = ~apart[links.contacts]
    return replace(
        links,
        contacts=links.contacts[kept],
        touching=links.touching[kept],
        normal=links.normal[kept],
    )


def _pieces(links: Links, members: Sequence[int]) -> list[tuple[int, ...]]:
    """Return the sets of bodies that are linked with each other."""
    numbers = np.array(members, dtype=np.intp)
    label = components(links)[numbers]
    return [_numbers(numbers[label == k]) for k in np.unique(label)]


def _singles(links: Links) -> list[Removal]:
    """Return single bodies that can leave one after another along a way that all joints share."""
    found: list[Removal] = []
    gone = np.zeros(links.body_count, dtype=bool)
    for body in np.unique(links.pairs).tolist():
        here = (links.pairs == body).any(axis=1) & ~gone[links.pairs].any(axis=1)
        if not here.any():
            continue
        sign = np.where(links.pairs[here, 0] == body, -1.0, 1.0)[:, None]
        ways = sign * links.insertion[here]
        if np.linalg.norm(ways - ways[0], axis=1).max() > SAME_WAY:
            continue
        touched = (links.touching == body).any(axis=1) & ~gone[links.touching].any(axis=1)
        side = np.where(links.touching[touched, 0] == body, 1.0, -1.0)
        if ((side[:, None] * links.normal[touched]) @ ways[0] < -SAME_WAY).any():
            continue
        gone[body] = True
        ends = np.concatenate([links.pairs[here], links.touching[touched]])
        stands = np.setdiff1d(ends, [body])
        found.append(Removal((body,), ways[0], _numbers(links.joints[here]), _numbers(stands)))
    return found


def _removals(links: Links, plates: Ints, held: Collection[int]) -> tuple[Removal, ...]:
    """Return the least groups over all directions, each group once, the lightest first.

    held : joints known to be locked; their directions need not be tried
    """
    n = links.body_count
    piece = components(links)
    size = np.bincount(piece, minlength=n)
    found: dict[tuple[int, ...], Removal] = {}
    for way in _ways(links, held):
        arrows = _arrows(links, way)
        count, group = csgraph.connected_components(_graph(n, arrows), connection="strong")
        held = np.zeros(count, dtype=bool)
        leaving = group[arrows[:, 0]] != group[arrows[:, 1]]
        held[group[arrows[leaving, 0]]] = True
        of_group = piece[np.unique(group, return_index=True)[1]]
        whole = np.bincount(group, minlength=count) == size[of_group]
        for number in np.flatnonzero(~held & ~whole).tolist():
            moved = group == number
            key = _numbers(np.flatnonzero(moved))
            if key not in found:
                crossing = moved[links.pairs].sum(axis=1) == 1
                around = np.flatnonzero((piece == piece[key[0]]) & ~moved)
                found[key] = Removal(key, way, _numbers(links.joints[crossing]), _numbers(around))
    weight = {key: int(plates[list(key)].sum()) for key in found}
    return tuple(found[key] for key in sorted(found, key=lambda key: (weight[key], key)))


def _ways(links: Links, held: Collection[int]) -> Floats:
    """Return the directions (m, 3) at which it may change what can leave."""
    can = links.insertion[~np.isin(links.joints, list(held))]
    ways = [can, -can]
    if len(links.normal):
        ways.append(turning_points(links.normal))
    return distinct(np.concatenate(ways))[0]


def _arrows(links: Links, way: Floats) -> Ints:
    """Return (m, 2): the first body cannot move along `way` unless the second moves too."""
    first = np.linalg.norm(links.insertion + way, axis=1) > SAME_WAY
    second = np.linalg.norm(links.insertion - way, axis=1) > SAME_WAY
    along = links.normal @ way
    return np.concatenate(
        [
            links.pairs[first],
            links.pairs[second][:, ::-1],
            links.touching[along < -SAME_WAY],
            links.touching[along > SAME_WAY][:, ::-1],
        ]
    )


def _graph(n: int, ends: Ints) -> sparse.coo_array:
    return sparse.coo_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(n, n))


def _numbers(values: Ints) -> tuple[int, ...]:
    return tuple(int(value) for value in values)
