# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a build is: frozen records that every later stage, file writer and the Blender layer read.

Arrays are read-only. World coordinates are the frame's: centre at the origin, mm.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from shapely import Polygon

from .design.model import Design, JointKind, Lock
from .frame.group import Group

__all__ = [
    "Build",
    "Check",
    "Exploded",
    "Fastener",
    "Joint",
    "Module",
    "Part",
    "Pin",
    "Plate",
    "Snag",
    "Sprung",
    "Step",
    "Totals",
]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Part:
    """A congruence class of finished outlines, or of wedges: what is cut `quantity` times.

    mark : A, B, ... Z, AA ...
    outline : true size (no kerf), in the part's own plane z = 0, mm; the solid fills
        z from -thickness/2 to +thickness/2
    mass : of one piece, kg
    path, width : of a strip: its centre line (k, 2) in the part's plane and its width, mm; None for
        a plate of another shape
    flaps : what is bent out of the plane once it is joined: corners (4, 2), the fold first, mm
    """

    mark: str
    outline: Polygon
    thickness: float
    quantity: int
    mass: float
    path: Floats | None = field(default=None, compare=False)
    width: float | None = field(default=None, compare=False)
    flaps: tuple[Floats, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Plate:
    """One piece standing in the sculpture.

    part, module : indices into `Build.parts`, `Build.modules`
    motif : name of the motif; element : index into the group's elements
    flipped : the part lies with its cut-side down (mirror outline)
    world_from_part : (4, 4) proper rigid transform, also when flipped
    explode : (3,) mm at full explosion, inside the module
    explode_way : (k, 4) rows of a factor and the displacement then, mm, its module's in it,
        straight in between, factors rising from 0 to 1; None: first with its module, then its own
        way
    """

    id: str
    part: int
    flipped: bool
    motif: str
    element: int
    module: int
    world_from_part: Floats
    explode: Floats
    explode_way: Floats | None = None


@dataclass(frozen=True, slots=True)
class Pin:
    """The pin of a tenon: a cylinder, world coordinates, mm; axis is a unit vector."""

    centre: Floats
    axis: Floats
    diameter: float
    length: float


@dataclass(frozen=True, slots=True)
class Fastener:
    """A solid that holds a tab and is no pin: an outline in its own plane z = 0, mm.

    kind : what it is, in words; the solid fills z from -thickness/2 to +thickness/2
    world : (4, 4) proper rigid transform of its plane
    part : index into `Build.parts` of one that is cut from the sheet; None: it is bought or bent
    """

    kind: str
    outline: Polygon
    thickness: float
    world: Floats
    part: int | None = None


@dataclass(frozen=True, slots=True)
class Joint:
    """Two plates held together.

    plates : indices; for a tenon (plate with the tab, plate with the slot)
    angle : between the two planes, deg, 0 < angle <= 90; 0 for a splice
    centre : where the tab's centre line crosses the mortise plate's mid-plane (cross-lap: middle of
        the overlap); line : unit vector along both planes; insertion : unit vector, the way that
        plates[0] moves into plates[1]
    within_module : both plates are in one module
    lock : what keeps a tenon in its slot; None for a cross-lap
    play : the way that a locked tab can still be drawn back, mm
    tabs : (3,) for each tab of a tenon, where its centre line crosses the mortise plate's mid-plane
    more_pins : those beside `pin`, of a tenon that has several
    fasteners : what holds a tenon besides pins, or in their place
    """

    id: str
    kind: JointKind
    joint_class: str
    plates: tuple[int, int]
    angle: float
    centre: Floats
    line: Floats
    insertion: Floats
    pin: Pin | None
    within_module: bool
    lock: Lock | None = None
    play: float = 0.0
    tabs: tuple[Floats, ...] = ()
    more_pins: tuple[Pin, ...] = ()
    fasteners: tuple[Fastener, ...] = ()

    @property
    def pins(self) -> tuple[Pin, ...]:
        """All pins of the joint."""
        return () if self.pin is None else (self.pin, *self.more_pins)


@dataclass(frozen=True, slots=True)
class Module:
    """Plates that a team puts together on a table. explode : (3,) mm at full explosion."""

    id: str
    plates: tuple[int, ...]
    joints: tuple[int, ...]
    explode: Floats


@dataclass(frozen=True, slots=True)
class Check:
    """One finding: the figure against its limit, in words too, and where (ids, worst first).

    where : each with its place: world coordinates in three numbers, a part's own in two, mm
    remedy : what to do about it, a short sentence; empty where all is well
    """

    name: str
    ok: bool
    figure: float
    unit: str
    limit: float
    message: str
    where: tuple[str, ...] = ()
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class Totals:
    """Sums over the whole sculpture.

    plates, joints, pins : counts; mass : kg; sheet_area : mm2, net, of all plates; cut_length : mm
    diameter : mm, of the sphere about the centre that holds all plates
    centre_of_gravity : (3,) mm
    """

    plates: int
    joints: int
    pins: int
    mass: float
    sheet_area: float
    cut_length: float
    diameter: float
    centre_of_gravity: Floats


@dataclass(frozen=True, slots=True)
class Sprung:
    """A joint that closes only while a plate is bent.

    joint, plate : indices; the plate is the one that bends
    deflection : square to the plate, at the joint, mm; force : at the hand, N
    stress_ratio : bending stress as a share of the sheet's yield
    zone : mm, radius about the joint's centre in which the plate is taken to stand aside
    """

    joint: int
    plate: int
    deflection: float
    force: float
    stress_ratio: float
    zone: float


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the assembly plan.

    module : index of the module whose table it is done at; None: it is done at the whole
    add : plates that come in, as one body
    way : (k, 3) mm, shifts of the plates from their place: from outside, leg by leg, to 0
    turns : (k, 4) unit quaternions x, y, z, w: how the plates are turned about `pivot` at each of
        those places, at last not at all; None: they are turned nowhere (assembly/poses.py tells
        where they are in between)
    pivot : (3,) mm, the point, fixed in the plates, that `way` shifts and about which they turn
    free : the way was proved to sweep through nothing that stands, sprung joints' zones left out;
        otherwise the plates must be worked in by bending and turning
    why : why no way is proved, and what to do, in words; empty where one is
    close : joints that close, in order; pin : those of them whose pins or other locks go in
    springs : joints that close by bending; leave_open : joints that must not be closed yet
    minutes : for one team; people : hands of the team, two for each
    after : numbers of the steps that must be done before
    say : the step in words
    """

    n: int
    module: int | None
    add: tuple[int, ...]
    way: Floats
    free: bool
    close: tuple[int, ...]
    pin: tuple[int, ...]
    springs: tuple[Sprung, ...]
    leave_open: tuple[int, ...]
    minutes: float
    people: int
    after: tuple[int, ...]
    say: str
    turns: Floats | None = None
    pivot: Floats = field(default_factory=lambda: np.zeros(3))
    why: str = ""

    @property
    def direction(self) -> Floats:
        """Unit vector of the last leg, (3,); straight down where there is no leg."""
        if len(self.way) < 2:
            return np.array([0.0, 0.0, -1.0])
        leg = self.way[-1] - self.way[-2]
        length = float(np.linalg.norm(leg))
        if length < 1e-9:  # it only turns at last
            return np.array([0.0, 0.0, -1.0])
        unit: Floats = leg / length
        return unit


@dataclass(frozen=True, slots=True)
class Snag:
    """Two plates that share room while the exploded view opens.

    plates : their indices; joints : those of the plan that are concerned, or that hold the two
    why : in words of `core.assembly.explode_words`
    """

    plates: tuple[int, int]
    joints: tuple[int, ...]
    why: str


@dataclass(frozen=True, slots=True)
class Exploded:
    """How the exploded view opens.

    in_order : by the plan, one body after another; otherwise all modules at once, then all plates
    split : the factor at which the modules stand apart, whole; beyond it their plates part
    snags : every pair of plates that shares room on the way; no other pair does
    """

    in_order: bool
    split: float
    snags: tuple[Snag, ...]


@dataclass(frozen=True, slots=True)
class Build:
    """A design, computed: everything that can be drawn, cut, checked or shown."""

    design: Design
    group: Group
    parts: tuple[Part, ...]
    plates: tuple[Plate, ...]
    joints: tuple[Joint, ...]
    modules: tuple[Module, ...]
    checks: tuple[Check, ...]
    totals: Totals
    warnings: tuple[str, ...] = field(default=())
    steps: tuple[Step, ...] = field(default=())
    exploded: Exploded | None = None

    @property
    def ok(self) -> bool:
        """True when no check failed."""
        return all(check.ok for check in self.checks)
