# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Trying ways out for the plates of one module, and what they run into."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from shapely import Polygon

from ..frame.group import Group
from ..joints.table import JointTable
from ..plates.orbits import Orbits
from .bodies import body_of
from .passing import Standing

__all__ = ["HALTED", "Scattered", "Trial"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Pair = tuple[int, int]

# What a pair of plates costs that share room on the way: where they are joined (a plate must bend),
# where they are not, where they do so still at the end, or when one has gone and one still stands;
# and joined plates that go the same way.
_BENT, _THROUGH, _STUCK, _WAITING, _TOGETHER = 1.0, 4.0, 1000.0, 100.0, 10.0
#: Costs from here on: some plates do not come clear of each other.
HALTED = 100.0
_ROUNDS = 3  # of choosing anew, motif after motif


@dataclass(frozen=True, slots=True, eq=False)
class Scattered:
    """The plates of a sculpture, for choosing their ways.

    centroids : (P, 3) mm; module : (P,); outlines : of each motif, in its plane, mm, less what is
    bent; thickness : mm
    """

    orbits: Orbits
    group: Group
    joints: JointTable
    centroids: Floats
    module: Ints
    outlines: Sequence[Polygon]
    thickness: float


class Trial:
    """Tries ways out: what share of the plates run into each other in one module.

    Costs only matter as far as the least goes. So they are added up until they reach the least
    that was found before, the likeliest pairs and the dearest faults first.
    """

    def __init__(self, plates: Scattered, carrier: Ints, directions: list[Floats]) -> None:
        self.plates, self.carrier, self.directions = plates, carrier, directions
        self.length = 0.0
        self.seeds = seeds = plates.orbits.plate_of[:, 0]
        orbits = plates.orbits
        bodies = [
            body_of(outline, plates.thickness, np.zeros((0, 2)), ()) for outline in plates.outlines
        ]
        here = np.isin(plates.module, plates.module[seeds])
        self.numbers = np.flatnonzero(here)
        self.place = {int(p): k for k, p in enumerate(self.numbers)}
        self.standing = Standing.of(
            [bodies[m] for m in orbits.motif[self.numbers]], orbits.transforms[self.numbers]
        )
        joints = plates.joints
        self.joined = {
            (min(a, b), max(a, b))
            for a, b in zip(joints.first.tolist(), joints.second.tolist(), strict=True)
        }
        self.known: dict[tuple[int, int, int, int], tuple[float, bool]] = {}
        self.others: list[list[int]] = []
        self.turned = self._turned()

    def best(self, length: float) -> tuple[Ints, float]:
        """Return the number of the direction chosen for each motif, and the most that one costs.

        length : mm, how far each plate goes
        """
        self._reach(length)
        motifs = range(len(self.seeds))
        chosen = np.zeros(len(self.seeds), dtype=np.intp)
        if not any(self._cost(m, 0, chosen, 1e-9) for m in motifs):
            return chosen, 0.0  # the likeliest are free
        if len(self.seeds) > 1:  # start each from what suits its own copies
            for m in motifs:
                chosen[m] = self._cheapest(m, chosen, own=True)
        for _ in range(_ROUNDS):
            before = chosen.copy()
            for m in motifs:
                chosen[m] = self._cheapest(m, chosen)
            if (before == chosen).all():
                break
        return chosen, max(self._cost(m, int(chosen[m]), chosen, np.inf) for m in motifs)

    def clear(self, length: float, waiting: bool = True) -> bool:
        """Tell whether all plates stand clear of each other when each has gone so far, mm.

        waiting : also when one of two has gone and the other still stands
        """
        self._reach(length)
        for m, seed in enumerate(self.seeds.tolist()):
            for p in self.others[m]:
                k = int(self.plates.orbits.motif[p])
                turn = self.plates.group.matrices[self.carrier[p]]
                one, two = length * self.directions[m][0], length * turn @ self.directions[k][0]
                ways = [one - two, one, -two] if waiting else [one - two]
                if any(self._hit(seed, p, way, way) for way in ways):
                    return False
        return True

    def _reach(self, length: float) -> None:
        """Find the plates of each seed's module that could come near it, the nearest first."""
        self.length = length
        self.known.clear()
        self.others = []
        for seed in self.seeds.tolist():
            same = np.flatnonzero(self.plates.module == self.plates.module[seed])
            same = same[same != seed]
            rows = np.searchsorted(self.numbers, same)
            own = self.place[seed]
            gaps = np.linalg.norm(self.standing.balls[rows] - self.standing.balls[own], axis=1)
            gaps -= self.standing.radii[rows] + self.standing.radii[own] + 2 * length
            order = np.argsort(gaps, kind="stable")
            self.others.append(same[order][gaps[order] < 0.0].tolist())

    def _turned(self) -> dict[Pair, int]:
        """Return for (motif, plate) the plate that stands to the plate's seed as the seed to it.

        Turned back, a plate is its motif's seed, and the motif's seed is another plate: the pair is
        the same, and so is what it costs, if the ways turn along.
        """
        orbits, back = self.plates.orbits, self.plates.group.inverse
        found: dict[Pair, int] = {}
        for m in range(len(self.seeds)):
            for p in self.numbers.tolist():
                x = int(back[self.carrier[p]])
                q = int(orbits.plate_of[m, x])
                if self.carrier[q] == x:
                    found[m, p] = q
        return found

    def _cheapest(self, m: int, chosen: Ints, own: bool = False) -> int:
        """Return the direction of a motif that costs least; the one that it has, if none is less.

        own : only beside its own copies, and without one to start from
        """
        first = 0 if own else int(chosen[m])
        best, least = first, self._cost(m, first, chosen, np.inf, own)
        for c in range(len(self.directions[m])):
            if least == 0.0:
                break
            cost = self._cost(m, c, chosen, least, own) if c != first else least
            if cost < least - 1e-9:
                best, least = c, cost
        return best

    def _cost(self, m: int, c: int, chosen: Ints, most: float, own: bool = False) -> float:
        """Return what a direction costs beside those that the other motifs have.

        A sum that reaches `most` is not added up any further.
        """
        seed = int(self.seeds[m])
        total = 0.0
        for p in self.others[m]:
            k = int(self.plates.orbits.motif[p])
            if k == m or not own:
                total += self._pair(seed, m, c, p, k, c if k == m else int(chosen[k]), most - total)
                if total >= most:
                    break
        return total

    def _pair(self, seed: int, m: int, c: int, other: int, k: int, d: int, most: float) -> float:
        """Return what one pair of plates costs, or a part of it that is not below `most`."""
        key = (m, c, other, d)
        if (m, other) in self.turned:
            key = min(key, (k, d, self.turned[m, other], c))
        cost, all_of_it = self.known.get(key, (0.0, False))
        if not all_of_it and cost < most:
            turn = self.plates.group.matrices[self.carrier[other]]
            one, two = self.directions[m][c], turn @ self.directions[k][d]
            joined = (min(seed, other), max(seed, other)) in self.joined
            cost, all_of_it = self._priced(seed, other, one, two, joined, most)
            self.known[key] = (cost, all_of_it)
        return cost

    def _priced(
        self, seed: int, other: int, one: Floats, two: Floats, joined: bool, most: float
    ) -> tuple[float, bool]:
        """Return a pair's cost, and whether it is all of it or only reaches `most`."""
        way = self.length * (one - two)
        cost = 0.0
        if joined and np.linalg.norm(way) < 0.6 * self.length:
            cost += _TOGETHER
        for alone in (self.length * one, -self.length * two):
            if cost >= most:
                return cost, False
            cost += _WAITING * self._hit(seed, other, alone, alone)
        if cost >= most:
            return cost, False
        shared = _BENT if joined else _THROUGH
        if self._hit(seed, other, way, way):
            cost += shared + _STUCK
        else:
            cost += shared * self._hit(seed, other, np.zeros(3), way)
        return cost, True

    def _hit(self, a: int, b: int, start: Floats, end: Floats) -> bool:
        pair = [self.place[a]], [self.place[b]]
        return self.standing.blocker(*pair, start, end) is not None
