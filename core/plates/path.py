# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A strip's centre path: its corners mitred, filleted or drawn as one smooth curve."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline
from shapely import LineString, Polygon

from ..design.model import Bend
from ..errors import DesignError
from ..tolerance import TOLERANCES
from .arcs import arc_path, arc_steps

__all__ = ["centre_line", "end_direction", "least_radius", "strip_body"]

Floats = npt.NDArray[np.float64]
_ALONG_CHORD = np.linspace(0.1, 0.9, 9)  # where a chord's distance from its curve is measured


def centre_line(points: npt.ArrayLike, bend: Bend, radius: float, name: str = "strip") -> Floats:
    """Return the path as a polyline (k, 2) fine enough to be cut (core/tolerance.py: chord).

    Sharp keeps the points; round puts a fillet of `radius` at each inner corner; smooth keeps the
    first and last segments straight and runs one curve with continuous curvature through the points
    between, tangent to both (a clamped cubic spline over the chord length, scipy). A single corner
    is replaced by two points, a third of the way from it to the ends. Arc keeps the first and last
    segments too and runs arcs of circles between (see arcs.py).

    Parameters
    ----------
    points : (n, 2) mm, n >= 2, no two in a row equal
    radius : of the fillets, mm
    name : of the motif, for the error's text

    Raises
    ------
    DesignError : a fillet does not fit between its neighbours, or an arc would run all round.
    """
    path = np.asarray(points, dtype=float)
    if len(path) < 3 or bend is Bend.SHARP or (bend is Bend.ROUND and radius <= 0):
        return path
    if bend is Bend.ARC:
        return arc_path(path, name)
    return _fillets(path, radius, name) if bend is Bend.ROUND else _smooth(path)


def end_direction(path: Floats, last: bool) -> Floats:
    """Return the unit vector (2,) that points out of the path at its last (or first) point."""
    step = path[-1] - path[-2] if last else path[0] - path[1]
    unit: Floats = step / np.linalg.norm(step)
    return unit


def least_radius(path: Floats) -> float:
    """Return the least radius of curvature of a sampled path, mm; inf for a straight one.

    It is that of the circle through three points in a row: sides' product over four times the area.
    """
    if len(path) < 3:
        return np.inf
    a, b, c = path[:-2], path[1:-1], path[2:]
    u, v = b - a, c - b
    cross = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    sides = np.linalg.norm(u, axis=1) * np.linalg.norm(v, axis=1) * np.linalg.norm(c - a, axis=1)
    with np.errstate(divide="ignore"):
        return float(np.min(np.where(cross > 0, sides / (2 * cross), np.inf)))


def strip_body(path: Floats, width: float, extra: tuple[float, float] = (0.0, 0.0)) -> Polygon:
    """Return the strip of `width` mm along a path (k, 2), cut square at its ends.

    extra : how far the first and the last end are lengthened, mm
    """
    line = path.copy()
    line[0] += extra[0] * end_direction(path, last=False)
    line[-1] += extra[1] * end_direction(path, last=True)
    body = LineString(line).buffer(width / 2, cap_style="flat", join_style="mitre", mitre_limit=4)
    if not isinstance(body, Polygon):  # a path that folds back on itself can leave a speck
        body = max(body.geoms, key=lambda piece: float(piece.area))
    return body


def _fillets(path: Floats, radius: float, name: str) -> Floats:
    """Replace each inner corner by an arc of `radius` that touches both segments."""
    pieces = [path[:1]]
    room = np.linalg.norm(np.diff(path, axis=0), axis=1)
    taken = np.zeros(len(path))
    for i in range(1, len(path) - 1):
        before = (path[i - 1] - path[i]) / room[i - 1]
        after = (path[i + 1] - path[i]) / room[i]
        turn = np.pi - np.arccos(np.clip(before @ after, -1, 1))
        if turn < 1e-9:
            continue
        taken[i] = radius * np.tan(turn / 2)
        if taken[i] > room[i - 1] - taken[i - 1] or taken[i] > room[i]:
            raise DesignError(
                f"motifs.{name}.bend_radius",
                radius,
                f"a radius whose fillet fits at corner {i + 1} of the path "
                f"(about {radius * room[[i - 1, i]].min() / (2 * taken[i]):.1f} mm at most)",
                "Make the radius smaller or the segments longer.",
            )
        middle = (before + after) / np.linalg.norm(before + after)
        centre = path[i] + middle * radius / np.cos(turn / 2)
        start = path[i] + before * taken[i] - centre
        sense = np.sign(before[0] * after[1] - before[1] * after[0])
        steps = arc_steps(radius, turn)
        angles = -sense * np.linspace(0, turn, steps + 1)
        cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
        pieces.append(centre + cos * start + sin * np.array([-start[1], start[0]]))
    pieces.append(path[-1:])
    return np.concatenate(pieces)


def _smooth(path: Floats) -> Floats:
    """Run a clamped cubic spline through the inner points, straight before and behind it."""
    inner = path[1:-1]
    if len(inner) == 1:  # one corner only: give the curve a middle to run through
        inner = np.array([(path[0] + 2 * path[1]) / 3, (2 * path[1] + path[2]) / 3])
    knots = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(inner, axis=0), axis=1))])
    first = -end_direction(path, last=False)
    last = end_direction(path, last=True)
    curve = CubicSpline(knots, inner, bc_type=((1, first), (1, last)))
    # As many chords as the sharpest place of each span needs, by its sagitta.
    fine = np.linspace(0, knots[-1], 64 * len(knots))
    velocity, bending = curve(fine, 1), curve(fine, 2)
    speed = np.linalg.norm(velocity, axis=1)
    curvature = np.abs(velocity[:, 0] * bending[:, 1] - velocity[:, 1] * bending[:, 0]) / speed**3
    density = speed * np.sqrt(np.maximum(curvature, 1e-9) / (8 * TOLERANCES.chord))
    # A running mean keeps neighbouring chords alike, so that edges shade evenly.
    density = np.maximum(density, 0.25 * density.max())
    count = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2 * np.diff(fine))])
    steps = max(int(np.ceil(count[-1])), 4 * (len(knots) - 1))
    while True:
        places = np.interp(np.linspace(0, count[-1], steps + 1), count, fine)
        corners = curve(places)
        chord = np.diff(corners, axis=0)
        inner_places = places[:-1, None] + np.diff(places)[:, None] * _ALONG_CHORD
        rise = curve(inner_places) - corners[:-1, None]
        # Where the curvature changes along a chord, its sagitta is a little larger than wanted, and
        # not in the middle.
        cross = np.abs(chord[:, None, 0] * rise[..., 1] - chord[:, None, 1] * rise[..., 0])
        sagitta = float((cross / np.linalg.norm(chord, axis=1)[:, None]).max())
        if sagitta <= TOLERANCES.chord:
            return np.concatenate([path[:1], corners, path[-1:]])
        steps = int(np.ceil(steps * np.sqrt(sagitta / TOLERANCES.chord))) + 1
