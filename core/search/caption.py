# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Words on the contact sheet, drawn with the stroke alphabet that also engraves the plates."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from ..export.stroke_font import SIGNS, text_strokes

__all__ = ["text_size", "write_words"]

Floats = npt.NDArray[np.float64]
Pixels = npt.NDArray[np.uint8]

_BROAD = 4 / 6  # width of a sign, in heights
_NEXT = {" ": 0.6, ".": 0.45}  # from the left edge of a sign to the next one, in heights
_USUAL = 0.96
_PEN = 0.13  # width of the pen


def text_size(text: str, height: float) -> float:
    """Return the width of a line of text in pixels; height : of a capital."""
    ways = [_NEXT.get(sign, _USUAL) for sign in text]
    return height * (sum(ways) - (_USUAL - _BROAD if ways else 0.0))


def write_words(
    image: Pixels, text: str, left: float, top: float, height: int, colour: tuple[int, int, int]
) -> float:
    """Write a line of text into an image (h, w, 3) and return where the next sign would begin.

    left, top : of the capitals, pixels; signs that the alphabet does not have become spaces
    """
    place = left
    for sign in text.upper():
        ink = _ink(sign if sign == "." or sign in SIGNS else " ", height)
        room = (ink.shape[0] - height) // 2
        x, y = round(place) - room, round(top) - room
        part = image[max(y, 0) : y + ink.shape[0], max(x, 0) : x + ink.shape[1]]
        shown = ink[max(-y, 0) :, max(-x, 0) :][: part.shape[0], : part.shape[1], None]
        part[:] = np.rint(part + shown * (np.array(colour) - part.astype(float))).astype(np.uint8)
        place += height * _NEXT.get(sign, _USUAL)
    return place


@lru_cache(maxsize=256)
def _ink(sign: str, height: int) -> Floats:
    """Return how much ink lies on each pixel of a sign's box, 0 to 1, with room round it."""
    room = 2
    wide = int(np.ceil(height * _BROAD))
    y, x = np.mgrid[0 : height + 2 * room, 0 : wide + 2 * room] + 0.5 - room
    if sign == ".":
        foot = np.array([[height * 0.12, height * 0.06]])
        runs: tuple[Floats, ...] = (np.repeat(foot, 2, axis=0),)
    else:
        runs = tuple(run + np.array([wide, height]) / 2 for run in text_strokes(sign, height))
    far = np.full(x.shape, np.inf)
    for run in runs:
        for start, end in pairwise(run):
            far = np.minimum(far, _distance(x, height - y, start, end))
    broad = max(_PEN * height, 1.25)
    return np.clip(broad / 2 + 0.5 - far, 0, 1)


def _distance(x: Floats, y: Floats, start: Floats, end: Floats) -> Floats:
    """Return the distance of points from a segment."""
    way = end - start
    length = float(way @ way)
    along = np.zeros_like(x)
    if length > 0:
        along = np.clip(((x - start[0]) * way[0] + (y - start[1]) * way[1]) / length, 0, 1)
    far: Floats = np.hypot(x - start[0] - along * way[0], y - start[1] - along * way[1])
    return far
