# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A tab locked by a wedge of the same sheet, driven through the tab along B's far face.

The wedge stands square to the line, in the section of `core/fit/section.py`. Its front edge lies
along B's far face, its back edge rises by one in eight and bears on the far end of the tab's hole
(joiners' wedges of tusk tenons rise one in six to one in ten; common practice, no published
source). The thick end is on the side where tab and far face leave more room.

Drawn along the far face (coordinate u, thick end at low u) the wedge fills the depths g ... g +
w(u) off it, w(u) = thin + (last - u)/8. Where it passes the tab, |z| <= t/2, its front is nearest
to the body at z = -t/2 and its back farthest out at z = -t/2 or t/2; the hole is longer than that
by half the clearance at the back, and the wedge stands half the clearance off the far face, both
counted along the tab. So the tab can be drawn back by one clearance before it is stopped, and a
knock on the wedge takes that up.
"""

from __future__ import annotations

from math import sqrt
from typing import Final

from shapely import Polygon

from ..design.model import Lock
from .lock import Block, Cut, Delivered, LockRoom, LockSizes, locked_by_blocks
from .section import Crossing, half_band
from .sizes import Sizes

__all__ = ["wedge_lock", "wedge_room"]

_RISE: Final = 1 / 8
#: Of the sheet's thickness: the thin end sticks out so far, the head (to be struck) so far.
_POINT: Final = 1.5
_HEAD: Final = 2.5
_SHOWS: Final = 0.5  # least of the point, so that the back edge bears over the whole tab
#: Of the sheet's thickness: the hole's near end lies so far inside B, which then stops the wedge.
_RELIEF: Final = 0.1


def wedge_lock(crossing: Crossing, sizes: Sizes, tab_width: float) -> LockSizes:
    """Return the lock by one wedge, in the middle of the tab."""
    t, clearance = crossing.t, sizes.clearance
    front = clearance / 2 * crossing.sin
    edge = half_band(crossing.s, t, crossing.angle_deg) + clearance  # of B's slot, along u
    thin = sizes.wedge_width
    first = min(_along(crossing, -t / 2, front), -edge) - _HEAD * t
    last = max(_along(crossing, t / 2, front + thin), edge) + _POINT * t
    thick = thin + (last - first) * _RISE
    corners = ((first, front), (last, front), (last, front + thin), (first, front + thick))
    section = Polygon([crossing.place(u, off) for u, off in corners])
    near = crossing.far_face(-t / 2) - clearance - _RELIEF * t
    (b_y, b_z), (a_y, a_z) = (
        crossing.place(last, front + thin),
        crossing.place(first, front + thick),
    )
    back = [a_y + (z - a_z) * (b_y - a_y) / (b_z - a_z) for z in (-t / 2, t / 2)]
    far = max(back) + clearance / 2
    hole = Cut("wedge hole", 0.0, (near + far) / 2, t + 2 * clearance, far - near)
    return locked_by_blocks(
        Lock.WEDGE, far + sizes.web, clearance, [hole], [Block("wedge", section, t, cut=True)]
    )


def wedge_room(delivered: Delivered, sizes: Sizes, tab_width: float) -> LockRoom:
    """Return what a wedge has left: driven in less far, it gives way until its point is spent.

    Along the far face (cos, sin) the back edge falls by r = 1/8, so that it goes (cos - r sin,
    sin + r cos): for each mm square to the tab (cos - r sin)/(sin + r cos) along it. With that
    sum as `up`, a way w of the wedge off the far face moves the back edge by w/up along the tab, a
    coating k moves it by k sqrt(1 + r^2)/up, and drawing the wedge back by u moves it by u r/up.
    The point is spent when half a thickness of it still shows.
    """
    real, t, k = delivered.real, delivered.nominal.t, delivered.coating
    up = real.sin + _RISE * real.cos
    thicker = (real.t - t) / 2
    off = sizes.clearance / 2 * real.sin - thicker - k  # until it lies against the far face
    lean = thicker * abs(real.cos - _RISE * real.sin) / up
    give = _RISE * (_POINT - _SHOWS) * t / up
    coats = k + k * sqrt(1.0 + _RISE**2) / up
    far = sizes.clearance / 2 + off / up + give - delivered.back - lean - coats
    return LockRoom(far, t + 2 * sizes.clearance - 2 * k - real.t)


def _along(crossing: Crossing, z: float, off: float) -> float:
    """Return where along the far face, `off` it, the height z is reached."""
    return (z + (crossing.s / 2 + off) * crossing.cos) / crossing.sin
