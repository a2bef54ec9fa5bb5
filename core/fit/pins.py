# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A tab locked by one pin, or by two side by side: round, square to the tab, beyond the far face.

A pin (radius r, half length H) clears the far face by its play: with H <= z the face comes nearest
at z = H, so the pin's centre lies at r + play + (s/2 + H cos)/sin beyond the line.
"""

from __future__ import annotations

from ..design.model import Lock
from .lock import Cut, Delivered, LockRoom, LockSizes
from .section import Crossing
from .sizes import Sizes

__all__ = ["one_pin", "pin_room", "two_pins"]


def one_pin(crossing: Crossing, sizes: Sizes, tab_width: float) -> LockSizes:
    """Return the lock by a pin in the middle of the tab."""
    return _pins(crossing, sizes, (0.0,), Lock.PIN)


def two_pins(crossing: Crossing, sizes: Sizes, tab_width: float) -> LockSizes:
    """Return the lock by two pins that part the tab into three equal webs.

    A tab of width w with holes d at -+x has webs w/2 - x - d/2 beside and 2x - d between them:
    equal for x = (w + d)/6. Two pins keep a tab from turning in its slot.
    """
    x = (tab_width + sizes.hole_diameter) / 6
    return _pins(crossing, sizes, (-x, x), Lock.TWO_PINS)


def pin_room(delivered: Delivered, sizes: Sizes, tab_width: float) -> LockRoom:
    """Return what pins have left: they stand with the tab, and the far face lies farther out."""
    reach = sizes.pin_length / 2
    farther = delivered.real.far_face(reach) - delivered.nominal.far_face(reach)
    far = sizes.pin_play - delivered.back - farther
    return LockRoom(far, sizes.hole_play - 2 * delivered.coating)


def _pins(crossing: Crossing, sizes: Sizes, places: tuple[float, ...], kind: Lock) -> LockSizes:
    radius, reach = sizes.pin_diameter / 2, sizes.pin_length / 2
    centre = radius + sizes.pin_play + crossing.far_face(reach)
    hole = sizes.hole_diameter
    return LockSizes(
        kind=kind,
        end=centre + hole / 2 + sizes.web,
        centre=centre,
        half=radius,
        reach=reach,
        wide=places[-1] + radius,
        # The pin also slides in its hole before it stops the tab.
        play=sizes.pin_play + sizes.hole_play / 2,
        cuts=tuple(Cut("pin hole", x, centre, hole, hole, round=True) for x in places),
        pins=tuple((x, centre) for x in places),
    )
