# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A tab of plate A through a slot of plate B, locked by a pin on B's far side.

All formulas come from one section square to the line in which the two mid-planes cross. There, with
x along A's plane and z along A's normal, plate B is the strip |x sin - z cos| <= s/2 and the sheet
of A is |z| <= t/2.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from ..errors import DesignError
from .sizes import LEAST_ANGLE_DEG, Sizes

__all__ = ["TenonSizes", "check_angle", "half_band", "slot_width", "tenon_sizes"]


@dataclass(frozen=True, slots=True)
class TenonSizes:
    """Sizes of one tenon, mm; distances count from the line along A, away from A's body.

    shoulder : A's body stops this far before the line
    slot_length, slot_width : of the slot in B, along the line and square to it, clearance included
    pin_centre : beyond the line; tab_end : beyond the line
    """

    tab_width: float
    shoulder: float
    slot_length: float
    slot_width: float
    pin_centre: float
    hole_diameter: float
    tab_end: float


def half_band(t: float, s: float, angle_deg: float) -> float:
    """Half-width in A's plane of the band that B (thickness s) fills over A's thickness t.

    The union over |z| <= t/2 of (z cos +- s/2)/sin.
    """
    angle = radians(angle_deg)
    return s / 2 / sin(angle) + t / 2 * abs(cos(angle) / sin(angle))


def slot_width(t: float, s: float, angle_deg: float, clearance: float) -> float:
    """Width of a slot, cut square to a sheet of thickness s, that a plate of thickness t passes."""
    return 2 * half_band(s, t, angle_deg) + 2 * clearance


def tenon_sizes(sizes: Sizes, angle_deg: float, tab_width: float, field: str) -> TenonSizes:
    """Work out one tenon between two plates of the design's sheet.

    angle_deg : between the planes, 30 to 90. The pin (half length H, radius r) clears B's far face
    by `pin_play`: its centre lies at r + play + (s/2 + H cos)/sin beyond the line.
    Raises DesignError, naming `field`, below the least angle.
    """
    check_angle(angle_deg, field)
    t = sizes.thickness
    angle = radians(angle_deg)
    radius = sizes.pin_diameter / 2
    reach = (t / 2 + sizes.pin_length / 2 * abs(cos(angle))) / sin(angle)
    centre = radius + sizes.pin_play + reach
    return TenonSizes(
        tab_width=tab_width,
        shoulder=half_band(t, t, angle_deg),
        slot_length=tab_width + 2 * sizes.clearance,
        slot_width=slot_width(t, t, angle_deg, sizes.clearance),
        pin_centre=centre,
        hole_diameter=sizes.hole_diameter,
        tab_end=centre + sizes.hole_diameter / 2 + sizes.web,
    )


def check_angle(angle_deg: float, field: str) -> None:
    """Raise DesignError, naming `field`, when two plates cross too obliquely for a cut joint."""
    if angle_deg < LEAST_ANGLE_DEG - 1e-6:
        raise DesignError(
            field,
            round(angle_deg, 3),
            f"an angle of {LEAST_ANGLE_DEG:g} to 90 deg between the two planes",
            "Below that the slot is too wide to hold and the tab a blade: turn or move a plane.",
        )
