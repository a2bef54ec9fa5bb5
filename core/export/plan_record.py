# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A plan by itself, as plain values: what a view needs to show a sculpture step by step."""

from __future__ import annotations

from typing import Any

from ..assembly.explode_pins import explode_record
from ..results import Build
from .build_json import build_to_dict

__all__ = ["VERSION", "plan_record"]

VERSION = 1


def plan_record(build: Build) -> dict[str, Any]:
    """Return the plan of a build that has one.

    Returns
    -------
    steps, schedule : as in build.json; joints : the two plates of each joint, by its id
    exploded : how its view opens in the order of the plan (see `explode_record`), or None
    members : the module of each plate; modules : their ids; extent : mm, of the sculpture
    """
    record = build_to_dict(build)
    return {
        "version": VERSION,
        "steps": record["steps"],
        "schedule": record["schedule"],
        "exploded": explode_record(build),
        "joints": {joint["id"]: joint["plates"] for joint in record["joints"]},
        "members": {plate["id"]: plate["module"] for plate in record["plates"]},
        "modules": [module["id"] for module in record["modules"]],
        "extent": record["totals"]["diameter"],
    }
