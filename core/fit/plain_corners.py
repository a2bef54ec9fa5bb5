# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How far a tab moves along a slot whose corners a router left round.

Such a slot is longer, so that the rounded corners at the tab's root have room in it (see
core/outlines/tool_corners.py). Pushed home they fill that room; drawn back to its lock the tab is
narrower where it is in the slot, and can go aside. With tool radius R, a root that stands y off the
near face is wider by f(y) = R - sqrt(R^2 - (R - y)^2) on each side, and a place of the tab that is
m off the slot's wall finds the slot shorter by f(m) at each end. A coating k on all faces makes the
radius R - k, the slot's end 2 k nearer. The tab may lie anywhere across its slot, so the best place
counts. At 90 degrees and half way across that leaves sqrt(2 R y - y^2) on each side.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from .lock import Delivered
from .section import half_band
from .sizes import Sizes

__all__ = ["PlainSlot"]

Floats = npt.NDArray[np.float64]

_ACROSS, _DEEP = 41, 9  # places of the tab across the slot, and points of it through the sheet
_HALVINGS = 30


class PlainSlot:
    """A slot with plain corners and the tab in it, as delivered; lengths in mm."""

    def __init__(self, delivered: Delivered, sizes: Sizes) -> None:
        real, k = delivered.real, delivered.coating
        self._radius = max(sizes.tool / 2 - k, 0.0)
        self._end = sizes.clearance + sizes.longer - 2 * k
        edge = delivered.edge(sizes.clearance)
        # Both edges of the tab, from the near face of the slotted sheet to its far face.
        z, depth = np.meshgrid([-real.t / 2, real.t / 2], np.linspace(-0.5, 0.5, _DEEP) * real.s)
        along = (depth + z * real.cos) / real.sin
        across = along * real.cos + z * real.sin
        self._off = (along + half_band(real.t, real.s, real.angle_deg)).ravel()
        most = max(edge - half_band(real.s, real.t, real.angle_deg), 0.0)
        moved = np.linspace(-most, most, _ACROSS)[:, None] + across.ravel()
        self._wall = edge - np.abs(moved)  # (places, points), from the nearer wall

    @property
    def straight(self) -> float:
        """Room along the slot for the tab itself, without its root; below 0 it does not go in."""
        return 2 * self._aside(np.inf)

    @property
    def seat(self) -> float:
        """How far before the near face the shoulder stops, since the root meets the slot's end."""
        low, high = 0.0, self._radius
        if self._aside(low) >= -1e-9:
            return low
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (low, middle) if self._aside(middle) >= 0.0 else (middle, high)
        return high

    def way(self, back: float) -> float:
        """Return the whole way along the slot of a tab drawn back by so much from its seat."""
        return 2 * self._aside(self.seat + max(back, 0.0))

    def _aside(self, back: float) -> float:
        """Return the way to each side of a tab whose shoulder stands `back` off the near face."""
        free = self._end - self._wider(self._wall) - self._wider(self._off + back)
        return float(free.min(axis=1).max())

    def _wider(self, off: Floats) -> Floats:
        """Return f(y) of places y; see the module."""
        y = np.clip(off, 0.0, self._radius)
        wider: Floats = self._radius - np.sqrt(self._radius**2 - (self._radius - y) ** 2)
        return wider
