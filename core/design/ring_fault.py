# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is wrong with an outline, in plain words."""

from __future__ import annotations

from typing import Final

import shapely
from shapely import Polygon

__all__ = ["ring_fault"]

#: By the reasons of the simple-features rules, as the GEOS library words them.
_WORDS: Final = {
    "Self-intersection": "it crosses itself",
    "Ring Self-intersection": "it touches itself",
    "Hole lies outside shell": "a hole lies outside the outline",
    "Holes are nested": "a hole lies inside another",
    "Nested shells": "an outline lies inside another",
    "Interior is disconnected": "holes cut it apart",
    "Duplicate Rings": "two rings are one",
    "Too few points in geometry component": "a ring has too few points",
}


def ring_fault(polygon: Polygon) -> str:
    """Return what makes a polygon no sound outline, and where in its own coordinates, mm.

    Empty for a sound one.
    """
    if polygon.is_valid:
        return ""
    said = str(shapely.is_valid_reason(polygon))
    reason, _, place = said.partition("[")
    numbers = [float(word) for word in place.rstrip("]").split()]
    where = f" at ({numbers[0]:.1f}, {numbers[1]:.1f})" if len(numbers) >= 2 else ""
    reason = reason.strip()
    return _WORDS.get(reason, reason.lower()) + where
