# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every field of the design file, table by table, in the order in which files are written."""

from __future__ import annotations

from .field_makers import (
    BEND_RADIUS,
    NAME,
    SHEET,
    SIZE,
    STYLE,
    bend,
    length,
    lock,
    minutes,
    place,
    play,
    share,
)
from .fields import Field, Kind
from .materials import MATERIALS
from .model import (
    AssemblyChoice,
    Corners,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    Keying,
    Keys,
    ModuleChoice,
    MotifChoice,
    Sheet,
    SpliceKind,
    Turn,
)
from .recipe_tables import RECIPE_FIELDS, RECIPES

__all__ = ["FIELDS", "RECIPES", "SCHEMA", "TABLE_NAMES", "UNITS", "top_fields"]

SCHEMA = "pinwright-design/1"
UNITS = {"length": "mm", "angle": "deg"}

FIELDS: dict[type, tuple[Field, ...]] = {
    Sheet: (
        length("thickness", "of the sheet; measure it, sheets are often thinner than sold", SHEET),
        Field("material", Kind.CHOICE, "a sheet of the library", choices=tuple(MATERIALS)),
        play("kerf", "width of the cut, used only when cutting files are compensated", 10.0),
        play("clearance", "free room on each side of a tab in its slot", 10.0),
        Field("one_sided", Kind.FLAG, "true: the good face stays outside, no part is turned over"),
        length("least_thickness", "of any sheet that may be delivered", SHEET, unset="`thickness`"),
        length("most_thickness", "of any sheet that may be delivered", SHEET, unset="`thickness`"),
        play(
            "tool",
            "diameter of a router's tool; 0: a beam or a blade, which cuts sharp corners",
            SHEET,
        ),
        Field(
            "corners",
            Kind.CHOICE,
            "inner corners that a tool cuts where a part seats: relieved by a circle, or left "
            "round with longer slots",
            choices=tuple(corners.value for corners in Corners),
            enum=Corners,
        ),
        play("coating", "thickness of paint or powder, on every face and edge after cutting", 2.0),
        Field(
            "stock",
            Kind.PAIR,
            "usable length and width of one sheet, or of the cutter's bed",
            "mm",
            above=0.0,
            most=SIZE,
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
        length("diameter", "of the sphere through the frame's farthest vertex"),
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
    **RECIPE_FIELDS,
    MotifChoice: (
        NAME,
        Field("normal", Kind.DIRECTION, "square to the plane"),
        place("offset", "distance of the plane from the frame's centre, along the normal"),
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
            least=-SIZE,
            most=SIZE,
            unset="`outline` is given",
        ),
        length("width", "of the strip about its path", unset="`outline` is given"),
        bend(),
        BEND_RADIUS,
        Field(
            "outline",
            Kind.POINTS,
            "outer ring of a plate, in the plane; closes by itself",
            "mm",
            least=-SIZE,
            most=SIZE,
            unset="`path` and `width` are given",
        ),
        Field("holes", Kind.RINGS, "inner rings of the outline", "mm", least=-SIZE, most=SIZE),
        *STYLE,
    ),
    JointClassChoice: (
        NAME,
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
        place(
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
        share(
            "split",
            "cross-lap: share of the overlap that is cut from the first; three plates on one line "
            "take a class for each two of them",
            0.0,
            1.0,
        ),
        length("tab_width", "of this class alone", unset="`joints.tab_width`"),
        lock("of this class alone", unset="`joints.lock`"),
        Field("tabs", Kind.WHOLE, "tenon: one tab, or two side by side about `at`", choices=(1, 2)),
        length(
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
        length("tab_width", "width of the tabs", unset="from the sheet"),
        length("pin_diameter", "of the pins", unset="from the sheet"),
        length("pin_length", "of the pins", unset="from the sheet"),
        play("pin_play", "gap between a pin and the far face of the slotted plate", 100.0),
        play("hole_play", "a pin's hole is wider than the pin by this", 100.0),
        length("web", "least material round holes and slots", unset="from the sheet"),
        play("corner_radius", "of outer corners; 0: sharp"),
        play("gap", "least distance of plates, but for their joints"),
        length(
            "rattle",
            "most free way of a tab in its slot, in the thinnest sheet",
            SHEET,
            unset="half the sheet's thickness, or four clearances if that is more",
        ),
        lock("what keeps the tabs in their slots, beyond the far face"),
        length("wedge_width", "of a wedge's thin end", unset="from the sheet"),
        length("bend_radius", "of bent ends, inside", unset="from the sheet"),
        length("tie_width", "of the strap of cable ties", unset="from the sheet"),
        length("tie_thickness", "of the strap of cable ties", unset="from its width"),
        length("link_diameter", "of the rod of chain links, at hang points", unset="the pin's"),
        length("link_width", "of chain links, inside", unset="twice the rod, more than the sheet"),
        length("link_length", "of chain links, inside", unset="seven rods, or as the tab needs"),
    ),
    Keying: (
        Field(
            "kind",
            Kind.CHOICE,
            "what keeps parts out of wrong places: tabs of unequal widths or shifted, or nothing",
            choices=tuple(keys.value for keys in Keys),
            enum=Keys,
        ),
        length(
            "step",
            "by which tab widths differ at least, and a shifted tab is shifted",
            SHEET,
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
        share("explode", "least way of the modules at full explosion, share of the radius", 0.0),
        share("explode_plates", "way of the plates at full explosion, share of the radius", 0.0),
        Field(
            "count",
            Kind.WHOLE,
            "about joints: how many modules",
            choices=tuple(range(1, 1001)),
            unset="as many as suit the number of plates, or the limits",
        ),
        length("largest", "about joints: diameter of a ball round a module", unset="no limit"),
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
        minutes("fetch", "find a plate, look at its mark and good side, bring it"),
        minutes("insert", "bring a plate in along its way"),
        minutes("join", "bring a module in along its way"),
        minutes("close", "push one joint home"),
        minutes("pin", "put one joint's pin or other lock in"),
        minutes("spring", "bend a plate for one joint and let it snap in, beside `close`"),
        minutes("weave", "work in by hand what has no proved way"),
        minutes("check", "look over a step before its pins go in"),
        share("spares", "spare pins and parts, share of those needed", 0.0, 1.0),
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
