# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether engraved marks can be read: a part without one ends in the wrong place."""

from __future__ import annotations

from ..checks.places import at, listed
from ..results import Build, Check
from .engraving import LEAST_HEIGHT, MOST_HEIGHT, mark_room
from .stroke_font import SIGNS

__all__ = ["check_marks"]


def check_marks(build: Build) -> Check:
    """Every plate has room for a mark of letters that can be read.

    The limit is a letter's height of 1/200 of the distance that it is read from, 0.5 m (rule of
    thumb of the FAA's guide to visual displays).
    """
    told: list[tuple[float, str]] = []
    stands = {plate.part for plate in build.plates}
    for p, part in enumerate(build.parts):
        if p not in stands:
            continue  # a wedge: all are alike
        middle, height = mark_room(part.mark, part.outline)
        if set(part.mark.upper()) - SIGNS:
            height = 0.0
        told.append((max(height, 0.0), f"part {part.mark}: {max(height, 0.0):.1f} mm{at(middle)}"))
    told.sort()
    least = told[0][0] if told else MOST_HEIGHT
    small = [line for height, line in told if height < LEAST_HEIGHT]
    if not small:
        text = f"the marks engraved are {least:.1f} mm high or more"
        return Check("mark", True, least, "mm", LEAST_HEIGHT, text)
    text = f"{len(small)} parts have no room for a mark that can be read"
    remedy = "Write it on the piece or its bag by hand, or widen the plate."
    return Check("mark", False, least, "mm", LEAST_HEIGHT, text, listed(small), remedy)
