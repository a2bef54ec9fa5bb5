# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A joint class worked out at its seed: line, place, directions and sizes in world coordinates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from shapely import Polygon

from ..design.model import JointClassChoice, JointKind
from ..errors import DesignError
from ..fit.sizes import Sizes
from ..fit.tenon import TenonSizes, check_angle, slot_width, tenon_sizes
from ..frame.group import Group
from ..plates.motif import Motif
from ..plates.path import end_direction
from ..plates.planes import SectionLine, cut_line, section_line, to_plane

__all__ = ["JointClass", "joint_classes"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class JointClass:
    """The joint between the seed plates a and element.b; the group carries it round.

    a, b : indices of motifs; centre : (3,) mm; line : (3,) unit vector; insertion : (3,) unit vector,
    the way that a moves into b; tenon : its sizes, None for a cross-lap
    lap : cross-lap only: the overlap on the line from `centre`, (low, split, high) mm
    lap_width : of both slots of a cross-lap, clearance included
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


def joint_classes(
    choices: Sequence[JointClassChoice], motifs: Sequence[Motif], group: Group, sizes: Sizes
) -> tuple[JointClass, ...]:
    """Work out every joint class. Raises DesignError for classes that cannot be cut."""
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
            raise DesignError(f"{field}.motifs", name, f"a motif's name: {', '.join(index)}")
    a, b = index[choice.motifs[0]], index[choice.motifs[1]]
    element = 0
    if abs(choice.turn.angle) > 1e-12:
        element = group.element(choice.turn.axis, choice.turn.angle, f"{field}.turn")
    matrix = group.matrices[element]
    line = section_line(
        motifs[a].normal, motifs[a].offset, matrix @ motifs[b].normal, motifs[b].offset
    )
    if line is None:
        raise DesignError(
            f"{field}.turn",
            choice.turn,
            "a turn that makes the two planes cross",
            "These two planes are parallel: plates in them cannot be joined.",
        )
    check_angle(line.angle_deg, field)
    centre = line.point + choice.at * line.direction
    common = (choice.name, choice.kind, a, b, element, line.angle_deg)
    if choice.kind is JointKind.TENON:
        out = np.cross(line.direction, motifs[a].normal)
        outward = choice.outward or _outward(motifs[a], centre, out, field)
        width = sizes.tab_width if choice.tab_width is None else choice.tab_width
        tenon = tenon_sizes(sizes, line.angle_deg, width, field)
        return JointClass(*common, centre, line.direction, outward * out, tenon, None, 0.0)
    low, high = _overlap(motifs[a], motifs[b], matrix, line, choice.at, field)
    sense = -1.0 if choice.outward < 0 else 1.0
    # The share `split` of the overlap is cut from a, on the side to which a's slot opens.
    split = high - choice.split * (high - low) if sense > 0 else low + choice.split * (high - low)
    middle = (low + high) / 2
    return JointClass(
        *common,
        line.point + middle * line.direction,
        line.direction,
        sense * line.direction,
        None,
        (low - middle, split - middle, high - middle),
        slot_width(sizes.thickness, sizes.thickness, line.angle_deg, sizes.clearance),
    )


def _outward(motif: Motif, centre: Floats, out: Floats, field: str) -> float:
    """+1 or -1: the side of the line to which the nearer end of the motif's path points."""
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
        raise DesignError(
            f"{field}.at",
            round(float(min(ends)), 3),
            "a place on the line where the strip's centre path ends (within 1 mm)",
            "Move the path's end onto the joint's place: the tab grows out of it.",
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


def _overlap(
    a: Motif, b: Motif, matrix: Floats, line: SectionLine, at: float, field: str
) -> tuple[float, float]:
    """Return the interval round `at` in which the line runs inside both bodies."""
    first = _chord(a.body, a.world_from_plane, line.point, line.direction, at)
    second = _chord(
        b.body, b.world_from_plane, matrix.T @ line.point, matrix.T @ line.direction, at
    )
    low, high = max(first[0], second[0]), min(first[1], second[1])
    if high - low < 1e-6:
        raise DesignError(
            f"{field}.at", at, "a place on the section line that lies inside both plates"
        )
    return low, high


def _chord(
    body: Polygon, plane: Floats, point: Floats, direction: Floats, at: float
) -> tuple[float, float]:
    """Return the interval of a body on a line (world) that holds the place `at`; (0, 0) if none."""
    origin = to_plane(plane, point)
    along = plane[:3, :2].T @ direction
    rings = (body.exterior, *body.interiors)
    cuts = np.sort(
        np.concatenate([cut_line(np.asarray(r.coords)[:-1], origin, along) for r in rings])
    )
    i = int(np.searchsorted(cuts, at))
    if i % 2 == 0:
        return (0.0, 0.0)
    return float(cuts[i - 1]), float(cuts[i])
