# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Panels of the sidebar: they draw settings and stored figures, and never compute."""

from __future__ import annotations

from . import (
    animation,
    checks,
    files,
    joints,
    modules,
    motif,
    place,
    plan,
    sculpture,
    search,
    sheet,
)

__all__ = ["CLASSES"]

CLASSES = (
    *search.CLASSES,
    *sculpture.CLASSES,
    *motif.CLASSES,
    *sheet.CLASSES,
    *joints.CLASSES,
    *modules.CLASSES,
    *checks.CLASSES,
    *place.CLASSES,
    *files.CLASSES,
    *plan.CLASSES,
    *animation.CLASSES,
)
