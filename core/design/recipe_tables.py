# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every field of every recipe, in the order in which files are written."""

from __future__ import annotations

from .field_makers import BEND_RADIUS, SIZE, STYLE, WIDTH, bend, length, share, shares
from .fields import Field, Kind
from .kinds import FaceShape, JointKind
from .recipes import (
    CornerTriads,
    DrawnStrips,
    EdgeRotor,
    FacePlates,
    InterwovenTriads,
    Recipe,
    RightAngleOrbit,
    Rings,
)

__all__ = ["RECIPES", "RECIPE_FIELDS"]

RECIPES: dict[str, type[Recipe]] = {
    "right-angle orbit": RightAngleOrbit,
    "edge rotor": EdgeRotor,
    "rings": Rings,
    "corner triads": CornerTriads,
    "interwoven triads": InterwovenTriads,
    "face plates": FacePlates,
    "drawn strips": DrawnStrips,
}

RECIPE_FIELDS: dict[type, tuple[Field, ...]] = {
    RightAngleOrbit: (
        WIDTH,
        Field(
            "normal",
            Kind.DIRECTION,
            "near a right-angle normal, which is then polished",
            unset="the one with most copies square to it",
        ),
        Field(
            "pattern",
            Kind.CHOICE,
            "which two rotations the joints follow",
            choices=("rotor + rotor", "rotor + two-fold"),
        ),
        Field(
            "elements",
            Kind.TURNS,
            "the rotations of the two joint classes",
            unset="chosen with the normal",
        ),
        share("offset", "distance of the plane from the centre, share of the frame's radius"),
        Field(
            "places",
            Kind.PAIR,
            "places of the two joints on their section lines, share of the frame's radius; "
            "the second of rotor + two-fold is 0",
            least=-10.0,
            most=10.0,
            unset="0.0667 and 0.3333; rotor + two-fold: -0.4 and 0",
        ),
        Field(
            "swap",
            Kind.FLAG,
            "true: the slots come in the other order along the strip",
            unset="true; rotor + two-fold: false",
        ),
        bend(),
        BEND_RADIUS,
        *STYLE,
    ),
    EdgeRotor: (
        WIDTH,
        length(
            "engagement",
            "distance along a strip from the slot that it carries to its own shoulder",
            unset="the least that webs and pins need",
        ),
        Field(
            "hand",
            Kind.WHOLE,
            "rotors seen from outside: 1 anticlockwise, -1 clockwise",
            choices=(1, -1),
        ),
        bend(),
        BEND_RADIUS,
        *STYLE,
    ),
    Rings: (
        length("width", "radial width of a ring; its outer radius is the frame's"),
        Field(
            "about",
            Kind.WHOLE,
            "the rings stand square to the frame's axes of this order",
            choices=(2, 3, 4, 5),
            unset="the order of the fewest axes whose rings cross two at a time",
        ),
        length("slit", "width of the cut that opens each ring once, so that it can be woven in"),
    ),
    CornerTriads: (
        WIDTH,
        Field(
            "turn",
            Kind.NUMBER,
            "of the triads' planes about their axes",
            "deg",
            least=-360.0,
            most=360.0,
            unset="as suits the group",
        ),
        shares(
            "offsets",
            2,
            "distances of the planes from the centre, share of the frame's radius: triads, ties",
        ),
        shares(
            "places",
            3,
            "places of the joints on their section lines, share of the frame's radius: within a "
            "triad, and of both ends of a tie",
        ),
        bend(),
        BEND_RADIUS,
        *STYLE,
    ),
    InterwovenTriads: (
        WIDTH,
        Field(
            "turns",
            Kind.NUMBERS,
            "of the planes of both triads about their axes",
            "deg",
            least=-360.0,
            most=360.0,
            count=2,
            unset="as suits the group",
        ),
        shares(
            "offsets",
            3,
            "distances of the planes from the centre, share of the frame's radius: first triads, "
            "second triads, ties",
        ),
        shares(
            "places",
            4,
            "places of the joints on their section lines, share of the frame's radius: within "
            "the first and the second triads, and of a tie's ends in the first and the second",
        ),
        bend(),
        BEND_RADIUS,
        *STYLE,
    ),
    FacePlates: (
        Field(
            "shape",
            Kind.CHOICE,
            "of the plates: straight beyond each edge, or a point",
            choices=tuple(shape.value for shape in FaceShape),
            enum=FaceShape,
        ),
        length(
            "overhang",
            "how far a plate reaches beyond its edges",
            unset="a sixth of the frame's shortest edge",
        ),
        length(
            "setback",
            "how far the joint at an edge stays from the edge's ends",
            unset="a fifth of the frame's shortest edge",
        ),
        length("width", "of the material inside the edges", unset="the face has no opening"),
        Field(
            "joint",
            Kind.CHOICE,
            "how neighbours hold; tenons need faces of two sorts, unlike ones side by side",
            choices=(JointKind.CROSS_LAP.value, JointKind.TENON.value),
            enum=JointKind,
        ),
        Field(
            "hand",
            Kind.WHOLE,
            "slots seen from outside open: 1 anticlockwise, -1 clockwise",
            choices=(1, -1),
        ),
    ),
    DrawnStrips: (
        WIDTH,
        Field(
            "curves",
            Kind.CURVES,
            "centre lines in space, one for each strip; each is laid into its best plane",
            "mm",
            least=-SIZE,
            most=SIZE,
        ),
        length(
            "reach", "an end this near to another strip gets a tab in it", unset="the strip's width"
        ),
        bend(),
        BEND_RADIUS,
        *STYLE,
    ),
}
