# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Cross-laps: two plates in each other's open slots, split anywhere; three plates on one line.

At every height of the line one plate alone can be whole. Of two, one is whole below the split and
the other above it. Of three, the overlap is shared out in three stretches: the low plate is whole
in the first, the middle one in the second, the high one in the third. The middle one is slotted
from both ends, each of the others from one end, as deep as two stretches.

Each pair of the three is a cross-lap of its own; low and high, which never touch, are split where
the low stretch ends. A slot is as wide as the plate that passes it: where two pass, the wider one
counts (`joints/features.py: lap_groups`).
"""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import DesignError
from .section import slot_width

__all__ = ["Share", "lap_width", "three_on_a_line"]


@dataclass(frozen=True, slots=True)
class Share:
    """How a joint class of two of three plates is split.

    plates : which two of (low, middle, high) = (0, 1, 2); the first is a, the second b of the class
    outward, split : as in `JointClassChoice`, with a line that runs from low to high
    """

    plates: tuple[int, int]
    outward: int
    split: float


def lap_width(own: float, other: float, angle_deg: float, clearance: float) -> float:
    """Width of the slot in a plate of `own` mm for one of `other` mm, clearance included."""
    return slot_width(other, own, angle_deg, clearance)


def three_on_a_line(low: float = 1 / 3, high: float = 1 / 3) -> tuple[Share, Share, Share]:
    """Return the three splits for plates that share one overlap; `low`, `high` : kept by these.

    The middle plate keeps the rest. Raises DesignError when a plate keeps nothing.
    """
    if min(low, high, 1 - low - high) <= 0:
        raise DesignError(
            "split", (low, high), "shares above 0 that leave the middle plate a share too"
        )
    return (
        Share((1, 0), -1, low),  # the middle plate's slot for the low one opens downwards
        Share((1, 2), 1, high),
        Share((0, 2), 1, 1 - low),  # the low plate's slot opens upwards, from its own stretch on
    )
