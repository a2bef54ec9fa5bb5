# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rotors of two motifs on one axis that pass through each other like links of a chain.

Blind draws seldom give such: their triangles lie at different heights or have different sizes. Here
the joints of both rotors are put on nearly the same circle about the axis, and only candidates
whose loops are linked (by the Gauss integral of links.py) are gone on with.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from .geometry import Geometry
from .links import linking_numbers
from .measure import Order, paths_of
from .routes import course

__all__ = ["aim", "on_one_axis", "twined"]

Floats = npt.NDArray[np.float64]

_NEAR = 0.16  # joints of the two rotors: difference of heights and of radii, radii of the sphere
_WINDOW = 0.14  # half of the range in which a rotor's place is drawn
_DRAWS = 400


def on_one_axis(geometry: Geometry) -> tuple[int, int] | None:
    """Return the first two rotor classes, of different motifs, that turn about one axis."""
    pattern = geometry.pattern
    rotors = [c for c, (a, b, _) in enumerate(pattern.classes) if a == b and c not in pattern.laps]
    for i, one in enumerate(rotors):
        for two in rotors[i + 1 :]:
            first, second = pattern.classes[one], pattern.classes[two]
            if first[0] == second[0]:
                continue
            axes = [geometry.group.axis_angle_deg(g)[0] for _, _, g in (first, second)]
            if abs(abs(float(axes[0] @ axes[1])) - 1) < 1e-9:
                return one, two
    return None


def aim(
    geometry: Geometry, pair: tuple[int, int], offsets: Floats, rng: np.random.Generator
) -> tuple[Floats, Floats] | None:
    """Return offsets (M,) and ranges (C, 2) of places that put both rotors' joints on one circle.

    Offsets of other motifs stay as they are; ranges of other classes are NaN.
    """
    motifs = [geometry.pattern.classes[c][0] for c in pair]
    axis = geometry.group.axis_angle_deg(geometry.pattern.classes[pair[0]][2])[0]
    draws = rng.uniform(-0.75, 0.75, (2, _DRAWS, 2))  # of (offset, place) for each rotor
    rings = []
    for c, m, drawn in zip(pair, motifs, draws, strict=True):
        way, line = geometry.way[c], geometry.line[c]
        flat = drawn[:, :1] * way + drawn[:, 1:] * line
        points = flat @ geometry.axes[m] + drawn[:, :1] * geometry.normals[m]
        height = points @ axis
        rings.append(
            np.column_stack([height, np.linalg.norm(points - height[:, None] * axis, axis=1)])
        )
    first = rings[0][0]
    if not (0.1 < abs(float(first[0])) < 0.8 and 0.12 < float(first[1]) < 0.6):
        return None
    near = np.flatnonzero(np.abs(rings[1] - first).max(axis=1) < _NEAR)
    if len(near) == 0:
        return None
    chosen = [draws[0, 0], draws[1, near[0]]]
    aimed, ranges = offsets.copy(), np.full((len(geometry.pattern.classes), 2), np.nan)
    for c, m, (h, s) in zip(pair, motifs, chosen, strict=True):
        aimed[m] = h
        ranges[c] = s - _WINDOW, s + _WINDOW
    return (aimed, ranges) if np.abs(aimed).min() > 0.05 else None


def twined(
    geometry: Geometry,
    pair: tuple[int, int],
    order: Order,
    offsets: Floats,
    places: Floats,
    width: float,
) -> npt.NDArray[np.bool_]:
    """Tell which candidates (S, C) have linked loops on the axis of the rotor classes `pair`."""
    count = len(places)
    rows = np.repeat(offsets[None], count, axis=0)
    loops = [_loops(geometry, c, order, rows, places, np.full(count, width)) for c in pair]
    numbers = [
        linking_numbers(one, two[None])[0] if one is not None and two is not None else 0.0
        for one, two in zip(*loops, strict=True)
    ]
    return np.asarray(np.abs(np.rint(numbers)) > 0)


def _loops(
    geometry: Geometry, c: int, order: Order, offsets: Floats, places: Floats, width: Floats
) -> list[Floats | None]:
    """Return for each candidate the closed polygon (P, 3) of a rotor class about its axis."""
    group = geometry.group
    m, _, g = geometry.pattern.classes[c]
    path, into, out_of = paths_of(geometry, m, order, offsets, places, width)
    per_span = 6
    points = course(path, into, out_of, per_span).points
    # points: tab, then per_span points from each knot on; knot 0 is the lead's end, k the slots.
    slot = 1 + per_span * (1 + order[m].index(c))
    last = geometry.pattern.tabs(m)[0] != c
    pieces = points[:, slot:-1] if last else points[:, slot:0:-1]
    end = points[:, -1:] if last else points[:, :1]
    flat = np.concatenate([pieces, end], axis=1)[:, :-1]
    world = flat @ geometry.axes[m] + offsets[:, m, None, None] * geometry.normals[m]
    turn = group.matrices[g]
    turns = [np.linalg.matrix_power(turn, k) for k in range(group.element_order(g))]
    return [np.concatenate([piece @ t.T for t in turns]) for piece in world]
