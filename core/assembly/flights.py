# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How a body of the plan is shown coming in: from nearby outside, leg by leg, to its place.

A way of the plan begins far outside. Here it begins where the body is just clear of the ball that
holds all that stands, so that a picture need not show much more than the sculpture. A body without
a proved way is shown coming near and then, at once, in its place: what hands do in between nobody
knows. A module comes from its table: turned upright there, round the outside, then in.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation, Slerp

from ..results import Step
from .covers import Cover, nearest
from .poses import ARM, poses_between
from .tracks import EASE, JUMP, LINE, Track, matrix_of

__all__ = ["AIR", "by_hand", "carried", "clear_start", "fly_in", "round_outside"]

Floats = npt.NDArray[np.float64]

AIR = 10.0  # mm between balls that must keep apart
_FARTHER = (
    0.35  # of the standing ball's radius: the start is so much farther out, to be seen coming
)
_SHORTEST = 0.5  # of the body's radius: the first leg is at least as long
_TURN_STEP_DEG = 4.0  # a chord of it leaves the circle by 0.06 % of its radius
_ARC_STEP_DEG = 10.0
_NO_TURN = 1e-9  # rad


def fly_in(step: Step, body: Cover, standing: Cover | None, close_by: bool = False) -> Track:
    """Return the way of a step's plates through its poses, its own time from 0 to 1.

    close_by : begin as near as the plates themselves allow, as hands do at a table
    """
    if len(step.way) < 2:  # the first of all: nothing stands, it comes from above
        high = (0.4 if close_by else 1.5) * body.reach
        return Track.of([0.0, 1.0], [[0.0, 0.0, high], [0.0, 0.0, 0.0]])
    rotations = None if step.turns is None else Rotation.from_quat(step.turns)
    angles = np.zeros(len(step.way) - 1)
    if rotations is not None:
        angles = (rotations[1:] * rotations[:-1].inv()).magnitude()
    legs = np.array(step.way)
    if angles[0] < _NO_TURN:
        outer = np.eye(3) if rotations is None else rotations[1].as_matrix()
        middle = step.pivot + outer @ (body.centre - step.pivot)
        legs[0] = clear_start(legs, middle, body, standing)
        if close_by and standing is not None:
            legs[0] = _beside(legs, outer, step.pivot - outer @ step.pivot, body, standing)
    spans = np.maximum(np.linalg.norm(np.diff(legs, axis=0), axis=1), angles * ARM)
    spans = np.sqrt(spans)  # short legs are gone slowly
    times = np.concatenate([[0.0], np.cumsum(spans) / spans.sum()])
    found: Track | None = None
    for k, angle in enumerate(angles.tolist()):
        count = 2 if angle < _NO_TURN else int(np.ceil(np.degrees(angle) / _TURN_STEP_DEG)) + 1
        shares = np.linspace(0.0, 1.0, count)
        if rotations is None:
            leg = Track.of(times[k : k + 2], legs[k : k + 2])
        else:
            ends = rotations[k : k + 2].as_quat()
            turn, shift = poses_between(step.pivot, legs[k : k + 2], ends, shares)
            quaternions = Rotation.from_matrix(turn).as_quat(scalar_first=True)
            when = times[k] + _slowed(shares) * (times[k + 1] - times[k])
            leg = Track.of(when, shift, quaternions, EASE if count == 2 else LINE)
        found = leg if found is None else _continued(found, leg)
    assert found is not None
    return found


def clear_start(legs: Floats, middle: Floats, body: Cover, standing: Cover | None) -> Floats:
    """Return where on its first leg a body becomes visible (3,): outside of all that stands.

    middle : (3,) of the body's ball where no leg is added, turned as it is on the first leg
    """
    first = legs[0] - legs[1]
    length = float(np.linalg.norm(first))
    way = first / length
    if standing is None:
        far = 1.5 * body.reach
    else:
        reach = standing.reach + body.reach + AIR
        far = _leaves(middle + legs[1] - standing.centre, way, reach)
        far += _FARTHER * standing.reach
    far = min(length, max(far, _SHORTEST * body.reach))
    start: Floats = legs[1] + far * way
    return start


def _beside(legs: Floats, turn: Floats, offset: Floats, body: Cover, standing: Cover) -> Floats:
    """Return the nearest start on the first leg at which a body is clear of what stands (3,)."""
    first = legs[0] - legs[1]
    for share in np.linspace(0.05, 1.0, 20):
        start: Floats = legs[1] + share * first
        balls = body.moved(offset + start, turn)
        if nearest(balls, body.radii, standing.centres, standing.radii) > 3 * AIR:
            return start
    farthest: Floats = legs[0]
    return farthest


def by_hand(body: Cover, standing: Cover) -> Track:
    """Return the way of a body that is worked in by hand: near, a wait, then in its place."""
    away = body.centre - standing.centre
    length = float(np.linalg.norm(away))
    way = away / length if length > 1e-6 else np.array([0.0, 0.0, 1.0])
    near = _leaves(away, way, standing.reach + body.reach + AIR)
    shifts = [(near + _FARTHER * standing.reach) * way, near * way, near * way, np.zeros(3)]
    return Track.of([0.0, 0.5, 0.95, 1.0], shifts, None, [EASE, LINE, JUMP])


def carried(
    body: Cover,
    table: tuple[Floats, Floats],
    about: tuple[Floats, float],
    last: Track,
) -> Track:
    """Return the way of a module from its table, round the outside, to the start of `last`, and in.

    body : of the module in its place; table : its turn (4,) and shift (3,) there
    about : centre (3,) and radius of the ball that holds the sculpture: not entered on the way
    last : the way in, from outside, its own time 0 to 1
    """
    middle = body.moved_middle(*table)
    turned = last.turns[0]  # as it is when its way in begins
    lifted = _turned_about(body.centre, middle, table[0], turned)
    centre, radius = about
    there = body.moved_middle(turned, last.shifts[0])
    arc = round_outside(middle - centre, there - centre, radius + body.reach + AIR)
    arc += centre - matrix_of(turned) @ body.centre
    spans = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(arc, axis=0), axis=1))])
    share = spans / spans[-1] if spans[-1] > 0 else np.linspace(0.0, 1.0, len(arc))
    turns = np.tile(turned, (len(arc), 1))
    round_it = Track.of(0.3 + 0.4 * _slowed(share), arc, turns, LINE)
    if len(lifted.times) > 1:
        round_it = _continued(lifted.timed(0.0, 0.3), round_it)
    return _continued(round_it, last.timed(0.7, 0.3))


def round_outside(here: Floats, there: Floats, radius: float) -> Floats:
    """Return points (k, 3) from one place to another that keep out of a ball about the origin.

    Straight if that keeps out; otherwise along an arc whose distance from the origin goes evenly
    from that of one end to that of the other, and in chords whose middle keeps out too.
    """
    if _least_distance(here, there) >= radius:
        return np.array([here, there])
    r0, r1 = float(np.linalg.norm(here)), float(np.linalg.norm(there))
    a, b = here / r0, there / r1
    angle = float(np.arccos(np.clip(a @ b, -1.0, 1.0)))
    side = b - (a @ b) * a
    if np.linalg.norm(side) < 1e-6:  # over the top
        side = np.array([0.0, 0.0, 1.0]) - a[2] * a
        if np.linalg.norm(side) < 1e-6:
            side = np.array([0.0, 1.0, 0.0])
    side = side / np.linalg.norm(side)
    count = max(2, int(np.ceil(np.degrees(angle) / _ARC_STEP_DEG)) + 1)
    steps = np.linspace(0.0, 1.0, count)
    least = radius / np.cos(np.radians(_ARC_STEP_DEG) / 2)
    distance = np.maximum(r0 + steps * (r1 - r0), least)
    points = distance[:, None] * (np.cos(angle * steps)[:, None] * a)
    points += distance[:, None] * (np.sin(angle * steps)[:, None] * side)
    ends = [here, *points, there]
    kept = [ends[0]]
    kept += [p for p in ends[1:] if np.linalg.norm(p - kept[-1]) > 1e-6]
    return np.array(kept)


def _turned_about(place: Floats, middle: Floats, here: Floats, there: Floats) -> Track:
    """Return the turning of a body about its own middle, from one quaternion to another."""
    ends = Rotation.from_quat([here, there], scalar_first=True)
    angle = float((ends[1] * ends[0].inv()).magnitude())
    count = int(np.ceil(np.degrees(angle) / _TURN_STEP_DEG)) + 1
    if count < 2:
        return Track.of([0.0], [middle - ends[1].as_matrix() @ place], [there])
    shares = np.linspace(0.0, 1.0, count)
    turns = Slerp([0.0, 1.0], ends)(shares)
    shifts = middle - turns.as_matrix() @ place
    return Track.of(_slowed(shares), shifts, turns.as_quat(scalar_first=True), LINE)


def _continued(a: Track, b: Track) -> Track:
    """Return a and then b, which begins where and when a ends."""
    return Track.of(
        np.concatenate([a.times, b.times[1:]]),
        np.concatenate([a.shifts, b.shifts[1:]]),
        np.concatenate([a.turns, b.turns[1:]]),
        np.concatenate([a.kinds, b.kinds]),
    )


def _slowed(share: Floats) -> Floats:
    """Return the times (0 to 1) at which an eased motion has gone these shares of its way."""
    # The inverse of 3 s^2 - 2 s^3, by the sine of a third of the angle (Viete).
    times: Floats = 0.5 - np.sin(np.arcsin(np.clip(1 - 2 * share, -1.0, 1.0)) / 3)
    return times


def _leaves(start: Floats, way: Floats, radius: float) -> float:
    """Return how far along a unit vector a point is outside a ball about the origin, mm."""
    along = float(start @ way)
    inside = along * along - float(start @ start) + radius * radius
    return max(0.0, -along + np.sqrt(inside)) if inside > 0 else 0.0


def _least_distance(a: Floats, b: Floats) -> float:
    """Return the distance of a segment from the origin."""
    way = b - a
    length = float(way @ way)
    s = float(np.clip(-(a @ way) / length, 0.0, 1.0)) if length > 0 else 0.0
    return float(np.linalg.norm(a + s * way))
