# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A joint class worked out at its seed: line, place, directions and sizes in world coordinates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..design.fields import shown
from ..design.model import JointClassChoice, JointKind, SpliceKind
from ..errors import DesignError
from ..fit.fish_plate import fish_plate_sizes
from ..fit.sizes import Sizes
from ..fit.splice import Splice, splice_sizes
from ..fit.tenon import TenonChoice, TenonSizes, check_angle, slot_width, tenon_sizes
from ..frame.group import Group
from ..plates.motif import Motif
from ..plates.path import end_direction
from ..plates.planes import SectionLine, cut_line, section_line, to_plane
from ..tolerance import TOLERANCES
from .ends import spliced_end

__all__ = ["JointClass", "joint_classes"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class JointClass:
    """The joint between the seed plates a and element.b; the group carries it round.

    a, b : indices of motifs
    angle_deg : between the two planes, 30 to 90
    centre : (3,) mm, where the tab's centre line crosses the line; of a cross-lap the middle of the
        overlap
    line : (3,) unit vector along both planes, (normal of a) x (turned normal of b)
    insertion : (3,) unit vector, the way that a moves into b
    tenon : its sizes; None for a cross-lap
    lap : of a cross-lap, places along the line from `centre`, mm: where the overlap begins, where
        the two slots meet, where it ends; None for a tenon
    lap_width : of both slots of a cross-lap, clearance included, mm; 0 for a tenon
    lean : +1 when the far face of b lies farther away on the side line x insertion of a's plane,
        -1 when on the other; +1 for square planes
    splice : its sizes, of two strips in one plane: angle 0, line across them, insertion square
        to them; None for all other joints
    """

    name: str
    kind: JointKind
    a: int
    b: int
    element: int
    angle_deg: float
    centre: Floats
    line: Floats
    insertion: Floats
    tenon: TenonSizes | None
    lap: tuple[float, float, float] | None
    lap_width: float
    lean: int = 1
    splice: Splice | None = None

    @property
    def way(self) -> Floats:
        """The way (3,) in which the features grow: the insertion; of a splice, out of the end."""
        if self.splice is None:
            return self.insertion
        out: Floats = np.cross(self.line, self.insertion)
        return out


def joint_classes(
    choices: Sequence[JointClassChoice], motifs: Sequence[Motif], group: Group, sizes: Sizes
) -> tuple[JointClass, ...]:
    """Work out every joint class at its seed.

    Raises
    ------
    DesignError : a motif or a turn that there is not, planes that are parallel or cross too
        obliquely, a tab that does not grow out of its strip's end, plates that do not overlap.
    """
    index = {motif.name: i for i, motif in enumerate(motifs)}
    return tuple(_joint_class(choice, motifs, index, group, sizes) for choice in choices)


def _joint_class(
    choice: JointClassChoice,
    motifs: Sequence[Motif],
    index: dict[str, int],
    group: Group,
    sizes: Sizes,
) -> JointClass:
    field = f"joint_classes.{choice.name}"
    for name in choice.motifs:
        if name not in index:
            raise DesignError(f"{field}.motifs", name, f"names of motifs: {', '.join(index)}")
    a, b = index[choice.motifs[0]], index[choice.motifs[1]]
    element = group.element(choice.turn.axis, choice.turn.angle, f"{field}.turn")
    matrix = group.matrices[element]
    if choice.kind is JointKind.SPLICE:
        return _spliced(choice, (a, b), motifs, element, matrix, sizes)
    line = section_line(
        motifs[a].normal, motifs[a].offset, matrix @ motifs[b].normal, motifs[b].offset
    )
    if line is None:
        raise DesignError(
            f"{field}.turn",
            shown(choice.turn),
            "a turn that makes the two planes cross",
            "These two planes are parallel: plates in them cannot be joined.",
        )
    check_angle(line.angle_deg, field)
    seed = _Seed(choice, motifs[a], motifs[b], matrix, line, field)
    centre, insertion, tenon, lap = _tenon(seed, sizes) if choice.kind is _TENON else _lap(seed)
    width = slot_width(sizes.thickness, sizes.thickness, line.angle_deg, sizes.clearance)
    for array in (centre, line.direction, insertion):
        array.setflags(write=False)
    return JointClass(
        name=choice.name,
        kind=choice.kind,
        a=a,
        b=b,
        element=element,
        angle_deg=line.angle_deg,
        centre=centre,
        line=line.direction,
        insertion=insertion,
        tenon=tenon,
        lap=lap,
        lap_width=0.0 if lap is None else width,
        lean=_lean(line.direction, insertion, matrix @ motifs[b].normal),
    )


def _spliced(
    choice: JointClassChoice,
    which: tuple[int, int],
    motifs: Sequence[Motif],
    element: int,
    matrix: Floats,
    sizes: Sizes,
) -> JointClass:
    """Work out the splice of two strips whose paths end in one place, straight on."""
    field = f"joint_classes.{choice.name}"
    a, b = (motifs[m] for m in which)
    centre, out = spliced_end(a, b, matrix, f"{field}.motifs")
    widths = [motif.end_width for motif in (a, b) if motif.end_width is not None]
    line = np.cross(a.normal, out)
    both = (widths[0], widths[-1])
    splice: Splice
    if choice.splice is SpliceKind.FISH_PLATE:
        side = choice.outward or (1 if a.normal @ centre >= -TOLERANCES.point else -1)
        splice = fish_plate_sizes(sizes, both, field, choice.at, side)
    else:
        splice = splice_sizes(sizes, both, field, choice.tab_width, choice.at)
    for array in (centre, line):
        array.setflags(write=False)
    return JointClass(
        name=choice.name,
        kind=choice.kind,
        a=which[0],
        b=which[1],
        element=element,
        angle_deg=0.0,
        centre=centre,
        line=line,
        insertion=a.normal,
        tenon=None,
        lap=None,
        lap_width=0.0,
        splice=splice,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Seed:
    """Two seed plates and the line in which their planes cross; `matrix` carries b to its place."""

    choice: JointClassChoice
    a: Motif
    b: Motif
    matrix: Floats
    line: SectionLine
    field: str


_Placed = tuple[Floats, Floats, TenonSizes | None, tuple[float, float, float] | None]
_TENON = JointKind.TENON


def _tenon(seed: _Seed, sizes: Sizes) -> _Placed:
    """Return centre, insertion and sizes of a tenon."""
    choice, line = seed.choice, seed.line
    centre = line.point + choice.at * line.direction
    out = np.cross(line.direction, seed.a.normal)
    outward = float(choice.outward)
    if choice.outward == 0:
        outward = _outward(seed.a, centre, out, seed.field)
    said = TenonChoice(
        choice.tab_width, choice.lock, choice.tabs, choice.tab_spacing, seed.a.end_width
    )
    tenon = tenon_sizes(sizes, line.angle_deg, sizes.tab_width, seed.field, said)
    return centre, outward * out, tenon, None


def _lean(line: Floats, insertion: Floats, normal: Floats) -> int:
    """Return on which side of a's plane the far face of b (unit normal) lies farther away.

    At height z along line x insertion it lies at (s/2 - z c)/sin, c = (far normal) . (line x
    insertion).
    """
    far = normal if normal @ insertion > 0 else -normal
    return -1 if far @ np.cross(line, insertion) > TOLERANCES.direction else 1


def _lap(seed: _Seed) -> _Placed:
    """Return centre, insertion and overlap of a cross-lap."""
    choice, line = seed.choice, seed.line
    low, high = _overlap(seed)
    middle = (low + high) / 2
    sense = -1.0 if choice.outward < 0 else 1.0
    # The share `split` of the overlap is cut from a, on the side to which a's slot opens.
    split = sense * (0.5 - choice.split) * (high - low)
    lap = (low - middle, split, high - middle)
    return line.point + middle * line.direction, sense * line.direction, None, lap


def _outward(motif: Motif, centre: Floats, out: Floats, field: str) -> float:
    """Return +1 or -1: the side of the line to which the nearer end of the strip's path points.

    centre : (3,) the place on the line, mm; out : (3,) unit vector of the side +1
    """
    if motif.path is None:
        raise DesignError(
            f"{field}.outward",
            0,
            "+1 or -1 for a plate without a path",
            "Say to which side of the line the tab points.",
        )
    place = to_plane(motif.world_from_plane, centre)
    ends = np.linalg.norm(motif.path[[0, -1]] - place, axis=1)
    last = bool(ends[1] < ends[0])
    if min(ends) > 1.0:
        end = motif.path[-1 if last else 0]
        raise DesignError(
            f"motifs.{motif.name}.path",
            (round(float(end[0]), 3), round(float(end[1]), 3)),
            f"an end at ({place[0]:.3f}, {place[1]:.3f}) mm, where {field}.at puts the tab",
            "Move the path's end there (or `at`): the tab grows out of it.",
        )
    way = end_direction(motif.path, last) @ (motif.world_from_plane[:3, :2].T @ out)
    if abs(way) < 0.5:
        raise DesignError(
            f"{field}.at",
            round(float(np.degrees(np.arccos(abs(way)))), 1),
            "a strip that meets the line within 60 deg of square",
            "Bend the end of the path towards the square to the line.",
        )
    return 1.0 if way > 0 else -1.0


def _overlap(seed: _Seed) -> tuple[float, float]:
    """Return the interval of the line, round the chosen place, that lies inside both bodies, mm."""
    line, at = seed.line, seed.choice.at
    first = _chord(seed.a, line.point, line.direction, at)
    second = _chord(seed.b, seed.matrix.T @ line.point, seed.matrix.T @ line.direction, at)
    low, high = max(first[0], second[0]), min(first[1], second[1])
    if high - low < TOLERANCES.point:
        raise DesignError(
            f"{seed.field}.at", at, "a place on the section line that lies inside both plates"
        )
    return low, high


def _chord(motif: Motif, point: Floats, direction: Floats, at: float) -> tuple[float, float]:
    """Return the interval of a line (world) inside a body that holds the place `at`.

    An interval without length is returned where `at` lies outside.
    """
    origin = to_plane(motif.world_from_plane, point)
    along = motif.world_from_plane[:3, :2].T @ direction
    rings = (motif.body.exterior, *motif.body.interiors)
    cuts = np.sort(
        np.concatenate([cut_line(np.asarray(r.coords)[:-1], origin, along) for r in rings])
    )
    i = int(np.searchsorted(cuts, at))
    if i % 2 == 0:
        return at, at
    return float(cuts[i - 1]), float(cuts[i])
