# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A plate in the plane of every face; neighbours reach past their common edge and slide together.

Along an edge of length L two plates cross from one setback to the other. With cross-laps each is
slotted from its own end to the middle of the edge, all slots of a plate the same way round: the
half-turn about the edge's middle carries one slot onto the other. With tenons one of the two stops
at the edge and has a tab in the other. Beyond its edges a plate grows lobes, straight ones or
points; at its corners it stops short, so that plates that share only a corner pass each other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from shapely import Polygon

from ...design.model import (
    FacePlates,
    FaceShape,
    JointClassChoice,
    JointKind,
    MotifChoice,
    Turn,
)
from ...errors import DesignError
from ...fit.sizes import Sizes
from ...fit.tenon import check_angle, slot_width
from ...frame.frame import Frame
from ..planes import section_line, to_plane, world_from_plane
from .face_orbits import FaceOrbits
from .recipe import Recipe

__all__ = ["face_plates"]

Floats = npt.NDArray[np.float64]

_OVERHANG, _SETBACK = 1 / 6, 1 / 5  # of the shortest edge, where the design says nothing
_SLANT = 0.5  # a straight lobe's ends lean in by this share of its overhang


@dataclass(frozen=True, slots=True)
class _Measures:
    """Overhang and setback, mm, and the width of the ring; None: no opening."""

    overhang: float
    setback: float
    width: float | None


def face_plates(frame: Frame, chosen: FacePlates, sizes: Sizes) -> Recipe:
    """Lay a plate into every face plane and join neighbours along their edges.

    Raises
    ------
    DesignError : the frame has no faces, two faces meet too flatly, lobes or rings are too narrow
        for their slots, the setback leaves no edge, or tabs are asked for and the faces are not of
        two sorts.
    """
    if not frame.faces:
        raise DesignError(
            "frame.group",
            frame.group.name,
            "a solid or a mesh: face plates need faces",
            "Name a solid of the catalogue instead of a bare group.",
        )
    tenon = chosen.joint is JointKind.TENON
    orbits = FaceOrbits.of(frame, two_sorts=tenon)
    measures = _measures(frame, chosen, sizes)
    names = {f: f"face-{k + 1}" for k, f in enumerate(orbits.seeds)}
    tabbed: set[tuple[int, int]] = set()  # (seed, its edge's number) where its own tab grows
    classes = []
    for number, edge in enumerate(orbits.edges):
        first, second, element = edge.seed, edge.other, edge.element
        if tenon and not orbits.has_tab(first, second):
            first, second = second, first
            element = int(orbits.group.inverse[element])
        if tenon:
            tabbed.update((first, k) for k in orbits.sides_of(edge, first))
        classes.append(
            _joint(f"edge-{number + 1}", frame, orbits, edge.middle_for(first), first, second,
                   element, names, chosen)
        )  # fmt: skip
    motifs = tuple(
        _plate(names[f], frame, f, {k for g, k in tabbed if g == f}, chosen, measures, sizes)
        for f in orbits.seeds
    )
    return Recipe(motifs, tuple(classes), orbits.group)


def _measures(frame: Frame, chosen: FacePlates, sizes: Sizes) -> _Measures:
    """Fill in what the design leaves open, and refuse what has no room for its slots."""
    shortest = float(frame.edge_lengths.min())
    cosines = (frame.face_normals[frame.edge_faces[:, 0]]
               * frame.face_normals[frame.edge_faces[:, 1]]).sum(axis=1)  # fmt: skip
    flattest = float(np.degrees(np.arccos(np.clip(np.abs(cosines).max(), 0.0, 1.0))))
    check_angle(flattest, "frame (angle between neighboring faces)")
    slot = slot_width(sizes.thickness, sizes.thickness, flattest, sizes.clearance)
    need = slot / 2 + sizes.web
    star = 2.0 if chosen.shape is FaceShape.STAR else 1.0  # a point is half as wide on the average
    overhang = chosen.overhang
    if overhang is None:
        overhang = max(_OVERHANG * shortest, star * need)
    setback = chosen.setback
    if setback is None:
        setback = min(_SETBACK * shortest, _most_setback(frame, chosen.width, sizes))
    if overhang < star * need - 1e-9:
        raise DesignError(
            "recipe.overhang",
            round(overhang, 3),
            f"at least {star * need:.2f} mm: half of the slot along the edge and a web",
            "Widen it, or take a thinner sheet or a smaller joints.web.",
        )
    if chosen.width is not None and chosen.width < need - 1e-9:
        raise DesignError(
            "recipe.width",
            chosen.width,
            f"at least {need:.2f} mm: half of the slot along the edge and a web",
            "Widen it, or leave it out to have no opening.",
        )
    along = 4 * slot
    if chosen.joint is JointKind.TENON:
        along = sizes.tab_width + 2 * sizes.clearance + 2 * sizes.web
        along += 2 * _SLANT * overhang if chosen.shape is FaceShape.RING else 2 * overhang
    if shortest - 2 * setback < along:
        raise DesignError(
            "recipe.setback",
            round(setback, 3),
            f"at most {max((shortest - along) / 2, 0.0):.2f} mm: the shortest edge is "
            f"{shortest:.1f} mm and the joint needs {along:.1f} mm of it",
            "Make the frame larger, the setback smaller or the sheet thinner.",
        )
    return _Measures(overhang, setback, chosen.width)


def _most_setback(frame: Frame, width: float | None, sizes: Sizes) -> float:
    """Return the setback that leaves a web at the corners of the opening, mm.

    At a corner of angle 2 a the opening's corner lies at width / sin a from it, the plate's end at
    setback cos a.
    """
    if width is None:
        return np.inf
    most = np.inf
    for face in frame.faces:
        corners = frame.vertices[list(face)]
        before, after = (
            np.roll(corners, 1, axis=0) - corners,
            np.roll(corners, -1, axis=0) - corners,
        )
        dot = (before * after).sum(axis=1)
        lengths = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
        half = np.arccos(np.clip(dot / lengths, -1.0, 1.0)) / 2
        room = (width / np.sin(half) - 1.01 * sizes.web) / np.cos(half)
        most = min(most, float(room.min()))
    return max(most, 0.0)


def _plate(
    name: str,
    frame: Frame,
    face: int,
    bare: set[int],
    chosen: FacePlates,
    measures: _Measures,
    sizes: Sizes,
) -> MotifChoice:
    """Draw one plate; `bare` : edges that it stops at, since its own tab grows there."""
    normal = frame.face_normals[face]
    corners = frame.vertices[list(frame.faces[face])]
    offset = float((corners @ normal).mean())
    plane = world_from_plane(normal, offset)
    flat = to_plane(plane, corners)
    outline: list[Floats] = []
    for k, start in enumerate(flat):
        step = flat[(k + 1) % len(flat)] - start
        length = float(np.linalg.norm(step))
        along = step / length
        out = np.array([along[1], -along[0]])
        one = start + measures.setback * along
        two = start + (length - measures.setback) * along
        lobe: list[Floats] = []
        if k not in bare:
            reach = measures.overhang * out
            if chosen.shape is FaceShape.STAR:
                lobe = [(one + two) / 2 + reach]
            else:
                lean = min(_SLANT * measures.overhang, (length - 2 * measures.setback) / 4)
                lobe = [one + reach + lean * along, two + reach - lean * along]
        outline += [one, *lobe, two]
    return MotifChoice(
        name=name,
        normal=(float(normal[0]), float(normal[1]), float(normal[2])),
        offset=offset,
        outline=tuple((float(x), float(y)) for x, y in outline),
        holes=_opening(flat, outline, measures, sizes),
    )


def _opening(
    flat: Floats, outline: list[Floats], measures: _Measures, sizes: Sizes
) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Return the opening of a ring; none where the face is too small for one or none is wanted.

    Raises DesignError when the opening comes too near to the plate's corners.
    """
    if measures.width is None:
        return ()
    inner = Polygon(flat).buffer(-measures.width, join_style="mitre", mitre_limit=10.0)
    if inner.is_empty or not isinstance(inner, Polygon) or inner.area < sizes.web**2:
        return ()
    room = float(inner.distance(Polygon(outline).boundary))
    if room < sizes.web - 1e-9:
        raise DesignError(
            "recipe.setback",
            round(measures.setback, 3),
            f"a setback that leaves a web of {sizes.web:g} mm at the corners of the opening; here "
            f"it is {room:.2f} mm",
            "Make the setback smaller or the width larger.",
        )
    ring = np.asarray(inner.exterior.coords)[:-1]
    return (tuple((float(x), float(y)) for x, y in ring),)


def _joint(
    name: str,
    frame: Frame,
    orbits: FaceOrbits,
    middle: tuple[Floats, Floats],
    first: int,
    second: int,
    element: int,
    names: dict[int, str],
    chosen: FacePlates,
) -> JointClassChoice:
    """Join two seeds along an edge; middle : of the edge, and its way round the first face."""
    point, along = middle
    normals, group = frame.face_normals, orbits.group
    offsets = [float(normals[f] @ frame.vertices[frame.faces[f][0]]) for f in (first, second)]
    line = section_line(
        normals[first], offsets[0], group.matrices[element] @ normals[second], offsets[1]
    )
    assert line is not None  # neighboring faces of a checked frame cross
    axis, angle = group.axis_angle_deg(element)
    turn = Turn((float(axis[0]), float(axis[1]), float(axis[2])), float(angle))
    if chosen.joint is JointKind.TENON:
        # Outwards is to the right of the way round the face.
        out = np.cross(along, normals[first])
        side = float(np.cross(line.direction, normals[first]) @ out)
    else:
        side = chosen.hand * float(along @ line.direction)
    return JointClassChoice(
        name=name,
        motifs=(names[first], names[second]),
        kind=chosen.joint,
        at=float((point - line.point) @ line.direction),
        turn=turn,
        outward=1 if side > 0 else -1,
    )
