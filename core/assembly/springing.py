# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Which joints to spring where a set of joints cannot close by straight moves.

The joints are chosen so that the worst ratio of stress to yield is as small as can be. Each is
reckoned with all others of the set fastened; one that is sprung while a neighbour is still loose
bends more easily, so the figures are on the safe side.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from .beams import Beams, Spring
from .blocking import Blocking
from .loops import break_locks
from .motions import Cone, free_directions
from .play import Play, least_play

__all__ = ["Springs", "spring_in", "spring_lock", "spring_loop"]

Floats = npt.NDArray[np.float64]

#: The hand that holds the tab's plate and the hand that steadies what stands (our own reckoning).
_STEADYING = 2


@dataclass(frozen=True, slots=True, eq=False)
class Springs:
    """The joints to spring, and what it takes.

    springs : the joints to spring, stiffest first; none where nothing can be sprung
    others : what each other joint would take in its place, easiest first
    straight : joints that close by the straight move
    direction : (3,) unit vector of the straight move, as taken apart; None: no joint fixes it, or
        each body of a ring has its own
    stuck : joints that would have to be sprung but cannot (cross-laps)
    play : where nothing need be sprung since the play of the slots is enough: how all joints open
        at once; else None
    bodies : what the joints hold together, each moved as one; None: single plates
    """

    springs: tuple[Spring, ...]
    others: tuple[Spring, ...]
    straight: tuple[int, ...]
    direction: Floats | None
    stuck: tuple[int, ...]
    play: Play | None = None
    bodies: tuple[frozenset[int], ...] | None = None

    @property
    def joints(self) -> tuple[int, ...]:
        """All joints that close, sprung or not."""
        return tuple(sorted({*self.straight, *self.stuck, *(one.joint for one in self.springs)}))

    @property
    def worst_ratio(self) -> float:
        """Greatest stress over yield; 0 when nothing is sprung, inf when something is stuck."""
        if self.stuck:
            return float("inf")
        return max((one.stress_ratio for one in self.springs), default=0.0)

    @property
    def ok(self) -> bool:
        """True when no sheet is bent beyond its yield."""
        return self.worst_ratio <= 1.0

    @property
    def force(self) -> float:
        """N, of all sprung joints together."""
        return float(sum(one.force for one in self.springs))

    @property
    def hands(self) -> int:
        """Hands needed at once: one for the plate, one to steady, and those that bend."""
        return _STEADYING + sum(one.hands for one in self.springs)


def spring_loop(
    beams: Beams, loop: Sequence[int], fastened: Collection[int] | None = None
) -> Springs:
    """Choose the joint of a locked ring to spring: once it is open, the ring is a chain.

    Nothing is sprung where the clearance of the slots is enough to close the ring all at once.
    fastened : joints that are closed when the ring closes; None: those of the ring
    """
    play = least_play(beams, loop)
    if play is not None and play.play <= beams.build.design.sheet.clearance:
        return Springs((), (), tuple(loop), None, (), play)
    closed = set(loop) if fastened is None else {*fastened, *loop}
    found = sorted(_possible(beams, loop, closed), key=_ease)
    chosen = tuple(found[:1])
    straight = tuple(k for k in loop if not chosen or k != chosen[0].joint)
    return Springs(chosen, tuple(found[1:]), straight, None, () if chosen else tuple(loop))


def spring_in(
    beams: Beams,
    blocking: Blocking,
    moving: Collection[int],
    standing: Collection[int],
    open_joints: Collection[int] = (),
) -> Springs:
    """Choose how a body goes in: the way along which some joints close, and those to spring.

    Every way of one of its joints is tried; the joints of the other ways are sprung. The way with
    the least worst ratio is taken, then the one with the fewest joints to spring. Where all its
    joints close along one way, but for the play of their slots, nothing is sprung.

    moving, standing : sets of plates; open_joints : joints that this step leaves open
    """
    cone = free_directions(blocking, moving, standing, open_joints)
    here = {*moving, *standing}
    left_open = set(open_joints)
    fastened = {
        k
        for k, (a, b) in enumerate(zip(blocking.first, blocking.second, strict=True))
        if int(a) in here and int(b) in here and k not in left_open
    }
    if len(cone.exits) == 0:
        return Springs((), (), (), None, ())
    joints = [joint for group in cone.joints for joint in group]
    bodies = (frozenset(moving), frozenset(standing))
    if len(cone.exits) > 1:
        play = least_play(beams, joints, bodies)
        if play is not None and play.play <= beams.build.design.sheet.clearance:
            shift = play.shifts[0] - play.shifts[1]
            way = shift / np.linalg.norm(shift)
            return Springs((), (), tuple(sorted(joints)), way, (), play, bodies)
    tried = []
    for way in cone.exits:
        straight = _along(beams, cone, way)
        rest = [k for k in joints if k not in straight]
        springs = tuple(sorted(_possible(beams, rest, fastened), key=_ease, reverse=True))
        sprung = {one.joint for one in springs}
        stuck = tuple(k for k in rest if k not in sprung)
        tried.append(Springs(springs, (), straight, way, stuck))
    best = min(tried, key=lambda one: (bool(one.stuck), one.worst_ratio, len(one.springs)))
    taken = {one.joint for one in best.springs}
    others = sorted(
        (
            one
            for one in _possible(beams, sorted(best.straight), fastened)
            if one.joint not in taken
        ),
        key=_ease,
    )
    return replace(best, others=tuple(others), bodies=bodies)


def spring_lock(
    beams: Beams,
    blocking: Blocking,
    bodies: Sequence[Collection[int]],
    open_joints: Collection[int] = (),
) -> Springs:
    """Choose joints to spring so that bodies come apart to the last.

    No choice has a smaller worst ratio than this one; there may be choices with fewer joints (see
    `loops.break_locks`).
    """
    links = blocking.between(bodies, open_joints)
    fastened = set(links.joints.tolist())
    springs = {one.joint: one for one in _possible(beams, sorted(fastened), fastened)}
    cost = np.full(len(beams.deflection), np.inf)
    for joint, one in springs.items():
        cost[joint] = one.stress_ratio
    picked = break_locks(links, cost)
    chosen = sorted((springs[k] for k in picked if k in springs), key=_ease, reverse=True)
    stuck = tuple(k for k in picked if k not in springs)
    straight = tuple(sorted(fastened - set(picked)))
    return Springs(tuple(chosen), (), straight, None, stuck)


def _along(beams: Beams, cone: Cone, way: Floats) -> tuple[int, ...]:
    """Return the joints that open along a way, those too that the play of their slots lets."""
    room = beams.build.design.sheet.clearance
    return tuple(
        joint
        for exit_way, group in zip(cone.exits, cone.joints, strict=True)
        for joint in group
        if float(np.linalg.norm(exit_way - way)) * float(beams.travel[joint]) <= max(room, 1e-6)
    )


def _possible(beams: Beams, joints: Sequence[int], fastened: Collection[int]) -> list[Spring]:
    found = (beams.spring(joint, fastened) for joint in joints)
    return [one for one in found if one is not None]


def _ease(spring: Spring) -> tuple[float, float, int]:
    return round(spring.stress_ratio, 9), round(spring.force, 6), spring.joint
