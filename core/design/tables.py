# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every field of the design file, table by table, in the order in which files are written."""

from __future__ import annotations

from .fields import Field, Kind
from .materials import MATERIALS
from .model import (
    AssemblyChoice,
    Bend,
    CornerTriads,
    CutOut,
    DrawnStrips,
    EdgeRotor,
    FacePlates,
    FaceShape,
    FrameChoice,
    InterwovenTriads,
    JointClassChoice,
    JointKind,
    JointSizes,
    Keying,
    Keys,
    Lock,
    ModuleChoice,
    MotifChoice,
    Recipe,
    RightAngleOrbit,
    Rings,
    Sheet,
    SpliceKind,
    Turn,
)

__all__ = ["FIELDS", "RECIPES", "SCHEMA", "TABLE_NAMES", "UNITS", "top_fields"]

SCHEMA = "pinwright-design/1"
UNITS = {"length": "mm", "angle": "deg"}

# Bounds that catch a slip of the unit, not a bold design: a sculpture of 100 m, sheet of 100 mm.
_SIZE = 100_000.0
_SHEET = 100.0

RECIPES: dict[str, type[Recipe]] = {
    "right-angle orbit": RightAngleOrbit,
    "edge rotor": EdgeRotor,
    "rings": Rings,
    "corner triads": CornerTriads,
    "interwoven triads": InterwovenTriads,
    "face plates": FacePlates,
    "drawn strips": DrawnStrips,
}


def _length(name: str, help: str, most: float = _SIZE, unset: str = "") -> Field:
    return Field(name, Kind.NUMBER, help, "mm", above=0.0, most=most, unset=unset)


def _play(name: str, help: str, most: float = _SIZE) -> Field:
    return Field(name, Kind.NUMBER, help, "mm", least=0.0, most=most)


def _place(name: str, help: str) -> Field:
    return Field(name, Kind.NUMBER, help, "mm", least=-_SIZE, most=_SIZE)


def _minutes(name: str, help: str) -> Field:
    return Field(name, Kind.NUMBER, help, "min", least=0.0, most=1440.0)


def _share(name: str, help: str, least: float = -10.0, most: float = 10.0) -> Field:
    return Field(name, Kind.NUMBER, help, least=least, most=most)


def _bend(help: str = "how the centre path goes round its corners") -> Field:
    choices = tuple(bend.value for bend in Bend)
    return Field("bend", Kind.CHOICE, help, choices=choices, enum=Bend)


def _lock(help: str, unset: str = "") -> Field:
    choices = tuple(lock.value for lock in Lock)
    return Field("lock", Kind.CHOICE, help, choices=choices, enum=Lock, unset=unset)


_NAME = Field("name", Kind.TEXT, "a name of your own")
_WIDTH = _length("width", "width of the strips")
_BEND_RADIUS = _play("bend_radius", "radius of the rounded corners of a path; for bend round")


def _shares(name: str, count: int, help: str) -> Field:
    return Field(
        name, Kind.NUMBERS, help, least=-10.0, most=10.0, count=count, unset="as suits the group"
    )


_STYLE = (
    _length("end_width", "of the strip at both ends of its path", unset="`width`"),
    _length(
        "taper",
        "length along the path over which the width changes",
        unset="three times the wider of the two, or half of a shorter path",
    ),
    Field(
        "cut_out",
        Kind.CHOICE,
        "holes along the path that make the strip lighter",
        choices=tuple(one.value for one in CutOut),
        enum=CutOut,
    ),
    _length("cut_size", "of cut-outs, across the strip", unset="what two webs leave"),
    _length("cut_length", "of slotted cut-outs, along the path", unset="three times their width"),
    _length(
        "cut_web",
        "least material beside and between cut-outs",
        unset="a quarter of the strip's width",
    ),
)

FIELDS: dict[type, tuple[Field, ...]] = {
    Sheet: (
        _length(
            "thickness", "of the sheet; measure it, sheets are often thinner than sold", _SHEET
        ),
        Field("material", Kind.CHOICE, "a sheet of the library", choices=tuple(MATERIALS)),
        _play("kerf", "width of the cut, used only when cutting files are compensated", 10.0),
        _play("clearance", "free room on each side of a tab in its slot", 10.0),
        Field("one_sided", Kind.FLAG, "true: the good face stays outside, no part is turned over"),
        _length(
            "least_thickness", "of any sheet that may be delivered", _SHEET, unset="`thickness`"
        ),
        _length(
            "most_thickness", "of any sheet that may be delivered", _SHEET, unset="`thickness`"
        ),
        _play("coating", "thickness of paint or powder, on every face and edge after cutting", 2.0),
        Field(
            "stock",
            Kind.PAIR,
            "usable length and width of one sheet, or of the cutter's bed",
            "mm",
            above=0.0,
            most=_SIZE,
            unset="the usual sheet of the material, see `pinwright materials`",
        ),
        Field(
            "least_corner",
            Kind.NUMBER,
            "sharpest corner that may be cut; tips that joints would leave are cut off",
            "deg",
            least=0.0,
            most=90.0,
        ),
    ),
    FrameChoice: (
        _length("diameter", "of the sphere through the frame's farthest vertex"),
        Field("solid", Kind.TEXT, "a solid of the catalogue, see `pinwright frames`"),
        Field(
            "mesh",
            Kind.TEXT,
            "a mesh file, its path starts at the design file's folder",
            pattern=r"(?i).+\.(obj|off|ply|stl)",
            example="the path of a file that ends in .obj, .off, .ply or .stl",
        ),
        Field(
            "group",
            Kind.TEXT,
            "a bare rotation group: symmetry without a polyhedron",
            pattern=r"[TOI]|C([1-9]\d?|1[01]\d|120)|D([2-9]|[1-9]\d|1[01]\d|120)",
            example="T, O, I, C1 to C120 or D2 to D120",
        ),
    ),
    Turn: (
        Field("axis", Kind.DIRECTION, "direction of the axis"),
        Field("angle", Kind.NUMBER, "right-handed; 0 stays put", "deg", least=-360.0, most=360.0),
    ),
    RightAngleOrbit: (
        _WIDTH,
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
        _share("offset", "distance of the plane from the centre, share of the frame's radius"),
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
        _bend(),
        _BEND_RADIUS,
        *_STYLE,
    ),
    EdgeRotor: (
        _WIDTH,
        _length(
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
        _bend(),
        _BEND_RADIUS,
        *_STYLE,
    ),
    Rings: (
        _length("width", "radial width of a ring; its outer radius is the frame's"),
        Field(
            "about",
            Kind.WHOLE,
            "the rings stand square to the frame's axes of this order",
            choices=(2, 3, 4, 5),
            unset="the order of the fewest axes whose rings cross two at a time",
        ),
        _length("slit", "width of the cut that opens each ring once, so that it can be woven in"),
    ),
    CornerTriads: (
        _WIDTH,
        Field(
            "turn",
            Kind.NUMBER,
            "of the triads' planes about their axes",
            "deg",
            least=-360.0,
            most=360.0,
            unset="as suits the group",
        ),
        _shares(
            "offsets",
            2,
            "distances of the planes from the centre, share of the frame's radius: triads, ties",
        ),
        _shares(
            "places",
            3,
            "places of the joints on their section lines, share of the frame's radius: within a "
            "triad, and of both ends of a tie",
        ),
        _bend(),
        _BEND_RADIUS,
        *_STYLE,
    ),
    InterwovenTriads: (
        _WIDTH,
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
        _shares(
            "offsets",
            3,
            "distances of the planes from the centre, share of the frame's radius: first triads, "
            "second triads, ties",
        ),
        _shares(
            "places",
            4,
            "places of the joints on their section lines, share of the frame's radius: within "
            "the first and the second triads, and of a tie's ends in the first and the second",
        ),
        _bend(),
        _BEND_RADIUS,
        *_STYLE,
    ),
    FacePlates: (
        Field(
            "shape",
            Kind.CHOICE,
            "of the plates: straight beyond each edge, or a point",
            choices=tuple(shape.value for shape in FaceShape),
            enum=FaceShape,
        ),
        _length(
            "overhang",
            "how far a plate reaches beyond its edges",
            unset="a sixth of the frame's shortest edge",
        ),
        _length(
            "setback",
            "how far the joint at an edge stays from the edge's ends",
            unset="a fifth of the frame's shortest edge",
        ),
        _length("width", "of the material inside the edges", unset="the face has no opening"),
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
        _WIDTH,
        Field(
            "curves",
            Kind.CURVES,
            "centre lines in space, one for each strip; each is laid into its best plane",
            "mm",
            least=-_SIZE,
            most=_SIZE,
        ),
        _length(
            "reach", "an end this near to another strip gets a tab in it", unset="the strip's width"
        ),
        _bend(),
        _BEND_RADIUS,
        *_STYLE,
    ),
    MotifChoice: (
        _NAME,
        Field("normal", Kind.DIRECTION, "square to the plane"),
        _place("offset", "distance of the plane from the frame's centre, along the normal"),
        Field(
            "x_axis",
            Kind.DIRECTION,
            "the plane's own x axis; y is normal x x_axis",
            unset="a fixed one for each normal",
        ),
        Field(
            "path",
            Kind.POINTS,
            "centre line of a strip, in the plane",
            "mm",
            least=-_SIZE,
            most=_SIZE,
            unset="`outline` is given",
        ),
        _length("width", "of the strip about its path", unset="`outline` is given"),
        _bend(),
        _BEND_RADIUS,
        Field(
            "outline",
            Kind.POINTS,
            "outer ring of a plate, in the plane; closes by itself",
            "mm",
            least=-_SIZE,
            most=_SIZE,
            unset="`path` and `width` are given",
        ),
        Field("holes", Kind.RINGS, "inner rings of the outline", "mm", least=-_SIZE, most=_SIZE),
        *_STYLE,
    ),
    JointClassChoice: (
        _NAME,
        Field(
            "motifs",
            Kind.NAMES,
            "the motifs joined; for a tenon the first has the tab, the second the slot; for a "
            "splice the first has the key, the second the socket",
            example="two names of motifs [tab, slot]",
        ),
        Field(
            "kind",
            Kind.CHOICE,
            "how the two plates hold",
            choices=tuple(kind.value for kind in JointKind),
            enum=JointKind,
        ),
        _place(
            "at",
            "place on the section line, from its point nearest to the centre, "
            "along (first normal) x (turned second normal)",
        ),
        Field("turn", Kind.TURN, "the rotation that carries the second motif to its place"),
        Field(
            "outward",
            Kind.WHOLE,
            "side that the tab points to (or the slot opens to); 0: found from the path's end",
            choices=(-1, 0, 1),
        ),
        _share(
            "split",
            "cross-lap: share of the overlap that is cut from the first; three plates on one line "
            "take a class for each two of them",
            0.0,
            1.0,
        ),
        _length("tab_width", "of this class alone", unset="`joints.tab_width`"),
        _lock("of this class alone", unset="`joints.lock`"),
        Field("tabs", Kind.WHOLE, "tenon: one tab, or two side by side about `at`", choices=(1, 2)),
        _length(
            "tab_spacing", "of two tabs, middle to middle", unset="equal shoulders on the strip"
        ),
        Field(
            "splice",
            Kind.CHOICE,
            "splice: what holds the strips' ends",
            choices=tuple(kind.value for kind in SpliceKind),
            enum=SpliceKind,
            unset="a dovetail key",
        ),
    ),
    JointSizes: (
        _length("tab_width", "width of the tabs", unset="from the sheet"),
        _length("pin_diameter", "of the pins", unset="from the sheet"),
        _length("pin_length", "of the pins", unset="from the sheet"),
        _play("pin_play", "gap between a pin and the far face of the slotted plate", 100.0),
        _play("hole_play", "a pin's hole is wider than the pin by this", 100.0),
        _length("web", "least material round holes and slots", unset="from the sheet"),
        _play("corner_radius", "of outer corners; 0: sharp"),
        _play("gap", "least distance of plates that are not joined"),
        _length(
            "rattle",
            "most free way of a tab across its slot, in the thinnest sheet",
            _SHEET,
            unset="half the sheet's thickness, or four clearances if that is more",
        ),
        _lock("what keeps the tabs in their slots, beyond the far face"),
        _length("wedge_width", "of a wedge's thin end", unset="from the sheet"),
        _length("bend_radius", "of bent ends, inside", unset="from the sheet"),
        _length("tie_width", "of the strap of cable ties", unset="from the sheet"),
        _length("tie_thickness", "of the strap of cable ties", unset="from its width"),
        _length("link_diameter", "of the rod of chain links, at hang points", unset="the pin's"),
        _length("link_width", "of chain links, inside", unset="twice the rod, more than the sheet"),
        _length("link_length", "of chain links, inside", unset="seven rods, or as the tab needs"),
    ),
    Keying: (
        Field(
            "kind",
            Kind.CHOICE,
            "what keeps parts out of wrong places: tabs of unequal widths or shifted, or nothing",
            choices=tuple(keys.value for keys in Keys),
            enum=Keys,
        ),
        _length(
            "step",
            "by which tab widths differ at least, and a shifted tab is shifted",
            _SHEET,
            unset="3 mm, or ten clearances if that is more",
        ),
        Field(
            "marks",
            Kind.FLAG,
            "true: engrave which side faces out and, at each tab and slot, its partner",
        ),
    ),
    ModuleChoice: (
        Field(
            "about",
            Kind.TEXT,
            "what each module gathers round",
            pattern=r"vertices|edges|faces|none|axes [2-9]|joints|listed|"
            r"subgroup ([CD][1-9]\d{0,2}|T|O|I)",
            example="one of vertices, edges, faces, none, axes 2, axes 3 ..., subgroup D3, "
            "subgroup T ..., joints, listed",
        ),
        _share("explode", "way of the modules at full explosion, share of the radius", 0.0),
        _share("explode_plates", "way of the plates at full explosion, share of the radius", 0.0),
        Field(
            "count",
            Kind.WHOLE,
            "about joints: how many modules",
            choices=tuple(range(1, 1001)),
            unset="as many as suit the number of plates, or the limits",
        ),
        _length("largest", "about joints: diameter of a ball round a module", unset="no limit"),
        Field(
            "heaviest",
            Kind.NUMBER,
            "about joints: mass of a module",
            "kg",
            above=0.0,
            most=100_000.0,
            unset="no limit",
        ),
        Field(
            "listed",
            Kind.LISTS,
            "about listed: the plates of each module, by the names of their motifs; `name/3` is "
            "the third plate of a motif; what is not named makes one more module",
        ),
    ),
    AssemblyChoice: (
        Field(
            "start",
            Kind.CHOICE,
            "top: from the hang points down and outward; base: from the ground up",
            choices=("top", "base"),
        ),
        Field(
            "teams",
            Kind.WHOLE,
            "teams that work at the same time",
            choices=tuple(range(1, 21)),
        ),
        _minutes("fetch", "find a plate, look at its mark and good side, bring it"),
        _minutes("insert", "bring a plate in along its way"),
        _minutes("join", "bring a module in along its way"),
        _minutes("close", "push one joint home"),
        _minutes("pin", "put one joint's pin or other lock in"),
        _minutes("spring", "bend a plate for one joint and let it snap in, beside `close`"),
        _minutes("weave", "work in by hand what has no straight way"),
        _minutes("check", "look over a step before its pins go in"),
        _share("spares", "spare pins and parts, share of those needed", 0.0, 1.0),
        Field(
            "people",
            Kind.WHOLE,
            "that are there at most, all teams together",
            choices=tuple(range(1, 201)),
            unset="as many as the steps ask for",
        ),
    ),
}


def top_fields() -> tuple[Field, ...]:
    """Return the fields above all tables."""
    return (
        Field("name", Kind.TEXT, "of the sculpture"),
        Field("note", Kind.NOTE, "anything worth remembering"),
    )


# The tables of the file and the record (or, for recipe, the records) that each becomes.
TABLE_NAMES: dict[str, type | None] = {
    "sheet": Sheet,
    "frame": FrameChoice,
    "recipe": None,
    "motifs": MotifChoice,
    "joint_classes": JointClassChoice,
    "joints": JointSizes,
    "modules": ModuleChoice,
    "assembly": AssemblyChoice,
    "keying": Keying,
}
