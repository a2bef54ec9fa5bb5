# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The exploded view as a viewer wants it: the way of every plate, and of what locks each joint."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from ..results import Build, Joint

__all__ = ["explode_record", "lock_way"]

Floats = npt.NDArray[np.float64]

_STILL = 1e-6  # mm


def lock_way(build: Build, joint: Joint) -> Floats | None:
    """Return rows [factor, x, y, z, drawn] of what locks a joint, (k, 5), mm; None without a plan.

    It goes with the plate that has the tab; `drawn`, from 0 to 1, says how far it is drawn out of
    the tab by then: while both plates still stand, before the first of them moves away.
    """
    first, second = (build.plates[p].explode_way for p in joint.plates)
    if first is None or second is None:
        return None
    factors = np.union1d(first[:, 0], second[:, 0])
    one, two = _at(first, factors), _at(second, factors)
    apart = np.linalg.norm(one - two, axis=1) > _STILL
    # The last factor at which the two are together, and the one before: in between it is drawn.
    opens = max(int(apart.argmax()) - 1, 1) if apart.any() else len(factors) - 1
    drawn = np.interp(factors, factors[opens - 1 : opens + 1], [0.0, 1.0])
    return np.column_stack([factors, one, drawn])


def explode_record(build: Build) -> dict[str, Any] | None:
    """Return the view of a planned build as lists and numbers; None without a plan.

    split : see `Exploded`; plates : by id, f, x, y, z one after another; locks : by id of the
    joint, f, x, y, z, drawn (see `lock_way`) one after another
    """
    if build.exploded is None or not build.exploded.in_order:
        return None
    locks = {joint.id: lock_way(build, joint) for joint in build.joints}
    ways = {plate.id: plate.explode_way for plate in build.plates}
    return {
        "split": build.exploded.split,
        "plates": {key: _numbers(way) for key, way in ways.items() if way is not None},
        "locks": {key: _numbers(way) for key, way in locks.items() if way is not None},
    }


def _numbers(way: Floats) -> list[float]:
    numbers: list[float] = np.round(way, 6).ravel().tolist()
    return numbers


def _at(way: Floats, factors: Floats) -> Floats:
    """Return the displacement (n, 3) of a plate at factors (n,)."""
    return np.column_stack([np.interp(factors, way[:, 0], way[:, axis]) for axis in (1, 2, 3)])
