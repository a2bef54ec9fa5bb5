# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A path of circular arcs: through three points one arc, through more a chain that has no kink.

Between two points with given directions two arcs run that touch each other: a biarc. With p, q the
points, a, b the unit directions, v = q - p and s = a + b, both arcs have the same length d from
their ends to the corner of their tangents,

    2 d^2 (1 - a.b) + 2 d v.s - v.v = 0,    joint = (p + q + d (a - b)) / 2

(Bolton, Biarc curves, Computer-Aided Design 7, 1975; from memory). The direction at an inner point
is that of the circle through it and its two neighbours.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..errors import DesignError
from ..tolerance import TOLERANCES

__all__ = ["arc_path", "arc_steps"]

Floats = npt.NDArray[np.float64]

_STRAIGHT = 1e-9  # turns by less (rad) are none
_MOST_TURN = np.radians(300.0)  # of one arc: beyond, it runs round in a loop


def arc_steps(radius: float, angle: float) -> int:
    """Return the number of chords that keep an arc of `angle` (rad) within the chord tolerance."""
    step = 2 * np.arccos(max(1 - TOLERANCES.chord / radius, -1.0))
    return max(2, int(np.ceil(angle / step)))


def arc_path(path: Floats, name: str) -> Floats:
    """Return a path (n, 2), n >= 3, as arcs of circles, sampled.

    Three points: the arc through them. More: the first and last segments stay straight, arcs run
    between through the other points.

    Raises
    ------
    DesignError : an arc would run round nearly a whole circle.
    """
    if len(path) == 3:
        first = _circle_way(path, at=0)
        return _arc(path[0], first, path[2], name)
    inner = path[1:-1]
    ways = [_unit(path[1] - path[0])]
    ways += [_circle_way(inner[k - 1 : k + 2], at=1) for k in range(1, len(inner) - 1)]
    ways.append(_unit(path[-1] - path[-2]))
    pieces = [path[:1], inner[:1]]
    for p, q, a, b in zip(inner[:-1], inner[1:], ways[:-1], ways[1:], strict=True):
        joint = _joint(p, q, a, b)
        first = _arc(p, a, joint, name)
        second = _arc(q, -b, joint, name)[::-1]
        pieces += [first[1:], second[1:]]
    pieces.append(path[-1:])
    return np.concatenate(pieces)


def _unit(vector: Floats) -> Floats:
    unit: Floats = vector / np.linalg.norm(vector)
    return unit


def _circle_way(three: Floats, at: int) -> Floats:
    """Return the direction of the circle through three points a, b, c at the first or second.

    At b the chords count by the inverse of their length: (b - a)/|b - a|^2 + (c - b)/|c - b|^2.
    """
    a, b, c = three
    u, v = b - a, c - b
    middle = _unit(u / (u @ u) + v / (v @ v))
    if at == 1:
        return middle
    # An arc leaves its chord at the angle at which it comes in at the other end.
    along = _unit(u)
    mirrored: Floats = 2 * (middle @ along) * along - middle
    return mirrored


def _joint(p: Floats, q: Floats, a: Floats, b: Floats) -> Floats:
    """Return where the two arcs of a biarc touch."""
    v, s = q - p, a + b
    flat, square = 1.0 - float(a @ b), float(v @ v)
    along = float(v @ s)
    if flat > 1e-12:
        d = (-along + np.sqrt(along**2 + 2 * flat * square)) / (2 * flat)
    elif abs(along) > 1e-12:
        d = square / (2 * along)
    else:  # parallel ways square to the chord: two half circles
        d = 0.0
        half: Floats = (p + q) / 2
        return half
    joint: Floats = (p + q + d * (a - b)) / 2
    return joint


def _arc(start: Floats, way: Floats, end: Floats, name: str) -> Floats:
    """Return the arc from `start`, which it leaves along `way`, to `end`, sampled (k, 2)."""
    chord = end - start
    length = float(np.linalg.norm(chord))
    cross = float(way[0] * chord[1] - way[1] * chord[0])
    lean = np.arctan2(cross, float(way @ chord))  # half of the arc's turn
    if abs(lean) < _STRAIGHT or length < TOLERANCES.point:
        return np.array([start, end])
    if abs(2 * lean) > _MOST_TURN:
        raise DesignError(
            f"motifs.{name}.path",
            (round(float(start[0]), 3), round(float(start[1]), 3)),
            f"points between which an arc turns by at most {np.degrees(_MOST_TURN):.0f} deg",
            "Add a point between, or take bend = 'smooth'.",
        )
    radius = length / (2 * np.sin(abs(lean)))
    left = np.array([-way[1], way[0]]) * np.sign(lean)
    centre = start + radius * left
    turns = np.linspace(0.0, 2 * abs(lean), arc_steps(radius, 2 * abs(lean)) + 1)[:, None]
    points: Floats = centre - radius * left * np.cos(turns) + radius * way * np.sin(turns)
    points[-1] = end
    return points
