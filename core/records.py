# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""From arrays to the records of results.py: ids, marks, plates, joints, modules and totals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .design.materials import Material
from .design.model import Design
from .fit.sizes import Sizes
from .frame.group import Group
from .joints.classes import JointClass
from .joints.fasteners import Fasteners
from .joints.table import JointTable
from .outlines.parts import PartShapes, part_mark, part_shapes
from .plates.motif import Motif
from .plates.orbits import Orbits
from .results import Build, Check, Fastener, Joint, Module, Part, Pin, Plate, Totals

__all__ = ["Numbering", "assemble_build", "module_id"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Numbering:
    """The order of the plates in the build, module by module, and the ids of all things.

    order : (P,) int, the plates as computed, in the order of the build
    place : (P,) int, the inverse of `order`
    """

    order: Ints
    place: Ints
    plate_ids: tuple[str, ...]
    joint_ids: tuple[str, ...]
    marks: tuple[str, ...]
    fasteners: Fasteners
    part: Ints

    @classmethod
    def of(
        cls,
        orbits: Orbits,
        shapes: PartShapes,
        module: Ints,
        joints: JointTable,
        fasteners: Fasteners,
    ) -> Numbering:
        """Give every plate, joint and part its id: plates by module, motif, group element."""
        order = np.lexsort((orbits.element, orbits.motif, module))
        place = np.empty_like(order)
        place[order] = np.arange(len(order))
        part = shapes.part[orbits.motif][order]
        marks = tuple(part_mark(p) for p in range(len(shapes.outlines)))
        counts = np.bincount(part, minlength=len(marks))
        serial = np.zeros(len(order), dtype=np.intp)
        for p in range(len(marks)) if len(marks) < len(order) else ():
            serial[part == p] = np.arange(counts[p])
        digits = np.maximum(2, np.floor(np.log10(np.maximum(counts, 1))).astype(int) + 1)
        ids = tuple(
            f"{marks[p]}{s + 1:0{digits[p]}d}"
            for p, s in zip(part.tolist(), serial.tolist(), strict=True)
        )
        width = max(3, len(str(len(joints))))
        joint_ids = tuple(f"J{k + 1:0{width}d}" for k in range(len(joints)))
        return cls(order, place, ids, joint_ids, marks, fasteners, shapes.part)

    def solid(self, number: int) -> str:
        """Id of a plate as computed, or of the pin or the like that comes after them."""
        if number < len(self.order):
            return self.plate_ids[int(self.place[number])]
        k = number - len(self.order)
        return f"{self.fasteners.kind[k]} of {self.joint(int(self.fasteners.joint[k]))}"

    def joint(self, number: int) -> str:
        """Id of a joint."""
        return self.joint_ids[number]

    def part_of_motif(self, motif: int) -> str:
        """Mark of the part that a motif is cut as."""
        return self.marks[int(self.part[motif])]


def assemble_build(
    design: Design,
    group: Group,
    stock: Material,
    sizes: Sizes,
    motifs: Sequence[Motif],
    orbits: Orbits,
    joints: JointTable,
    classes: Sequence[JointClass],
    shapes: PartShapes,
    module: Ints,
    centroids: Floats,
    explode: Floats,
    away: Floats,
    checks: tuple[Check, ...],
    names: Numbering,
) -> Build:
    """Gather a computed sculpture into its frozen records."""
    t = sizes.thickness
    order = names.order
    areas = np.array([outline.area for outline in shapes.outlines])
    masses = areas * t * stock.density * 1e-9
    plate_part = shapes.part[orbits.motif]
    counts = np.bincount(plate_part, minlength=len(areas))
    parts = tuple(
        Part(
            names.marks[p],
            outline,
            t,
            int(counts[p]),
            float(masses[p]),
            *_strip(motifs, shapes, p),
            flaps=shapes.flaps_of(p),
        )
        for p, outline in enumerate(shapes.outlines)
    )
    world_from_part = orbits.transforms @ shapes.plane_from_part[orbits.motif]
    for array in (world_from_part, explode, away):
        array.setflags(write=False)
    plates = tuple(
        Plate(
            id=names.plate_ids[k],
            part=int(plate_part[p]),
            flipped=bool(shapes.flipped[orbits.motif[p]]),
            motif=motifs[orbits.motif[p]].name,
            element=int(orbits.element[p]),
            module=int(module[p]),
            world_from_part=world_from_part[p],
            explode=explode[p],
        )
        for k, p in enumerate(order.tolist())
    )
    wedges = _loose_parts(names, sizes, stock)
    parts += wedges.parts
    joint_records = _joints(joints, classes, module, sizes, names, wedges.number)
    return Build(
        design=design,
        group=group,
        parts=parts,
        plates=plates,
        joints=joint_records,
        modules=_modules(plates, joint_records, away),
        checks=checks,
        totals=_totals(
            shapes, plate_part, counts, world_from_part, centroids, joint_records, masses, t
        ),
    )


def _strip(
    motifs: Sequence[Motif], shapes: PartShapes, part: int
) -> tuple[Floats | None, float | None]:
    """Return the centre line (k, 2) in the part's plane and the width of a strip, or None twice."""
    for m in np.flatnonzero(shapes.part == part).tolist():
        path = motifs[m].path
        if path is not None:
            plane_from_part = shapes.plane_from_part[m]
            line: Floats = (path - plane_from_part[:2, 3]) @ plane_from_part[:2, :2]
            line.setflags(write=False)
            return line, motifs[m].least_width
    return None, None


def _joints(
    joints: JointTable,
    classes: Sequence[JointClass],
    module: Ints,
    sizes: Sizes,
    names: Numbering,
    cut: dict[int, int],
) -> tuple[Joint, ...]:
    inside = module[joints.first] == module[joints.second]
    pins, others = _held_by(names.fasteners, joints, sizes, cut)
    return tuple(
        Joint(
            id=names.joint_ids[k],
            kind=joint.kind,
            joint_class=joint.name,
            plates=(int(names.place[joints.first[k]]), int(names.place[joints.second[k]])),
            angle=float(joints.angle_deg[k]),
            centre=joints.centre[k],
            line=joints.line[k],
            insertion=joints.insertion[k],
            pin=pins[k][0] if pins[k] else None,
            within_module=bool(inside[k]),
            lock=None if joint.tenon is None else joint.tenon.lock.kind,
            play=_play(joint),
            tabs=_tabs(joint, joints.centre[k], joints.line[k]),
            more_pins=tuple(pins[k][1:]),
            fasteners=tuple(others[k]),
        )
        for k, joint in enumerate(classes[c] for c in joints.joint_class.tolist())
    )


def _play(joint: JointClass) -> float:
    """Return the way that a joint can still be drawn back or apart, mm."""
    if joint.tenon is not None:
        return joint.tenon.lock.play
    return 0.0 if joint.splice is None else joint.splice.play


def _tabs(joint: JointClass, centre: Floats, line: Floats) -> tuple[Floats, ...]:
    """Return the middle of each tab (3,), mm."""
    places = () if joint.tenon is None else joint.tenon.places
    tabs = tuple(centre + place * line for place in places)
    for tab in tabs:
        tab.setflags(write=False)
    return tabs


@dataclass(frozen=True, slots=True)
class _Loose:
    """What is cut from the sheet and is no plate; number : of the part, by the id of its block."""

    parts: tuple[Part, ...]
    number: dict[int, int]


def _loose_parts(names: Numbering, sizes: Sizes, stock: Material) -> _Loose:
    """Gather the fasteners that are cut from the sheet into parts, after those of the plates."""
    cut = [block for block in names.fasteners.block if block is not None and block.cut]
    if not cut:
        return _Loose((), {})
    different = list({id(block): block for block in cut}.values())
    shapes = part_shapes([block.section for block in different])
    first, t = len(names.marks), sizes.thickness
    number = {id(b): first + int(p) for b, p in zip(different, shapes.part, strict=True)}
    counts = np.bincount([number[id(block)] - first for block in cut])
    parts = tuple(
        Part(
            part_mark(first + p),
            outline,
            t,
            int(counts[p]),
            outline.area * t * stock.density * 1e-9,
        )
        for p, outline in enumerate(shapes.outlines)
    )
    return _Loose(parts, number)


def _held_by(
    fasteners: Fasteners, joints: JointTable, sizes: Sizes, cut: dict[int, int]
) -> tuple[list[list[Pin]], list[list[Fastener]]]:
    """Sort the solids by joint: pins, and all else; cut : the parts of those that are cut."""
    pins: list[list[Pin]] = [[] for _ in range(len(joints))]
    others: list[list[Fastener]] = [[] for _ in range(len(joints))]
    for f, k in enumerate(fasteners.joint.tolist()):
        world, block = fasteners.world[f], fasteners.block[f]
        if block is None:
            size = (sizes.pin_diameter, sizes.pin_length)
            pins[k].append(Pin(world[:3, 3], joints.pin_axis[k], *size))
        else:
            part = cut.get(id(block))
            others[k].append(Fastener(block.kind, block.section, block.thickness, world, part))
    return pins, others


def _modules(plates: Sequence[Plate], joints: Sequence[Joint], away: Floats) -> tuple[Module, ...]:
    members: list[list[int]] = [[] for _ in away]
    held: list[list[int]] = [[] for _ in away]
    for k, plate in enumerate(plates):
        members[plate.module].append(k)
    for k, joint in enumerate(joints):
        if joint.within_module:
            held[plates[joint.plates[0]].module].append(k)
    return tuple(
        Module(module_id(m, len(away)), tuple(members[m]), tuple(held[m]), away[m])
        for m in range(len(away))
    )


def module_id(number: int, count: int) -> str:
    """Return M01, M02 ... for 0, 1 ... of so many modules."""
    return f"M{number + 1:0{max(2, len(str(count)))}d}"


def _totals(
    shapes: PartShapes,
    plate_part: Ints,
    counts: Ints,
    world_from_part: Floats,
    centroids: Floats,
    joints: Sequence[Joint],
    masses: Floats,
    thickness: float,
) -> Totals:
    areas = np.array([outline.area for outline in shapes.outlines])
    lengths = np.array([outline.length for outline in shapes.outlines])
    weight = masses[plate_part]
    reach = 0.0
    for p, outline in enumerate(shapes.outlines):
        ring = np.asarray(outline.exterior.coords)[:-1]
        seen = world_from_part[plate_part == p]
        middle = ring @ seen[:, :3, :2].transpose(0, 2, 1) + seen[:, None, :3, 3]
        rise = seen[:, None, :3, 2] * thickness / 2
        for side in (middle + rise, middle - rise):
            reach = max(reach, float(np.einsum("pij,pij->pi", side, side).max()))
    gravity = (weight[:, None] * centroids).sum(axis=0) / weight.sum()
    gravity = np.where(np.abs(gravity) < 1e-9 * np.sqrt(reach), 0.0, gravity)
    gravity.setflags(write=False)
    return Totals(
        plates=len(plate_part),
        joints=len(joints),
        pins=sum(len(joint.pins) for joint in joints),
        mass=float(weight.sum()),
        sheet_area=float((areas * counts).sum()),
        cut_length=float((lengths * counts).sum()),
        diameter=float(2 * np.sqrt(reach)),
        centre_of_gravity=gravity,
    )
