# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Great rings: flat rings in planes through the centre, each pair crossing in two cross-laps.

Round each ring the laps alternate, once cut from outside and once from inside, as the strands of an
alternating knot do; so all rings are alike and no ring lies over all others. Such a pattern exists
for every set of great circles of which no three meet in one point (their faces can be coloured like
a chessboard).
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import numpy.typing as npt

from ...design.model import JointClassChoice, JointKind, MotifChoice, Rings
from ...errors import DesignError
from ...frame.frame import Frame
from ...frame.group import rotation_group
from ...tolerance import TOLERANCES
from ..planes import world_from_plane
from .recipe import Recipe

__all__ = ["rings"]

Floats = npt.NDArray[np.float64]


def rings(frame: Frame, chosen: Rings) -> Recipe:
    """Lay a ring square to every axis of the chosen fold.

    Every ring is a motif of its own (the laps' pattern seldom has the frame's whole symmetry);
    congruent rings become one part later.
    Raises DesignError for a fold that the frame lacks, a width that leaves no opening, or rings of
    which three meet in one place.
    """
    axes = [axis for axis, fold in frame.group.axes() if fold == chosen.about]
    folds = sorted({fold for _, fold in frame.group.axes()})
    if len(axes) < 2:
        raise DesignError(
            "recipe.about",
            chosen.about,
            f"the fold of at least two axes of the frame; its group {frame.group.name} has axes of "
            f"fold {', '.join(map(str, folds)) if folds else 'none'}",
            "Choose another fold or a more symmetrical frame.",
        )
    outer = frame.radius
    if chosen.width > 0.6 * outer:
        raise DesignError(
            "recipe.width", chosen.width, f"at most {0.6 * outer:g} mm for rings of radius {outer:g} mm"
        )
    inner = outer - chosen.width
    crossings = _crossings(axes)
    if len(crossings) < len(axes) * (len(axes) - 1):
        raise DesignError(
            "recipe.about",
            chosen.about,
            "axes whose rings meet only two at a time",
            f"With {chosen.about}-fold axes three or more rings meet in one place: try another fold.",
        )
    over = _alternating(axes, crossings)
    motifs = tuple(
        _ring(i, axis, [point for a, b, point in crossings if i in (a, b)], inner, outer)
        for i, axis in enumerate(axes)
    )
    classes = []
    for n, (i, j, point) in enumerate(crossings):
        a, b = (i, j) if over[n] == i else (j, i)
        direction = np.cross(axes[a], axes[b])
        sign = 1.0 if direction @ point > 0 else -1.0
        classes.append(
            JointClassChoice(
                name=f"lap-{n + 1}",
                motifs=(f"ring-{a + 1}", f"ring-{b + 1}"),
                kind=JointKind.CROSS_LAP,
                at=float(sign * (outer + inner) / 2),
                outward=int(sign),
            )
        )
    return Recipe(motifs, tuple(classes), rotation_group("C1"))


def _ring(
    index: int, axis: Floats, points: list[Floats], inner: float, outer: float
) -> MotifChoice:
    """Draw one ring; its corners divide the arcs between crossings evenly.

    So rings that cross alike are congruent to the last corner, and become one part.
    """
    plane = world_from_plane(axis, 0.0, points[0])
    angles = np.sort(
        [np.arctan2(p @ plane[:3, 1], p @ plane[:3, 0]) % (2 * np.pi) for p in points]
    )
    step = 2 * np.arccos(1 - TOLERANCES.chord / outer)
    corners = np.concatenate(
        [
            np.linspace(start, end, int(np.ceil((end - start) / step)) + 1)[:-1]
            for start, end in zip(angles, [*angles[1:], angles[0] + 2 * np.pi], strict=True)
        ]
    )
    circle = np.column_stack([np.cos(corners), np.sin(corners)])
    return MotifChoice(
        name=f"ring-{index + 1}",
        normal=(float(axis[0]), float(axis[1]), float(axis[2])),
        offset=0.0,
        x_axis=(float(points[0][0]), float(points[0][1]), float(points[0][2])),
        outline=tuple((float(x), float(y)) for x, y in outer * circle),
        holes=(tuple((float(x), float(y)) for x, y in (inner * circle)[::-1]),),
    )


def _crossings(axes: list[Floats]) -> list[tuple[int, int, Floats]]:
    """Unit vectors to the places where exactly two rings cross: (ring, ring, point)."""
    found = []
    normals = np.array(axes)
    for i, j in combinations(range(len(axes)), 2):
        point = np.cross(axes[i], axes[j])
        point = point / np.linalg.norm(point)
        if (np.abs(normals @ point) < 1e-6).sum() == 2:
            found += [(i, j, point), (i, j, -point)]
    return found


def _alternating(axes: list[Floats], crossings: list[tuple[int, int, Floats]]) -> list[int]:
    """Return, for each crossing, the ring that is cut from outside there."""
    order: list[list[int]] = []
    for i, axis in enumerate(axes):
        plane = world_from_plane(axis, 0.0)
        mine = [n for n, (a, b, _) in enumerate(crossings) if i in (a, b)]
        mine.sort(
            key=lambda n, plane=plane: float(  # type: ignore[misc]
                np.arctan2(crossings[n][2] @ plane[:3, 1], crossings[n][2] @ plane[:3, 0])
            )
        )
        order.append(mine)
    over: dict[int, int] = {}
    waiting = [(0, 0, True)]  # (ring, place in its order, cut from outside there)
    done: set[int] = set()
    while waiting:
        ring, start, outside = waiting.pop()
        if ring in done:
            continue
        done.add(ring)
        mine = order[ring]
        for k in range(len(mine)):
            n = mine[(start + k) % len(mine)]
            a, b, _ = crossings[n]
            other = b if ring == a else a
            is_over = outside == (k % 2 == 0)
            over[n] = ring if is_over else other
            waiting.append((other, order[other].index(n), not is_over))
    return [over[n] for n in range(len(crossings))]
