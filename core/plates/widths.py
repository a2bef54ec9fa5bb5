# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The width of a strip along its path: even, or wider (or narrower) towards its ends.

At the distance d from the nearer end of a path of length L the width is

    end + (width - end) p(d / taper),    p(u) = 3 u^2 - 2 u^3 for 0 <= u <= 1, 1 beyond:

it leaves both values without a kink. Where a joint lengthens the strip beyond its path, it goes on
at the end's width.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from ..design.model import MotifChoice
from ..errors import DesignError
from ..tolerance import TOLERANCES
from .path import end_direction, strip_body

__all__ = ["Taper", "body_of", "length_of", "taper_of"]

Floats = npt.NDArray[np.float64]

#: A taper is this many times the wider width long, unless the design says or the path is short.
_USUAL = 3.0
_HAIR = 1.0  # mm


@dataclass(frozen=True, slots=True)
class Taper:
    """How a strip's width changes towards its ends: width at the ends and length, mm."""

    end: float
    length: float

    def at(self, width: float, distance: npt.ArrayLike) -> Floats:
        """Return the width at distances (...) from the nearer end of the path, mm."""
        share = np.clip(np.asarray(distance, dtype=float) / self.length, 0.0, 1.0)
        found: Floats = self.end + (width - self.end) * share**2 * (3.0 - 2.0 * share)
        return found


def length_of(path: Floats) -> float:
    """Return the length of a path (k, 2), mm."""
    return float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())


def taper_of(choice: MotifChoice, path: Floats) -> Taper | None:
    """Return the taper of a strip, or None where it is even.

    Raises
    ------
    DesignError : a taper without an end width, or longer than half of the path.
    """
    field = f"motifs.{choice.name}.taper"
    if choice.end_width is None:
        if choice.taper is not None:
            raise DesignError(field, choice.taper, "a length beside an end_width", "Add that.")
        return None
    assert choice.width is not None  # a strip
    if choice.end_width == choice.width:
        return None
    half = length_of(path) / 2
    if choice.taper is None:
        return Taper(choice.end_width, min(_USUAL * max(choice.end_width, choice.width), half))
    if choice.taper > half:
        raise DesignError(
            field,
            choice.taper,
            f"at most half of the path, {half:.1f} mm",
            "Make the taper shorter, or the strip longer.",
        )
    return Taper(choice.end_width, choice.taper)


def body_of(
    path: Floats, width: float, taper: Taper | None, extra: tuple[float, float] = (0.0, 0.0)
) -> Polygon:
    """Return the strip along a path (k, 2), cut square at its ends.

    extra : how far the first and the last end are lengthened, mm
    """
    if taper is None:
        return strip_body(path, width, extra)
    return _drawn(path, width, taper, extra)


def _drawn(path: Floats, width: float, taper: Taper, extra: tuple[float, float]) -> Polygon:
    """Return the strip between its two sides, point by point along the path."""
    steps = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    length = float(steps[-1])
    # The profile bends most at its ends: half of |6 (width - end)| / taper^2, for each side.
    bending = 3.0 * abs(width - taper.end) / taper.length**2
    step = np.sqrt(8.0 * TOLERANCES.chord / 2 / max(bending, 1e-12))
    more = np.linspace(0.0, taper.length, int(np.ceil(taper.length / step)) + 1)
    places = np.unique(np.concatenate([steps, more, length - more]).round(6))
    # What lies a hair beside a corner of the path is that corner.
    beside = np.abs(places[:, None] - steps).min(axis=1)
    places = np.sort(np.concatenate([steps, places[beside > _HAIR]]))
    places = places[np.concatenate([[True], np.diff(places) > 1e-9])]
    points = np.column_stack([np.interp(places, steps, path[:, k]) for k in (0, 1)])
    widths = taper.at(width, np.minimum(places, length - places))
    for last, more_here in enumerate(extra):
        if more_here > 0.0:
            tip = points[-last] + more_here * end_direction(path, bool(last))
            ends = ([tip[None], points], [points, tip[None]])[last]
            points = np.concatenate(ends)
            rim = widths[-last : None if last else 1]
            widths = np.concatenate(([rim, widths], [widths, rim])[last])
    way = np.diff(points, axis=0)
    way = way / np.linalg.norm(way, axis=1)[:, None]
    before, after = np.concatenate([way[:1], way]), np.concatenate([way, way[-1:]])
    middle = before + after
    middle = middle / np.linalg.norm(middle, axis=1)[:, None]
    # Mitred corners: the side lies w/2 / cos(half the turn) along the bisector.
    reach = widths / 2 / np.maximum((middle * after).sum(axis=1), 0.25)
    side = reach[:, None] * np.column_stack([-middle[:, 1], middle[:, 0]])
    left, right = points + side, points - side
    whole = Polygon(np.concatenate([left, right[::-1]]))
    if whole.is_valid:
        return orient(whole)
    # Inside a sharp corner the sides fold over: piece by piece they do not.
    quads = np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1)
    found = shapely.union_all(shapely.convex_hull(shapely.multipoints(quads)))
    found = shapely.remove_repeated_points(found, 1e-4)
    return orient(max(shapely.get_parts(found), key=shapely.area))
