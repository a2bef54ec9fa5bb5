# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The section square to the line in which two mid-planes cross: where all sizes come from.

There, with y along plate A's plane, away from its body, and z along A's normal, plate B is the
strip |y sin - z cos| <= s/2 and the sheet of A is |z| <= t/2. z is taken to the side on which B's
far face lies farther away, so cos is never negative.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from ..errors import DesignError

__all__ = ["LEAST_ANGLE_DEG", "Crossing", "check_angle", "half_band", "slot_width"]

#: Plates that cross at less are refused: slot and shoulder grow as 1/sin (common practice, no
#: published source; at 30 degrees a slot is already 3.7 times as wide as the sheet is thick).
LEAST_ANGLE_DEG = 30.0


@dataclass(frozen=True, slots=True)
class Crossing:
    """Plate A (thickness t, with the tab) and plate B (thickness s, with the slot), mm."""

    t: float
    s: float
    angle_deg: float

    @property
    def sin(self) -> float:
        """Sine of the angle between the planes."""
        return sin(radians(self.angle_deg))

    @property
    def cos(self) -> float:
        """Cosine of the angle between the planes, never below 0."""
        return abs(cos(radians(self.angle_deg)))

    def far_face(self, z: float) -> float:
        """Return how far beyond the line B's far face lies at height z, mm."""
        return (self.s / 2 + z * self.cos) / self.sin

    def place(self, along: float, off: float) -> tuple[float, float]:
        """Return (y, z) of a point `along` B's far face (leaning side positive), `off` it, mm."""
        depth = self.s / 2 + off
        return depth * self.sin + along * self.cos, along * self.sin - depth * self.cos


def half_band(t: float, s: float, angle_deg: float) -> float:
    """Half-width in A's plane of the band that B (thickness s) fills over A's thickness t.

    The union over |z| <= t/2 of (z cos +- s/2)/sin.
    """
    angle = radians(angle_deg)
    return s / 2 / sin(angle) + t / 2 * abs(cos(angle) / sin(angle))


def slot_width(t: float, s: float, angle_deg: float, clearance: float) -> float:
    """Width of a slot, cut square to a sheet of thickness s, that a plate of thickness t passes."""
    return 2 * half_band(s, t, angle_deg) + 2 * clearance


def check_angle(angle_deg: float, field: str) -> None:
    """Raise DesignError, naming `field`, when two plates cross too obliquely for a cut joint."""
    if angle_deg < LEAST_ANGLE_DEG - 1e-6:
        raise DesignError(
            field,
            round(angle_deg, 3),
            f"an angle of {LEAST_ANGLE_DEG:g} to 90 deg between the two planes",
            "Below that the slot is too wide to hold and the tab a blade: turn or move a plane.",
        )
