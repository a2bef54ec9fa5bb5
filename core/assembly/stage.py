# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What stands where at a step of the plan: for views that show it step by step.

Works on the steps as build.json has them, so a saved plan is all that a view needs. The place of a
step is a module's table, or the whole: what is on other tables is elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from ..results import Step
from .poses import body_pose, leg_lengths

__all__ = ["ROLES", "Stage", "first_step_of", "module_steps", "shown_pose", "stage_at"]

Floats = npt.NDArray[np.float64]

#: What a plate does in a step, most telling first.
ROLES = ("coming", "bends", "holds", "stands", "elsewhere")


@dataclass(frozen=True, slots=True)
class Stage:
    """One step as it is shown; all by ids.

    n : of the step, 0: before the first; module : id of the table's module, None: at the whole
    coming : plates that come in; there : plates that are at this place before; elsewhere : plates
        that are on other tables, or in the whole
    pinned : joints at this place whose locks were in before; pinning : those locked now
    closing : joints closed now; of the plates there, bends : are sprung, holds : have a joint that
        is closed now
    """

    n: int
    module: str | None = None
    coming: tuple[str, ...] = ()
    there: frozenset[str] = field(default_factory=frozenset)
    elsewhere: frozenset[str] = field(default_factory=frozenset)
    pinned: frozenset[str] = field(default_factory=frozenset)
    pinning: frozenset[str] = field(default_factory=frozenset)
    closing: tuple[str, ...] = ()
    bends: frozenset[str] = field(default_factory=frozenset)
    holds: frozenset[str] = field(default_factory=frozenset)

    def role(self, plate: str) -> str | None:
        """Return what a plate does, one of `ROLES`; None: it is not there yet."""
        if plate in self.coming:
            return "coming"
        if plate in self.bends:
            return "bends"
        if plate in self.holds:
            return "holds"
        if plate in self.there:
            return "stands"
        return "elsewhere" if plate in self.elsewhere else None


def stage_at(
    steps: Sequence[Mapping[str, Any]], joints: Mapping[str, Sequence[str]], n: int
) -> Stage:
    """Return what is where at step n (from 1; 0 shows nothing, beyond the last: the last).

    steps : records of build.json; joints : the two plates of each joint, by its id
    """
    n = min(n, len(steps))
    if n < 1:
        return Stage(0)
    now = steps[n - 1]
    place: dict[str, str | None] = {}
    locked: dict[str | None, set[str]] = {}
    for step in steps[: n - 1]:
        for plate in step["add"]:
            was = place.get(plate)
            place[plate] = step["module"]
            if step["module"] is None and was is not None:  # its locks come along
                held = locked.get(was, set())
                along = {j for j in held if plate in joints[j]}
                locked.setdefault(None, set()).update(along)
        locked.setdefault(step["module"], set()).update(step["pin"])
    coming = tuple(now["add"])
    brought = {
        j
        for plate in coming
        for j in locked.get(place.get(plate), set())
        if plate in joints[j] and place.get(plate) != now["module"]
    }
    there = {p for p, at in place.items() if at == now["module"] and p not in coming}
    bends = {spring["plate"] for spring in now["spring"]}
    holds = {p for j in now["close"] for p in joints[j]} & there
    pinned = {
        j for j in locked.get(now["module"], set()) if all(p in there for p in joints[j])
    } | brought
    return Stage(
        n,
        now["module"],
        coming,
        frozenset(there),
        frozenset(place) - there - set(coming),
        frozenset(pinned),
        frozenset(now["pin"]),
        tuple(now["close"]),
        frozenset(bends & there),
        frozenset(holds),
    )


def module_steps(steps: Sequence[Mapping[str, Any]], members: Mapping[str, str]) -> list[str]:
    """Return the modules in the order in which work on them begins; members : module by plate."""
    return list(dict.fromkeys(members[plate] for step in steps for plate in step["add"]))


def first_step_of(
    steps: Sequence[Mapping[str, Any]], members: Mapping[str, str], module: str
) -> int:
    """Return the number of the first step in which plates of a module come in."""
    return int(next(s["n"] for s in steps if any(members[plate] == module for plate in s["add"])))


def shown_pose(step: Mapping[str, Any], share: float, reach: float) -> Floats:
    """Return (4, 4), mm: how the coming plates are moved from their places; world coordinates.

    share : 0 to 1, 1 in place; reach : mm, so much of the end of their way is shown, so that they
        stay in the picture
    """
    body = Step(
        step["n"], None, (), np.array(step["way"], dtype=float).reshape(-1, 3), step["free"],
        (), (), (), (), 0.0, 1, (), "",
        np.array(step["turns"], dtype=float).reshape(-1, 4),
        np.array(step["pivot"], dtype=float),
    )  # fmt: skip
    length = float(leg_lengths(body).sum())
    if length <= 0.0:
        return np.eye(4)
    begin = 1.0 - min(reach, length) / length
    return body_pose(body, begin + (1.0 - begin) * min(max(share, 0.0), 1.0))
