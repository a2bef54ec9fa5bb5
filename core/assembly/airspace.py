# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Bodies in flight at the same time keep apart: whoever comes too near to another waits."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .covers import Cover, nearest
from .flights import AIR
from .tracks import Track

__all__ = ["Airspace"]

_LOOKS = 16  # moments at which two flights are compared, over the time that both are in the air
_WAIT = 0.12  # of a flight's length, by which a start is put off


@dataclass(slots=True)
class Airspace:
    """All flights that are settled."""

    flights: list[tuple[Track, Cover]] = field(default_factory=list)

    def add(self, flight: Track, body: Cover) -> None:
        """Settle a flight."""
        self.flights.append((flight, body))

    def clear_from(self, way: Track, body: Cover, length: float, start: float) -> float:
        """Return the first start at which a body (own time 0 to 1) meets no settled flight."""
        while True:
            flight = way.timed(start, length)
            met = [
                other
                for other, cover in self.flights
                if other.times[-1] > start
                and other.times[0] < start + length
                and _meet(flight, body, other, cover)
            ]
            if not met:
                return start
            start += _WAIT


def _meet(a: Track, body_a: Cover, b: Track, body_b: Cover) -> bool:
    """Tell whether two bodies may touch while both are in the air."""
    begin, end = max(a.times[0], b.times[0]), min(a.times[-1], b.times[-1])
    for moment in np.linspace(begin, end, _LOOKS):
        pose_a, pose_b = a.pose(moment), b.pose(moment)
        gap = (pose_a[:3, :3] @ body_a.centre + pose_a[:3, 3]) - (
            pose_b[:3, :3] @ body_b.centre + pose_b[:3, 3]
        )
        if float(np.linalg.norm(gap)) > body_a.reach + body_b.reach + AIR:
            continue
        balls_a = body_a.moved(pose_a[:3, 3], pose_a[:3, :3])
        balls_b = body_b.moved(pose_b[:3, 3], pose_b[:3, :3])
        if nearest(balls_a, body_a.radii, balls_b, body_b.radii) < AIR:
            return True
    return False
