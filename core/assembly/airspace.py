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
    moments = np.linspace(begin, end, _LOOKS)
    shift_a, turn_a = a.many(moments)
    shift_b, turn_b = b.many(moments)
    gaps = (turn_a @ body_a.centre + shift_a) - (turn_b @ body_b.centre + shift_b)
    near = np.linalg.norm(gaps, axis=1) <= body_a.reach + body_b.reach + AIR
    for k in np.flatnonzero(near):
        balls_a = body_a.moved(shift_a[k], turn_a[k])
        balls_b = body_b.moved(shift_b[k], turn_b[k])
        if nearest(balls_a, body_a.radii, balls_b, body_b.radii) < AIR:
            return True
    return False
