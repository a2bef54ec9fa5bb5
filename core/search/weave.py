# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Candidates by the thousand: places are drawn, strips laid and whatever runs into itself is left.

A candidate takes one place on its line for every joint class and one order of the slots along every
strip. A strip knows only the classes of its own motif, so strips are laid and tried against their
own copies one by one, and only those that are left are combined: each strip that fails takes all
candidates with it that it is part of.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import Any

import numpy as np
import numpy.typing as npt

from .geometry import Encounter, Geometry
from .routes import Course, course, knots_of, outline, squares
from .sections import clear_pairs, occupancy

__all__ = ["Limits", "Woven", "weave"]

Floats = npt.NDArray[Any]  # float32, but for what the caller gives
Ints = npt.NDArray[np.intp]

_ORDERS = 6  # at most so many orders of the slots along one strip are tried
_CHUNK = 20  # views that are looked at before the failed strips are left out
_POOL = 24  # so many times as many shared places are drawn as are gone on with
_STRETCH = 0.55  # two ports of a strip lie nearer than this share of its greatest length
_MOST_TEAMS = 20_000


@dataclass(frozen=True, slots=True)
class Limits:
    """What a strip may be, in strip widths or shares of the sphere's radius.

    shared, private : draws of the places that two motifs share, and for each of them draws of those
        that are a motif's own
    bend : largest curvature times width (2 is a bend that folds); apart : least distance of
        neighbouring ports, widths; longest : path length, radii; margin : how much wider, in radii,
        strips are taken when they are tried against each other
    """

    shared: int = 32
    private: int = 32
    bend: float = 1.2
    apart: float = 1.3
    longest: float = 1.5
    margin: float = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Woven:
    """Candidates that no occupancy rejects.

    places : (k, C); orders : (k, M, n) positions of each motif's slots along its strip, -1 fills up
    judged : how many candidates were judged for them; laid : how many strips
    """

    places: npt.NDArray[np.float64]
    orders: Ints
    judged: int
    laid: int


@dataclass(frozen=True, slots=True, eq=False)
class _Strips:
    """Strips of one motif that are left: which shared draw, places (S, C), order (S,), rings."""

    draw: Ints
    places: Floats
    order: Ints
    rings: Floats

    def of(self, rows: Ints) -> _Strips:
        return _Strips(*(getattr(self, name)[rows] for name in self.__slots__))


def weave(
    geometry: Geometry,
    offsets: npt.NDArray[np.float64],
    width: float,
    limits: Limits,
    rng: np.random.Generator,
    ranges: npt.NDArray[np.float64] | None = None,
) -> Woven:
    """Draw places and return the candidates whose strips keep clear of each other.

    offsets : (M,) of the planes, width : of all strips, both in radii; ranges : (C, 2) from where
    to where the places of rotors are drawn, NaN and none: as far as there is room
    """
    pattern = geometry.pattern
    rooms = [_room(offsets[a], offsets[b], width) for a, b, _ in pattern.classes]
    none = Woven(np.zeros((0, len(rooms))), np.zeros((0, pattern.motifs, 0), dtype=np.intp), 0, 0)
    # Plates of one plane are not told apart by section lines; parallel ones need air between.
    if min(rooms) <= 0 or geometry.levels_apart(offsets) < 2 * limits.margin + 0.01:
        return none
    room = np.array(rooms, dtype=np.float32)
    shared = list(pattern.shared)
    draws = limits.shared if shared else 1
    base = _shared_places(geometry, offsets, width, limits, rng, room, draws)
    if len(base) == 0:
        return none
    draws = len(base)
    teams: _Teams | None = None
    judged, laid = draws, 0
    strips: list[_Strips] = []
    orders: list[list[tuple[int, ...]]] = []
    for m in range(pattern.motifs):
        own = list(pattern.drawn(m))
        ways = slot_orders(len(pattern.slots(m)), rng)
        count = (limits.private if shared else limits.shared * limits.private) if own else 1
        judged *= count * len(ways)
        # Draws in which no strip of an earlier motif is left are judged already.
        draw = np.repeat(np.unique(strips[-1].draw) if strips else np.arange(draws), count)
        places = base[draw]
        low, high = _drawn_from(own, room, ranges)
        shares = (_spread(rng, len(draw) // count, count, len(own)) + 1) / 2
        places[:, own] = low + (high - low) * shares
        laid += len(places) * len(ways)
        left = [
            _laid(geometry, m, offsets, width, limits, draw, places, k, way)
            for k, way in enumerate(ways)
        ]
        together = _Strips(
            *(np.concatenate([getattr(s, n) for s in left]) for n in _Strips.__slots__)
        )
        strips.append(_against_own_copies(geometry, m, offsets, together))
        orders.append(ways)
        if len(strips[-1].draw) == 0:
            # The others are not laid, but all candidates are judged: none is left.
            every = _all([draws, *strip_counts(geometry, limits)])
            return Woven(none.places, none.orders, every, laid)
    for m, mine in enumerate(strips):
        teams = _joined_by(geometry, offsets, strips, teams, m, mine)
        if len(teams.rows) == 0:
            break
    assert teams is not None
    return _woven(geometry, strips, orders, teams.rows, judged, laid)


@dataclass(frozen=True, slots=True, eq=False)
class _Teams:
    """Rows (T, m) of strips of the first m motifs that go together."""

    rows: Ints
    draw: Ints


def _shared_places(
    geometry: Geometry,
    offsets: Floats,
    width: float,
    limits: Limits,
    rng: np.random.Generator,
    room: Floats,
    draws: int,
) -> Floats:
    """Draw places (D, C) of the classes between motifs, D at most `draws`, the others 0.

    Many more are drawn, and those are left out that put two ports of one strip on top of each other
    or farther apart than a strip is long.
    """
    pattern = geometry.pattern
    shared = list(pattern.shared)
    pool = np.zeros((_POOL * draws if shared else draws, len(room)), dtype=np.float32)
    pool[:, shared] = (rng.random((len(pool), len(shared)), dtype=np.float32) * 2 - 1) * room[
        shared
    ]
    good = np.ones(len(pool), dtype=bool)
    h = offsets.astype(np.float32)
    for m in range(pattern.motifs):
        ports = [
            *(_port(geometry.tab_port, c, h, pool) for c in pattern.tabs(m) if c in shared),
            *(_port(geometry.slot_port, c, h, pool) for c in pattern.slots(m) if c in shared),
        ]
        for i, one in enumerate(ports):
            for other in ports[:i]:
                apart = np.sqrt(squares(one - other))
                good &= (apart > limits.apart * width) & (apart < _STRETCH * limits.longest)
    kept: Floats = pool[good][:draws]
    return kept


def _spread(rng: np.random.Generator, draws: int, count: int, size: int) -> Floats:
    """Return `count` numbers of -1 to 1 for each draw, evenly spread but in random order."""
    steps = rng.permuted(np.tile(np.arange(count, dtype=np.float32), (draws, size, 1)), axis=2)
    shares = (steps + rng.random(steps.shape, dtype=np.float32)) / count
    spread: Floats = (2 * shares - 1).transpose(0, 2, 1).reshape(draws * count, size)
    return spread


def _drawn_from(
    own: Sequence[int], room: Floats, ranges: npt.NDArray[np.float64] | None
) -> tuple[Floats, Floats]:
    """Return the least and the greatest place of some classes."""
    low, high = -room[list(own)], room[list(own)]
    if ranges is not None:
        wanted = ranges[list(own)].astype(np.float32)
        none = np.isnan(wanted[:, 0])
        low = np.where(none, low, np.maximum(wanted[:, 0], low))
        high = np.where(none, high, np.minimum(wanted[:, 1], high))
    return low, high


def strip_counts(geometry: Geometry, limits: Limits) -> list[int]:
    """Return for each motif how many strips it has for one draw of the shared places."""
    pattern = geometry.pattern
    shared = pattern.shared
    counts = []
    for m in range(pattern.motifs):
        own = pattern.drawn(m)
        private = (limits.private if shared else limits.shared * limits.private) if own else 1
        orders = int(np.prod(np.arange(1, len(pattern.slots(m)) + 1)))
        counts.append(private * min(_ORDERS, orders))
    return counts


def slot_orders(count: int, rng: np.random.Generator) -> list[tuple[int, ...]]:
    """Return the orders of `count` slots along a strip, a random choice where they are many."""
    every = list(permutations(range(count)))
    if len(every) <= _ORDERS:
        return every
    return [every[i] for i in rng.choice(len(every), _ORDERS, replace=False)]


def _all(counts: Sequence[int]) -> int:
    return int(np.prod(counts))


def _room(h: float, k: float, width: float) -> float:
    """How far from the middle of its line a joint may lie inside the sphere."""
    return float(np.sqrt(max(0.96 - h * h - k * k, 0.0))) - width / 2


def _laid(
    geometry: Geometry,
    m: int,
    offsets: npt.NDArray[np.float64],
    width: float,
    limits: Limits,
    draw: Ints,
    places: Floats,
    number: int,
    way: tuple[int, ...],
) -> _Strips:
    """Lay the strips of a motif with its slots in one order; leave out what is no strip."""
    pattern = geometry.pattern
    h = offsets.astype(np.float32)
    tabs, slots = pattern.tabs(m), [pattern.slots(m)[i] for i in way]
    start, *ends = (_port(geometry.tab_port, c, h, places) for c in tabs)
    middle = [_port(geometry.slot_port, c, h, places) for c in slots]
    ports = np.stack([start, *middle, *ends], axis=1)
    if ports.shape[1] < 2:  # a strip with one joint holds nothing
        return _Strips(draw[:0], places[:0], draw[:0], np.zeros((0, 4, 2), dtype=np.float32))
    steps = np.sqrt(squares(np.diff(ports, axis=1)))
    direct = steps.sum(axis=1)
    rows = np.flatnonzero((steps.min(axis=1) > limits.apart * width) & (direct < limits.longest))
    ports = ports[rows]
    ways = geometry.way[list(tabs)].astype(np.float32)
    widths = np.full(len(rows), width, dtype=np.float32)
    end = ports[:, -1] if ends else None
    path, into, out_of = knots_of(ports[:, 0], ports[:, 1 : 1 + len(middle)], end, ways, widths)
    gaps = np.sqrt(squares(np.diff(path[:, 1:-1], axis=1))).min(axis=1)
    fine = np.flatnonzero(gaps > 0.7 * width)
    rows = rows[fine]
    laid = course(path[fine], into[fine], out_of[fine], 4)
    far = squares(laid.points).max(axis=1) + h[m] ** 2
    fine = np.flatnonzero(
        (laid.curvature.max(axis=1) * width < limits.bend)
        & (laid.length < limits.longest)
        & (far < (1 - width / 2) ** 2)
    )
    rows, laid = rows[fine], laid.of(fine)
    fine = np.flatnonzero(_open(laid, width + 2 * limits.margin))
    rows, laid = rows[fine], laid.of(fine)
    wide = np.full(len(rows), width + limits.margin, dtype=np.float32)
    rings = outline(laid, wide, 0.02)
    return _Strips(draw[rows], places[rows], np.full(len(rows), number), rings)


def _port(
    where: Callable[[int, Floats, Floats], Floats], joint: int, h: Floats, places: Floats
) -> Floats:
    found: Floats = where(joint, h, places).astype(np.float32)
    return found


def _open(laid: Course, width: float) -> npt.NDArray[np.bool_]:
    """Tell which strips keep off themselves: far apart along the path, far apart in the plane."""
    points = laid.points[:, 1:-1:2]
    steps = np.sqrt(squares(np.diff(points, axis=1)))
    along = np.concatenate([np.zeros_like(steps[:, :1]), np.cumsum(steps, axis=1)], axis=1)
    apart = squares(points[:, :, None] - points[:, None])
    way = np.abs(along[:, :, None] - along[:, None])
    return np.asarray(((apart > width**2) | (way < 2.5 * width)).all(axis=(1, 2)))


def _encounter_of(geometry: Geometry, a: int, b: int) -> Encounter:
    return next(e for e in geometry.encounters if e.first.own == a and e.first.other == b)


def _against_own_copies(
    geometry: Geometry, m: int, offsets: npt.NDArray[np.float64], strips: _Strips
) -> _Strips:
    """Leave out the strips that run into a copy of themselves."""
    encounter = _encounter_of(geometry, m, m)
    total = len(encounter.elements)
    for begin in range(0, total, _CHUNK):
        if len(strips.draw) == 0:
            break
        part = slice(begin, min(begin + _CHUNK, total))
        one = _seen(encounter, strips, offsets, part, mate=False)
        two = _seen(encounter, strips, offsets, part, mate=True)
        one[:, encounter.lapped[part]] = 0
        strips = strips.of(np.flatnonzero(clear_pairs(one, two)))
    return strips


def _seen(
    encounter: Encounter,
    strips: _Strips,
    offsets: npt.NDArray[np.float64],
    part: slice,
    mate: bool,
) -> npt.NDArray[np.uint64]:
    views = (encounter.second if mate else encounter.first).of(part)
    return occupancy(strips.rings, views, views.level(offsets))


def _joined_by(
    geometry: Geometry,
    offsets: npt.NDArray[np.float64],
    strips: Sequence[_Strips],
    teams: _Teams | None,
    m: int,
    mine: _Strips,
) -> _Teams:
    """Add a strip of motif m to every team of the same draw that it does not run into."""
    if teams is None:
        return _Teams(np.arange(len(mine.draw))[:, None], mine.draw)
    order = np.argsort(mine.draw, kind="stable")
    begin = np.searchsorted(mine.draw[order], teams.draw, side="left")
    count = np.searchsorted(mine.draw[order], teams.draw, side="right") - begin
    team = np.repeat(np.arange(len(teams.rows)), count)[:_MOST_TEAMS]
    step = np.arange(len(team)) - np.repeat(np.cumsum(count) - count, count)[:_MOST_TEAMS]
    new = order[begin[team] + step]
    for other in range(m):
        encounter = _encounter_of(geometry, other, m)
        whole = slice(0, len(encounter.elements))
        theirs, which = np.unique(teams.rows[team, other], return_inverse=True)
        ours, who = np.unique(new, return_inverse=True)
        one = _seen(encounter, strips[other].of(theirs), offsets, whole, mate=False)
        two = _seen(encounter, mine.of(ours), offsets, whole, mate=True)
        clear = np.flatnonzero(clear_pairs(one[which], two[who]))
        team, new = team[clear], new[clear]
    return _Teams(np.column_stack([teams.rows[team], new]), teams.draw[team])


def _woven(
    geometry: Geometry,
    strips: Sequence[_Strips],
    orders: Sequence[Sequence[tuple[int, ...]]],
    rows: Ints,
    judged: int,
    laid: int,
) -> Woven:
    """Put the places of a team's strips together."""
    pattern = geometry.pattern
    most = max(len(pattern.slots(m)) for m in range(pattern.motifs))
    count = len(rows) if rows.shape[1] == pattern.motifs else 0
    places = np.zeros((count, len(pattern.classes)))
    order = np.full((count, pattern.motifs, most), -1, dtype=np.intp)
    for m in range(pattern.motifs):
        if count == 0:
            break
        mine = strips[m].of(rows[:, m])
        own = [c for c, (a, b, _) in enumerate(pattern.classes) if a == m or b == m]
        places[:, own] = mine.places[:, own]
        slots = len(pattern.slots(m))
        table = np.array(orders[m], dtype=np.intp).reshape(len(orders[m]), slots)
        order[:, m, :slots] = table[mine.order]
    return Woven(places, order, judged, laid)
