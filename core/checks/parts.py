# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is asked of each part as a piece of sheet: not too thin, too sharp, too large, too weak."""

from __future__ import annotations

from ..design.materials import material
from ..fit.sizes import Sizes
from ..results import Build, Check
from .outline_views import outline_views
from .slivers import check_corners, check_slivers
from .stock import check_stock
from .tabs import check_tabs

__all__ = ["part_checks"]


def part_checks(build: Build, sizes: Sizes) -> tuple[Check, ...]:
    """Judge every part of a build once, however many copies it has; limits are the sheet's."""
    sheet = build.design.sheet
    stock = material(sheet.material)
    views = outline_views(build)
    return (
        check_slivers(views, sizes.web),
        check_corners(views, sheet.least_corner),
        check_stock(views, stock.stock if sheet.stock is None else sheet.stock),
        check_tabs(build, views, stock),
    )
