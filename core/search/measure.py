# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Exact enough figures of candidates that occupancy left, many of one weave at once.

Doubles, a fine outline and sorted intervals instead of bits. Everything is a share of the radius of
the sphere that holds the sculpture, whose middle is the frame's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .geometry import Geometry
from .routes import Course, course, knots_of, outline, squares
from .sections import Body, least_gaps

__all__ = ["Figures", "Order", "measure", "paths_of"]

Floats = npt.NDArray[np.float64]

#: For each motif the classes of its slots in their order along the strip.
Order = tuple[tuple[int, ...], ...]

# Chords to a span of a path, for its curvature; every second point makes the outline.
_PER_SPAN = 24


@dataclass(frozen=True, slots=True, eq=False)
class Figures:
    """Figures of S candidates, (S,) each.

    reach : radius of the sphere that holds the strips
    gap : least distance of strips that are not joined, negative where strips clash
    bend : least inner radius of a bend; apart : least distance of neighbouring ports along a strip,
        less what the slots take: both in strip widths
    length : of all motifs' strips together; own : least distance of a strip from itself, less its
        width, where it comes back to itself
    """

    reach: Floats
    gap: Floats
    bend: Floats
    apart: Floats
    length: Floats
    own: Floats


def paths_of(
    geometry: Geometry, m: int, order: Order, offsets: Floats, places: Floats, width: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return the path points (S, k, 2) of motif m and its end directions; see `knots_of`."""
    tabs = geometry.pattern.tabs(m)
    start = geometry.tab_port(tabs[0], offsets, places)
    end = geometry.tab_port(tabs[1], offsets, places) if len(tabs) == 2 else None
    slots = [geometry.slot_port(c, offsets, places) for c in order[m]]
    middle = np.stack(slots, axis=1) if slots else np.zeros((len(places), 0, 2))
    return knots_of(start, middle, end, geometry.way[list(tabs)], width)


def measure(
    geometry: Geometry,
    order: Order,
    offsets: Floats,
    places: Floats,
    width: Floats,
    reach_of_gap: float,
) -> Figures:
    """Measure candidates of one order.

    offsets : (S, M); places : (S, C); width : (S,); reach_of_gap : up to where distances of plates
        that pass without crossing are of interest
    """
    bodies, figures = [], []
    for m in range(geometry.pattern.motifs):
        path, into, out_of = paths_of(geometry, m, order, offsets, places, width)
        laid = course(path, into, out_of, _PER_SPAN)
        rough = laid.thinned()
        ring = outline(rough, width, 0.012)
        bodies.append(Body(ring, rough.points, width))
        far = np.sqrt(squares(ring).max(axis=1) + offsets[:, m] ** 2)
        with np.errstate(divide="ignore"):
            bend = 1 / laid.curvature.max(axis=1) / width - 0.5
        two_tabs = len(geometry.pattern.tabs(m)) == 2
        last = path[:, -1:] if two_tabs else path[:, :0]
        ports = np.concatenate([path[:, :1], path[:, 2:-2], last], axis=1)
        apart = np.sqrt(squares(np.diff(ports, axis=1))).min(axis=1) / width
        figures.append((far, bend, apart, laid.length, _from_itself(rough, width)))
    far, bend, apart, length, own = (np.array(column) for column in zip(*figures, strict=True))
    gap = np.full(len(places), np.inf)
    for encounter in geometry.encounters:
        one, two = bodies[encounter.first.own], bodies[encounter.first.other]
        gap = np.minimum(gap, least_gaps(one, two, encounter, offsets, places, reach_of_gap))
    return Figures(
        far.max(axis=0), gap, bend.min(axis=0), apart.min(axis=0), length.sum(axis=0),
        own.min(axis=0),
    )  # fmt: skip


def _from_itself(laid: Course, width: Floats) -> Floats:
    """How near a strip comes back to itself, less its width; inf for one that does not."""
    points = laid.points[:, ::2]
    steps = np.sqrt(squares(np.diff(points, axis=1)))
    along = np.concatenate([np.zeros((len(points), 1)), np.cumsum(steps, axis=1)], axis=1)
    apart = np.sqrt(squares(points[:, :, None] - points[:, None]))
    way = np.abs(along[:, :, None] - along[:, None])
    far = way > 3.0 * width[:, None, None]
    near: Floats = np.where(far, apart, np.inf).min(axis=(1, 2)) - width
    return near
