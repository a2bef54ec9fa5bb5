# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Strips along curves that were drawn in space, joined wherever they meet.

Each curve is laid into its best plane (plates/along.py) and carried round by the frame's group. An
end that comes near to another strip's plane, with that strip's body about the place, is brought to
it and gets a tab; where two strips cross they are slotted half way each. So the artist draws, and
the joints follow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from ...design.model import DrawnStrips, JointClassChoice, JointKind, MotifChoice, Turn
from ...errors import DesignError
from ...fit.sizes import Sizes
from ...frame.frame import Frame
from ...frame.group import Group
from ..along import FlatCurve, flat_curve
from ..motif import Motif, motif_from_choice
from ..path import end_direction
from ..planes import SectionLine, cut_line, section_line, to_plane
from .recipe import Recipe, styled

__all__ = ["drawn_strips"]

Floats = npt.NDArray[np.float64]

#: Cosine of 60 degrees: an end that comes in more obliquely than that gets no tab.
_LEAST_SQUARE = 0.5
_SHARED = 0.5  # mm of overlap; less is a touch and no crossing


@dataclass(frozen=True, slots=True, eq=False)
class _End:
    """An end of a strip that meets another strip.

    motif : its number; last : which end; other, element : the strip that takes the tab
    place : (2,) in the motif's plane, where the path is to end; gap : how far it had to be moved
    at : place on the section line, mm
    """

    motif: int
    last: bool
    other: int
    element: int
    place: Floats
    gap: float
    at: float


def drawn_strips(frame: Frame, chosen: DrawnStrips, sizes: Sizes) -> Recipe:
    """Lay a strip along every curve and join the strips where they meet.

    Raises
    ------
    DesignError : a curve is no strip's, strays farther from its plane than the strip is wide, or
        nothing meets.
    """
    if not chosen.curves:
        raise DesignError("recipe.curves", "no curve", "at least one curve", "Draw one.")
    group = frame.group
    flat = [_flat(curve, chosen, k) for k, curve in enumerate(chosen.curves, start=1)]
    choices = [_choice(one, chosen, k) for k, one in enumerate(flat, start=1)]
    motifs = [motif_from_choice(choice, group) for choice in choices]
    ends = _ends(motifs, group, chosen, sizes)
    choices = [_brought(choice, [e for e in ends if e.motif == m]) for m, choice in
               enumerate(choices)]  # fmt: skip
    motifs = [motif_from_choice(choice, group) for choice in choices]
    classes = [_tenon(end, choices, group) for end in ends]
    classes += _laps(motifs, choices, group, ends)
    if len(motifs) * group.order > 1 and not classes:
        raise DesignError(
            "recipe.curves",
            f"{len(choices)} curves whose strips meet nowhere",
            "curves that cross, or end near one another (with the group "
            f"{group.name} of the frame, near their turned copies)",
            "Draw them farther, or widen reach.",
        )
    numbered = [replace(one, name=f"joint-{k}") for k, one in enumerate(classes, start=1)]
    return Recipe(tuple(choices), tuple(numbered), group)


def _flat(curve: tuple[tuple[float, float, float], ...], chosen: DrawnStrips, k: int) -> FlatCurve:
    field = f"recipe.curves[{k}]"
    found = flat_curve(curve, field)
    if found.off > chosen.width:
        raise DesignError(
            field,
            f"a curve that strays {found.off:.1f} mm from its best plane",
            f"one that stays within the strip's width, {chosen.width:g} mm, of a plane",
            "Draw it flatter, or as two curves that meet.",
        )
    return found


def _choice(flat: FlatCurve, chosen: DrawnStrips, k: int) -> MotifChoice:
    x, y, z = flat.normal.tolist()
    return MotifChoice(
        name=f"strip-{k}",
        normal=(x, y, z),
        offset=flat.offset,
        path=_points(flat.path),
        width=chosen.width,
        bend=chosen.bend,
        bend_radius=chosen.bend_radius,
        **styled(chosen),
    )


def _points(path: Floats) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in path)


def _ends(motifs: list[Motif], group: Group, chosen: DrawnStrips, sizes: Sizes) -> list[_End]:
    """Return which ends meet another strip, each with the nearest that it can have a tab in."""
    reach = chosen.width if chosen.reach is None else chosen.reach
    found: list[_End] = []
    for m in range(len(motifs)):
        for last in (False, True):
            near = [
                one
                for other in range(len(motifs))
                for element in range(group.order)
                if not (other == m and element in motifs[m].stabiliser)
                for one in [_end(motifs, m, last, other, element, group, reach, sizes)]
                if one is not None
            ]
            if near:
                best = min(near, key=lambda one: (round(one.gap, 6), one.other, one.element))
                if not any(_same(best, old, motifs, group) for old in found):
                    found.append(best)
    return found


def _end(
    motifs: list[Motif],
    m: int,
    last: bool,
    other: int,
    element: int,
    group: Group,
    reach: float,
    sizes: Sizes,
) -> _End | None:
    """Bring one end to one strip; None where it does not come near."""
    own, matrix = motifs[m], group.matrices[element]
    line = _line(own, motifs[other], matrix)
    assert own.path is not None
    if line is None:
        return None
    tip, way = own.path[-int(last)], end_direction(own.path, last)
    point = to_plane(own.world_from_plane, line.point)
    along = own.world_from_plane[:3, :2].T @ line.direction
    across = np.array([-along[1], along[0]])
    towards = float(way @ across)
    if abs(towards) < _LEAST_SQUARE:
        return None
    gap = float((point - tip) @ across) / towards
    if abs(gap) > reach:
        return None
    place = tip + gap * way
    at = float((place - point) @ along)
    theirs = to_plane(motifs[other].world_from_plane, matrix.T @ (line.point + at * line.direction))
    lie = matrix.T @ line.direction @ motifs[other].world_from_plane[:3, :2]
    half = sizes.tab_width / 2 + sizes.clearance
    slot = shapely.LineString([theirs - half * lie, theirs + half * lie])
    if not motifs[other].body.contains(slot.buffer(sizes.web)):
        return None
    return _End(m, last, other, element, place, abs(gap), at)


def _same(one: _End, old: _End, motifs: list[Motif], group: Group) -> bool:
    """Tell whether two ends are one, since a turn carries the strip onto itself."""
    if one.motif != old.motif or one.last == old.last:
        return False
    motif = motifs[one.motif]
    plane = motif.world_from_plane
    there = plane[:3, :2] @ one.place + plane[:3, 3]
    here = plane[:3, :2] @ old.place + plane[:3, 3]
    return any(
        np.linalg.norm(group.matrices[turn] @ here - there) < 0.01 for turn in motif.stabiliser
    )


def _line(a: Motif, b: Motif, matrix: Floats) -> SectionLine | None:
    """Return the line of two planes; None where they are too nearly parallel for a joint."""
    line = section_line(a.normal, a.offset, matrix @ b.normal, b.offset)
    return None if line is None or line.angle_deg < 30.0 - 1e-6 else line


def _brought(choice: MotifChoice, ends: list[_End]) -> MotifChoice:
    """Move the ends of a path to where their tabs stand."""
    assert choice.path is not None
    path = list(choice.path)
    for end in ends:
        place = (float(end.place[0]), float(end.place[1]))
        path[-1 if end.last else 0] = place
    # A point that the end was brought back past would turn the path round.
    return replace(choice, path=_without_spurs(path))


def _without_spurs(path: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    points = [np.array(p) for p in path]
    for back in (False, True):
        points = points[::-1] if back else points
        while len(points) > 2 and (points[1] - points[0]) @ (points[2] - points[1]) < 0:
            if np.linalg.norm(points[1] - points[0]) > np.linalg.norm(points[2] - points[1]):
                break  # a sharp turn that was drawn
            del points[1]
        points = points[::-1] if back else points
    return _points(np.array(points))


def _tenon(end: _End, choices: list[MotifChoice], group: Group) -> JointClassChoice:
    return JointClassChoice(
        name="",
        motifs=(choices[end.motif].name, choices[end.other].name),
        kind=JointKind.TENON,
        at=end.at,
        turn=_turn(group, end.element),
    )


def _turn(group: Group, element: int) -> Turn:
    axis, angle = group.axis_angle_deg(element)
    return Turn((float(axis[0]), float(axis[1]), float(axis[2])), float(angle))


def _laps(
    motifs: list[Motif], choices: list[MotifChoice], group: Group, ends: list[_End]
) -> list[JointClassChoice]:
    """Return a cross-lap for every kind of crossing that is no tab in its slot."""
    known = {(e.motif, e.other, e.element) for e in ends}
    known |= {(b, a, int(group.inverse[g])) for a, b, g in known}
    found = []
    for a in range(len(motifs)):
        for b in range(a, len(motifs)):
            for g in range(group.order):
                if (a == b and g in motifs[a].stabiliser) or _copy_of(
                    a, b, g, motifs, group, known
                ):
                    continue
                line = _line(motifs[a], motifs[b], group.matrices[g])
                if line is None:
                    continue
                places = _shared(motifs[a], motifs[b], line, group.matrices[g])
                if places:
                    known |= {(a, b, g), (b, a, int(group.inverse[g]))}
                for at in places:
                    found.append(
                        JointClassChoice(
                            name="",
                            motifs=(choices[a].name, choices[b].name),
                            kind=JointKind.CROSS_LAP,
                            at=at,
                            turn=_turn(group, g),
                        )
                    )
    return found


def _copy_of(
    a: int, b: int, g: int, motifs: list[Motif], group: Group, known: set[tuple[int, int, int]]
) -> bool:
    """Tell whether a pair is one that is joined already, but for turns that keep its plates."""
    product = group.product
    return any(
        (a, b, int(product[product[s, g], t])) in known
        for s in motifs[a].stabiliser
        for t in motifs[b].stabiliser
    )


def _shared(a: Motif, b: Motif, line: SectionLine, matrix: Floats) -> list[float]:
    """Return the middles of the stretches of a line that lie inside both bodies, mm."""
    one = _stretches(a, line.point, line.direction)
    two = _stretches(b, matrix.T @ line.point, matrix.T @ line.direction)
    found = []
    for low, high in one:
        for start, end in two:
            first, last = max(low, start), min(high, end)
            if last - first > _SHARED:
                found.append((first + last) / 2)
    return found


def _stretches(motif: Motif, point: Floats, direction: Floats) -> list[tuple[float, float]]:
    origin = to_plane(motif.world_from_plane, point)
    along = motif.world_from_plane[:3, :2].T @ direction
    ring = np.asarray(motif.body.exterior.coords)[:-1]
    cuts = cut_line(ring, origin, along)
    return list(zip(cuts[::2].tolist(), cuts[1::2].tolist(), strict=True))
