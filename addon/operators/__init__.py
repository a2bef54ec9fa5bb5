# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Operators: read settings, call core, draw or report. Each one is a verb."""

from __future__ import annotations

from . import (
    animation,
    build,
    files,
    labels,
    modules,
    motif,
    pages,
    picture,
    place,
    plan,
    search,
    select,
    turn,
)

__all__ = ["CLASSES"]

CLASSES = (
    *animation.CLASSES,
    *build.CLASSES,
    *files.CLASSES,
    *place.CLASSES,
    *plan.CLASSES,
    *labels.CLASSES,
    *modules.CLASSES,
    *motif.CLASSES,
    *pages.CLASSES,
    *picture.CLASSES,
    *search.CLASSES,
    *select.CLASSES,
    *turn.CLASSES,
)
