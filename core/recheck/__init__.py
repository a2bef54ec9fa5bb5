# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Judge a build file as it lies there: what was changed by hand or by another program is found.

Nothing is taken on trust: every pair of solids is looked at, every joint is tried on the outlines
that would be cut, and the whole is compared with what its own design gives.
"""

from .judge import recheck

__all__ = ["recheck"]
