# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The recipes: one record of choices each; plates/recipes/ makes motifs and joints of them."""

from __future__ import annotations

from dataclasses import dataclass

from .kinds import Bend, FaceShape, JointKind, StripStyle, Turn, Vector

__all__ = [
    "CornerTriads",
    "DrawnStrips",
    "EdgeRotor",
    "FacePlates",
    "InterwovenTriads",
    "Recipe",
    "RightAngleOrbit",
    "Rings",
]


@dataclass(frozen=True, slots=True)
class RightAngleOrbit(StripStyle):
    """Recipe: one motif of a polyhedral group, both joint classes exactly 90 degrees.

    normal : near one of the isolated right-angle normals (polished to full precision); None: the
        one with most copies square to it, see core/plates/recipes/right_angle.py
    pattern : ``rotor + rotor`` or ``rotor + two-fold``
    elements : the turns of the two joint classes; None: chosen with the normal
    offset : distance of the plate's plane from the centre as a share of the frame's radius
    places : of the two joint classes on their section lines, share of the frame's radius; the
        second of ``rotor + two-fold`` must be 0; None: numbers that suit the pattern
    swap : take the slots in the other order along the strip; None: as suits the pattern
    """

    width: float
    normal: Vector | None = None
    pattern: str = "rotor + rotor"
    elements: tuple[Turn, Turn] | None = None
    offset: float = 0.6667
    places: tuple[float, float] | None = None
    swap: bool | None = None
    bend: Bend = Bend.SMOOTH
    bend_radius: float = 0.0


@dataclass(frozen=True, slots=True)
class EdgeRotor(StripStyle):
    """Recipe: a strip stands on every edge; round each vertex each tenon goes into its neighbour.

    width : of the strips, mm (radial)
    engagement : distance along a strip from the slot that it carries to its own shoulder, mm;
        None: the least that webs and pins need
    hand : +1 anticlockwise rotors seen from outside, -1 clockwise
    """

    width: float
    engagement: float | None = None
    hand: int = 1
    bend: Bend = Bend.ROUND
    bend_radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Rings:
    """Recipe: flat rings in planes through the centre, crossing by cross-laps.

    about : rings square to the frame's ``2``-, ``3``-, ``4``- or ``5``-fold axes; None: the fold of
        the fewest axes whose rings cross only two at a time
    width : radial width of a ring, mm; its outer radius is the frame's
    slit : width of the cut, mm, that opens each ring once so that it can be woven in
    """

    width: float
    about: int | None = None
    slit: float = 1.0


@dataclass(frozen=True, slots=True)
class CornerTriads(StripStyle):
    """Recipe: three mutually square strips at each three-fold corner, the corners tied by links.

    Every joint is square. The triads' strips are one motif, the ties the other; a tie has a tab at
    each end, in strips of two neighbouring triads, and is square to both.

    turn : of the triads' planes about their axes, deg; it tells how the triad stands, and with it
        the planes of the ties
    offsets : of the planes from the centre, of triads and ties, share of the frame's radius
    places : of the joints on their section lines, share of the radius: within the triad, and of
        the tie's two ends
    None: numbers that suit the group, see core/plates/recipes/triads.py
    """

    width: float
    turn: float | None = None
    offsets: tuple[float, ...] | None = None
    places: tuple[float, ...] | None = None
    bend: Bend = Bend.SMOOTH
    bend_radius: float = 0.0


@dataclass(frozen=True, slots=True)
class InterwovenTriads(StripStyle):
    """Recipe: two triads round each three-fold axis that pass through each other, tied by a third.

    The two do not touch; strips of a third motif, with a tab in either, hold them. Every joint is
    square.

    turns : of the planes of the two triads about their axes, deg
    offsets : of the planes of both triads and of the ties, share of the frame's radius
    places : of the joints on their section lines, share of the radius: within the first and the
        second triad, and of the tie's ends in the first and the second
    None: numbers that suit the group, see core/plates/recipes/triads.py
    """

    width: float
    turns: tuple[float, ...] | None = None
    offsets: tuple[float, ...] | None = None
    places: tuple[float, ...] | None = None
    bend: Bend = Bend.SMOOTH
    bend_radius: float = 0.0


@dataclass(frozen=True, slots=True)
class FacePlates:
    """Recipe: a plate in every face plane; neighbours reach beyond their edge and slide together.

    shape : of the plates
    overhang : how far a plate reaches beyond its edges, mm; None: a sixth of its shortest edge
    setback : how far the joint at an edge stays from the edge's ends, mm, so that plates that only
        share a corner pass; None: a fifth of the shortest edge
    width : of the material inside the edges, mm; the rest of the face is open; None: no opening
    joint : how neighbours hold: cross-laps along the edges, or tabs; those need faces of two sorts
        of which only different ones are neighbours
    hand : +1: the slots of a plate open anticlockwise seen from outside, -1: clockwise
    """

    shape: FaceShape = FaceShape.RING
    overhang: float | None = None
    setback: float | None = None
    width: float | None = None
    joint: JointKind = JointKind.CROSS_LAP
    hand: int = 1


@dataclass(frozen=True, slots=True)
class DrawnStrips(StripStyle):
    """Recipe: strips along curves drawn in space, each laid into the plane that suits it best.

    curves : of each strip the points of its centre line, mm
    reach : an end that comes this near to another strip gets a tab in it, mm; None: the width
    Where two strips cross they are slotted half way each.
    """

    width: float
    curves: tuple[tuple[Vector, ...], ...]
    reach: float | None = None
    bend: Bend = Bend.SMOOTH
    bend_radius: float = 0.0


Recipe = (
    RightAngleOrbit | EdgeRotor | Rings | CornerTriads | InterwovenTriads | FacePlates | DrawnStrips
)
