# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The state of one search for a way out: what moves, what stands, what was in the way before."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from .grips import Grips
from .nested import Cover
from .outward import Growth, sphere_ways
from .room import Room
from .screens import Screens, skeleton
from .way_in import Way

__all__ = ["IN_THE_WAY", "SAME_WAY", "Search", "Tried", "out_of"]

Floats = npt.NDArray[np.float64]

# Two joints open along one direction if over the length of a tab they agree to less than the
# clearance of a slot: 0.1 mm in 12 mm is 0.5 degrees; a fifth of it is asked for.
SAME_WAY = float(np.cos(np.radians(0.1)))
_DEEPER = -1e-3  # a leg that turns against a joint's own way by more drives it deeper
_SPHERE = sphere_ways(48)
_PROVED = 5  # straight ways that are swept, of those that a quick look lets through
_LIKELY = 8  # straight ways that are looked at first
_FARTHER = (10.0, 30.0, 80.0)  # mm beyond the open joints: places to start turning from
IN_THE_WAY = 6  # plates that are remembered, of those that ways ran into
_NO_TURN = np.array([0.0, 0.0, 0.0, 1.0])


@dataclass(slots=True)
class Tried:
    """What searches for one body have met; it holds for as long as the plates named still stand.

    legs : for the joints of a first leg a plate that was in its way, or -1 where it was free; what
        was free stays free as plates leave
    exits : for the place where a straight leg begins, and its direction, a plate in the way
    proofs : for a way that another copy has come, and its sprung joints, a plate in the way
    turned : for an opening and the rounds of growing, plates that were in the way
    growths : the trees that were grown from each opening while `stood` stood
    """

    legs: dict[tuple[int, ...], int] = field(default_factory=dict)
    exits: dict[bytes, dict[bytes, int]] = field(default_factory=dict)
    proofs: dict[bytes, int] = field(default_factory=dict)
    turned: dict[tuple[tuple[int, ...], int], frozenset[int]] = field(default_factory=dict)
    growths: dict[tuple[int, ...], Growth] = field(default_factory=dict)
    stood: frozenset[int] = frozenset()


class Search:
    """The state of one search: what moves, what stands, what was in the way before."""

    def __init__(
        self,
        grips: Grips,
        movers: Sequence[int],
        still: Sequence[int],
        joints: Sequence[int],
        screens: Screens | None,
        tried: Tried,
    ) -> None:
        self.grips, self.tried = grips, tried
        self.movers = frozenset(movers)
        self.moving, self.still, self.there = list(movers), list(still), frozenset(still)
        self.out = {joint: out_of(grips, self.movers, joint) for joint in joints}
        self.screens = screens if screens is not None else Screens(grips.standing)
        self.hits: Counter[int] = Counter()
        self.blockers: list[tuple[int, int]] = []

    @cached_property
    def middle(self) -> Floats:
        """Middle of what stands, (3,)."""
        balls = self.grips.standing.balls
        found: Floats = balls[self.still].mean(axis=0) if self.still else np.zeros(3)
        return found

    @cached_property
    def away(self) -> Floats:
        """From the middle of what stands to the body, (3,)."""
        found: Floats = self.grips.standing.balls[self.moving].mean(axis=0) - self.middle
        return found

    @cached_property
    def far(self) -> float:
        """How far a shift must be that leads outside from anywhere, mm."""
        balls, radii = self.grips.standing.balls, self.grips.standing.radii
        every = self.moving + self.still
        reach = np.linalg.norm(balls[every] - self.middle, axis=1) + radii[every]
        return 3.0 * float(reach.max())

    @cached_property
    def sweep(self) -> float:
        """How far ways are swept: whatever stands, so that verdicts of before can be used again."""
        return max(self.far, 3.0 * self.screens.reach)

    @cached_property
    def threads(self) -> Floats:
        """Segments of the body, (n, 2, 3)."""
        return skeleton(self.grips.standing, self.moving)

    @cached_property
    def spans(self) -> Floats:
        """The body's own axes, both ways, (6, 3)."""
        flat = self.threads.reshape(-1, 3)
        along = np.linalg.svd(flat - flat.mean(axis=0), full_matrices=False)[2]
        return np.concatenate([along, -along])

    @cached_property
    def covers(self) -> tuple[Cover, Cover | None]:
        """Boxes of the body and of what stands."""
        standing, known = self.grips.standing, self.screens.layouts
        return (
            Cover.of(standing, self.moving, known),
            Cover.of(standing, self.still, known) if self.still else None,
        )

    def passes(self, start: Floats, end: Floats, sprung: Sequence[int]) -> bool:
        """Tell whether the movers go straight from start to end without hitting anything."""
        left_out: dict[tuple[int, int], int] = {}
        for joint in sprung:
            if (end - start) @ self.out[joint] < _DEEPER * np.linalg.norm(end - start):
                continue
            mover, other = self.ends(joint)
            bits = self.grips.bit[other, joint]
            left_out[mover, other] = left_out.get((mover, other), 0) | bits
        blocker = self.grips.standing.blocker
        for pair in self.blockers:  # what was in the way before is likely to be so again
            if blocker(pair[:1], pair[1:], start, end, left_out) is not None:
                self.blockers.remove(pair)
                self.blockers.insert(0, pair)
                self.hits[pair[1]] += 1
                return False
        hit = blocker(self.moving, self.still, start, end, left_out)
        if hit is not None:
            self.blockers.insert(0, hit)
            del self.blockers[4:]
            self.hits[hit[1]] += 1
        return hit is None

    def proved(
        self, ways: Iterable[Way], straight: tuple[int, ...], sprung: tuple[int, ...], turned: bool
    ) -> Way | None:
        """Return the first way that opens as asked and is free for these movers too, else None."""
        for way in ways:
            if (way.turns is None) == turned:
                continue
            agree = [j for j, out in self.out.items() if out @ -way.direction >= SAME_WAY]
            opens = agree if way.straight else []
            if tuple(sorted(opens)) != tuple(sorted(straight)):
                continue
            poses = (
                way.legs if way.turns is None else np.append(way.legs[1:], way.turns[1:], axis=1)
            )
            name = bytes((np.round(poses[1:], 3) + 0.0).tobytes()) + _name(way.direction)
            before = self.tried.proofs.get(name)
            if before is not None and before in self.there:
                self.hits[before] += 1
                continue
            legs = way.legs.copy()  # the leg from outside is straight, and as long as needed here
            legs[0] = legs[1] + self.far * (legs[0] - legs[1]) / np.linalg.norm(legs[0] - legs[1])
            wanted = replace(way, legs=legs, straight=straight, sprung=sprung)
            blocker = self._met(wanted, sprung)
            if blocker is None:
                return replace(wanted, blockers=frozenset())
            self.tried.proofs[name] = blocker
        return None

    def _met(self, way: Way, sprung: Sequence[int]) -> int | None:
        """Return a plate that is in a way, -1 if it cannot be told which; None: it is free."""
        room: Room | None = None
        for k in range(len(way.legs) - 1, 0, -1):
            start, end = way.legs[k], way.legs[k - 1]
            if way.turns is None or np.allclose(way.turns[k - 1 : k + 1], _NO_TURN):
                if k == 1:
                    end = start + self.sweep * (end - start) / np.linalg.norm(end - start)
                if not self.passes(start, end, sprung):
                    return self.blockers[0][1]
                continue
            assert way.pivot is not None
            room = room if room is not None else self._room(way.pivot, sprung)
            poses = np.concatenate([way.legs[k - 1 : k + 1], way.turns[k - 1 : k + 1]], axis=1)
            free, blocker = room.clear(poses[1:], poses[:1])
            if not free[0]:
                self.hits.update(blocker[blocker >= 0].tolist())
                return int(blocker[0])
        return None

    def straight_out(self, legs: list[Floats], sprung: Sequence[int]) -> Floats | None:
        """Go on from the end of `legs` (outward) to the outside, with one turning point at most."""
        along = legs[-1] if len(legs) > 1 else None
        direct = self._exit(legs[-1], along, sprung)
        if direct is not None:
            return _inward([*legs, legs[-1] + self.far * direct])
        for middle in self._open(legs[-1], self._middles(along, sprung)):
            turn = legs[-1] + middle
            if not self.passes(legs[-1], turn, sprung):
                break
            way = self._exit(turn, None, sprung)
            if way is not None:
                return _inward([*legs, turn, turn + self.far * way])
        return None

    def turned_out(
        self, legs: list[Floats], straight: tuple[int, ...], sprung: tuple[int, ...], rounds: int
    ) -> tuple[Floats, Floats] | None:
        """Go on from the end of `legs` with turns; return poses (k, 7), inward, and the pivot."""
        name = (*straight, -1, *sprung)
        before = self.tried.turned.get((name, rounds))
        if before is not None and before <= self.there:
            self.hits.update(before)
            return None
        standing = self.grips.standing
        if self.tried.stood != self.there:
            self.tried.growths.clear()
            self.tried.stood = self.there
        growth = self.tried.growths.get(name)
        if growth is None:
            seeds = [legs[-1]]
            if len(legs) > 1:
                unit = legs[-1] / np.linalg.norm(legs[-1])
                for more in _FARTHER:
                    if not self.passes(seeds[-1], legs[-1] + more * unit, sprung):
                        break
                    seeds.append(legs[-1] + more * unit)
            pivot = standing.balls[self.moving].mean(axis=0)
            growth = Growth(
                standing,
                self.screens,
                self._room(pivot, sprung),
                self.moving,
                self.still,
                np.array([[*seed, *_NO_TURN] for seed in seeds]),
                self.away,
                self.far,
                self._open_at(sprung),
            )
            self.tried.growths[name] = growth
        poses = growth.until(rounds)
        if poses is None:
            self.hits.update(growth.seen)
            common = growth.seen.most_common(IN_THE_WAY)
            self.tried.turned[name, rounds] = frozenset(plate for plate, _ in common)
            return None
        start = np.array([[*shift, *_NO_TURN] for shift in legs[:-1]]).reshape(-1, 7)
        return np.concatenate([start, poses])[::-1], growth.room.pivot

    def _room(self, pivot: Floats, sprung: Sequence[int]) -> Room:
        """Return the room to turn in, the zones of sprung joints left out on both plates."""
        bits: dict[tuple[int, int], tuple[int, int]] = {}
        for joint in sprung:
            mover, other = self.ends(joint)
            ours, theirs = bits.get((mover, other), (0, 0))
            bits[mover, other] = (
                ours | self.grips.bit[mover, joint],
                theirs | self.grips.bit[other, joint],
            )
        return Room(self.covers, pivot, bits)

    def ends(self, joint: int) -> tuple[int, int]:
        """Return the plate of a joint that moves, and the one that stands."""
        a, b = (int(p) for p in self.grips.plates[joint])
        return (a, b) if a in self.movers else (b, a)

    def _open_at(self, sprung: Sequence[int]) -> list[tuple[int, Floats, float]]:
        return [
            (self.ends(joint)[1], self.grips.centres[joint], float(self.grips.zone[joint]))
            for joint in sprung
        ]

    def _exit(self, at: Floats, along: Floats | None, sprung: Sequence[int]) -> Floats | None:
        """Return a direction in which a straight leg leads outside, the likeliest of those."""
        ways = self._open(at, self._exits(along))
        if not len(ways):
            return None
        known = self.tried.exits.setdefault(_name(at), {})
        names = [_name(way) for way in ways]
        before = np.array([known.get(name, -1) for name in names])
        blocked = np.isin(before, self.still)
        self.hits.update(before[blocked].tolist())
        fresh = np.flatnonzero(~blocked)
        heads = self.threads.reshape(-1, 3) + at
        proofs = _PROVED
        for part in (fresh[:_LIKELY], fresh[_LIKELY:]):
            starts = np.broadcast_to(heads, (len(part), *heads.shape))
            ends = starts + self.far * ways[part][:, None]
            cut = self.screens.cut(starts, ends, self.still, self._open_at(sprung))
            self.hits.update(cut[cut >= 0].tolist())
            for k, plate in zip(part[cut >= 0].tolist(), cut[cut >= 0].tolist(), strict=True):
                known[names[k]] = plate
            for k in part[cut < 0][:proofs].tolist():
                proofs -= 1
                if self.passes(at, at + self.sweep * ways[k], sprung):
                    found: Floats = ways[k]
                    return found
                known[names[k]] = self.blockers[0][1]
        return None

    def _open(self, at: Floats, ways: Floats) -> Floats:
        """Leave out ways (n, 3) that drive a joint deeper that is not yet open: all those hit."""
        engaged = [o for joint, o in self.out.items() if at @ o < 0.9 * self.grips.slide[joint]]
        if not engaged or not len(ways):
            return ways
        least = _DEEPER * np.linalg.norm(ways, axis=1)
        kept: Floats = ways[(ways @ np.array(engaged).T >= least[:, None]).all(axis=1)]
        return kept

    def _middles(self, along: Floats | None, sprung: Sequence[int]) -> Floats:
        """Return short legs (n, 3) to try in between: farther on, or out of all joints."""
        if along is not None:
            return _FARTHER[1] * along[None] / np.linalg.norm(along)
        # Nothing closes straight: out of all joints at once.
        outs = [self.out[joint] * float(self.grips.slide[joint]) for joint in sprung]
        return np.sum(outs, axis=0)[None] if outs else np.zeros((0, 3))

    def _exits(self, along: Floats | None) -> Floats:
        """Return unit vectors (n, 3) to try, the likeliest first, none twice."""
        outs = list(self.out.values())
        wanted = [] if along is None else [along]
        wanted += [np.sum(outs, axis=0)] if outs else []
        sphere = _SPHERE[np.argsort(-(_SPHERE @ self.away), kind="stable")]
        ways = np.array([*wanted, self.away, *outs, *self.spans, *sphere])
        length = np.linalg.norm(ways, axis=1)
        ways = ways[length > 1e-6] / length[length > 1e-6, None]
        same = np.tril(ways @ ways.T >= 0.995, -1)
        kept = np.ones(len(ways), dtype=bool)
        for k in np.flatnonzero(same.any(axis=1)):
            kept[k] = not (same[k] & kept).any()
        found: Floats = ways[kept]
        return found


def _name(vector: Floats) -> bytes:
    """Return a name for a vector (3,): zeros lose their sign, and the last digits do not count."""
    return bytes((np.round(vector, 6) + 0.0).tobytes())


def _inward(legs: list[Floats]) -> Floats:
    """Turn legs round; two in one line become one."""
    kept = [legs[0]]
    for k in range(1, len(legs)):
        if k + 1 < len(legs):
            one, two = legs[k] - kept[-1], legs[k + 1] - legs[k]
            if one @ two >= (1 - 1e-12) * np.linalg.norm(one) * np.linalg.norm(two):
                continue
        kept.append(legs[k])
    return np.array(kept[::-1])


def out_of(grips: Grips, movers: frozenset[int], joint: int) -> Floats:
    """Return the unit vector (3,) along which a joint lets what moves out."""
    out: Floats = grips.out[joint] * (1.0 if int(grips.plates[joint, 0]) in movers else -1.0)
    return out
