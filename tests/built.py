# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Builds for tests of geometry: without the exploded view, which has tests of its own."""

from __future__ import annotations

from functools import partial

from pinwright.core import pipeline

__all__ = ["build"]

build = partial(pipeline.build, apart=False)
