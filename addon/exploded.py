# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates and modules pulled apart: one factor, written into the objects' delta location.

Deltas are added in the root's space and leave location, rotation and animation to the user. Without
a plan the modules part first, all at once, then their plates; with a plan all goes in its order.
"""

from __future__ import annotations

from bisect import bisect_left
from typing import Any

import bpy
from mathutils import Vector

from ..core.assembly.explode import SPLIT
from . import collector, tags

__all__ = ["ALL", "MODULES", "apply", "settle"]

MODULES = "MODULES"
ALL = "ALL"


def settle(root: bpy.types.Object, record: dict[str, Any] | None) -> None:
    """Let a sculpture come apart in the order of its plan; None: it has none, all at once.

    Moves nothing; call `apply` afterwards.
    record : as `core.assembly.explode_pins.explode_record` gives it
    """
    if record is None and tags.SPLIT not in root:
        return  # it had none before
    known = record or {"split": SPLIT, "plates": {}, "locks": {}}
    root[tags.SPLIT] = known["split"]
    homes = {
        piece[tags.PLATE]: Vector(piece[tags.EXPLODE])
        for piece in tags.pieces(root)
        if tags.PLATE in piece
    }
    for piece in tags.pieces(root):
        rows = None
        if tags.PLATE in piece:
            rows = known["plates"].get(piece[tags.PLATE])
        elif tags.JOINT in piece:
            lock = known["locks"].get(piece[tags.JOINT])
            if lock is not None:
                out = Vector(piece[tags.EXPLODE]) - homes.get(piece.get(tags.HOLDER), Vector())
                rows = _drawn(lock, out)
        if rows is None:
            piece.pop(tags.EXPLODE_WAY, None)
        else:
            piece[tags.EXPLODE_WAY] = rows


def _drawn(lock: list[float], out: Vector) -> list[float]:
    """Return f, x, y, z of a lock from f, x, y, z, drawn."""
    rows: list[float] = []
    for k in range(0, len(lock), 5):
        place = Vector(lock[k + 1 : k + 4]) + out * lock[k + 4]
        rows += [lock[k], *place]
    return rows


@collector.held()
def apply(root: bpy.types.Object, factor: float, what: str = ALL) -> None:
    """Move every plate and pin of a sculpture to its exploded place.

    Parameters
    ----------
    root : the sculpture's Empty
    factor : 0 together, 1 fully apart
    what : `MODULES` stops where the modules stand apart, whole; `ALL` goes on to their plates
    """
    unit = root.get(tags.UNIT, 0.001)
    split = root.get(tags.SPLIT, SPLIT)
    at = factor * split if what == MODULES else factor
    # The share of the way that modules, and then plates, have gone where there is no plan.
    first = min(at / split, 1.0) if split > 0.0 else 1.0
    second = (at - split) / (1.0 - split) if at > split else 0.0
    for piece in tags.pieces(root):
        rows = piece.get(tags.EXPLODE_WAY)
        if rows is not None:
            piece.delta_location = _on_way(rows.to_list(), at) * unit
            continue
        way = Vector(piece[tags.EXPLODE_MODULE]) * first
        if second > 0.0:
            way += Vector(piece[tags.EXPLODE]) * second
        piece.delta_location = way * unit


def _on_way(rows: list[float], at: float) -> Vector:
    """Return where a piece is at a factor; rows : f, x, y, z one after another, f rising."""
    factors = rows[::4]
    k = min(max(bisect_left(factors, at), 1), len(factors) - 1)
    before, after = rows[4 * k - 4 : 4 * k], rows[4 * k : 4 * k + 4]
    share = (at - before[0]) / (after[0] - before[0])
    return Vector(before[1:]).lerp(Vector(after[1:]), share)
