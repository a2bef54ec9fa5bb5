# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What to beware of, in the words that plans, coupons and README.txt share.

Common practice of workshops and riggers, no published source.
"""

from __future__ import annotations

from typing import Final

__all__ = ["ASSEMBLY", "CUTTING", "HANGING"]

CUTTING: Final = (
    "Cutting: never leave a laser alone, run the extraction, and never cut PVC or other sheet with "
    "chlorine in it: the fumes poison people and ruin the machine. A knife is drawn along a steel "
    "rule, away from the hand; children cut under supervision. Wear eye protection. Deburr every "
    "edge, and wear gloves while you handle cut sheet."
)
ASSEMBLY: Final = (
    "Assembly: plates that are bent aside snap back, and closing joints pinch: keep fingers out "
    "of them, wear gloves and eye protection, and let two people do it. Nobody stands below what "
    "hangs or is lifted."
)
HANGING: Final = (
    "Hanging: this program is no proof of strength. Use rated hardware only, and a second, "
    "independent safety for everything that hangs over people. A licensed rigger or engineer and "
    "the local code decide."
)
