# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The way in of a plate or a module: from outside to its place, proved to be free.

The search goes backwards, from the place outward. First the joints that agree on one direction are
opened along it, all others counted as sprung; then a straight leg to the outside is looked for,
then one more leg in between, and at last a way with turns (outward.py). A sprung joint's zone on
the standing plate is left out of the sweep, but only on legs that do not drive the two plates
deeper into each other: bending lets a tab pass a plate's face, not a shoulder pass through it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from .grips import Grips
from .screens import Screens
from .way_in import Effort, Way
from .way_search import IN_THE_WAY, SAME_WAY, Search, Tried, out_of

__all__ = ["Effort", "Tried", "Way", "find_way", "open_groups"]

Floats = npt.NDArray[np.float64]

_STAGES = (1, 4, 12)  # rounds of growing


def open_groups(grips: Grips, movers: frozenset[int], joints: Sequence[int]) -> list[list[int]]:
    """Gather joints by the direction in which they let `movers` out, the largest group first."""
    groups: list[tuple[Floats, list[int]]] = []
    for joint in joints:
        out = out_of(grips, movers, joint)
        for direction, group in groups:
            if out @ direction >= SAME_WAY:
                group.append(joint)
                break
        else:
            groups.append((out, [joint]))
    return sorted((group for _, group in groups), key=lambda group: (-len(group), group))


_Opening = tuple[tuple[int, ...], tuple[int, ...], list[Floats]]  # straight, sprung, first legs


def find_way(
    grips: Grips,
    movers: Sequence[int],
    still: Sequence[int],
    joints: Sequence[int],
    effort: Effort = Effort.STRAIGHT,
    allowed: Callable[[Sequence[int]], bool] | None = None,
    screens: Screens | None = None,
    tried: Tried | None = None,
    likely: Sequence[Way] = (),
) -> Way:
    """Find a way in for `movers`, as one body, to where they are joined to `still` by `joints`.

    With turns means with turns only: straight legs are looked for before.

    allowed : tells of joints whether all of them can be sprung; None: they can
    screens : the plates' pictures, where they are made already
    tried : what was met before for these movers, when at least as much stood; read and added to
    likely : ways that are worth a proof before any search
    """
    search = Search(grips, movers, still, joints, screens, Tried() if tried is None else tried)
    openings, shut = _openings(search, joints, allowed)
    turned = effort > Effort.STRAIGHT
    for straight, sprung, legs in openings:
        known = search.proved(likely, straight, sprung, turned)
        if known is not None:
            return known
        if not turned:
            found = search.straight_out(legs, sprung)
            if found is not None:
                return Way(found, straight, sprung, True, frozenset())
    # All openings are tried in few rounds before any is tried in many.
    for rounds in (*(r for r in _STAGES if r < effort), int(effort)) if turned else ():
        for straight, sprung, legs in openings:
            grown = search.turned_out(legs, straight, sprung, rounds)
            if grown is not None:
                poses, pivot = grown
                return Way(poses[:, :3], straight, sprung, True, frozenset(), poses[:, 3:], pivot)
    seen = frozenset(plate for plate, _ in search.hits.most_common(IN_THE_WAY))
    if shut:
        seen |= {search.ends(joint)[1] for joint in joints}
    return Way(np.zeros((1, 3)), (), tuple(joints), False, seen, opened=bool(openings))


def _openings(
    search: Search, joints: Sequence[int], allowed: Callable[[Sequence[int]], bool] | None
) -> tuple[list[_Opening], bool]:
    """Return how the joints can be opened, and whether a joint less would let more be tried."""
    grips, legs_known = search.grips, search.tried.legs
    laps = {joint for joint in joints if grips.lap[joint]}
    shut = False
    found: list[_Opening] = []
    for group in open_groups(grips, search.movers, joints):
        if not laps.issubset(group):
            shut = True
            continue  # no bending opens a cross-lap: it slides along a line in both planes
        sprung = tuple(joint for joint in joints if joint not in group)
        key = tuple(group)
        before = legs_known.get(key)
        if before is not None and before in search.there:
            search.hits[before] += 1
            continue
        if allowed is not None and not allowed(sprung):  # which is sooner told than the leg
            shut = True
            continue
        first = search.out[group[0]] * max(float(grips.slide[joint]) for joint in group)
        if before is None or before >= 0:
            free = search.passes(np.zeros(3), first, sprung)
            legs_known[key] = -1 if free else search.blockers[0][1]
        if legs_known[key] < 0:
            found.append((key, sprung, [np.zeros(3), first]))
    if not laps and (allowed is None or allowed(joints)):
        found.append(((), tuple(joints), [np.zeros(3)]))
    else:
        shut = True
    return found, shut
