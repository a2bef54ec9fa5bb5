# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What locks one tab beyond the far face: the cuts in the tab, the solids that hold it, its end.

Every kind of lock says the same four things, so that outlines, checks and records need not know
which kind it is. Coordinates are the tab's: x along the line from the tab's middle, y beyond the
line, z square to the tab, to the side on which the far face lies farther away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely import Polygon

from ..design.model import Lock
from .section import Crossing, half_band

__all__ = ["Block", "Cut", "Delivered", "LockRoom", "LockSizes", "cut_width", "locked_by_blocks"]


@dataclass(frozen=True, slots=True)
class Cut:
    """A closed hole in the tab, centred at (x, y), mm: `width` along x, `length` along y.

    round : a circle of diameter `width`
    more : material wanted round it beyond the design's web, mm
    """

    kind: str
    x: float
    y: float
    width: float
    length: float
    round: bool = False
    more: float = 0.0


@dataclass(frozen=True, slots=True)
class Block:
    """A prism that holds the tab: its section in (y, z), mm, runs along the line.

    x : its middle; thickness : along x, mm
    cut : it is cut from the sheet, like the plates; own : it is a piece of the tab itself
    """

    kind: str
    section: Polygon
    thickness: float
    x: float = 0.0
    cut: bool = False
    own: bool = False


@dataclass(frozen=True, slots=True)
class LockSizes:
    """How one tab is locked, mm.

    end : the tab's end, beyond the line (of a bent one, flat)
    centre, half, reach, wide : the solids stand at centre -+ half along y, within -+ reach along
        z and -+ wide along x
    play : the way that the tab can be drawn back before they stop it
    pins : places (x, y) of pins, whose axis is z
    fold : where the tab's end turns out of its plane, along y; None: it stays flat
    """

    kind: Lock
    end: float
    centre: float
    half: float
    reach: float
    wide: float
    play: float
    cuts: tuple[Cut, ...] = ()
    pins: tuple[tuple[float, float], ...] = ()
    blocks: tuple[Block, ...] = ()
    fold: float | None = None


@dataclass(frozen=True, slots=True)
class Delivered:
    """A joint in the sheet that was delivered; its parts are cut for the nominal sheet.

    nominal : the crossing that it was drawn for; real : the same with the sheet as it is, coating
    on both faces included; coating : k, mm, on every face and edge; seat : how far before the near
    face its shoulder stops for another reason, mm

    Slots and holes are 2 k narrower than drawn, tabs 2 k wider, every end k longer. A thicker sheet
    fills a wider band, so that the tab's shoulder stops earlier.
    """

    nominal: Crossing
    real: Crossing
    coating: float
    seat: float = 0.0

    @property
    def back(self) -> float:
        """By so much the tab's plate stands farther back than drawn, along the tab, mm."""
        fills = half_band(self.real.t, self.real.s, self.real.angle_deg)
        drawn = half_band(self.nominal.t, self.nominal.s, self.nominal.angle_deg)
        return fills - drawn + self.coating + self.seat

    def edge(self, clearance: float) -> float:
        """Return half the width of the slot as it is, mm."""
        drawn = half_band(self.nominal.s, self.nominal.t, self.nominal.angle_deg)
        return drawn + clearance - self.coating


@dataclass(frozen=True, slots=True)
class LockRoom:
    """What is left free of a lock in a delivered sheet, mm; below 0 it does not go in.

    far : between lock and far face, along the tab, with the shoulder pushed home
    hole : of what goes through the tab's hole; None: nothing does
    """

    far: float
    hole: float | None = None


def locked_by_blocks(
    kind: Lock,
    end: float,
    play: float,
    cuts: Sequence[Cut],
    blocks: Sequence[Block],
    fold: float | None = None,
) -> LockSizes:
    """Return the lock by prisms alone; the room that they take comes from their sections."""
    bounds = [block.section.bounds for block in blocks]
    near, far = min(box[0] for box in bounds), max(box[2] for box in bounds)
    return LockSizes(
        kind=kind,
        end=end,
        centre=(near + far) / 2,
        half=(far - near) / 2,
        reach=max(max(-box[1], box[3]) for box in bounds),
        wide=max(abs(block.x) + block.thickness / 2 for block in blocks),
        play=play,
        cuts=tuple(cuts),
        blocks=tuple(blocks),
        fold=fold,
    )


def cut_width(cuts: Sequence[Cut], web: float) -> float:
    """Return the least width of a tab with these cuts in a row and their webs between, mm."""
    return sum(cut.width + 2 * cut.more for cut in cuts) + (len(cuts) + 1) * web
