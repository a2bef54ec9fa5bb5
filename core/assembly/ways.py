# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The way in of a plate or a module: straight legs from outside to its place, proved to be free.

The search goes backwards, from the place outward. First the joints that agree on one direction are
opened along it, all others counted as sprung; then a straight leg to the outside is looked for,
and, if there is none, one more leg in between. A sprung joint's zone on the standing plate is left
out of the sweep, but only on legs that do not drive the two plates deeper into each other: bending
lets a tab pass a plate's face, not a shoulder pass through it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
import numpy.typing as npt

from .grips import Grips

__all__ = ["Way", "find_way", "open_groups"]

Floats = npt.NDArray[np.float64]

# Two joints open along one direction if over the length of a tab they agree to less than the
# clearance of a slot: 0.1 mm in 12 mm is 0.5 degrees; a fifth of it is asked for.
_SAME_WAY = float(np.cos(np.radians(0.1)))
_DEEPER = -1e-3  # a leg that turns against a joint's own way by more drives it deeper
_CUBE = np.array([v for v in product((-1.0, 0.0, 1.0), repeat=3) if any(v)])


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """How plates come to their place.

    legs : (k, 3) mm, displacements from their place, from the far start to (0, 0, 0)
    straight, sprung : joints that close along the last leg, and those that need a plate bent
    free : proved to be free of everything that stands (but for the zones of `sprung`); otherwise
        `legs` is only the place itself: the plates must be woven in by bending
    blockers : plates that were in the way of ways that were tried; as long as all of them stand, a
        search that failed fails again
    """

    legs: Floats
    straight: tuple[int, ...]
    sprung: tuple[int, ...]
    free: bool
    blockers: frozenset[int]

    @property
    def direction(self) -> Floats:
        """Unit vector of the last leg, (3,); straight up where there is no leg."""
        if len(self.legs) < 2:
            return np.array([0.0, 0.0, 1.0])
        last = self.legs[-1] - self.legs[-2]
        unit: Floats = last / np.linalg.norm(last)
        return unit


def open_groups(grips: Grips, movers: frozenset[int], joints: Sequence[int]) -> list[list[int]]:
    """Gather joints by the direction in which they let `movers` out, the largest group first."""
    groups: list[tuple[Floats, list[int]]] = []
    for joint in joints:
        out = _out(grips, movers, joint)
        for direction, group in groups:
            if out @ direction >= _SAME_WAY:
                group.append(joint)
                break
        else:
            groups.append((out, [joint]))
    return sorted((group for _, group in groups), key=lambda group: (-len(group), group))


def find_way(
    grips: Grips,
    movers: Sequence[int],
    still: Sequence[int],
    joints: Sequence[int],
    quick: bool = False,
) -> Way:
    """Find a way in for `movers`, as one body, to where they are joined to `still` by `joints`.

    quick : try only the likeliest ways, without a leg in between
    """
    search = _Search(grips, movers, still, joints)
    laps = {joint for joint in joints if grips.lap[joint]}
    for group in open_groups(grips, search.movers, joints)[: 1 if quick else None]:
        if not laps.issubset(group):
            continue  # no bending opens a cross-lap: it slides along a line in both planes
        sprung = tuple(joint for joint in joints if joint not in group)
        out = search.out[group[0]]
        first = out * max(float(grips.slide[joint]) for joint in group)
        if not search.passes(np.zeros(3), first, sprung):
            continue
        legs = search.outward([np.zeros(3), first], out, sprung, quick)
        if legs is not None:
            return Way(legs, tuple(group), sprung, True, frozenset())
    legs = None if laps or quick else search.outward([np.zeros(3)], None, tuple(joints))
    if legs is not None:
        return Way(legs, (), tuple(joints), True, frozenset())
    seen = frozenset(other for _, other in search.blockers)
    return Way(np.zeros((1, 3)), (), tuple(joints), False, seen)


def _out(grips: Grips, movers: frozenset[int], joint: int) -> Floats:
    out: Floats = grips.out[joint] * (1.0 if int(grips.plates[joint, 0]) in movers else -1.0)
    return out


class _Search:
    """The state of one search: what moves, what stands, what was in the way before."""

    def __init__(
        self, grips: Grips, movers: Sequence[int], still: Sequence[int], joints: Sequence[int]
    ) -> None:
        self.grips = grips
        self.movers = frozenset(movers)
        self.moving, self.still = list(movers), list(still)
        self.out = {joint: _out(grips, self.movers, joint) for joint in joints}
        standing = grips.standing
        balls, radii = standing.balls, standing.radii
        middle = balls[self.still].mean(axis=0) if self.still else np.zeros(3)
        self.away = balls[self.moving].mean(axis=0) - middle
        every = self.moving + self.still
        reach = np.linalg.norm(balls[every] - middle, axis=1) + radii[every]
        self.far = 2.0 * float(reach.max())
        self.normals = standing.rises[self.moving]
        self.blockers: list[tuple[int, int]] = []

    def passes(self, start: Floats, end: Floats, sprung: Sequence[int]) -> bool:
        """Tell whether the movers go from start to end without hitting anything."""
        left_out: dict[tuple[int, int], int] = {}
        for joint in sprung:
            if (end - start) @ self.out[joint] < _DEEPER * np.linalg.norm(end - start):
                continue
            a, b = (int(p) for p in self.grips.plates[joint])
            mover, other = (a, b) if a in self.movers else (b, a)
            bits = self.grips.bit[other, joint]
            left_out[mover, other] = left_out.get((mover, other), 0) | bits
        blocker = self.grips.standing.blocker
        for pair in self.blockers:  # what was in the way before is likely to be so again
            if blocker(pair[:1], pair[1:], start, end, left_out) is not None:
                self.blockers.remove(pair)
                self.blockers.insert(0, pair)
                return False
        hit = blocker(self.moving, self.still, start, end, left_out)
        if hit is not None:
            self.blockers.insert(0, hit)
        return hit is None

    def outward(
        self,
        legs: list[Floats],
        along: Floats | None,
        sprung: Sequence[int],
        quick: bool = False,
    ) -> Floats | None:
        """Go on from the end of `legs` (outward) to the outside; return all legs, inward."""
        ways = list(self._exits(along))
        for way in self._open(legs[-1], ways):
            if self.passes(legs[-1], legs[-1] + self.far * way, sprung):
                return self._inward([*legs, legs[-1] + self.far * way])
        for middle in () if quick else self._open(legs[-1], self._middles(sprung)):
            turn = legs[-1] + middle
            if not self.passes(legs[-1], turn, sprung):
                continue
            for way in self._open(turn, ways):
                if self.passes(turn, turn + self.far * way, sprung):
                    return self._inward([*legs, turn, turn + self.far * way])
        return None

    def _open(self, at: Floats, ways: Iterable[Floats]) -> Iterator[Floats]:
        """Leave out ways that drive a joint deeper that is not yet open: those always hit."""
        engaged = [o for joint, o in self.out.items() if at @ o < 0.9 * self.grips.slide[joint]]
        for way in ways:
            least = _DEEPER * float(np.linalg.norm(way))
            if all(way @ out >= least for out in engaged):
                yield way

    def _middles(self, sprung: Sequence[int]) -> Iterator[Floats]:
        """Yield short legs to try in between: out of one joint, of two at once, of all."""
        groups = open_groups(self.grips, self.movers, sprung)
        outs = [
            self.out[group[0]] * max(float(self.grips.slide[joint]) for joint in group)
            for group in groups
        ]
        yield from outs
        for one, two in combinations(outs, 2):
            both = one + two
            if both @ one > 0.0 < both @ two:
                yield both
        if len(outs) > 2:
            yield np.sum(outs, axis=0)

    def _exits(self, along: Floats | None) -> Iterator[Floats]:
        """Yield unit vectors to try, the likeliest first, none twice."""
        tried: list[Floats] = []
        outs = list(self.out.values())
        wanted = [] if along is None else [along]
        wanted += [np.sum(outs, axis=0)] if outs else []
        wanted += [self.away, *outs, *self.normals, *-self.normals, *_CUBE]
        for way in wanted:
            length = float(np.linalg.norm(way))
            if length < 1e-6:
                continue
            unit = way / length
            if all(unit @ other < 0.995 for other in tried):
                tried.append(unit)
                yield unit

    @staticmethod
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
