# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A hang point: a chain link in place of the pin, in a larger hole with larger webs.

The link (rod d, inner width w) hangs in the plane square to the line, drawn straight out. It is
judged as a ring of square rod, never too small. Its end is half a ring about (y, 0) of radii w/2
and R = w/2 + d. It lies against B's far face at y = (s/2 + R)/sin, or, where it would touch that in
the mouth of the slot, against the slot's edges (y', z') at y = y' + sqrt(R^2 - z'^2). It keeps the
pin's play, and more where its hole would else begin in B's slot.

Within the tab, |z| <= t/2, the rod takes up b = w/2 + d - sqrt(w^2/4 - t^2/4) along the tab and d
along the line; the hole is a circle round that rectangle. The webs are those of a plate of given
hole d0 in EN 1993-1-8 table 3.9 (type B): 0.75 d0 beside it and 1.6 d0 from its middle to the end.
That table wants a pin that fills its hole and d0 <= 2.5 t: it is the shape that is taken over here,
no proof of strength.
"""

from __future__ import annotations

from math import cos, hypot, pi, sqrt
from typing import Final

from shapely import LineString

from ..design.model import Lock
from ..errors import DesignError
from .lock import Block, Cut, Delivered, LockRoom, LockSizes, locked_by_blocks
from .section import Crossing, half_band
from .sizes import Sizes

__all__ = ["link_lock", "link_room"]

_BESIDE: Final = 0.75  # of the hole, web to the sides (type B)
_BEYOND: Final = 1.6  # of the hole, from its middle to the end (type B)
_CORNERS: Final = 32  # of the polygon that stands for the hole, see outlines/corners.py
_ROUND: Final = 24  # chords of a quarter of the link's ends


def link_room(delivered: Delivered, sizes: Sizes, tab_width: float) -> LockRoom:
    """Return what a chain link has left: it swings in its hole as far out as the hole allows."""
    rod, inside = sizes.link_diameter, sizes.link_width / 2
    (cut,) = link_lock(delivered.nominal, sizes, tab_width).cuts
    hole = cut.width - 2 * delivered.coating
    half = delivered.real.t / 2
    if inside <= half or hole <= rod:
        return LockRoom(-hole, min(inside - half, hole - rod))
    chord = sqrt(inside**2 - half**2)
    nearest = _nearest(delivered.real, delivered.edge(sizes.clearance), inside + rod)
    middle = cut.y - delivered.back + chord + sqrt(hole**2 - rod**2) / 2
    depth = inside + rod - chord
    return LockRoom(middle - nearest, hole * cos(pi / _CORNERS) - hypot(depth, rod))


def _nearest(crossing: Crossing, edge: float, radius: float) -> float:
    """Return how near to the line the middle of the link's end can come, mm.

    edge : half the slot's width
    """
    flat = (crossing.s / 2 + radius) / crossing.sin
    if flat * crossing.cos >= edge:  # it touches the far face beside the slot
        return flat
    corners = [crossing.place(u, 0.0) for u in (-edge, edge)]
    return max(y + sqrt(max(radius**2 - z**2, 0.0)) for y, z in corners)


def link_lock(crossing: Crossing, sizes: Sizes, tab_width: float) -> LockSizes:
    """Return the lock by a chain link in the middle of the tab.

    Raises DesignError when the tab does not go into the link, or the link is too short to take the
    next one beyond the tab.
    """
    rod, inside = sizes.link_diameter, sizes.link_width / 2
    half = crossing.t / 2
    if inside < half + sizes.hole_play / 2:
        raise DesignError(
            "joints.link_width",
            2 * inside,
            f"at least {2 * half + sizes.hole_play:g} mm: the sheet and a play",
            "Take a wider link or a thinner sheet.",
        )
    chord = sqrt(inside**2 - half**2)
    depth = inside + rod - chord
    hole = hypot(depth, rod) / cos(pi / _CORNERS) + sizes.hole_play
    beside = max(sizes.web, _BESIDE * hole)
    edge = half_band(crossing.s, crossing.t, crossing.angle_deg) + sizes.clearance
    nearest = _nearest(crossing, edge, inside + rod)
    clear = crossing.far_face(half) + hole / 2 + chord + depth / 2
    middle = max(nearest + sizes.pin_play, clear)
    place = middle - chord - depth / 2
    cut = Cut("link hole", 0.0, place, hole, hole, round=True, more=beside - sizes.web)
    end = place + max(hole / 2 + sizes.web, _BEYOND * hole)
    least = end - (middle - inside) + rod + sizes.pin_play
    length = max(7 * rod, least) if sizes.link_length is None else sizes.link_length
    if length < least - 1e-9:
        raise DesignError(
            "joints.link_length",
            length,
            f"at least {least:.1f} mm inside: the web beyond the hole, and the next link's rod",
            "Take a longer link.",
        )
    spine = LineString([(middle, 0.0), (middle + length - 2 * inside, 0.0)])
    around = spine.buffer(inside + rod, quad_segs=_ROUND)
    ring = around.difference(spine.buffer(inside, quad_segs=_ROUND))
    play = middle - nearest + sqrt(hole**2 - rod**2) / 2 - depth / 2
    return locked_by_blocks(Lock.LINK, end, play, [cut], [Block("chain link", ring, rod)])
