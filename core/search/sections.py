# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a strip covers of a section line: as 64 bits for the quick no, as intervals for the figure.

Bit k of an occupancy stands for the point y = -1 + (k + 1/2)/32 of the line. Each edge of an
outline that crosses the line flips all points below its crossing, so the bits are an exclusive or
over the edges, and no crossing has to be sorted. Two plates whose bits share a point run into each
other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from .geometry import Encounter, Views
from .routes import squares

__all__ = ["Body", "Sight", "clear_pairs", "least_gaps", "occupancy", "sight"]

Floats = npt.NDArray[Any]  # float32 where candidates are judged, float64 where they are measured
Words = npt.NDArray[np.uint64]

_BINS = 64
#: Entry k has the k lowest bits set.
_BELOW = np.array([(1 << k) - 1 for k in range(_BINS + 1)], dtype=np.uint64)
#: At most this many separate intervals of one strip on one line are told apart.
_MOST = 3
#: Along the common line this many strip widths to either side of a joint belong to it.
_ABOUT = 1.5


def occupancy(rings: Floats, views: Views, level: Floats) -> Words:
    """Return the bits (S, V) of closed rings (S, Q, 2) on the lines of `views` at `level` (V,)."""
    count, size, _ = rings.shape
    kind = rings.dtype.type
    across, along = views.across.astype(kind), views.along.astype(kind)
    flat = rings.transpose(2, 0, 1).reshape(2, -1)
    # (V, S, Q): the crossings of one line and ring come in a row.
    height = (across @ flat).reshape(len(across), count, size) - level.astype(kind)[:, None, None]
    above = height > 0
    crosses = above != np.roll(above, -1, axis=2)
    where = np.flatnonzero(crosses)
    line, rest = np.divmod(where, count * size)
    row, begin = np.divmod(rest, size)
    end = np.where(begin == size - 1, 0, begin + 1)
    here = height.reshape(-1)[where]
    there = height.reshape(-1)[where - begin + end]
    share = here / (here - there)
    p, q = rings[row, begin], rings[row, end]
    place = p + share[:, None] * (q - p)
    y = place[:, 0] * along[line, 0] + place[:, 1] * along[line, 1]
    bins = np.clip(np.rint((y + 1) * (_BINS / 2)), 0, _BINS).astype(np.intp)
    found = np.zeros(len(across) * count, dtype=np.uint64)
    cell = line * count + row
    if len(cell):
        starts = np.flatnonzero(np.r_[True, cell[1:] != cell[:-1]])
        found[cell[starts]] = np.bitwise_xor.reduceat(_BELOW[bins], starts)
    return found.reshape(len(across), count).T


def clear_pairs(first: Words, second: Words) -> npt.NDArray[np.bool_]:
    """Tell, row by row of (P, V), where no view is covered by both."""
    return np.asarray(((first & second) == 0).all(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """Rings (S, Q, 2) seen from V section lines.

    height, y : (S, V, Q) of every corner, across and along the line
    ends : (S, V, 6) sorted ends of what the ring covers of the line; inf: no interval
    """

    height: Floats
    y: Floats
    ends: Floats


def sight(rings: Floats, views: Views, level: Floats) -> Sight:
    """See rings (S, Q, 2) from the lines of `views` at `level` (S, V)."""
    count, size, _ = rings.shape
    turned = rings.transpose(0, 2, 1)
    height = views.across @ turned - level[..., None]
    y = views.along @ turned
    above = height > 0
    where = np.flatnonzero(above != np.roll(above, -1, axis=2))
    cell, begin = np.divmod(where, size)
    end = np.where(begin == size - 1, where - begin, where + 1)
    here, there = height.reshape(-1)[where], height.reshape(-1)[end]
    p, q = y.reshape(-1)[where], y.reshape(-1)[end]
    rank = np.arange(len(cell)) - np.searchsorted(cell, cell)
    kept = rank < 2 * _MOST
    ends = np.full((count * len(views.across), 2 * _MOST), np.inf)
    ends[cell[kept], rank[kept]] = (p + here / (here - there) * (q - p))[kept]
    ends.sort(axis=1)
    return Sight(height, y, ends.reshape(count, len(views.across), 2 * _MOST))


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """Strips of one motif: outlines (S, Q, 2), centre paths (S, N, 2), widths (S,)."""

    rings: Floats
    paths: Floats
    width: Floats


def least_gaps(
    one: Body,
    two: Body,
    encounter: Encounter,
    offsets: Floats,
    places: Floats,
    reach: float,
) -> Floats:
    """Return the least distance (S,) of two motifs' strips, negative: they clash.

    Of middle planes: along the section line, and from corners less than `reach` above the other
    plate's plane to the other strip, its ends taken as round (a tab sticks out of them). Of pairs
    that are joined what lies near the joint is left out, all of it with a cross-lap. It is an
    estimate; core/checks gives the exact distance.
    """
    views, mates = encounter.first, encounter.second
    level, mate_level = views.level(offsets), mates.level(offsets)
    a, b = sight(one.rings, views, level), sight(two.rings, mates, mate_level)
    crossing = ~encounter.lapped
    least: Floats = _apart(a.ends[:, crossing], b.ends[:, crossing]).min(axis=1, initial=np.inf)
    widest = np.maximum(one.width, two.width)
    joint_y = np.where(encounter.joint >= 0, encounter.sense * places[:, encounter.joint], np.inf)
    for seen, body, other, its_level in (
        (a, two, mates, mate_level), (b, one, views, level),
    ):  # fmt: skip
        near = np.abs(seen.height) * other.sine[:, None] < reach
        near &= np.abs(seen.y - joint_y[:, :, None]) > _ABOUT * widest[:, None, None]
        near &= crossing[:, None]
        row, view, corner = np.nonzero(near & (least > 0)[:, None, None])
        height, y = seen.height[row, view, corner], seen.y[row, view, corner]
        # The foot of the corner in the other plane lies across the line by -cosine times height.
        across = its_level[row, view] - other.cosine[view] * height
        foot: Floats = across[:, None] * other.across[view] + y[:, None] * other.along[view]
        close = _perhaps_near(foot, body, row, reach)
        lift, row = (height * other.sine[view])[close], row[close]
        beside = _to_paths(foot[close], body.paths, row) - body.width[row] / 2
        np.minimum.at(least, row, np.hypot(lift, np.maximum(beside, 0.0)))
    return least


def _perhaps_near(
    points: Floats, body: Body, row: npt.NDArray[np.intp], reach: float
) -> npt.NDArray[np.intp]:
    """Return which points may lie within `reach` of the strips, by every fifth path point."""
    few = body.paths[:, ::5]
    spans = np.sqrt(squares(np.diff(body.paths, axis=1))).max(axis=1)
    limit = 2.5 * spans + body.width / 2 + reach  # no path point is farther from a chosen one
    apart = squares(points[:, None] - few[row]).min(axis=1, initial=np.inf)
    return np.flatnonzero(apart < limit[row] ** 2)


def _to_paths(points: Floats, paths: Floats, row: npt.NDArray[np.intp]) -> Floats:
    """Return the distances (P,) of points (P, 2) from the polylines paths[row] (P, N, 2)."""
    steps = np.diff(paths, axis=1)
    lengths = np.maximum(squares(steps), 1e-18)
    begin = points[:, None] - paths[row, :-1]
    step = steps[row]
    share = np.clip(
        (begin[..., 0] * step[..., 0] + begin[..., 1] * step[..., 1]) / lengths[row], 0.0, 1.0
    )
    apart = begin - share[..., None] * step
    found: Floats = np.sqrt(squares(apart).min(axis=1, initial=np.inf))
    return found


def _apart(a: Floats, b: Floats) -> Floats:
    """Return the least gap (S, V) of two sets of intervals; negative: how far they overlap."""
    low_a, high_a = a[..., 0::2, None], a[..., 1::2, None]
    low_b, high_b = b[..., None, 0::2], b[..., None, 1::2]
    with np.errstate(invalid="ignore"):
        gap = np.maximum(low_a, low_b) - np.minimum(high_a, high_b)
    gap = np.where(np.isfinite(low_a) & np.isfinite(low_b), gap, np.inf)
    least: Floats = gap.min(axis=(2, 3), initial=np.inf)
    return least
