# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A tab locked by a cable tie, through a hole in the tab and round its end.

The strap (thickness a) stands out of the tab's faces by a and the clearance, up to the height H;
there it just clears B's far face, (s/2 + H cos)/sin beyond the line. Half the clearance lies
between strap and far face, half between strap and hole, both along the tab: so much play is left
until the tie is drawn tight. Its head sits beyond the tab's end.
"""

from __future__ import annotations

from typing import Final

from shapely import Polygon, box

from ..design.model import Lock
from .lock import Block, Cut, Delivered, LockRoom, LockSizes, locked_by_blocks
from .section import Crossing
from .sizes import Sizes

__all__ = ["tie_lock", "tie_room"]

#: Size of a tie's head in widths of its strap: across and along the strap, and off it (common
#: ties of 2.5 to 4.8 mm, from memory).
_HEAD: Final = 1.8
_HEAD_OFF: Final = 1.3


def tie_lock(crossing: Crossing, sizes: Sizes, tab_width: float) -> LockSizes:
    """Return the lock by one tie, in the middle of the tab."""
    width, thick, room = sizes.tie_width, sizes.tie_thickness, sizes.clearance
    inner = crossing.t / 2 + room
    outer = inner + thick
    near = crossing.far_face(outer) + room / 2
    hole = Cut("tie hole", 0.0, near + thick / 2, width + 2 * room, thick + room)
    end = hole.y + hole.length / 2 + sizes.web
    loop = Polygon(
        box(near, -outer, end + room + thick, outer).exterior,
        [box(near + thick, -inner, end + room, inner).exterior],
    )
    top = end + room + thick
    head = box(top, -_HEAD * width / 2, top + _HEAD_OFF * width, _HEAD * width / 2)
    blocks = [
        Block("cable tie", loop, width),
        Block("head of the cable tie", head, _HEAD * width),
    ]
    return locked_by_blocks(Lock.TIE, end, room, [hole], blocks)


def tie_room(delivered: Delivered, sizes: Sizes, tab_width: float) -> LockRoom:
    """Return what a tie has left: it lies on the tab's faces as they are, in the hole as it is."""
    thick, room, k = sizes.tie_thickness, sizes.clearance, delivered.coating
    (hole,) = tie_lock(delivered.nominal, sizes, tab_width).cuts
    end = hole.y + hole.length / 2 - k - delivered.back
    outer = delivered.real.t / 2 + room + thick
    far = end - thick - delivered.real.far_face(outer)
    return LockRoom(far, room - 2 * k)
