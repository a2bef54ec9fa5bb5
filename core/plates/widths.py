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
import shapely.ops
from shapely import LineString, Polygon

from ..design.model import MotifChoice
from ..errors import DesignError
from ..tolerance import TOLERANCES
from .path import end_direction, strip_body

__all__ = ["Taper", "body_of", "length_of", "taper_of"]

Floats = npt.NDArray[np.float64]

#: A taper is this many times the wider width long, unless the design says or the path is short.
_USUAL = 3.0
_HAIR = 0.02  # mm; by so much the even middle reaches into the tapered ends


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
    length = length_of(path)
    pieces = [
        _end(path, width, taper, extra[0]),
        _end(path[::-1], width, taper, extra[1]),
    ]
    if length > 2 * taper.length + 2 * _HAIR:
        pieces.append(
            strip_body(_stretch(path, taper.length - _HAIR, length - taper.length + _HAIR), width)
        )
    body = shapely.remove_repeated_points(shapely.union_all(pieces), 1e-4)
    if not isinstance(body, Polygon):
        body = max(shapely.get_parts(body), key=shapely.area)
    return body


def _stretch(path: Floats, start: float, end: float) -> Floats:
    """Return the piece of a path between two lengths along it."""
    piece = shapely.ops.substring(LineString(path), start, end)
    return np.asarray(piece.coords)


def _end(path: Floats, width: float, taper: Taper, extra: float) -> Polygon:
    """Return the tapered piece at the first end of a path, lengthened by `extra`."""
    line = _stretch(path, 0.0, taper.length)
    steps = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    # The profile bends most at its ends: half of |6 (width - end)| / taper^2, for each side.
    bending = 3.0 * abs(width - taper.end) / taper.length**2
    step = np.sqrt(8.0 * TOLERANCES.chord / 2 / max(bending, 1e-12))
    more = np.linspace(0.0, steps[-1], int(np.ceil(steps[-1] / step)) + 1)
    places = np.unique(np.concatenate([steps, more]).round(9))
    places = places[np.concatenate([[True], np.diff(places) > 1e-6])]
    points = np.column_stack([np.interp(places, steps, line[:, k]) for k in (0, 1)])
    widths = taper.at(width, places)
    if extra > 0.0:
        points = np.concatenate([points[:1] + extra * end_direction(line, last=False), points])
        widths = np.concatenate([widths[:1], widths])
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
        return whole
    # Inside a sharp corner the sides fold over: piece by piece they do not.
    quads = np.stack([left[:-1], left[1:], right[1:], right[:-1]], axis=1)
    found = shapely.union_all(shapely.convex_hull(shapely.multipoints(quads)))
    assert isinstance(found, Polygon)  # neighbours share an edge
    return found
