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

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

from .grips import Grips
from .ways import Way, find_way, open_groups

__all__ = ["Entry", "take_apart"]


_TRIES = 6  # bodies, then plates, that are tried in one round before a plate is woven in
_PATIENCE = 12  # searches in vain after which few are tried in a round, and those quickly


@dataclass(frozen=True, slots=True)
class Entry:
    """One body that comes in: its plates, the joints that it closes, and its way."""

    plates: tuple[int, ...]
    joints: tuple[int, ...]
    way: Way


@dataclass(slots=True)
class _State:
    """What is not yet taken out."""

    grips: Grips
    bodies: list[tuple[int, ...]]
    failed: dict[tuple[int, ...], Way]
    in_vain: int = 0

    @property
    def tries(self) -> int:
        """How many bodies are worth a search in this round."""
        return _TRIES if self.in_vain < _PATIENCE else 2

    @property
    def plates(self) -> list[int]:
        return [plate for body in self.bodies for plate in body]


def take_apart(
    grips: Grips,
    bodies: Sequence[Sequence[int]],
    start: int,
    first_out: Callable[[], Sequence[int]] | None = None,
    alike: Callable[[int], int] | None = None,
) -> list[Entry]:
    """Return how bodies come in one after another, each joined to what stands.

    bodies : disjoint sets of plates, moved as one unless they must be opened
    start : the plate that stands first; what is joined to it comes next, and so on outward
    first_out : gives the plates that are best taken out of their bodies first; asked for when a
        body must be opened
    alike : number of a plate's orbit; as long as nothing has been taken out, one of each orbit is
        tried for all
    """
    state = _State(grips, [tuple(body) for body in bodies], {})
    layer = _layers(grips, state.plates, start)
    found: list[Entry] = []
    preferred: dict[int, int] | None = None
    while len(state.bodies) > 1:
        orbit_of = None if found else alike
        entry = _next_body(state, layer, start, orbit_of)
        if entry is None:
            if preferred is None:
                wanted = () if first_out is None else first_out()
                preferred = {plate: rank for rank, plate in enumerate(wanted)}
            entry = _next_plate(state, layer, start, preferred, orbit_of)
        found.append(entry)
        _take(state, entry)
    found.append(Entry(state.bodies[0], (), Way(np.zeros((1, 3)), (), (), True, frozenset())))
    return found[::-1]


def _take(state: _State, entry: Entry) -> None:
    gone = set(entry.plates)
    rest = [tuple(p for p in body if p not in gone) for body in state.bodies]
    state.bodies = [body for body in rest if body]
    state.failed = {
        key: way
        for key, way in state.failed.items()
        if not (way.blockers & gone) and not (set(key) & gone)
    }


def _next_body(
    state: _State, layer: dict[int, int], start: int, alike: Callable[[int], int] | None
) -> Entry | None:
    """Take out a body that can leave: unbent if there is one, then the farthest from the start."""
    ranked = []
    for number, body in enumerate(state.bodies):
        if start in body:
            continue
        joints = _joints(state, body)
        groups = open_groups(state.grips, frozenset(body), joints)
        sprung = len(joints) - (len(groups[0]) if groups else 0)
        ranked.append((sprung > 0, -min(layer[p] for p in body), sprung, number, body, joints))
    orbits: set[tuple[int, ...]] = set()
    tries = 0
    for *_, number, body, joints in sorted(ranked):
        orbit = body if alike is None else tuple(sorted(alike(p) for p in body))
        if orbit in orbits or not _can_go(state, number):
            continue
        orbits.add(orbit)
        way = _way(state, body, joints)
        if way.free:
            return Entry(body, tuple(joints), way)
        tries += 1
        if tries == state.tries:
            break
    return None


def _next_plate(
    state: _State,
    layer: dict[int, int],
    start: int,
    preferred: dict[int, int],
    alike: Callable[[int], int] | None,
) -> Entry:
    """Take one plate out of its body, or name the plate that must be woven in."""
    ranked = []
    for body in state.bodies:
        for plate in body:
            if plate == start or not _stays_whole(state, body, plate):
                continue
            joints = _joints(state, (plate,))
            rank = preferred.get(plate, len(preferred))
            ranked.append((rank, -layer[plate], len(joints), plate, joints))
    ranked.sort()
    tried: set[int] = set()
    for *_, plate, joints in ranked[: state.tries]:
        if alike is not None:
            if alike(plate) in tried:
                continue
            tried.add(alike(plate))
        way = _way(state, (plate,), joints)
        if way.free:
            return Entry((plate,), tuple(joints), way)
    *_, plate, joints = min(ranked, key=lambda one: (one[2], one[:2]))
    return Entry((plate,), tuple(joints), _way(state, (plate,), joints))


def _way(state: _State, body: tuple[int, ...], joints: Sequence[int]) -> Way:
    if body in state.failed:
        return replace(state.failed[body], sprung=tuple(joints))
    inside = set(body)
    quick = state.in_vain >= _PATIENCE
    way = find_way(state.grips, body, [p for p in state.plates if p not in inside], joints, quick)
    if not way.free:
        state.failed[body] = way
        state.in_vain += 1
    return way


def _joints(state: _State, body: Sequence[int]) -> list[int]:
    """Return the joints between a body and all else that still stands."""
    there = np.zeros(len(state.grips.standing.bodies), dtype=bool)
    there[state.plates] = True
    inside = np.zeros_like(there)
    inside[list(body)] = True
    a, b = state.grips.plates.T
    found: list[int] = np.flatnonzero(there[a] & there[b] & (inside[a] != inside[b])).tolist()
    return found


def _can_go(state: _State, number: int) -> bool:
    """Tell whether the other bodies hang together without one."""
    home = np.full(len(state.grips.standing.bodies), -1)
    for k, body in enumerate(state.bodies):
        home[list(body)] = k
    ends = home[state.grips.plates]
    return _holds(len(state.bodies), ends[(ends >= 0).all(axis=1)], number)


def _stays_whole(state: _State, body: tuple[int, ...], plate: int) -> bool:
    """Tell whether the body, and the whole, hang together without one plate."""
    groups = [body, state.plates] if len(body) > 1 else [state.plates]
    for group in groups:
        place = np.full(len(state.grips.standing.bodies), -1)
        place[list(group)] = np.arange(len(group))
        ends = place[state.grips.plates]
        if not _holds(len(group), ends[(ends >= 0).all(axis=1)], int(place[plate])):
            return False
    return True


def _holds(count: int, ends: npt.NDArray[np.intp], without: int) -> bool:
    """Tell whether a graph of `count` nodes falls into no more pieces without one of them."""
    kept = ends[(ends != without).all(axis=1)]
    return _pieces(count, kept) - 1 <= _pieces(count, ends)


def _pieces(count: int, ends: npt.NDArray[np.intp]) -> int:
    graph = coo_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(count, count))
    return int(connected_components(graph, directed=False)[0])


def _layers(grips: Grips, plates: Sequence[int], start: int) -> dict[int, int]:
    """Return of each plate how many joints away from the start it is; unreachable ones last."""
    count = len(grips.standing.bodies)
    there = np.zeros(count, dtype=bool)
    there[list(plates)] = True
    kept = grips.plates[there[grips.plates].all(axis=1)]
    graph = coo_array((np.ones(len(kept)), (kept[:, 0], kept[:, 1])), shape=(count, count)).tocsr()
    order, before = breadth_first_order(graph, start, directed=False)
    steps = {start: 0}
    for plate in order[1:].tolist():
        steps[plate] = steps[int(before[plate])] + 1
    return {plate: steps.get(plate, count) for plate in plates}
