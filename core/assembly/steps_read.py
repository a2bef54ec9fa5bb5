# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A plan read back from its record: the same steps, for the build that it was made for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from ..errors import PinwrightError
from ..results import Build, Sprung, Step

__all__ = ["with_steps"]


def with_steps(build: Build, records: Sequence[Mapping[str, Any]]) -> Build:
    """Return a build with the steps of a plan that was written to build.json.

    Raises
    ------
    PinwrightError : the steps name what the build has not.
    """
    plates = {plate.id: k for k, plate in enumerate(build.plates)}
    joints = {joint.id: k for k, joint in enumerate(build.joints)}
    modules = {module.id: k for k, module in enumerate(build.modules)}
    try:
        steps = tuple(_step(record, plates, joints, modules) for record in records)
    except KeyError as error:
        raise PinwrightError(
            f"The plan names {error.args[0]!r}, which the sculpture has not; plan it again."
        ) from error
    return replace(build, steps=steps)


def _step(
    record: Mapping[str, Any],
    plates: Mapping[str, int],
    joints: Mapping[str, int],
    modules: Mapping[str, int],
) -> Step:
    turns = np.array(record["turns"], dtype=float).reshape(-1, 4)
    turned = bool(np.abs(turns - np.array([0.0, 0.0, 0.0, 1.0])).max(initial=0.0) > 0)
    return Step(
        n=record["n"],
        module=None if record["module"] is None else modules[record["module"]],
        add=tuple(plates[name] for name in record["add"]),
        way=np.array(record["way"], dtype=float).reshape(-1, 3),
        free=record["free"],
        close=tuple(joints[name] for name in record["close"]),
        pin=tuple(joints[name] for name in record["pin"]),
        springs=tuple(
            Sprung(
                joints[one["joint"]],
                plates[one["plate"]],
                one["deflection"],
                one["force"],
                one["stress_ratio"],
                one["zone"],
            )
            for one in record["spring"]
        ),
        leave_open=tuple(joints[name] for name in record["leave_open"]),
        minutes=record["minutes"],
        people=record["people"],
        after=tuple(record["after"]),
        say=record["say"],
        turns=turns if turned else None,
        pivot=np.array(record["pivot"], dtype=float),
        why=record.get("why", ""),
    )
