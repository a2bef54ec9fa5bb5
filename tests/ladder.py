# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A ladder: two uprights, two rungs with a tab at each end; small, and full of wrong placements.

The rungs lie in planes z = height; each tab goes through an upright that stands about x = -100 or
100, and the line of their joint runs along y. A rung with a notch is not its own mirror image, so
it can be put in turned over, end for end, and both, and each rung into the other's place.
"""

from __future__ import annotations

import math
from dataclasses import replace

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    Keying,
    Keys,
    MotifChoice,
    Sheet,
)

__all__ = ["ladder"]

HALF = 100.0  # of the ladder's width, to the middles of the uprights
RUNG = 22.0  # half of a rung's width
UPRIGHT = (40.0, 150.0)  # half sizes of an upright
NOTCH = 8.0

Ring = tuple[tuple[float, float], ...]


def ladder(
    heights: tuple[float, ...] = (-40.0, 40.0),
    notched: str = "rungs",
    angle_deg: float = 90.0,
    thickness: float = 3.0,
    keys: Keys = Keys.NONE,
) -> Design:
    """Return the design.

    heights : of the rungs, mm; notched : which plates are not their own mirror images
    angle_deg : between rungs and uprights, which lean to the same side
    """
    angle = math.radians(angle_deg)
    normal = (math.sin(angle), 0.0, -math.cos(angle))
    upright = _box(*UPRIGHT, "uprights" in notched)
    motifs = [
        MotifChoice(name, normal, side * HALF * math.sin(angle), (0.0, 1.0, 0.0), outline=upright)
        for name, side in (("left", -1.0), ("right", 1.0))
    ]
    classes = []
    for k, height in enumerate(heights, start=1):
        lean = height / math.tan(angle) if angle_deg != 90.0 else 0.0
        ring = tuple((x + lean, y) for x, y in _box(HALF, RUNG, "rungs" in notched))
        name = f"rung {k}"
        motifs.append(MotifChoice(name, (0.0, 0.0, 1.0), height, (1.0, 0.0, 0.0), outline=ring))
        for side in ("left", "right"):
            joint = JointClassChoice(f"{name} {side}", (name, side), JointKind.TENON)
            classes.append(replace(joint, outward=-1 if side == "left" else 1))
    return Design(
        "ladder",
        Sheet(thickness),
        FrameChoice(400.0, group="C1"),
        motifs=tuple(motifs),
        joint_classes=tuple(classes),
        joints=JointSizes(tab_width=22.0),
        keying=Keying(keys),
    )


def _box(x: float, y: float, notched: bool) -> Ring:
    """Return a rectangle of half sizes x and y, with a notch near one corner."""
    if not notched:
        return ((-x, -y), (x, -y), (x, y), (-x, y))
    bottom = ((NOTCH * k - x, y - (NOTCH if k == 2 else 0.0)) for k in (3, 2, 1))
    return ((-x, -y), (x, -y), (x, y), *bottom, (-x, y))
