# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the user chose: frozen records, one for each table of the design file.

Nothing is computed here. ``read.py`` makes a `Design` from TOML (or from the Blender panel's
numbers) and refuses what is out of range; ``write.py`` gives the TOML back. The explicit form
(motifs and joint classes) is the general one; a recipe only fills it in.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from .kinds import (
    Bend,
    Corners,
    CutOut,
    FaceShape,
    JointKind,
    Keys,
    Lock,
    Point,
    SpliceKind,
    StripStyle,
    Turn,
    Vector,
)
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

__all__ = [
    "AssemblyChoice",
    "Bend",
    "CornerTriads",
    "Corners",
    "CutOut",
    "Design",
    "DrawnStrips",
    "EdgeRotor",
    "FacePlates",
    "FaceShape",
    "FrameChoice",
    "InterwovenTriads",
    "JointClassChoice",
    "JointKind",
    "JointSizes",
    "Keying",
    "Keys",
    "Lock",
    "ModuleChoice",
    "MotifChoice",
    "Point",
    "Recipe",
    "RightAngleOrbit",
    "Rings",
    "Sheet",
    "SpliceKind",
    "StripStyle",
    "Turn",
    "Vector",
]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The flat stock that every plate is cut from (lengths mm)."""

    thickness: float
    material: str = "aluminium-5052"  # a name of core/design/materials.py
    kerf: float = 0.15  # width of the cut; only used when cutting files are compensated
    clearance: float = 0.1  # free room on each side of a tab or plate in its slot
    one_sided: bool = False  # True: good face must stay outside, parts may not be turned over
    least_thickness: float | None = None  # of any sheet delivered; None: the thickness
    most_thickness: float | None = None  # of any sheet delivered; None: the thickness
    tool: float = 0.0  # diameter of a router's tool; 0: a beam or a blade, which cuts sharp corners
    corners: Corners = Corners.DOG_BONE  # with a tool
    coating: float = 0.0  # put on after cutting, on every face and edge: paint, powder
    stock: tuple[float, float] | None = None  # usable size of a sheet; None: the material's usual
    least_corner: float = 20.0  # deg; sharper tips burn, bend and cut: joints leave none


@dataclass(frozen=True, slots=True)
class FrameChoice:
    """The frame: exactly one of `solid`, `mesh`, `group` is set.

    solid : name of the catalogue, e.g. ``icosahedron``, ``truncated cube``, ``prism 7``
    mesh : path of an OBJ, OFF, PLY or STL file, relative to the design file
    group : a bare rotation group, ``T``, ``O``, ``I``, ``C5``, ``D6``: symmetry and no polyhedron
    diameter : of the sphere about the frame's centre through its farthest vertex, mm; for a bare
        group the size that recipes scale to
    """

    diameter: float
    solid: str | None = None
    mesh: str | None = None
    group: str | None = None


@dataclass(frozen=True, slots=True)
class MotifChoice(StripStyle):
    """One seed plate. Either `path` and `width` (a strip) or `outline` (a plate) is set.

    normal, offset : the plane normal . x = offset (unit normal; mm)
    x_axis : direction of the plane's own x axis; None: the default of core/plates/planes.py. The
        plane's origin is the foot of the frame's centre, its y axis is normal x x_axis.
    path : points of the centre line, plane coordinates, mm
    outline : exterior ring, plane coordinates, mm; `holes` its inner rings
    """

    name: str
    normal: Vector
    offset: float
    x_axis: Vector | None = None
    path: tuple[Point, ...] | None = None
    width: float | None = None
    bend: Bend = Bend.SHARP
    bend_radius: float = 0.0
    outline: tuple[Point, ...] | None = None
    holes: tuple[tuple[Point, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class JointClassChoice:
    """Plate x.a is joined to plate x.turn.b for every x of the group.

    motifs : names (a, b); for a tenon a has the tab and b the slot, for a splice a the key and b
        the socket: two strips in one plane whose paths end in one place
    at : place on the section line of the two planes, mm from the point of the line that is nearest
        to the frame's centre, along (normal of a) x (normal of turn.b)
    outward : tenon: +1 when the tab points to the side that (line direction) x (normal of a)
        shows, -1 for the other; 0: found from the end of a's path. Cross-lap: +1 (or 0) when a's
        slot opens towards the line's direction, -1 for the other way
    split : cross-lap: share of the overlap that is cut from a (0 to 1). Three plates that meet on
        one line take three classes: the lowest and the highest keep a third of the overlap each,
        the one between them the middle (fit/lap.py: `three_on_a_line`)
    tab_width : overrides `joints.tab_width` for this class; None: the general one
    lock : tenon: overrides `joints.lock` for this class; None: the general one
    tabs : tenon: one tab, or two side by side about `at`, each with its slot and its lock
    tab_spacing : of two tabs, middle to middle, mm; None: equal shoulders on the strip
    splice : splice: what holds the ends. `at` shifts the key, or the row of pins, sideways;
        `tab_width` is the key's neck (None: a quarter of the strip); `outward` says on which side
        of a's normal a fish plate lies, 0: on the one that looks away from the centre
    """

    name: str
    motifs: tuple[str, str]
    kind: JointKind
    at: float = 0.0
    turn: Turn = field(default_factory=Turn)
    outward: int = 0
    split: float = 0.5
    tab_width: float | None = None
    lock: Lock | None = None
    tabs: int = 1
    tab_spacing: float | None = None
    splice: SpliceKind | None = None


@dataclass(frozen=True, slots=True)
class JointSizes:
    """Sizes that all joints share, mm; None: derived from the sheet (see fit/sizes.py)."""

    tab_width: float | None = None
    pin_diameter: float | None = None
    pin_length: float | None = None
    pin_play: float = 0.5  # gap between pin and the far face of the mortise plate
    hole_play: float = 0.2  # the hole's diameter is the pin's and this
    web: float | None = None  # least material round holes and slots
    corner_radius: float = 0.0  # of convex outline corners; 0: sharp
    gap: float = 2.0  # least distance of plates, but for their joints
    rattle: float | None = None  # most free way of a tab in its slot, in the thinnest sheet
    lock: Lock = Lock.PIN  # what keeps the tabs in their slots
    wedge_width: float | None = None  # of the thin end
    bend_radius: float | None = None  # inner radius of bent ends
    tie_width: float | None = None  # of a cable tie's strap
    tie_thickness: float | None = None
    link_diameter: float | None = None  # of a chain link's rod
    link_width: float | None = None  # inside
    link_length: float | None = None  # inside


@dataclass(frozen=True, slots=True)
class Keying:
    """How the design keeps hands from putting parts together wrongly (see joints/keying.py).

    step : by which two tab widths differ at least, and a shifted tab is shifted, mm; None: from
        the clearance
    marks : engrave the side that faces out, and at each tab and slot its partner
    """

    kind: Keys = Keys.NONE
    step: float | None = None
    marks: bool = False


@dataclass(frozen=True, slots=True)
class ModuleChoice:
    """How the plates fall into modules.

    about : ``vertices``, ``edges``, ``faces`` (stabilisers of the frame) or ``none`` (one module);
        ``axes 2``, ``axes 3`` ...; ``subgroup T``, ``subgroup D3`` ... (its cosets); ``joints``:
        the graph of plates and joints is cut where it is thin; ``listed``: as `listed` says
    explode, explode_plates : radial way of modules and insertion way of plates at full explosion,
        share of the frame's radius
    count : of the modules about ``joints``; None: as many as suit the number of plates, or the
        limits
    largest, heaviest : that a module about ``joints`` may be, mm and kg: the ball round it
    listed : one entry for each module: names of motifs (all their plates), or ``name/3`` for the
        third plate of one, in the group's order; what no entry names makes one more module
    """

    about: str = "none"
    explode: float = 0.6
    explode_plates: float = 0.15
    count: int | None = None
    largest: float | None = None
    heaviest: float | None = None
    listed: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class AssemblyChoice:
    """How the sculpture is put together, and how long hands take (all times in minutes).

    start : ``top``: from the hang points down and outward; ``base``: from the ground up
    teams : that work at the same time
    fetch : find a plate, look at its mark and its good side, bring it
    insert : bring a plate in along its way; join : the same with a module
    close : push one joint home; pin : put its pin or other lock in
    spring : bend a plate for one joint and let it snap in, beside `close`
    weave : work in by hand what has no proved way
    check : look over a step before its pins go in
    spares : spare pins and parts, share of those that are needed
    people : that are there at most, all teams together; None: as many as the steps ask for
    """

    start: str = "top"
    teams: int = 2
    fetch: float = 0.5
    insert: float = 0.5
    join: float = 4.0
    close: float = 0.3
    pin: float = 0.3
    spring: float = 1.5
    weave: float = 5.0
    check: float = 0.5
    spares: float = 0.05
    people: int | None = None


@dataclass(frozen=True, slots=True)
class Design:
    """One whole design; the file's tables as records.

    Either `recipe` is set, or `motifs` and `joint_classes` are.
    folder : where relative mesh paths start (not written to the file)
    """

    name: str
    sheet: Sheet
    frame: FrameChoice
    recipe: Recipe | None = None
    motifs: tuple[MotifChoice, ...] = ()
    joint_classes: tuple[JointClassChoice, ...] = ()
    joints: JointSizes = field(default_factory=JointSizes)
    modules: ModuleChoice = field(default_factory=ModuleChoice)
    assembly: AssemblyChoice = field(default_factory=AssemblyChoice)
    keying: Keying = field(default_factory=Keying)
    note: str = ""
    folder: str = ""
