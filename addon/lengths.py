# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The one property of lengths in mm: how they are shown, bounded and dragged."""

from __future__ import annotations

from collections.abc import Callable

from bpy.props import FloatProperty

__all__ = ["length"]


def length(
    name: str,
    default: float,
    description: str,
    *,
    least: float = 0.0,
    step: float = 0.03,
    update: Callable | None = None,
):
    """Return a length in mm; `step` is one press of its arrows, `update` is called on a change."""
    return FloatProperty(
        name=name,
        description=description,
        default=default,
        min=least,
        soft_max=10000.0,
        max=1e6,
        step=round(100 * step),
        precision=2,
        subtype="DISTANCE_CAMERA",
        unit="CAMERA",
        update=update,
    )
