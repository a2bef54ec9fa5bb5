# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The joints that one step springs: what each takes, and in which order the worst is least.

What is closed first is sprung while the others are still loose, so its strip bends on a longer way.
A joint that asks too much by the beam formula alone is reckoned in its surroundings (yielding.py).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from ..results import Build
from .beams import HAND, Beams, Spring
from .copies import Copies
from .yielding import Strips

__all__ = ["Closing", "worst_ratio"]

_HOPELESS = 40.0  # times yield, that no giving way about a joint makes up for
_HOPS = 2  # joints about the sprung one that give way


class Closing:
    """What springing takes in one build; remembers what it has reckoned."""

    def __init__(self, build: Build, copies: Copies | None = None) -> None:
        """Measure the plates of a build as beams; copies : so that equal places are one."""
        self.copies = copies
        self.beams = Beams.of(build)
        self.strips = Strips(build, self.beams.modulus)
        self.known: dict[tuple[int, frozenset[int]], tuple[float, float] | None] = {}

    def spring(self, joint: int, fastened: Collection[int]) -> Spring | None:
        """Return what springing a joint takes; None for one that no bending opens.

        fastened : joints that are closed (the joint itself may be among them)
        """
        spring = self.beams.spring(joint, fastened)
        if spring is None or not 1.0 < spring.stress_ratio < _HOPELESS:
            return spring
        build = self.beams.build
        width = build.parts[build.plates[spring.plate].part].width
        if width is None or spring.lever < width:
            return spring  # so short a lever is no beam any more, and nothing about it helps
        closed = self.strips.near(joint, fastened, _HOPS)
        key = self._key(joint, closed)
        if key not in self.known:
            self.known[key] = self.strips.spring(joint, spring.deflection, closed, _HOPS)
        eased = self.known[key]
        if eased is None or eased[1] >= spring.stress:
            return spring
        force, stress = eased
        hands = max(1, int(np.ceil(force / HAND)))
        ratio = stress / self.beams.limit
        return replace(spring, force=force, stress=stress, stress_ratio=ratio, hands=hands)

    def _key(self, joint: int, closed: frozenset[int]) -> tuple[int, frozenset[int]]:
        """Return a name for a joint and what is closed about it, the same for all its copies."""
        if self.copies is None:
            return joint, closed
        images = self.copies.joint[:, joint]
        whole = np.flatnonzero(images >= 0)
        element = int(whole[images[whole].argmin()])
        return (
            int(images[element]),
            frozenset(self.copies.joint[element, list(closed)].tolist()),
        )

    def in_turn(self, sprung: Sequence[int], fastened: Collection[int]) -> tuple[Spring, ...]:
        """Return the springs in the order in which they close; what no bending opens is left out.

        fastened : joints that are closed before any of these
        """
        return self._ordered(sprung, fastened, np.inf)

    def bearable(self, sprung: Sequence[int], fastened: Collection[int]) -> bool:
        """Tell whether joints can be sprung one after another without bending a sheet for good.

        fastened : joints that are closed, these included
        """
        before = set(fastened) - set(sprung)
        return worst_ratio(self._ordered(sprung, before, 1.0)) <= 1.0

    def _ordered(
        self, sprung: Sequence[int], fastened: Collection[int], enough: float
    ) -> tuple[Spring, ...]:
        """Return springs in the order that makes the worst least; above `enough` it stops short.

        Found from the end: last comes the joint that takes least while all others are closed, and
        so on with the rest. As no joint is the harder for others being open, no order has a lesser
        worst (rule of Lawler, Management Science 19, 1973, from memory).
        """
        able = sorted(joint for joint in sprung if not np.isnan(self.beams.deflection[joint]))
        done = set(fastened) | set(able)
        found: list[Spring] = []
        while able:
            best: Spring | None = None
            for joint in reversed(able):
                spring = self.spring(joint, done)
                if spring is None:  # no bending opens it
                    best = None
                    able.remove(joint)
                    done.discard(joint)
                    break
                if best is None or spring.stress_ratio < best.stress_ratio - 1e-9:
                    best = spring
                if enough < np.inf and best.stress_ratio <= enough:
                    break  # good enough for a place at the end
            if best is None:
                continue
            found.append(best)
            if best.stress_ratio > enough:
                break
            able.remove(best.joint)
            done.discard(best.joint)
        return tuple(found[::-1])


def worst_ratio(springs: Sequence[Spring]) -> float:
    """Return the greatest stress over yield; 0 where nothing is sprung."""
    return max((spring.stress_ratio for spring in springs), default=0.0)
