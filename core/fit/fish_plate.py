# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Two strips end to end in one plane under a fish plate: a plate of the same sheet, four pins.

The strips butt, one clearance apart. The plate lies flat on both, and two pins in a row through
plate and strip hold each; two, so that the strips cannot turn against each other in the plane. With
d the hole's diameter, the holes' middles stand

    e = max(1.2 d, d/2 + web) from every end and edge,    p = max(2.2 d, d + web) from each other

(1.2 d and 2.2 d: least end and edge distance and least spacing of EN 1993-1-8, table 3.3, from
memory; the webs are the design's own). Each pin has half its hole's play in strip and plate, so
that a strip moves by the hole's play against the plate and by twice that against the other strip.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import cos, pi, sin

from shapely import Polygon

from ..errors import DesignError
from .lock import Block
from .sizes import Sizes

__all__ = ["FishPlateSizes", "fish_plate_sizes"]

_EDGE, _SPACING = 1.2, 2.2
_CORNERS = 32


@dataclass(frozen=True, slots=True, eq=False)
class FishPlateSizes:
    """One splice by a fish plate, mm. x runs across the strips, y out of the first one's end.

    pins : places along y of the pins, rising: two in the first strip, two in the second
    hole : diameter; start, end : of the plate along y; breadth : of the plate
    width : of the wider strip; clearance : between the ends; play : the way apart, and nearly so
        together, that the pins allow
    shift : of the row of pins from the strips' middle line, along x
    side : +1 when the plate lies on the side that the first strip's normal shows, -1 on the other
    block : the plate as a solid, its section in (y, x)
    """

    pins: tuple[float, ...]
    hole: float
    start: float
    end: float
    breadth: float
    width: float
    clearance: float
    play: float
    thickness: float
    shift: float
    side: int
    block: Block = field(repr=False)

    @property
    def room(self) -> float:
        """How far from the strips' ends the joint reaches, mm."""
        return max(self.end, -self.start)

    def gap(self) -> Polygon:
        """Return what is cut from the second strip's end."""
        wide = self.width / 2 + 1.0
        c = self.clearance
        return Polygon([(-wide, -1.0), (wide, -1.0), (wide, c), (-wide, c)])


def fish_plate_sizes(
    sizes: Sizes, widths: tuple[float, float], name: str, shift: float, side: int
) -> FishPlateSizes:
    """Work out the splice of two strips of these widths, mm.

    name : of the field of the joint class, for errors

    Raises DesignError when the strips are too narrow for the pins, or these too short.
    """
    t, c, d, width = sizes.thickness, sizes.clearance, sizes.hole_diameter, min(widths)
    edge, pitch = max(_EDGE * d, d / 2 + sizes.web), max(_SPACING * d, d + sizes.web)
    if width < 2 * edge - 1e-9:
        raise DesignError(
            f"{name}.motifs",
            width,
            f"strips at least {2 * edge:.1f} mm wide: a pin's hole and its distance to both edges",
            "Widen the strips, or take thinner pins.",
        )
    if abs(shift) > width / 2 - edge + 1e-9:
        most = width / 2 - edge
        raise DesignError(
            f"{name}.at",
            shift,
            f"from {-most:.2f} to {most:.2f} mm: beyond that the pins come too near to an edge",
            "Shift the pins less.",
        )
    if sizes.pin_length < 2 * t + 2.0 - 1e-9:
        raise DesignError(
            "joints.pin_length",
            sizes.pin_length,
            f"at least {2 * t + 2:g} mm: through strip and fish plate, and 1 mm more on each side",
            "Take longer pins.",
        )
    pins = (-edge - pitch, -edge, c + edge, c + edge + pitch)
    start, end = pins[0] - edge, pins[-1] + edge
    section = Polygon(
        [(start, -width / 2), (end, -width / 2), (end, width / 2), (start, width / 2)],
        [_round(y, shift, d / 2) for y in pins],
    )
    return FishPlateSizes(
        pins=pins,
        hole=d,
        start=start,
        end=end,
        breadth=width,
        width=max(widths),
        clearance=c,
        play=2 * sizes.hole_play,
        thickness=t,
        shift=shift,
        side=side,
        block=Block("fish plate", section, t, cut=True),
    )


def _round(x: float, y: float, radius: float) -> list[tuple[float, float]]:
    turns = [-2 * pi * k / _CORNERS for k in range(_CORNERS)]
    return [(x + radius * cos(turn), y + radius * sin(turn)) for turn in turns]
