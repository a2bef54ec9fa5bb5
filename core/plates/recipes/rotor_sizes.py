# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Sizes of the joints of many strips at once: most stand at equal angles, worked out once each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...design.model import EdgeRotor
from ...fit.sizes import LEAST_ANGLE_DEG, Sizes
from ...fit.tenon import half_band, slot_width, tenon_sizes

__all__ = ["ManyTenons", "rooms"]

Floats = npt.NDArray[np.float64]

#: Angles are told apart to so many digits: 1e-9 degrees move nothing by 1e-6 mm.
_DIGITS = 9


@dataclass(frozen=True, slots=True, eq=False)
class ManyTenons:
    """Sizes of the tenon of each half edge, (H,) mm; see `TenonSizes` and its lock."""

    pin_centre: Floats
    tab_end: Floats
    tab_width: Floats
    half: Floats
    reach: Floats
    wide: Floats

    @classmethod
    def of(cls, sizes: Sizes, angle_deg: Floats) -> ManyTenons:
        """Work out the tenons of planes at angles (H,), degrees, those below 30 as if at 30."""

        def row(angle: float) -> tuple[float, ...]:
            tenon = tenon_sizes(sizes, angle, sizes.tab_width, "recipe")
            lock = tenon.lock
            return (
                tenon.pin_centre,
                tenon.tab_end,
                tenon.tab_width,
                lock.half,
                lock.reach,
                lock.wide,
            )

        return cls(*_by_angle(row, np.maximum(angle_deg, LEAST_ANGLE_DEG)).T)


def _by_angle(figures: Callable[[float], tuple[float, ...]], angle_deg: Floats) -> Floats:
    """Return figures (H, k) of angles (H,), worked out once for equal ones: most are."""
    known, which = np.unique(np.round(angle_deg, _DIGITS), return_inverse=True)
    found: Floats = np.array([figures(angle) for angle in known.tolist()])[which.reshape(-1)]
    return found


def rooms(chosen: EdgeRotor, sizes: Sizes, slot_angle: Floats, own_angle: Floats) -> Floats:
    """Distances (H,) along strips from the middle of a slot to the own section line, mm."""
    t = sizes.thickness

    def row(angle: float) -> tuple[float, float]:
        slot = slot_width(t, t, angle, sizes.clearance) / 2 + sizes.relief
        return half_band(t, t, angle), slot

    own = _by_angle(row, np.maximum(own_angle, 1.0))[:, 0]
    if chosen.engagement is not None:
        return chosen.engagement + own
    slot = _by_angle(row, np.maximum(slot_angle, 1.0))[:, 1]
    return slot + sizes.web + own + sizes.relief
