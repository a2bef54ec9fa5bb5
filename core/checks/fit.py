# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The fit table: the joints go in with the thickest sheet and hold with the thinnest.

Parts are cut once, for the sheet's nominal thickness; what is delivered is a little thinner or
thicker, and a coating thickens every face and narrows every slot. Both plates of a joint come from
one sheet, so both are thick, or both are thin.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ..design.model import Corners, JointKind, Lock, Sheet
from ..fit.lock import Delivered, LockRoom
from ..fit.plain_corners import PlainSlot
from ..fit.section import Crossing, half_band, slot_width
from ..fit.sizes import Sizes
from ..fit.tenon import lock_room
from ..joints.classes import JointClass
from ..results import Check

__all__ = ["FitRow", "check_fit", "fit_rows", "most_rattle"]

_SHOWN = 12  # places named in a finding
_ROUNDING = 1e-6  # mm


@dataclass(frozen=True, slots=True)
class FitRow:
    """What is left free in one kind of joint, mm; below 0 it does not go in.

    joint : a name in words; angle_deg : between the planes
    thickness : of the sheet as delivered, uncoated
    across : of the slot's width, in all; along : of its length, None for a cross-lap
    lock : of what locks the tab, along it: pin, link, tie or bent end to the far face; of a wedge,
        by how much it can still give way; of a foot's tab, to the floor
    hole : of what goes through the tab's hole, None where nothing does
    locked : by which lock; None for a cross-lap
    sideways : the tab's way along the slot when it is drawn back to its lock: all of `along`, but
        where the rounded root of a tab fills a longer slot; None for a cross-lap
    """

    joint: str
    angle_deg: float
    thickness: float
    across: float
    along: float | None
    lock: float | None
    hole: float | None
    locked: Lock | None = None
    sideways: float | None = None

    @property
    def moves(self) -> float:
        """The most that the tab moves in its slot, across it or along, mm."""
        return self.across if self.sideways is None else max(self.across, self.sideways)

    @property
    def least(self) -> float:
        """The least of all, mm."""
        return min(
            room for room in (self.across, self.along, self.lock, self.hole) if room is not None
        )


def fit_rows(
    joints: Iterable[tuple[str, JointKind, float, Lock | None]], sheet: Sheet, sizes: Sizes
) -> list[FitRow]:
    """Return rows for each joint: the thickest sheet and the thinnest, one where both are one.

    joints : name, kind, angle between the planes in degrees, and what locks a tenon
    """
    least = sheet.thickness if sheet.least_thickness is None else sheet.least_thickness
    most = sheet.thickness if sheet.most_thickness is None else sheet.most_thickness
    return [
        _row(name, kind, angle, lock, thickness, sheet.coating, sizes)
        for name, kind, angle, lock in joints
        for thickness in dict.fromkeys((most, least))
    ]


def _row(
    name: str,
    kind: JointKind,
    angle_deg: float,
    lock: Lock | None,
    thickness: float,
    coating: float,
    sizes: Sizes,
) -> FitRow:
    """Work out one row: parts of the nominal sheet's outlines, cut from another sheet and coated.

    Slots are two coatings narrower and tabs two wider; a thicker sheet fills a wider band. What is
    left of the lock its own formulas tell (core/fit/).
    """
    t, coated = sizes.thickness, thickness + 2 * coating
    band = half_band(coated, coated, angle_deg)
    width = slot_width(t, t, angle_deg, sizes.clearance)
    across = width - 2 * coating - 2 * band
    if kind is not JointKind.TENON:
        return FitRow(name, angle_deg, thickness, across, None, None, None)
    kept = sizes.lock if lock is None else lock
    delivered = Delivered(Crossing(t, t, angle_deg), Crossing(coated, coated, angle_deg), coating)
    along = sideways = 2 * sizes.clearance - 4 * coating
    if sizes.tool > 0.0 and sizes.corners is Corners.PLAIN:
        slot = PlainSlot(delivered, sizes)
        along = slot.straight
        delivered = replace(delivered, seat=slot.seat)
        room = lock_room(kept, delivered, sizes, sizes.tab_width)
        sideways = slot.way(_drawn_back(kept, room))
    else:
        room = lock_room(kept, delivered, sizes, sizes.tab_width)
    return FitRow(name, angle_deg, thickness, across, along, room.far, room.hole, kept, sideways)


def _drawn_back(kept: Lock, room: LockRoom) -> float:
    """Return how far a tab can be drawn back before its lock stops it, mm.

    A pin slides in its hole first. A wedge is driven home, and a foot is held by the weight.
    """
    if kept in (Lock.WEDGE, Lock.FOOT):
        return 0.0
    slides = (room.hole or 0.0) / 2 if kept in (Lock.PIN, Lock.TWO_PINS) else 0.0
    return room.far + slides


def most_rattle(sizes: Sizes, chosen: float | None) -> float:
    """Return the most that a tab may move in its slot, mm.

    Where the design says nothing, half the sheet's thickness (common practice, no published
    source), or four clearances if that is more.
    """
    return max(sizes.thickness / 2, 4 * sizes.clearance) if chosen is None else chosen


def check_fit(
    classes: Sequence[JointClass], sheet: Sheet, sizes: Sizes, rattle: float | None
) -> Check:
    """Every joint goes in with the thickest sheet, and with the thinnest rattles no more than told.

    rattle : as the design has it, mm
    """
    crossing = (c for c in classes if c.splice is None)  # a splice lies in one sheet
    locks = (
        (c.name, c.kind, c.angle_deg, None if c.tenon is None else c.tenon.lock.kind)
        for c in crossing
    )
    rows = fit_rows(locks, sheet, sizes)
    if not rows:
        return Check("fit", True, 0.0, "mm", 0.0, "there are no joints")
    most = most_rattle(sizes, rattle)
    tight = sorted((row for row in rows if row.least < -_ROUNDING), key=lambda row: row.least)
    loose = sorted((row for row in rows if row.moves > most + _ROUNDING), key=_looseness)
    figure = min(row.least for row in rows)
    text = f"the tightest joint has {figure:.2f} mm of room, the loosest tab moves "
    text += f"{max(row.moves for row in rows):.2f} mm of {most:g} mm allowed"
    where = [f"{row.joint}, sheet of {row.thickness:g} mm: {_tightness(row)}" for row in tight]
    where += [f"{row.joint}, sheet of {row.thickness:g} mm: {_loose(row)}" for row in loose]
    ok = not tight and not loose
    remedy = "" if ok else _REMEDY
    return Check("fit", ok, figure, "mm", 0.0, text, tuple(where[:_SHOWN]), remedy)


_REMEDY = (
    "Measure the sheet and say its true thickness; tight: more clearance, play or a thinner "
    "coating; loose: less clearance, or sheet of a closer tolerance; along a slot with rounded "
    "corners: less play of the pins, a thinner tool or dog-bones."
)
_LOCKED = {
    Lock.PIN: ("pin does not clear the far face", "pin's hole is too small"),
    Lock.TWO_PINS: ("pins do not clear the far face", "pins' holes are too small"),
    Lock.WEDGE: ("wedge does not go in far enough to hold", "wedge is too thick for its hole"),
    Lock.BENT: ("bent end does not clear the slot's edge", ""),
    Lock.TIE: ("cable tie does not clear the far face", "tie's hole is too small"),
    Lock.LINK: ("chain link does not clear the far face", "link's hole is too small"),
    Lock.FOOT: ("tab stands out of its base plate", ""),
}


def _looseness(row: FitRow) -> float:
    return -row.moves


def _loose(row: FitRow) -> str:
    if row.moves == row.across:
        return f"moves {row.across:.2f} mm"
    return f"moves {row.moves:.2f} mm along its slot when drawn back to its lock"


def _tightness(row: FitRow) -> str:
    far, hole = _LOCKED.get(row.locked, ("", "")) if row.locked is not None else ("", "")
    rooms = {
        "slot is too narrow": row.across,
        "slot is too short": row.along,
        far: row.lock,
        hole: row.hole,
    }
    name = min((n for n, room in rooms.items() if room == row.least), key=len)
    return f"the {name}, by {-row.least:.2f} mm"
