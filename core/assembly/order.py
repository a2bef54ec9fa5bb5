# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""In which order bodies come together: found by taking the finished sculpture apart.

Whatever comes out when more stands will also come out when less stands. So a body that can be
taken out may be taken out at once: the search never has to go back, and where it gets stuck there
is no order of straight ways (of those that ways.py tries) at all. Then a module is opened: one
plate is taken out of it alone, to be put in later. If no plate comes out either, one is named that
must be woven in by bending.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from .closing import Closing, worst_ratio
from .grips import Grips
from .hanging import layers_from, needed
from .recall import Recall
from .screens import Screens
from .ways import Effort, Tried, Way, find_way, open_groups

__all__ = ["Entry", "take_apart"]


#: How many single plates, and how many bodies of several, are searched at each effort in one round.
_PLATES = {Effort.STRAIGHT: 10, Effort.SOME: 3, Effort.MUCH: 2}
_BODIES = {Effort.STRAIGHT: 6}
#: Single plates before one is called to be woven in, whatever was tried in vain.
_LAST = {Effort.STRAIGHT: 1000, Effort.SOME: 1000, Effort.MUCH: 8}
#: Searches in vain at one effort, one after another, after which only one plate (False) or body of
#: several (True) is searched in a round, and none at the greatest effort, until one goes.
_VAIN = {False: 4, True: 6}
#: What a whole plan may spend in vain, counted so that it does not hang on the machine: rounds of
#: searches with turns, and work on bodies of several; each success wins something back.
_ROUNDS, _ROUNDS_BACK = 340, 24
_WORK, _WORK_BACK = 2500, 250
_OF_SPRING = 12  # verdicts on two plates that cost as much as one reckoning of a spring


@dataclass(frozen=True, slots=True)
class Entry:
    """One body that comes in: its plates, the joints that it closes, and its way.

    bent : greatest stress over yield of the plates that are sprung
    """

    plates: tuple[int, ...]
    joints: tuple[int, ...]
    way: Way
    bent: float = 0.0


@dataclass(slots=True)
class _State:
    """What is not yet taken out.

    failed : ways of bodies that were not found, by effort and whether bending was free
    vain : searches in vain, one after another
    ranks : of a body its joints to others, and how many of them must be sprung at least
    joints : of a plate its joints, each with the other plate
    """

    grips: Grips
    bodies: list[tuple[int, ...]]
    closing: Closing
    screens: Screens
    recall: Recall
    failed: dict[tuple[tuple[int, ...], Effort, bool], Way] = field(default_factory=dict)
    vain: Counter[tuple[bool, Effort]] = field(default_factory=Counter)
    ranks: dict[tuple[int, ...], tuple[list[int], int]] = field(default_factory=dict)
    joints: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    tried: dict[tuple[int, ...], Tried] = field(default_factory=dict)

    @property
    def plates(self) -> list[int]:
        return [plate for body in self.bodies for plate in body]


def take_apart(
    grips: Grips,
    bodies: Sequence[Sequence[int]],
    start: int,
    closing: Closing,
    first_out: Callable[[], Sequence[int]] | None = None,
    alike: Callable[[int], int] | None = None,
    recall: Recall | None = None,
) -> list[Entry]:
    """Return how bodies come in one after another, each joined to what stands.

    bodies : disjoint sets of plates, moved as one unless they must be opened
    start : the plate that stands first; what is joined to it comes next, and so on outward
    first_out : gives the plates that are best taken out of their bodies first; asked for when a
        body must be opened
    alike : number of a plate's orbit; as long as nothing has been taken out, one of each orbit is
        tried for all
    recall : what other searches in this design have found; read and added to
    """
    if recall is None:
        recall = Recall(None, Screens(grips.standing))
    state = _State(grips, [tuple(body) for body in bodies], closing, recall.screens, recall)
    layer = layers_from(grips, state.plates, start)
    found: list[Entry] = []
    preferred: dict[int, int] | None = None
    while len(state.bodies) > 1:
        orbit_of = None if found else alike
        ranked = _ranked_bodies(state, layer, start, orbit_of)
        several = any(len(body) > 1 for body, _ in ranked)
        entry = _first_free(state, ranked, False, several)
        if entry is None:
            if preferred is None:
                wanted = () if first_out is None else first_out()
                preferred = {plate: rank for rank, plate in enumerate(wanted)}
            plates = _Lazy(_ranked_plates(state, layer, start, preferred, orbit_of))
            entry = _first_free(state, plates, False, False)
            if entry is None:
                entry = _first_free(state, ranked, True, several)
            if entry is None:
                entry = _first_free(state, plates, True, False)
            if entry is None:
                entry = _first_free(state, plates, True, False, last=True)
            if entry is None:
                entry = _woven(state, plates)
        found.append(entry)
        _take(state, entry)
    found.append(Entry(state.bodies[0], (), Way(np.zeros((1, 3)), (), (), True, frozenset())))
    return found[::-1]


def _take(state: _State, entry: Entry) -> None:
    gone = set(entry.plates)
    rest = [tuple(p for p in body if p not in gone) for body in state.bodies]
    state.bodies = [body for body in rest if body]
    for tried in state.tried.values():
        tried.growths.clear()  # what stands has changed, and they are large
    joined = set(entry.joints)
    state.ranks = {k: one for k, one in state.ranks.items() if joined.isdisjoint(one[0])}
    state.failed = {
        key: way
        for key, way in state.failed.items()
        if not (way.blockers & gone) and not (set(key[0]) & gone)
    }


_Ranked = list[tuple[tuple[int, ...], list[int]]]  # bodies with their joints, the best first


class _Lazy:
    """What an iterator gives, remembered, so that it can be gone through again."""

    def __init__(self, source: Iterator[tuple[tuple[int, ...], list[int]]]) -> None:
        self.source = source
        self.seen: _Ranked = []

    def __iter__(self) -> Iterator[tuple[tuple[int, ...], list[int]]]:
        yield from self.seen
        for one in self.source:
            self.seen.append(one)
            yield one


def _ranked_bodies(
    state: _State, layer: dict[int, int], start: int, alike: Callable[[int], int] | None
) -> _Ranked:
    """Return bodies that may leave: unbent if there is one, then the farthest from the start."""
    ranked = []
    for number, body in enumerate(state.bodies):
        if start in body:
            continue
        if body not in state.ranks:
            joints = _joints(state, body)
            groups = open_groups(state.grips, frozenset(body), joints)
            state.ranks[body] = joints, len(joints) - (len(groups[0]) if groups else 0)
        joints, sprung = state.ranks[body]
        ranked.append((sprung > 0, -min(layer[p] for p in body), sprung, number, body, joints))
    bridging = _bridging_bodies(state)
    orbits: set[tuple[int, ...]] = set()
    found: _Ranked = []
    for *_, number, body, joints in sorted(ranked):
        orbit = body if alike is None else tuple(sorted(alike(p) for p in body))
        if orbit not in orbits and number not in bridging:
            orbits.add(orbit)
            found.append((body, joints))
    return found


def _ranked_plates(
    state: _State,
    layer: dict[int, int],
    start: int,
    preferred: dict[int, int],
    alike: Callable[[int], int] | None,
) -> Iterator[tuple[tuple[int, ...], list[int]]]:
    """Yield single plates that may be taken out of their bodies; looked at when asked for."""
    ranked = []
    there = set(state.plates)
    for body in state.bodies:
        for plate in body:
            if plate == start:
                continue
            joints = _of_plate(state, plate, there)
            rank = preferred.get(plate, len(preferred))
            ranked.append((rank, -layer[plate], len(joints), plate, body, joints))
    tried: set[int] = set()
    whole = _bridging_plates(state, state.plates)
    bridging: dict[tuple[int, ...], set[int]] = {}
    for *_, plate, body, joints in sorted(ranked):
        if alike is not None and alike(plate) in tried:
            continue
        if body not in bridging:
            bridging[body] = _bridging_plates(state, body) if len(body) > 1 else set()
        if plate in bridging[body] or plate in whole:
            continue
        if alike is not None:
            tried.add(alike(plate))
        yield (plate,), joints


def _of_plate(state: _State, plate: int, there: set[int]) -> list[int]:
    """Return the joints between one plate and those that are there."""
    grips = state.grips
    if not state.joints:
        for joint, (a, b) in enumerate(grips.plates.tolist()):
            state.joints.setdefault(a, []).append((joint, b))
            state.joints.setdefault(b, []).append((joint, a))
    return [joint for joint, other in state.joints.get(plate, ()) if other in there]


def _first_free(
    state: _State,
    ranked: Iterable[tuple[tuple[int, ...], list[int]]],
    bent: bool,
    several: bool,
    last: bool = False,
) -> Entry | None:
    """Take out the first that can leave, by straight legs if any can, else with turns.

    bent : plates may be bent beyond what they bear; else only those ways count that do not
    several : these are bodies as they stand, not plates out of them
    last : before a plate is called one to be woven in, more are looked at than else
    """
    fastened, recall = _fastened(state), state.recall
    for effort, most in (_BODIES if several else _LAST if last else _PLATES).items():
        tries = 0
        if not last and state.vain[several, effort] >= _VAIN[several]:
            if effort > Effort.SOME:
                break
            most = 1
        turning = effort > Effort.STRAIGHT
        for body, joints in ranked:
            if (turning and recall.rounds >= _ROUNDS) or (several and recall.work >= _WORK):
                break
            work = _work(state)
            way, known = _way(state, body, joints, effort, bent, fastened)
            if turning and not known and (way.free or way.opened):
                recall.rounds += -_ROUNDS_BACK if way.free else int(effort)
            if several and not known:
                recall.work += -_WORK_BACK if way.free else _work(state) - work
            if way.free:
                state.vain[several, effort] = 0
                springs = state.closing.in_turn(way.sprung, fastened - set(way.sprung))
                return Entry(body, tuple(joints), way, worst_ratio(springs))
            if way.opened and not known:
                tries += 1
                state.vain[several, effort] += 1
                if tries >= most:
                    break
    return None


def _work(state: _State) -> int:
    """Return what was spent on sweeps and springs so far."""
    return len(state.grips.standing.known) + _OF_SPRING * len(state.closing.known)


def _woven(state: _State, ranked: Iterable[tuple[tuple[int, ...], list[int]]]) -> Entry:
    """Name the plate that must be woven in: the one with the fewest joints."""
    body, joints = min(ranked, key=lambda one: len(one[1]))
    springs = state.closing.in_turn(joints, _fastened(state) - set(joints))
    tried = [way for (plates, _, _), way in state.failed.items() if plates == body]
    way = Way(
        np.zeros((1, 3)),
        (),
        tuple(joints),
        False,
        frozenset().union(*(one.blockers for one in tried)),
        opened=any(one.opened for one in tried),
    )
    return Entry(body, tuple(joints), way, worst_ratio(springs))


def _way(
    state: _State,
    body: tuple[int, ...],
    joints: Sequence[int],
    effort: Effort,
    bent: bool,
    fastened: set[int],
) -> tuple[Way, bool]:
    """Return a body's way, and whether it was known to have none."""
    key = (body, effort, bent)
    if key in state.failed:
        return state.failed[key], True
    inside = set(body)
    still = [p for p in state.plates if p not in inside]
    before = state.recall.failed(body, effort, bent, set(still))
    if before is not None:
        state.failed[key] = before
        return before, True

    def allowed(sprung: Sequence[int]) -> bool:
        return bent or state.closing.bearable(sprung, fastened)

    tried = state.tried.setdefault(body, Tried())
    likely = state.recall.likely(body)
    way = find_way(state.grips, body, still, joints, effort, allowed, state.screens, tried, likely)
    state.recall.keep(body, effort, bent, way)
    if not way.free:
        state.failed[key] = way
    return way, False


def _fastened(state: _State) -> set[int]:
    """Return the joints between plates that still stand."""
    there = np.zeros(len(state.grips.standing.bodies), dtype=bool)
    there[state.plates] = True
    return set(np.flatnonzero(there[state.grips.plates].all(axis=1)).tolist())


def _joints(state: _State, body: Sequence[int]) -> list[int]:
    """Return the joints between a body and all else that still stands."""
    there = np.zeros(len(state.grips.standing.bodies), dtype=bool)
    there[state.plates] = True
    inside = np.zeros_like(there)
    inside[list(body)] = True
    a, b = state.grips.plates.T
    found: list[int] = np.flatnonzero(there[a] & there[b] & (inside[a] != inside[b])).tolist()
    return found


def _bridging_bodies(state: _State) -> set[int]:
    """Return the numbers of bodies without which the others do not hang together."""
    home = np.full(len(state.grips.standing.bodies), -1)
    for k, body in enumerate(state.bodies):
        home[list(body)] = k
    ends = home[state.grips.plates]
    return needed(len(state.bodies), ends[(ends >= 0).all(axis=1)])


def _bridging_plates(state: _State, group: Sequence[int]) -> set[int]:
    """Return the plates without which the others of a group do not hang together."""
    place = np.full(len(state.grips.standing.bodies), -1)
    place[list(group)] = np.arange(len(group))
    ends = place[state.grips.plates]
    return {group[k] for k in needed(len(group), ends[(ends >= 0).all(axis=1)])}
