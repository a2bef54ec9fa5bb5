# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Great rings: flat rings in planes through the centre, each pair crossing in two cross-laps.

Round each ring the laps alternate, once cut from outside and once from inside, as the strands of an
alternating knot do; so all rings are alike and no ring lies over all others. Such a pattern exists
for every set of great circles of which no three meet in one point (their faces can be coloured like
a chessboard).

Two closed rings that cross so could not have come together: pulled apart they would hang in each
other like links of a chain (or, cut from the same side at both laps, one would have to be bent so
small that it passes inside the other). So every ring is slit through once, between two crossings;
it is woven in open, and a strip glued or pinned over the slit closes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from ...design.model import JointClassChoice, JointKind, MotifChoice, Rings
from ...errors import DesignError
from ...frame.frame import Frame
from ...frame.group import Group, rotation_group
from ...tolerance import TOLERANCES
from ..planes import to_plane, world_from_plane
from .recipe import Recipe

__all__ = ["rings"]

Floats = npt.NDArray[np.float64]

#: Wider rings leave hardly an opening, and their laps no room (share of the outer radius).
_WIDEST = 0.6


@dataclass(frozen=True, slots=True, eq=False)
class _Crossing:
    """Where two rings cross: their numbers, and the unit vector (3,) to the place."""

    rings: tuple[int, int]
    point: Floats

    def other(self, ring: int) -> int:
        """Return the ring that crosses this one."""
        return self.rings[1] if ring == self.rings[0] else self.rings[0]


def rings(frame: Frame, chosen: Rings) -> Recipe:
    """Lay a ring square to every axis of the chosen fold.

    Every ring is a motif of its own (the laps' pattern seldom has the frame's whole symmetry);
    congruent rings become one part later.

    Raises
    ------
    DesignError : the frame lacks such axes, three of the rings meet in one place, or the width
        leaves no opening.
    """
    outer = frame.radius
    axes = _axes(frame.group, chosen.about)
    if chosen.width > _WIDEST * outer:
        raise DesignError(
            "recipe.width",
            chosen.width,
            f"at most {_WIDEST * outer:.10g} mm for rings of radius {outer:.10g} mm",
        )
    inner = outer - chosen.width
    if chosen.slit > chosen.width:
        raise DesignError(
            "recipe.slit", chosen.slit, f"at most the rings' width, {chosen.width:.10g} mm"
        )
    crossings = _crossings(axes)
    over = _over(axes, crossings)
    motifs = []
    for i, axis in enumerate(axes):
        mine = [(c.point, over[n] == i) for n, c in enumerate(crossings) if i in c.rings]
        motifs.append(_ring(i, axis, mine, inner, outer, chosen.slit))
    classes = []
    for n, (a, crossing) in enumerate(zip(over, crossings, strict=True)):
        b = crossing.other(a)
        sense = 1 if np.cross(axes[a], axes[b]) @ crossing.point > 0 else -1
        classes.append(
            JointClassChoice(
                name=f"lap-{n + 1}",
                motifs=(f"ring-{a + 1}", f"ring-{b + 1}"),
                kind=JointKind.CROSS_LAP,
                at=float(sense * (outer + inner) / 2),
                outward=sense,
            )
        )
    return Recipe(tuple(motifs), tuple(classes), rotation_group("C1"))


def _axes(group: Group, about: int | None) -> list[Floats]:
    """Return the axes of a fold (None: the fold of the fewest that will do), (3,) unit vectors."""
    by_fold: dict[int, list[Floats]] = {}
    for axis, fold in group.axes():
        by_fold.setdefault(fold, []).append(axis)
    fit = {
        fold: axes
        for fold, axes in by_fold.items()
        if len(axes) > 1 and len(_crossings(axes)) == len(axes) * (len(axes) - 1)
    }
    remedy = "Choose a more symmetrical frame."
    if fit:
        remedy = f"Fit for rings: {', '.join(map(str, sorted(fit)))}; or leave the field out."
    if about is None:
        if not fit:
            raise DesignError(
                "recipe.about",
                None,
                f"rings of which no three meet in one place; no fold of the group {group.name} of "
                "the frame gives any",
                remedy,
            )
        return min(fit.values(), key=len)
    if len(by_fold.get(about, ())) < 2:
        folds = ", ".join(map(str, sorted(by_fold))) if by_fold else "none"
        raise DesignError(
            "recipe.about",
            about,
            f"the fold of at least two axes of the frame; its group {group.name} has axes of fold "
            f"{folds}",
            remedy,
        )
    if about not in fit:
        raise DesignError(
            "recipe.about",
            about,
            "axes whose rings meet only two at a time; of these three or more meet in one place",
            remedy,
        )
    return fit[about]


def _ring(
    index: int,
    axis: Floats,
    laps: list[tuple[Floats, bool]],
    inner: float,
    outer: float,
    slit: float,
) -> MotifChoice:
    """Draw one ring, slit in the middle of its widest arc between crossings.

    laps : where it crosses another, (3,) unit vector, and whether it is cut from outside there

    Its corners divide the arcs evenly; so rings that cross alike are congruent to the last corner,
    and become one part (turned over where over and under are exchanged).
    """
    x_axis = laps[0][0]
    flat = to_plane(world_from_plane(axis, 0.0, x_axis), [point for point, _ in laps])
    angles = np.arctan2(flat[:, 1], flat[:, 0]) % (2 * np.pi)
    order = np.argsort(angles)
    angles, outside = angles[order], np.array([cut for _, cut in laps])[order]
    step = 2 * np.arccos(1 - TOLERANCES.chord / outer)
    after = np.append(angles[1:], angles[0] + 2 * np.pi)
    corners = np.concatenate(
        [
            np.linspace(start, end, int(np.ceil((end - start) / step - 1e-9)) + 1)[:-1]
            for start, end in zip(angles, after, strict=True)
        ]
    )
    # Of several widest arcs one after a lap cut from outside, whose followers are wide too: so that
    # rings that are alike are slit alike.
    arcs = np.round(after - angles, 4)
    widest = max(range(len(arcs)), key=lambda k: (arcs[k], outside[k], *np.roll(arcs, -k)))
    middle = (angles[widest] + after[widest]) / 2
    from_slit = np.sort((corners - middle) % (2 * np.pi))
    edges = []
    for radius in (outer, inner):
        half = np.arcsin(slit / 2 / radius)
        kept = from_slit[(from_slit > half + 1e-6) & (from_slit < 2 * np.pi - half - 1e-6)]
        along = middle + np.concatenate([[half], kept, [2 * np.pi - half]])
        edges.append(radius * np.column_stack([np.cos(along), np.sin(along)]))
    ring = np.concatenate([edges[0], edges[1][::-1]])
    return MotifChoice(
        name=f"ring-{index + 1}",
        normal=(float(axis[0]), float(axis[1]), float(axis[2])),
        offset=0.0,
        x_axis=(float(x_axis[0]), float(x_axis[1]), float(x_axis[2])),
        outline=tuple((float(x), float(y)) for x, y in ring),
    )


def _crossings(axes: list[Floats]) -> list[_Crossing]:
    """Return the places where exactly two rings cross, each followed by the one opposite it."""
    found = []
    normals = np.array(axes)
    for i, j in combinations(range(len(axes)), 2):
        point = np.cross(axes[i], axes[j])
        point = point / np.linalg.norm(point)
        if (np.abs(normals @ point) < TOLERANCES.symmetry).sum() == 2:
            found += [_Crossing((i, j), point), _Crossing((i, j), -point)]
    return found


def _over(axes: list[Floats], crossings: list[_Crossing]) -> list[int]:
    """Return, for each crossing, the ring that is cut from outside there.

    Walks along the rings, from each into those that it crosses, and alternates on the way.
    """
    order = [_along(i, axis, crossings) for i, axis in enumerate(axes)]
    over = [-1] * len(crossings)
    waiting = [
        (0, 0, True)
    ]  # a ring, a place in its order, and whether it is cut from outside there
    done: set[int] = set()
    while waiting:
        ring, start, outside = waiting.pop()
        if ring in done:
            continue
        done.add(ring)
        mine = order[ring]
        for k in range(len(mine)):
            n = mine[(start + k) % len(mine)]
            other = crossings[n].other(ring)
            is_over = outside == (k % 2 == 0)
            over[n] = ring if is_over else other
            waiting.append((other, order[other].index(n), not is_over))
    return over


def _along(ring: int, axis: Floats, crossings: list[_Crossing]) -> list[int]:
    """Return the numbers of a ring's crossings in the order round it, anticlockwise."""
    plane = world_from_plane(axis, 0.0)
    mine = [n for n, crossing in enumerate(crossings) if ring in crossing.rings]
    flat = to_plane(plane, [crossings[n].point for n in mine])
    return [mine[k] for k in np.argsort(np.arctan2(flat[:, 1], flat[:, 0]), kind="stable").tolist()]
