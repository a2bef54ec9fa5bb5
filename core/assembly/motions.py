# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Can bodies be drawn apart by moving all at once in straight lines? A motion, or a proof of lock.

The unknowns are a velocity v for each body and a rate for each joint. One linear programme asks
for as many joints as possible to open. What it returns is proved either way:

- a motion: velocities that every joint and contact allows;
- a lock: a force f for each joint and contact, +f on the first body and -f on the second, in
  balance on every body, with f . insertion > 0 at each joint. Multiply each joint's equation
  v_A - v_B + rate x insertion = 0 by its force and add them up: the velocities cancel, and what is
  left is a sum of (f . insertion) x rate = 0. So no rate can be above 0 (Farkas' lemma).

Coming apart is going together, backwards: all directions here are those of taking apart.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .blocking import Blocking, Links
from .directions import SAME_WAY, cone_corners, distinct
from .loops import Lock, smallest_lock
from .programme import ROUNDING, Freedom, freedom, least_motion, slide

__all__ = [
    "Cone",
    "Lock",
    "Motion",
    "free_directions",
    "unlock",
    "unlock_links",
]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Cone:
    """The ways out of one body, everything else standing still.

    unrestricted : nothing holds it
    directions : (k, 3) unit vectors along which it may leave: with joints one or none, with
        contacts only the corners of the cone (any sum of them will do too)
    exits : (m, 3) the different ways out of its joints, one by one; more than one: a lock
    joints : for each of `exits` the joints that open along it
    blocked_by : contacts that forbid the one way that its joints allow
    """

    unrestricted: bool
    directions: Floats
    exits: Floats
    joints: tuple[tuple[int, ...], ...]
    blocked_by: tuple[int, ...]

    @property
    def free(self) -> bool:
        """True when the body can leave."""
        return self.unrestricted or len(self.directions) > 0


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """A way in which bodies come apart; to put them together, run it backwards.

    velocities : (n, 3) of the bodies, the fastest at 1; zero: it stands
    moving : bodies that move
    opening : joints that open, and rates : (k,) how fast each tab leaves its slot
    held : joints between these bodies that no motion can open as things stand
    parting : contacts that part

    Bodies that nothing holds together need no motion: all is empty.
    """

    velocities: Floats
    moving: tuple[int, ...]
    opening: tuple[int, ...]
    rates: Floats
    held: tuple[int, ...]
    parting: tuple[int, ...]


def free_directions(
    blocking: Blocking,
    moving: Collection[int],
    standing: Collection[int],
    open_joints: Collection[int] = (),
) -> Cone:
    """Return the ways in which the plates `moving`, as one body, can leave those `standing`.

    To bring them in, go the other way. Plates in neither set are not there; joints in
    `open_joints` do not hold.
    """
    links = blocking.between([frozenset(moving), frozenset(standing)], open_joints)
    sign = np.where(links.pairs[:, 0] == 0, -1.0, 1.0)
    ways = sign[:, None] * links.insertion
    exits, groups = distinct(ways)
    joints = tuple(tuple(links.joints[group].tolist()) for group in groups)
    side = np.where(links.touching[:, 0] == 0, 1.0, -1.0)
    normals = side[:, None] * links.normal
    directions, blocked = np.zeros((0, 3)), np.zeros(0, dtype=np.intp)
    if len(exits) == 1:
        against = normals @ exits[0] < -SAME_WAY
        blocked = links.contacts[against]
        directions = exits if not against.any() else directions
    elif len(exits) == 0 and len(normals):
        directions = cone_corners(normals)
    nothing = len(exits) == 0 and len(normals) == 0
    return Cone(nothing, directions, exits, joints, tuple(blocked.tolist()))


def unlock(
    blocking: Blocking,
    bodies: Sequence[Collection[int]],
    open_joints: Collection[int] = (),
) -> Motion | Lock:
    """Find a motion that takes bodies apart, or prove that none exists.

    The motion moves little: the sum of plates x speed is least for the rate at which joints open
    in all. That is a stand-in for the fewest moving bodies, which no linear programme can count.

    bodies : disjoint sets of plates, each moved as one; plates in none of them are not there
    """
    links = blocking.between(bodies, open_joints)
    return unlock_links(links, np.array([len(body) for body in bodies], dtype=float))


def unlock_links(links: Links, weight: Floats) -> Motion | Lock:
    """Do the same for bodies whose joints and contacts are listed already.

    weight : (n,) of the bodies, in plates
    """
    found = freedom(links)
    if found.opens.any() or found.parts.any():
        return _motion(links, found, least_motion(links, found, weight))
    sliding = slide(links)
    if sliding is not None:
        return _motion(links, found, sliding)
    if len(links.joints) == 0 and len(links.contacts) == 0:
        return _motion(links, found, np.zeros((links.body_count, 3)))
    return _lock(links, found)


def _motion(links: Links, found: Freedom, velocities: Floats) -> Motion:
    relative = velocities[links.pairs[:, 0]] - velocities[links.pairs[:, 1]]
    rates = -np.einsum("ij,ij->i", relative, links.insertion)
    opening = rates > ROUNDING
    apart = velocities[links.touching[:, 0]] - velocities[links.touching[:, 1]]
    parting = np.einsum("ij,ij->i", apart, links.normal) > ROUNDING
    return Motion(
        velocities,
        _numbers(np.flatnonzero(np.any(velocities != 0.0, axis=1))),
        _numbers(links.joints[opening]),
        rates[opening],
        _numbers(links.joints[~found.opens]),
        _numbers(links.contacts[parting]),
    )


def _lock(links: Links, found: Freedom) -> Lock:
    """Return the lock of everything, with a smallest part of it named."""
    loop = smallest_lock(links, 0).loop if len(links.joints) else ()
    return Lock(_numbers(links.joints), found.force, _numbers(links.contacts), found.pressure, loop)


def _numbers(values: Ints) -> tuple[int, ...]:
    return tuple(int(value) for value in values)
