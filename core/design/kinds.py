# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The lists that a design picks from, and the small records that many of its tables share."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = [
    "Bend",
    "Corners",
    "CutOut",
    "FaceShape",
    "JointKind",
    "Keys",
    "Lock",
    "Point",
    "SpliceKind",
    "StripStyle",
    "Turn",
    "Vector",
]

Vector = tuple[float, float, float]
Point = tuple[float, float]


class JointKind(StrEnum):
    """How two plates hold each other."""

    TENON = "tenon"
    CROSS_LAP = "cross-lap"
    SPLICE = "splice"  # end to end in one plane


class Lock(StrEnum):
    """What keeps a tab in its slot, on the far side."""

    PIN = "pin"
    TWO_PINS = "two pins"  # side by side: the tab cannot turn in its slot
    WEDGE = "wedge"  # of the same sheet, driven through the tab
    BENT = "bent end"  # of the tab itself: thin metal, card
    TIE = "cable tie"  # through the tab and round its end
    LINK = "chain link"  # a hang point: hole and webs are larger than a pin's
    FOOT = "foot"  # nothing: the tab ends in a base plate that lies on the floor


class SpliceKind(StrEnum):
    """What holds two strips end to end."""

    KEY = "dovetail key"
    FISH_PLATE = "fish plate"  # laid over both ends, with pins through them


class Corners(StrEnum):
    """What a round tool does where a part has to seat in an inner corner."""

    DOG_BONE = "dog-bone"  # a circle through the corner's point
    PLAIN = "plain"  # left round; slots and laps get the room that it takes


class Keys(StrEnum):
    """What keeps parts out of wrong places."""

    NONE = "none"
    TABS = "tabs"  # tabs of unequal widths, or shifted along their joints


class Bend(StrEnum):
    """How a strip's centre path goes round its corners."""

    SHARP = "sharp"  # mitred corners
    ROUND = "round"  # corners filleted with `bend_radius`
    SMOOTH = "smooth"  # one smooth curve through all points
    ARC = "arc"  # arcs of circles through all points, each touching the next


class CutOut(StrEnum):
    """Rows of holes along a strip's centre path, to make it lighter."""

    NONE = "none"
    ROUND = "round"
    SLOTTED = "slotted"  # long holes with round ends, along the path


class FaceShape(StrEnum):
    """The outline of a plate in a face of the frame."""

    RING = "ring"  # follows the face; straight sides beyond the edges
    STAR = "star"  # a point beyond each edge


@dataclass(frozen=True, slots=True)
class Turn:
    """A group element by its axis and its angle (deg, right-handed); angle 0 is the identity."""

    axis: Vector = (0.0, 0.0, 1.0)
    angle: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StripStyle:
    """How strips are shaped beyond their path and width, mm; see plates/widths.py, cut_outs.py.

    end_width : at both ends of the path, where the tabs grow; None: the strip's width
    taper : length along the path over which the width goes from one to the other; None: three
        times the wider of the two, or half of a shorter path
    cut_out : holes along the path; where joints are, the strip stays whole
    cut_size : their width across the strip; None: what two webs leave
    cut_length : of slotted ones; None: three times their width
    cut_web : least material beside them and between them; None: a quarter of the strip's width
    """

    end_width: float | None = None
    taper: float | None = None
    cut_out: CutOut = CutOut.NONE
    cut_size: float | None = None
    cut_length: float | None = None
    cut_web: float | None = None
