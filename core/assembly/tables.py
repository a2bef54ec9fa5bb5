# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where modules are put together: places beside the sculpture, far enough to be out of the way.

A module lies with its outer side up. A table's zone is the ball in which all that comes to it
stays; zones, and the ball that holds the sculpture, do not meet, and neither does a module that is
carried round the outside pass through another table's zone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..results import Build
from .covers import Cover, joined
from .flights import AIR, by_hand, fly_in
from .tracks import STILL, Track, matrix_of, turned_between

__all__ = ["Tables", "tables_of"]

Floats = npt.NDArray[np.float64]

_MOST = 1  # tables in the picture: a second one would make it twice as wide
_LOOKS = 24
_SHORTER = (1.0, 0.8, 0.6, 0.45, 0.3, 0.2, 0.1)  # of a first leg that would pass through a zone


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """count : of tables; middles : (count, 3) mm; zone : mm, radius; poses, place : by module.

    poses : turn (4,) and shift (3,) of a module from its place in the design; place : its table
    """

    count: int
    middles: Floats
    zone: float
    poses: dict[int, tuple[Floats, Floats]]
    place: dict[int, int]

    def kept_clear(self, way: Track, body: Cover) -> Track:
        """Return a way in that begins nearer, if it would pass through a table's zone."""
        if not self.count:
            return way
        for share in _SHORTER:
            nearer = way.shifts.copy()
            nearer[0] = nearer[1] + share * (nearer[0] - nearer[1])
            shorter = Track(way.times, nearer, way.turns, way.kinds)
            moments = np.linspace(way.times[0], way.times[-1], _LOOKS)
            shifts, turns = shorter.many(moments)
            places = turns @ body.centre + shifts
            gaps = np.linalg.norm(places[:, None] - self.middles[None], axis=2)
            if float(gaps.min()) > body.reach + self.zone + AIR:
                return shorter
        return shorter


def tables_of(build: Build, covers: Sequence[Cover], whole: Cover) -> Tables:
    """Place the tables of a plan; none if no module is put together apart."""
    order = list(dict.fromkeys(step.module for step in build.steps if step.module is not None))
    if not order:
        return Tables(0, np.zeros((0, 3)), 0.0, {}, {})
    count = min(_MOST, build.design.assembly.teams, len(order))
    there: dict[int, list[int]] = {m: [] for m in order}  # some of a module's plates come later
    for step in build.steps:
        if step.module is not None:
            there[step.module] += step.add
    middles = {m: joined([covers[p] for p in there[m]]) for m in order}
    zone = max(_reach(build, covers, m, middles[m]) for m in order)
    largest = max(cover.reach for cover in middles.values())
    # A module that goes round needs its own breadth between the sculpture and another's zone.
    away = whole.reach + zone + AIR + (2 * largest + AIR if count > 1 else 0.0)
    angles = np.pi * np.arange(count)  # to the right, to the left
    level = whole.centre[2] - 0.3 * whole.reach
    places = np.column_stack(
        [
            whole.centre[0] + away * np.cos(angles),
            whole.centre[1] + away * np.sin(angles),
            np.full(count, level),
        ]
    )
    poses, place = {}, {}
    for k, m in enumerate(order):
        outward = middles[m].centre - whole.centre
        length = float(np.linalg.norm(outward))
        up = np.array([0.0, 0.0, 1.0])
        turn = turned_between(outward / length, up) if length > 1e-6 else STILL.copy()
        place[m] = k % count
        poses[m] = (turn, places[k % count] - matrix_of(turn) @ middles[m].centre)
    return Tables(count, places, zone, poses, place)


def _reach(build: Build, covers: Sequence[Cover], module: int, middle: Cover) -> float:
    """Return the radius of the ball about a module in which all its plates fly, mm."""
    found = middle.reach
    there: list[int] = []
    for step in build.steps:
        if step.module != module:
            continue
        body = joined([covers[p] for p in step.add])
        standing = joined([covers[p] for p in there]) if there else None
        way = (
            fly_in(step, body, standing, close_by=True)
            if step.free or standing is None
            else by_hand(body, standing)
        )
        seen = [body.moved_middle(*one) for one in zip(way.turns, way.shifts, strict=True)]
        far = np.linalg.norm(np.array(seen) - middle.centre, axis=1).max()
        found = max(found, float(far) + body.reach)
        there += step.add
    return found
