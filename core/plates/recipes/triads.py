# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Triads: three mutually square strips round a three-fold axis, and the ties between triads.

A plane is square to its copies by a turn of 120 degrees when its normal stands at 54.7356 degrees
(tan^2 = 2) to the axis; how far it is turned about the axis stays free. A tie that is square to two
such planes has the product of their normals for its own. So the turn, the planes' distances from
the centre and the places of the joints on their lines are the numbers of the recipe; every choice
has all joints square, and the strips are laid through their joints on the shortest way.

Directions are counted in the axes of one three-fold axis of the group: z along it, x towards the
nearest two-fold axis. All such axes are alike, so that the numbers hold for any position of the
frame.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
import numpy.typing as npt

from ...design.model import (
    Bend,
    CornerTriads,
    InterwovenTriads,
    JointClassChoice,
    JointKind,
    MotifChoice,
    Turn,
)
from ...errors import DesignError
from ...frame.frame import Frame
from ...frame.group import Group
from ..planes import section_line, to_plane, world_from_plane
from .recipe import Recipe, styled

__all__ = ["corner_triads", "interwoven_triads", "triad_axes", "triad_normal"]

Floats = npt.NDArray[np.float64]

#: Cosine and sine of the angle between a triad's normals and its axis.
_COS, _SIN = np.sqrt(1 / 3), np.sqrt(2 / 3)
_LEAD, _FREE = 0.6, 1.4  # straight pieces at a tab, and beyond the last slot, in strip widths


@dataclass(frozen=True, slots=True)
class _Usual:
    """Numbers that suit a group; see the recipes' own fields.

    ties : turns that lead to the plates that a tie's two ends stand in, each as its rotation vector
        (deg) in the axes of the triad: for corner triads of the second end; for interwoven ones of
        the second triad's plate
    rotors : sense of the turn of each triad's own joint
    """

    turns: tuple[float, ...]
    offsets: tuple[float, ...]
    places: tuple[float, ...]
    tie: tuple[float, float, float]
    rotors: tuple[int, ...]


_CORNERS: dict[str, _Usual] = {
    "T": _Usual(
        turns=(44.7265,),
        offsets=(-0.5592, -0.6993),
        places=(-0.0765, -0.1027, 0.2983),
        tie=(56.568542, -97.979590, 40.0),
        rotors=(1,),
    ),
    "O": _Usual(
        turns=(-69.5781,),
        offsets=(0.3105, -0.5797),
        places=(-0.7786, 0.0511, -0.6201),
        tie=(73.484692, 0.0, -51.961524),
        rotors=(-1,),
    ),
    "I": _Usual(
        turns=(-19.6500,),
        offsets=(-0.4947, 0.6017),
        places=(-0.2040, -0.5093, 0.3415),
        tie=(40.0, 69.282032, -89.442719),
        rotors=(1,),
    ),
}
_WOVEN: dict[str, _Usual] = {
    "T": _Usual(
        turns=(52.2048, 123.7436),
        offsets=(0.0917, -0.1080, 0.7344),
        places=(-0.8876, 0.7436, -0.3891, -0.4419),
        tie=(-56.568542, -97.979590, -40.000000),
        rotors=(-1, 1),
    ),
    "I": _Usual(
        turns=(144.8497, -10.6618),
        offsets=(0.5865, 0.3432, 0.5411),
        places=(-0.1374, -0.8019, 0.5477, -0.5371),
        tie=(43.708464, 0.0, -57.215122),
        rotors=(-1, -1),
    ),
}


# Three-fold turns of the octahedral group generate the tetrahedral one, which is half of it: triads
# of one axis and ties between them never hold the other half.
_NOT_WOVEN = (
    "one with the group T or I: with O the turns of all triads of one sort and their ties reach "
    "only half of the plates",
    "Take for example solid = 'tetrahedron' or group = 'I', or the recipe 'corner triads'.",
)


def triad_axes(group: Group) -> Floats:
    """Return the axes (3, 3) that the numbers of triads count in, as columns: see the module.

    Raises
    ------
    DesignError : the group has no three-fold axis, or no two-fold ones beside it.
    """
    folds = group.axes()
    threes = [axis for axis, fold in folds if fold == 3]
    twos = [sign * axis for axis, fold in folds if fold == 2 for sign in (1.0, -1.0)]
    if group.name not in ("T", "O", "I"):
        raise DesignError(
            "frame",
            f"a frame with the group {group.name}",
            "one with the group T, O or I: triads stand on its three-fold axes",
            "Take for example solid = 'dodecahedron', or group = 'I'.",
        )
    z = threes[0]
    nearest = max(twos, key=lambda two: round(float(two @ z), 9))
    x = nearest - (nearest @ z) * z
    x = x / np.linalg.norm(x)
    return np.column_stack([x, np.cross(z, x), z])


def triad_normal(turn_deg: float) -> Floats:
    """Return the normal (3,) of a triad's strip in the triad's axes."""
    turn = np.radians(turn_deg)
    normal: Floats = np.array([_SIN * np.cos(turn), _SIN * np.sin(turn), _COS])
    return normal


def corner_triads(frame: Frame, chosen: CornerTriads) -> Recipe:
    """Lay the strips of one triad and of one tie; the group does the rest.

    Raises
    ------
    DesignError : the group has no such triads, or the numbers leave a tie no plane of its own.
    """
    axes, usual = triad_axes(frame.group), _CORNERS[frame.group.name]
    turn = usual.turns[0] if chosen.turn is None else chosen.turn
    offsets = usual.offsets if chosen.offsets is None else chosen.offsets
    places = usual.places if chosen.places is None else chosen.places
    normal = axes @ triad_normal(turn)
    tie = _turn_of(axes, usual.tie)
    rotor = _third(axes, usual.rotors[0])
    far = _matrix(frame.group, tie) @ normal
    normals = [normal, _tie_normal(normal, far, "recipe.turn", turn)]
    links = [
        _Link("triad", 0, 0, rotor, places[0]),
        _Link("tie", 1, 0, Turn(), places[1]),
        _Link("tie-far", 1, 0, tie, places[2]),
    ]
    return _laid(frame, chosen, ("triad", "tie"), normals, offsets, links)


def interwoven_triads(frame: Frame, chosen: InterwovenTriads) -> Recipe:
    """Lay the strips of two triads of one axis and of the tie between them.

    Raises
    ------
    DesignError : the group has no such triads, or the numbers leave a tie no plane of its own.
    """
    axes, usual = triad_axes(frame.group), _WOVEN.get(frame.group.name)
    if usual is None:
        raise DesignError("frame", f"a frame with the group {frame.group.name}", *_NOT_WOVEN)
    turns = usual.turns if chosen.turns is None else chosen.turns
    offsets = usual.offsets if chosen.offsets is None else chosen.offsets
    places = usual.places if chosen.places is None else chosen.places
    normals = [axes @ triad_normal(turn) for turn in turns]
    tie = _turn_of(axes, usual.tie)
    far = _matrix(frame.group, tie) @ normals[1]
    normals.append(_tie_normal(normals[0], far, "recipe.turns", list(turns)))
    links = [
        _Link("first", 0, 0, _third(axes, usual.rotors[0]), places[0]),
        _Link("second", 1, 1, _third(axes, usual.rotors[1]), places[1]),
        _Link("tie-first", 2, 0, Turn(), places[2]),
        _Link("tie-second", 2, 1, tie, places[3]),
    ]
    return _laid(frame, chosen, ("first", "second", "tie"), normals, offsets, links)


@dataclass(frozen=True, slots=True)
class _Link:
    """One joint class: motif a has a tab in the turned motif b, at a share of the radius."""

    name: str
    a: int
    b: int
    turn: Turn
    place: float


def _turn_of(axes: Floats, vector_deg: Sequence[float]) -> Turn:
    """Return a turn from its rotation vector (deg) in the triad's axes."""
    vector = np.asarray(vector_deg, dtype=float)
    angle = float(np.linalg.norm(vector))
    if angle == 0.0:
        return Turn()
    x, y, z = (axes @ vector / angle).tolist()
    return Turn((x, y, z), angle)


def _third(axes: Floats, sense: int) -> Turn:
    x, y, z = (sense * axes[:, 2]).tolist()
    return Turn((x, y, z), 120.0)


def _matrix(group: Group, turn: Turn) -> Floats:
    matrix: Floats = group.matrices[group.element(turn.axis, turn.angle, "recipe")]
    return matrix


def _tie_normal(one: Floats, two: Floats, field: str, found: object) -> Floats:
    """Return the normal square to both."""
    cross = np.cross(one, two)
    length = float(np.linalg.norm(cross))
    if length < 1e-3:
        raise DesignError(
            field,
            found,
            "turns that let the two planes of a tie cross: here they are parallel",
            "Turn the triads by a few degrees.",
        )
    unit: Floats = cross / length
    return unit


def _laid(
    frame: Frame,
    chosen: CornerTriads | InterwovenTriads,
    names: Sequence[str],
    normals: Sequence[Floats],
    shares: Sequence[float],
    links: Sequence[_Link],
) -> Recipe:
    """Put the joints on their lines, and the strips through them."""
    group, radius = frame.group, frame.radius
    offsets = [share * radius for share in shares]
    planes = [world_from_plane(n, h) for n, h in zip(normals, offsets, strict=True)]
    tabs: list[list[tuple[Floats, Floats]]] = [[] for _ in names]
    slots: list[list[Floats]] = [[] for _ in names]
    for link in links:
        matrix = _matrix(group, link.turn)
        other = matrix @ normals[link.b]
        line = section_line(normals[link.a], offsets[link.a], other, offsets[link.b])
        assert line is not None  # square by construction
        place = line.point + link.place * radius * line.direction
        tabs[link.a].append((to_plane(planes[link.a], place), other @ planes[link.a][:3, :2]))
        slots[link.b].append(to_plane(planes[link.b], matrix.T @ place))
    motifs = []
    for k, name in enumerate(names):
        path = _through(tabs[k], slots[k], chosen.width)
        x, y, z = normals[k].tolist()
        motifs.append(
            MotifChoice(
                name=name,
                normal=(x, y, z),
                offset=float(offsets[k]),
                path=tuple((float(p[0]), float(p[1])) for p in path),
                width=chosen.width,
                bend=chosen.bend if len(path) > 2 else Bend.SHARP,
                bend_radius=chosen.bend_radius,
                **styled(chosen),
            )
        )
    classes = tuple(
        JointClassChoice(
            name=link.name,
            motifs=(names[link.a], names[link.b]),
            kind=JointKind.TENON,
            at=float(link.place * radius),
            turn=link.turn,
        )
        for link in links
    )
    return Recipe(tuple(motifs), classes, group)


def _through(
    tabs: Sequence[tuple[Floats, Floats]], slots: Sequence[Floats], width: float
) -> list[Floats]:
    """Return the points of a centre path: a lead at each tab, the slots between, the shortest way.

    tabs : place (2,) and the way (2,) square to its line, one or two; one: a free end follows
    """
    paths = [_one_way(tabs, order, width) for order in permutations(slots)]
    return min(paths, key=_length)


def _one_way(
    tabs: Sequence[tuple[Floats, Floats]], slots: Sequence[Floats], width: float
) -> list[Floats]:
    (start, way), *rest = tabs
    if rest:
        end, way_end = rest[0]
        first, last = (slots[0], slots[-1]) if slots else (end, start)
        into = _towards(start, way, first)
        out_of = _towards(end, way_end, last)
        return [start, start + _LEAD * width * into, *slots, end + _LEAD * width * out_of, end]
    into = _towards(start, way, slots[0])
    lead = start + _LEAD * width * into
    step = slots[-1] - (slots[-2] if len(slots) > 1 else start)
    free = step / np.linalg.norm(step)
    end = slots[-1] + _FREE * width * free
    return [start, lead, *slots, end - _LEAD * width * free, end]


def _towards(port: Floats, way: Floats, target: Floats) -> Floats:
    return way if (target - port) @ way > 0 else -way


def _length(path: Sequence[Floats]) -> float:
    return float(np.linalg.norm(np.diff(np.array(path), axis=0), axis=1).sum())
