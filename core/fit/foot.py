# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A foot: the tab ends within its base plate, so that the plate lies flat on the floor.

Nothing locks it but weight. The tab, cut square, may nowhere stand out of B's far face, which is
nearest to the line at z = -t/2: it ends at (s/2 - (t/2) cos)/sin. To hold, it must reach the base
plate's mid-plane at least: t cos <= s. A leaning foot ends before the slot's edge on the far face,
so that it has a little more play across the slot than the clearance, on that side.
"""

from __future__ import annotations

from ..design.model import Lock
from ..errors import DesignError
from .lock import Delivered, LockRoom, LockSizes
from .section import Crossing, half_band
from .sizes import Sizes

__all__ = ["foot_lock", "foot_room"]


def foot_lock(crossing: Crossing, sizes: Sizes, tab_width: float) -> LockSizes:
    """Return a lock without solids; its play is the way to draw the tab out.

    Raises DesignError when the tab cannot reach the base plate's mid-plane.
    """
    t, s = crossing.t, crossing.s
    end = crossing.far_face(-t / 2)
    if end < -1e-9:
        raise DesignError(
            "joint_classes.lock",
            Lock.FOOT.value,
            f"a strip of at most {s / crossing.cos:.2f} mm at {crossing.angle_deg:.1f} deg: a "
            "thicker one stands out of the base plate before it reaches its middle",
            "Take a thicker base plate, or stand the strip more upright.",
        )
    return LockSizes(
        kind=Lock.FOOT,
        end=end,
        centre=end,
        half=0.0,
        reach=t / 2,
        wide=tab_width / 2,
        play=end + half_band(t, s, crossing.angle_deg),
    )


def foot_room(delivered: Delivered, sizes: Sizes, tab_width: float) -> LockRoom:
    """Return by how much a foot's tab ends before its base plate's far face."""
    end = foot_lock(delivered.nominal, sizes, tab_width).end + delivered.coating - delivered.back
    return LockRoom(delivered.real.far_face(-delivered.real.t / 2) - end)
