# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A tab locked by its own end, bent flat against B's far face: thin metal, card.

The end turns by the angle of the joint, to the side on which the far face leans over the tab (z >
0), about an arc of inner radius R that begins at the fold. What stops it is the slot's edge on
the far face, at the height d = clearance . sin over the tab's face: there the bent end stands f(d)
beyond the fold, f = sqrt(R^2 - (R - d)^2) on the arc, which ends at the height R (1 - cos), and
along the far face's own slope from there on. Everywhere else B is farther away: the arc is steeper
than the far face, and along the wall of the slot B falls back. So the fold lies f(d) before that
edge, and the clearance beyond.

At 90 degrees the end is a hook; at 30 it leans back little, and holds as much less.
Flat, a bend by the angle a takes up a (R + k t/2), k = 0.65 + lg(R/t)/2, at most 1 (DIN 6935,
from memory).
"""

from __future__ import annotations

from math import ceil, cos, log10, pi, radians, sin, sqrt
from typing import Final

from shapely import Polygon

from ..design.model import Lock
from .lock import Block, Delivered, LockRoom, LockSizes, locked_by_blocks
from .section import Crossing, half_band
from .sizes import Sizes

__all__ = ["bent_lock", "bent_room", "flat_length"]

_STEPS: Final = 30  # chords of a quarter turn: right to 0.01 mm where the arc is nearly flat
#: Beyond its arc the end lies on the far face for two thicknesses, at least so many mm (common
#: practice, no published source).
_LEAST_HOLD: Final = 3.0


def bent_lock(crossing: Crossing, sizes: Sizes, tab_width: float) -> LockSizes:
    """Return the lock by the tab's own end, bent over its whole width."""
    t, radius, play = crossing.t, sizes.bend_radius, sizes.clearance
    edge = half_band(crossing.s, t, crossing.angle_deg) + sizes.clearance
    fold = _nearest_fold(crossing, edge, radius) + play
    straight = max(2 * t, _LEAST_HOLD)
    section = _bent(t, radius, fold, straight, radians(crossing.angle_deg))
    return locked_by_blocks(
        Lock.BENT,
        fold + flat_length(t, radius, crossing.angle_deg) + straight,
        play,
        (),
        [Block("bent end", section, tab_width, own=True)],
        fold,
    )


def bent_room(delivered: Delivered, sizes: Sizes, tab_width: float) -> LockRoom:
    """Return what a bent end has left: its fold stands with the tab, the slot's edge with B."""
    drawn = half_band(delivered.nominal.s, delivered.nominal.t, delivered.nominal.angle_deg)
    edge, radius = drawn + sizes.clearance, sizes.bend_radius
    fold = _nearest_fold(delivered.nominal, edge, radius) + sizes.clearance
    nearest = _nearest_fold(delivered.real, delivered.edge(sizes.clearance), radius)
    return LockRoom(fold - delivered.back - nearest)


def _nearest_fold(crossing: Crossing, edge: float, radius: float) -> float:
    """Return how near to the line the fold can be; edge : half the slot's width, mm."""
    y, z = crossing.place(edge, 0.0)
    height = max(z - crossing.t / 2, 0.0)
    on_arc = min(height, radius * (1 - crossing.cos))
    ahead = sqrt(max(radius**2 - (radius - on_arc) ** 2, 0.0))
    return y - ahead - (height - on_arc) * crossing.cos / crossing.sin


def flat_length(t: float, radius: float, angle_deg: float) -> float:
    """Return the flat length of a bend by an angle, of inner `radius`, in a sheet t, mm."""
    share = min(max(0.65 + log10(radius / t) / 2, 0.0), 1.0) if radius > 0 else 0.0
    return radians(angle_deg) * (radius + share * t / 2)


def _bent(t: float, radius: float, fold: float, straight: float, angle: float) -> Polygon:
    """Return the section (y, z) of what is bent: an arc by `angle` (rad), then straight."""
    middle = t / 2 + radius
    outer = _arc(fold, middle, radius + t, angle)
    inner = _arc(fold, middle, radius, angle) if radius > 0 else [(fold, middle)]
    way = (straight * cos(angle), straight * sin(angle))
    ends = [(y + way[0], z + way[1]) for y, z in (outer[-1], inner[-1])]
    return Polygon([*outer, *ends, *inner[::-1]])


def _arc(y: float, z: float, radius: float, angle: float) -> list[tuple[float, float]]:
    """Return the tangent polygon of an arc about (y, z) from its lowest point on, by `angle`."""
    steps = max(2, ceil(max(_STEPS, radius) * angle / (pi / 2)))
    half = angle / steps / 2
    far = radius / cos(half)
    turns = [half * (2 * k + 1) for k in range(steps)]
    points = [(y + far * sin(a), z - far * cos(a)) for a in turns]
    return [(y, z - radius), *points, (y + radius * sin(angle), z - radius * cos(angle))]
