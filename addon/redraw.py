# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Asks Blender to draw again what changed without its knowing."""

from __future__ import annotations

from collections.abc import Iterator

import bpy

__all__ = ["sidebars", "views"]


def views() -> None:
    """Draw the 3D views and their sidebars again."""
    for area in _areas():
        area.tag_redraw()


def sidebars() -> None:
    """Draw the sidebars of 3D views again, and nothing else."""
    for area in _areas():
        for region in area.regions:
            if region.type == "UI":
                region.tag_redraw()


def _areas() -> Iterator[bpy.types.Area]:
    for window in bpy.context.window_manager.windows:
        for area in window.screen.areas:
            if area.type == "VIEW_3D":
                yield area
