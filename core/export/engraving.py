# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a part's mark is engraved: in the widest circle that the part has room for."""

from __future__ import annotations

from math import hypot

import numpy as np
import numpy.typing as npt
from shapely import Polygon, maximum_inscribed_circle

from .stroke_font import SIGNS, text_strokes, text_width

__all__ = ["EDGE_DISTANCE", "LEAST_HEIGHT", "MOST_HEIGHT", "engraved", "mark_room"]

Floats = npt.NDArray[np.float64]

EDGE_DISTANCE = 1.0  # mm that every stroke keeps from every edge: heat and kerf of the cut
MOST_HEIGHT = 12.0  # mm; larger is slow and ugly
LEAST_HEIGHT = 2.5  # mm; smaller cannot be read off brushed metal (common practice, no source)
# Most parts have room to spare; the search for the very widest circle takes six times as long and
# is left to those that have not.
_COARSE = 2.0
_FINE = 0.1
_GOOD_HEIGHT = 6.0  # mm; is read at arm's length


def engraved(mark: str, outline: Polygon) -> tuple[tuple[Floats, ...], tuple[str, ...]]:
    """Place a mark inside an outline.

    The box of the text is centred on the pole of inaccessibility, and its half diagonal stays
    `EDGE_DISTANCE` short of the inscribed circle's radius.

    Returns
    -------
    strokes : tuple of (n, 2) float, open polylines, mm; empty if there is no room
    warnings : why there are none, in words
    """
    if not mark.strip() or set(mark.upper()) - SIGNS:
        note = f"Part {mark!r}: its mark has signs that cannot be engraved; write it by hand."
        return (), (note,)
    centre, height = mark_room(mark, outline)
    if height < LEAST_HEIGHT:
        note = f"Part {mark}: no room to engrave its mark; write it on the piece or its bag."
        return (), (note,)
    strokes = tuple(stroke + centre for stroke in text_strokes(mark, height))
    for stroke in strokes:
        stroke.flags.writeable = False
    return strokes, ()


def mark_room(mark: str, outline: Polygon) -> tuple[Floats, float]:
    """Return the middle (2,) and the height of the largest mark that fits, mm."""
    centre, height = _fitted(mark, outline, _COARSE)
    if height < _GOOD_HEIGHT:
        centre, height = _fitted(mark, outline, _FINE)
    return centre, height


def _fitted(mark: str, outline: Polygon, tolerance: float) -> tuple[Floats, float]:
    """Return centre and height of the mark in a circle that is widest but for `tolerance`, mm."""
    centre, rim = np.asarray(maximum_inscribed_circle(outline, tolerance=tolerance).coords)
    room = float(np.hypot(*(rim - centre))) - EDGE_DISTANCE
    return centre, min(MOST_HEIGHT, 2.0 * room / hypot(1.0, text_width(mark)))
