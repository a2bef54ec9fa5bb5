# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Why two plates share room while the exploded view opens, and how that is told."""

from __future__ import annotations

from collections import Counter
from typing import Final

from ..results import Build, Snag

__all__ = ["BY_HAND", "NO_WAY", "REASONS", "SPRUNG", "STRAIGHT", "snag_words"]

SPRUNG: Final = "sprung"
BY_HAND: Final = "by hand"
NO_WAY: Final = "no way found"
STRAIGHT: Final = "straight"

#: What each reason means.
REASONS: Final = {
    SPRUNG: "a tab leaves its own slot while the plan bends a plate",
    BY_HAND: "the plan works a plate in by bending or turning it, no way was proved",
    NO_WAY: "no free way to the exploded place was found",
    STRAIGHT: "all move at once, straight; made with a plan the view goes in its order",
}


def snag_words(build: Build) -> list[str]:
    """Return a line for each reason: how often, what it means, and the first places by id."""
    if build.exploded is None:
        return []
    lines = []
    snags = build.exploded.snags
    for why, count in Counter(snag.why for snag in snags).most_common():
        named = [_name(build, snag) for snag in snags if snag.why == why]
        more = " ..." if count > 4 else ""
        lines.append(f"{count} x {why}: {REASONS[why]} ({', '.join(named[:4])}{more})")
    return lines


def _name(build: Build, snag: Snag) -> str:
    if snag.joints:
        return build.joints[snag.joints[0]].id
    return " and ".join(build.plates[plate].id for plate in snag.plates)
