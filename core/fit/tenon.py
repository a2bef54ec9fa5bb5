# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A tab of plate A, or two side by side, through plate B and locked on B's far side.

All formulas come from one section square to the line in which the two mid-planes cross
(`core/fit/section.py`); what locks the tab is told by its lock (`core/fit/lock.py`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from ..design.model import Lock
from ..errors import DesignError
from .bend import bent_lock, bent_room
from .foot import foot_lock, foot_room
from .link import link_lock, link_room
from .lock import Delivered, LockRoom, LockSizes, cut_width
from .pins import one_pin, pin_room, two_pins
from .section import Crossing, check_angle, half_band, slot_width
from .sizes import Sizes
from .tie import tie_lock, tie_room
from .wedge import wedge_lock, wedge_room

__all__ = [
    "TenonChoice",
    "TenonSizes",
    "check_angle",
    "half_band",
    "lock_room",
    "slot_width",
    "tenon_sizes",
]

_LOCKS: Final[dict[Lock, Callable[[Crossing, Sizes, float], LockSizes]]] = {
    Lock.PIN: one_pin,
    Lock.TWO_PINS: two_pins,
    Lock.WEDGE: wedge_lock,
    Lock.BENT: bent_lock,
    Lock.TIE: tie_lock,
    Lock.LINK: link_lock,
    Lock.FOOT: foot_lock,
}


_ROOMS: Final[dict[Lock, Callable[[Delivered, Sizes, float], LockRoom]]] = {
    Lock.PIN: pin_room,
    Lock.TWO_PINS: pin_room,
    Lock.WEDGE: wedge_room,
    Lock.BENT: bent_room,
    Lock.TIE: tie_room,
    Lock.LINK: link_room,
    Lock.FOOT: foot_room,
}


def lock_room(kind: Lock, delivered: Delivered, sizes: Sizes, tab_width: float) -> LockRoom:
    """Return what a lock has left in a sheet of another thickness than it was drawn for."""
    return _ROOMS[kind](delivered, sizes, tab_width)


@dataclass(frozen=True, slots=True)
class TenonChoice:
    """What a joint class says of its tenon; None: as the design's sizes have it.

    tabs : 1 or 2; spacing : of two tabs, middle to middle, mm
    room : width of the plate that they grow on, mm; None: not known
    other : thickness of the slotted plate, mm; None: the tab's own
    """

    tab_width: float | None = None
    lock: Lock | None = None
    tabs: int = 1
    spacing: float | None = None
    room: float | None = None
    other: float | None = None


@dataclass(frozen=True, slots=True)
class TenonSizes:
    """Sizes of one tenon, mm; distances count from the line along A, away from A's body.

    shoulder : A's body stops this far before the line
    slot_length, slot_width : of each slot in B, along the line and square to it, clearance included
    pin_centre : of the lock, beyond the line; tab_end : beyond the line
    hole_diameter : of a pin's hole
    places : middles of the tabs along the line, about the joint's centre
    lock : of each tab
    """

    tab_width: float
    shoulder: float
    slot_length: float
    slot_width: float
    pin_centre: float
    hole_diameter: float
    tab_end: float
    places: tuple[float, ...]
    lock: LockSizes


def tenon_sizes(
    sizes: Sizes, angle_deg: float, tab_width: float, field: str, choice: TenonChoice | None = None
) -> TenonSizes:
    """Work out one tenon between two plates.

    angle_deg : between the planes, 30 to 90; tab_width : of each tab where `choice` has none, mm
    Raises DesignError, naming `field`, below the least angle, and when the tabs are too narrow for
    their lock or too wide for their plate.
    """
    check_angle(angle_deg, field)
    chosen = TenonChoice() if choice is None else choice
    t = sizes.thickness
    crossing = Crossing(t, t if chosen.other is None else chosen.other, angle_deg)
    width = tab_width if chosen.tab_width is None else chosen.tab_width
    lock, width = _locked(crossing, sizes, chosen, width, field)
    places = _places(sizes, chosen, width, field)
    return TenonSizes(
        tab_width=width,
        shoulder=half_band(t, crossing.s, angle_deg),
        slot_length=width + 2 * sizes.clearance,
        slot_width=slot_width(t, crossing.s, angle_deg, sizes.clearance),
        pin_centre=lock.centre,
        hole_diameter=sizes.hole_diameter,
        tab_end=lock.end,
        places=places,
        lock=lock,
    )


def _locked(
    crossing: Crossing, sizes: Sizes, chosen: TenonChoice, width: float, field: str
) -> tuple[LockSizes, float]:
    """Return the lock of one tab, and the tab's width: where the design leaves it open, as needed.

    Two tabs on a plate of known width leave it room for a web beside and between their slots.
    """
    kind = sizes.lock if chosen.lock is None else chosen.lock
    make = _LOCKS[kind]
    free = chosen.tab_width is None and not sizes.tab_chosen
    if free and chosen.tabs > 1 and chosen.room is not None:
        width = min(width, (chosen.room - 3 * sizes.web - 4 * sizes.clearance) / 2)
    lock = make(crossing, sizes, width)
    least = cut_width(lock.cuts, sizes.web)
    if width >= least - 1e-9 or (kind is Lock.PIN and chosen.tabs == 1):
        return lock, width  # a single pin's web is judged by the checks, like every other web
    if free:
        return make(crossing, sizes, least), least
    raise DesignError(
        f"{field}.tab_width" if chosen.tab_width is not None else "joints.tab_width",
        width,
        f"at least {least:g} mm: {' and '.join(cut.kind for cut in lock.cuts)}, with webs",
        "Widen the tab, or take a smaller web or another lock.",
    )


def _places(sizes: Sizes, chosen: TenonChoice, width: float, field: str) -> tuple[float, ...]:
    """Return where the middles of the tabs stand along the line.

    Two tabs T on a plate of width W leave three equal lengths of shoulder when they stand (W + T)/3
    apart; without a known width they stand two tabs apart, middle to middle.
    """
    if chosen.tabs == 1:
        return (0.0,)
    spacing = chosen.spacing
    if spacing is None:
        spacing = 2 * width if chosen.room is None else (chosen.room + width) / 3
    least = width + 2 * sizes.clearance + sizes.web
    most = float("inf") if chosen.room is None else chosen.room - width
    if not least - 1e-9 <= spacing <= most + 1e-9:
        bound = f" and at most {most:g}" if most < float("inf") else ""
        raise DesignError(
            f"{field}.tab_spacing",
            round(spacing, 3),
            f"at least {least:g}{bound} mm for two tabs of {width:g} mm: a web between their "
            "slots, and both on their plate",
            "Narrow the tabs, widen the strip, or take one tab.",
        )
    return (-spacing / 2, spacing / 2)
