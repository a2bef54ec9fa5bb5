# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A motif drawn by hand: its path or outline as curves in its plane, and such curves back again.

A path that is one smooth curve becomes cubic Bezier spans. That is exact, since every span of a
cubic spline is one: with the derivative d at a knot and the span's length h in the parameter, its
handles lie at h d / 3 from the knots. All other paths, and outlines, become their corners. Lengths
are mm, in the plane's own coordinates.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from scipy.interpolate import CubicSpline

from ..design.model import Bend, Design, JointKind, MotifChoice
from ..errors import DesignError
from ..frame.group import Group
from ..tolerance import TOLERANCES
from .path import centre_line, end_direction
from .planes import section_line, to_plane, world_from_plane

__all__ = ["Curve", "curves_of", "redrawn"]

Floats = npt.NDArray[np.float64]
_KINK = np.cos(np.radians(1.0))  # spans whose directions differ by more meet in a corner
_PIECES = (1, 2, 4)  # that a Bezier span is cut into, for one smooth curve through its ends
_LEAD = 0.5  # mm of straight line at the ends of a smooth path
_TOUCHED = 1e-3  # mm; programs that draw keep seven digits of a place
_NEAR = 1.0  # mm between the end of a path and its joint's place on the section line


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A curve in a motif's plane.

    knots : (n, 2) corners of a polyline, or (n, 3, 2) of Bezier spans: handle before the knot, the
        knot, handle after it; mm
    closed : the last knot is joined to the first
    """

    knots: Floats
    closed: bool = False

    @property
    def points(self) -> Floats:
        """The knots alone, (n, 2)."""
        return self.knots if self.knots.ndim == 2 else self.knots[:, 1]


def curves_of(choice: MotifChoice) -> tuple[Curve, ...]:
    """Return a strip's path as one open curve, or a plate's outline and holes as closed ones."""
    if choice.path is None:
        rings = (choice.outline or (), *choice.holes)
        return tuple(Curve(np.array(ring, dtype=float), closed=True) for ring in rings)
    path = np.array(choice.path, dtype=float)
    if choice.bend is not Bend.SMOOTH or len(path) < 3:
        return (Curve(path),)
    return (Curve(_bezier(path)),)


def redrawn(design: Design, motif: str, curves: tuple[Curve, ...], group: Group) -> Design:
    """Return the design with a motif's path or outline as it was drawn.

    Where an end of the path had a joint, the end is laid on the joint's section line and the joint
    moved to it, in all copies.

    Raises
    ------
    DesignError : there is no such motif, or the curves are no path or no outline.
    """
    choice = next((one for one in design.motifs if one.name == motif), None)
    if choice is None:
        raise DesignError("motifs", motif, "the name of a motif of the design")
    if choice.path is None:
        return _exchanged(design, _outlined(choice, curves))
    if len(curves) != 1 or curves[0].closed:
        found = "a closed curve" if len(curves) == 1 else f"{len(curves)} curves"
        raise DesignError(
            f"motifs.{motif}.path",
            found,
            "one open curve",
            "The path of a strip has two ends: open the curve, or take the others out.",
        )
    points, bend = _path(curves[0], choice)
    points = _without_doubles(points)
    if len(points) < 2:
        raise DesignError(f"motifs.{motif}.path", "one point", "at least two points apart")
    fresh = replace(choice, bend=bend)
    return _with_ends(design, choice, fresh, points, group)


# ---------------------------------------------------------------- design to curve


def _bezier(path: Floats) -> Floats:
    """Return the knots (n, 3, 2) of the smooth path: see `centre_line`."""
    inner = path[1:-1]
    if len(inner) == 1:
        inner = np.array([(path[0] + 2 * path[1]) / 3, (2 * path[1] + path[2]) / 3])
    places = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(inner, axis=0), axis=1))])
    first, last = -end_direction(path, last=False), end_direction(path, last=True)
    slopes = CubicSpline(places, inner, bc_type=((1, first), (1, last)))(places, 1)
    before = np.diff(places, prepend=places[0])[:, None] * slopes / 3
    after = np.diff(places, append=places[-1])[:, None] * slopes / 3
    knots = np.stack([inner - before, inner, inner + after], axis=1)
    lead, tail = (inner[0] - path[0]) / 3, (path[-1] - inner[-1]) / 3
    knots[0, 0], knots[-1, 2] = inner[0] - lead, inner[-1] + tail
    start = np.array([path[0] - lead, path[0], path[0] + lead])
    end = np.array([path[-1] - tail, path[-1], path[-1] + tail])
    return np.concatenate([start[None], knots, end[None]])


# ---------------------------------------------------------------- curve to design


def _path(curve: Curve, choice: MotifChoice) -> tuple[Floats, Bend]:
    """Return the points of a path and how it goes round them."""
    if curve.knots.ndim == 2:
        return curve.knots, Bend.SHARP if choice.bend is Bend.SMOOTH else choice.bend
    if choice.bend is Bend.SMOOTH and choice.path is not None and len(choice.path) > 2:
        old = _bezier(np.array(choice.path, dtype=float))
        if old.shape == curve.knots.shape and np.abs(old - curve.knots).max() < _TOUCHED:
            return np.array(choice.path, dtype=float), Bend.SMOOTH  # nobody touched it
    if _kinks(curve.knots):
        return _sampled(curve.knots), Bend.SHARP
    fine = _sampled(curve.knots)
    chord, off = fine[-1] - fine[0], fine - fine[0]
    if np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]).max() < 1e-6:
        return fine[[0, -1]], Bend.SHARP
    for pieces in _PIECES:
        points = _smooth_points(curve.knots, pieces)
        drawn = centre_line(points, Bend.SMOOTH, 0.0, choice.name)
        if _farthest(fine, drawn) <= 2 * TOLERANCES.chord:
            return points, Bend.SMOOTH
    return fine, Bend.SHARP  # a curve that turns sharply takes fewer corners than smooth points


def _smooth_points(knots: Floats, pieces: int) -> Floats:
    """Return points of a smooth path along Bezier spans, each span cut into `pieces`.

    A straight span at an end stays one piece; a curved one begins with a short straight lead.
    """
    spans = _spans(knots)
    straight = [_is_straight(span) for span in spans]
    points = [spans[0][0]]
    if not straight[0] or len(spans) == 1:
        points.append(spans[0][0] + _LEAD * _unit(_leaving(spans[0])))
    for k, span in enumerate(spans):
        count = 1 if straight[k] and k in (0, len(spans) - 1) else pieces
        where = np.linspace(0.0, 1.0, count + 1)[1:]
        points += list(_at(span, where))
    end = points.pop()
    if not straight[-1] or len(spans) == 1:
        points.append(end - _LEAD * _unit(_arriving(spans[-1])))
    return np.array([*points, end])


def _spans(knots: Floats, closed: bool = False) -> list[Floats]:
    """Return the four control points (4, 2) of each span."""
    after = np.roll(knots, -1, axis=0)
    count = len(knots) if closed else len(knots) - 1
    return [np.array([knots[k, 1], knots[k, 2], after[k, 0], after[k, 1]]) for k in range(count)]


def _at(span: Floats, where: Floats) -> Floats:
    """Return points (n, 2) of a cubic Bezier span at parameters (n,)."""
    t, s = where[:, None], 1.0 - where[:, None]
    found: Floats = (
        s**3 * span[0] + 3 * s**2 * t * span[1] + 3 * s * t**2 * span[2] + t**3 * span[3]
    )
    return found


def _leaving(span: Floats) -> Floats:
    """Return the direction in which a span begins; its handle may lie on the knot."""
    ways = span[1:] - span[0]
    away = np.linalg.norm(ways, axis=1) > 1e-9
    found: Floats = ways[int(np.argmax(away))]
    return found


def _arriving(span: Floats) -> Floats:
    found: Floats = -_leaving(span[::-1])
    return found


def _unit(vector: Floats) -> Floats:
    length = float(np.linalg.norm(vector))
    found: Floats = vector / length if length > 0 else np.array([1.0, 0.0])
    return found


def _is_straight(span: Floats) -> bool:
    chord = _unit(span[3] - span[0])
    off = (span[1:3] - span[0]) @ np.array([-chord[1], chord[0]])
    return bool(np.abs(off).max() < 1e-6 + 1e-4 * np.linalg.norm(span[3] - span[0]))


def _kinks(knots: Floats) -> bool:
    """Tell whether spans meet in a corner."""
    spans = _spans(knots)
    return any(_unit(_arriving(one)) @ _unit(_leaving(two)) < _KINK for one, two in pairwise(spans))


def _sampled(knots: Floats, closed: bool = False) -> Floats:
    """Return a polyline whose chords keep to the chord tolerance.

    The second difference of the control points bounds a span's second derivative, and with it the
    gap of n equal pieces: 6 max |p0 - 2 p1 + p2| / (8 n^2).
    """
    points = [knots[:1, 1]]
    for span in _spans(knots, closed):
        bend = np.linalg.norm(span[:2] - 2 * span[1:3] + span[2:], axis=1).max()
        count = max(1, int(np.ceil(np.sqrt(0.75 * bend / TOLERANCES.chord))))
        points.append(_at(span, np.linspace(0.0, 1.0, count + 1)[1:]))
    found = np.concatenate(points)
    sampled: Floats = found[:-1] if closed else found
    return sampled


def _farthest(points: Floats, line: Floats) -> float:
    """Return how far the farthest of some points (n, 2) lies from a polyline (k, 2), mm."""
    return float(shapely.distance(shapely.points(points), shapely.LineString(line)).max())


def _without_doubles(points: Floats) -> Floats:
    apart = np.linalg.norm(np.diff(points, axis=0), axis=1) > TOLERANCES.point
    kept: Floats = points[np.concatenate([[True], apart])]
    return kept


def _outlined(choice: MotifChoice, curves: tuple[Curve, ...]) -> MotifChoice:
    """Return a plate whose outline is the largest of the curves, the others its holes."""
    rings = [
        curve.knots if curve.knots.ndim == 2 else _sampled(curve.knots, closed=True)
        for curve in curves
    ]
    if not rings or not all(curve.closed and len(curve.knots) > 1 for curve in curves):
        raise DesignError(
            f"motifs.{choice.name}.outline", "an open curve", "closed curves", "Close the curve."
        )
    x, y = (np.array([np.ptp(ring[:, axis]) for ring in rings]) for axis in (0, 1))
    rings.insert(0, rings.pop(int(np.argmax(x * y))))
    outline, *holes = (tuple((float(x), float(y)) for x, y in ring) for ring in rings)
    return replace(choice, outline=outline, holes=tuple(holes))


# ---------------------------------------------------------------- joints at the ends


def _with_ends(
    design: Design, old: MotifChoice, fresh: MotifChoice, points: Floats, group: Group
) -> Design:
    """Lay the ends of a redrawn path on their section lines, and move their joints there."""
    assert old.path is not None
    was = np.array(old.path, dtype=float)
    points = points.copy()
    plane = world_from_plane(old.normal, old.offset, old.x_axis)
    motifs = {one.name: one for one in design.motifs}
    classes = []
    for joint in design.joint_classes:
        other = motifs.get(joint.motifs[1])
        if joint.kind is not JointKind.TENON or joint.motifs[0] != old.name or other is None:
            classes.append(joint)
            continue
        turn = group.matrices[group.element(joint.turn.axis, joint.turn.angle)]
        first, second = (_normal(one) for one in (old, other))
        line = section_line(first, old.offset, turn @ second, other.offset)
        if line is None:
            classes.append(joint)
            continue
        origin = to_plane(plane, line.point)
        along = plane[:3, :2].T @ line.direction
        place = origin + joint.at * along
        gaps = np.linalg.norm(was[[0, -1]] - place, axis=1)
        end = 0 if gaps[0] <= gaps[1] else -1
        untouched = np.linalg.norm(points[end] - was[end]) < _TOUCHED
        if untouched:
            points[end] = was[end]
        if untouched or gaps.min() > _NEAR:
            classes.append(joint)
            continue
        at = float((points[end] - origin) @ along)
        points[end] = origin + at * along
        classes.append(replace(joint, at=at))
    drawn = replace(fresh, path=tuple((float(x), float(y)) for x, y in points))
    return replace(_exchanged(design, drawn), joint_classes=tuple(classes))


def _normal(choice: MotifChoice) -> Floats:
    normal = np.array(choice.normal, dtype=float)
    unit: Floats = normal / np.linalg.norm(normal)
    return unit


def _exchanged(design: Design, choice: MotifChoice) -> Design:
    motifs = tuple(choice if one.name == choice.name else one for one in design.motifs)
    return replace(design, motifs=motifs)
