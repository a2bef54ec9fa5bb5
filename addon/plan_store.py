# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The plan of a sculpture in the .blend: one text on its root, with a key of what it was made for.

A plan belongs to a design. When the sculpture is built anew from another one the plan is kept, but
it is told to be out of date, and is not shown step by step.
"""

from __future__ import annotations

import hashlib
import json
from functools import lru_cache
from typing import Any

import bpy

from ..core.export.plan_record import VERSION
from . import tags

__all__ = ["fits", "forget", "keep", "key_of", "plan_of"]

PLAN = "pinwright_plan_text"  # root: the plan as JSON text
KEY = "pinwright_plan_key"  # root: of the design that it was made for


def key_of(root: bpy.types.Object) -> str:
    """Return what tells a design, with the mesh that is its frame, from others."""
    told = hashlib.sha1(usedforsecurity=False)
    for name in (tags.DESIGN, tags.FRAME):
        told.update(str(root.get(name, "")).encode("utf-8") + b"\0")
    return told.hexdigest()


def keep(root: bpy.types.Object, plan: dict[str, Any], key: str) -> None:
    """Write a plan on a root."""
    root[PLAN] = json.dumps(plan, separators=(",", ":"))
    root[KEY] = key


def forget(root: bpy.types.Object) -> None:
    """Take the plan off a root."""
    for name in (PLAN, KEY):
        root.pop(name, None)


def fits(root: bpy.types.Object) -> bool:
    """Tell whether the plan on a root is of the design that stands there."""
    return PLAN in root and root.get(KEY) == key_of(root)


def plan_of(root: bpy.types.Object) -> dict[str, Any] | None:
    """Return the plan on a root; None if there is none, or one of a newer version."""
    text = root.get(PLAN, "")
    if not text:
        return None
    plan = _read(text)
    return plan if plan.get("version", 0) <= VERSION else None


@lru_cache(maxsize=4)
def _read(text: str) -> dict[str, Any]:
    plan: dict[str, Any] = json.loads(text)
    return plan
