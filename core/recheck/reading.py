# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A build file becomes a `Build` again; what contradicts itself is noted and left aside.

What is no build file at all is refused. A reference that leads nowhere, an outline that crosses
itself, a transform that stretches are what a judge is for: each gives a note, and the rest is read
on as well as it can be.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..design.model import Design, JointKind, Lock
from ..design.read import design_from_dict
from ..design.ring_fault import ring_fault
from ..errors import DesignError, PinwrightError
from ..frame.group import rotation_group
from ..results import Build, Fastener, Joint, Module, Part, Pin, Plate, Totals
from .nodes import Node, refused

__all__ = ["Reading", "read_record"]

Floats = npt.NDArray[np.float64]
Word = TypeVar("Word", JointKind, Lock)
_RIGID = 1e-6  # how far a transform may be from a rigid motion


@dataclass(slots=True)
class Reading:
    """What was read. notes : contradictions; apart : parts whose outline is not one sound piece."""

    build: Build
    notes: list[str] = field(default_factory=list)
    apart: list[str] = field(default_factory=list)


def read_record(record: Mapping[str, Any], folder: str = "") -> Reading:
    """Return the build that the content of a build.json describes.

    folder : where the design's mesh paths start

    Raises
    ------
    PinwrightError : a value is missing or of the wrong kind; names its place in the file.
    """
    return _Reader(Node(dict(record), ""), folder).reading()


class _Reader:
    def __init__(self, root: Node, folder: str) -> None:
        self.root, self.folder = root, folder
        self.notes: list[str] = []
        self.apart: list[str] = []

    def reading(self) -> Reading:
        root = self.root
        design = self._design(root["design"])
        parts = tuple(self._part(node) for node in root["parts"])
        if not parts:
            raise refused("parts", [], "at least one part")
        self.part_of = {part.mark: k for k, part in enumerate(parts)}
        module_ids = [node["id"].text() for node in root["modules"]]
        self.module_of = {name: k for k, name in enumerate(module_ids)}
        plates = tuple(plate for node in root["plates"] if (plate := self._plate(node)) is not None)
        self.plate_of = {plate.id: k for k, plate in enumerate(plates)}
        joints = tuple(joint for node in root["joints"] if (joint := self._joint(node)) is not None)
        self.joint_of = {joint.id: k for k, joint in enumerate(joints)}
        modules = tuple(self._module(node) for node in root["modules"])
        try:
            group = rotation_group(root["group"]["name"].text())
        except DesignError as error:
            raise refused("group.name", root["group"]["name"].value, error.allowed) from error
        build = Build(
            design, group, parts, plates, joints, modules, (), self._totals(root["totals"], joints)
        )
        return Reading(build, self.notes, self.apart)

    def _design(self, node: Node) -> Design:
        if not isinstance(node.value, dict):
            raise refused(node.path, node.value, "a record {...}")
        try:
            return design_from_dict(node.value, self.folder)
        except DesignError as error:
            raise PinwrightError(f"build.json, design.{error}") from error

    def _part(self, node: Node) -> Part:
        mark = node["mark"].text()
        outline = _polygon(node["outline"])
        if not outline.is_valid:
            self.apart.append(f"part {mark}: {_apart(outline)}")
            pieces = shapely.get_parts(shapely.make_valid(outline))
            solid = [piece for piece in pieces if isinstance(piece, Polygon)]
            if not solid:
                raise refused(node["outline"].path, "a line without area", "an outline")
            outline = max(solid, key=shapely.area)
        quantity = node["quantity"].number(above=0.0)
        return Part(
            mark,
            outline,
            node["thickness"].number(above=0.0),
            int(quantity),
            node["mass"].number(above=0.0),
            flaps=tuple(ring.array(4, 2) for ring in node["flaps"]),
        )

    def _plate(self, node: Node) -> Plate | None:
        name, part, module = (node[key].text() for key in ("id", "part", "module"))
        if part not in self.part_of:
            self.notes.append(f"plate {name} is of part {part}, which is not in the file")
            return None
        if module not in self.module_of:
            self.notes.append(f"plate {name} is in module {module}, which is not in the file")
        return Plate(
            id=name,
            part=self.part_of[part],
            flipped=node["flipped"].flag(),
            motif=node["motif"].text(),
            element=0,
            module=self.module_of.get(module, 0),
            world_from_part=self._pose(node["transform"], f"plate {name}"),
            explode=node["explode"].array(3),
        )

    def _pose(self, node: Node, name: str) -> Floats:
        """Return the rigid motion that is nearest to a transform."""
        pose = node.array(4, 4).copy()
        u, _, vt = np.linalg.svd(pose[:3, :3])
        turn = u @ np.diag([1.0, 1.0, np.sign(np.linalg.det(u @ vt))]) @ vt
        off = max(np.abs(pose[:3, :3] - turn).max(), np.abs(pose[3] - (0, 0, 0, 1)).max())
        if off > _RIGID:
            self.notes.append(
                f"the transform of {name} is no rigid motion (off by {off:.2g}): it stretches or "
                "mirrors the sheet"
            )
        pose[:3, :3], pose[3] = turn, (0, 0, 0, 1)
        pose.setflags(write=False)
        return pose

    def _joint(self, node: Node) -> Joint | None:
        name = node["id"].text()
        ends = [end.text() for end in node["plates"]]
        strange = [end for end in ends if end not in self.plate_of]
        if strange or len(set(ends)) != 2:
            lost = f", {strange[0]} is not in the file" if strange else ""
            self.notes.append(f"joint {name} holds {' and '.join(ends)}{lost}")
            return None
        pins = [_pin(pin) for pin in node["pins"]]
        first = None if node["pin"].empty else _pin(node["pin"])
        if (first is None) != (not pins) or (
            first is not None and np.abs(first.centre - pins[0].centre).max() > 1e-6
        ):
            self.notes.append(f"joint {name}: its pin is not the first of its pins")
        return Joint(
            id=name,
            kind=_choice(JointKind, node["kind"]),
            joint_class=node["class"].text(),
            plates=(self.plate_of[ends[0]], self.plate_of[ends[1]]),
            angle=node["angle"].number(),
            centre=node["centre"].array(3),
            line=_unit(node["line"]),
            insertion=_unit(node["insertion"]),
            pin=pins[0] if pins else None,
            within_module=node["stage"].text() == "module",
            lock=None if node["lock"].empty else _choice(Lock, node["lock"]),
            play=node["play"].number(),
            tabs=tuple(tab.array(3) for tab in node["tabs"]),
            more_pins=tuple(pins[1:]),
            fasteners=tuple(self._fastener(one, name) for one in node["fasteners"]),
        )

    def _fastener(self, node: Node, joint: str) -> Fastener:
        kind = node["kind"].text()
        part = None if node["part"].empty else node["part"].text()
        if part is not None and part not in self.part_of:
            self.notes.append(f"{kind} of {joint} is of part {part}, which is not in the file")
        return Fastener(
            kind,
            _polygon(node["outline"]).buffer(0),
            node["thickness"].number(above=0.0),
            self._pose(node["transform"], f"{kind} of {joint}"),
            None if part is None else self.part_of.get(part),
        )

    def _module(self, node: Node) -> Module:
        name = node["id"].text()
        members: dict[str, list[int]] = {}
        for key, known in (("plates", self.plate_of), ("joints", self.joint_of)):
            names = [item.text() for item in node[key]]
            kind = key[:-1]
            self.notes += [
                f"module {name} names {kind} {item}, which is not in the file"
                for item in names
                if item not in known
            ]
            members[key] = [known[item] for item in names if item in known]
        return Module(
            name, tuple(members["plates"]), tuple(members["joints"]), node["explode"].array(3)
        )

    def _totals(self, node: Node, joints: tuple[Joint, ...]) -> Totals:
        return Totals(
            plates=int(node["plates"].number()),
            joints=len(joints),
            pins=int(node["pins"].number()),
            mass=node["mass"].number(),
            sheet_area=node["sheet_area"].number(),
            cut_length=node["cut_length"].number(),
            diameter=node["diameter"].number(),
            centre_of_gravity=node["centre_of_gravity"].array(3),
        )


def _polygon(node: Node) -> Polygon:
    rings = [node["exterior"], *node["interiors"]]
    points = [ring.array(-1, 2) for ring in rings]
    for ring, found in zip(rings, points, strict=True):
        if len(found) < 3:
            raise refused(ring.path, ring.value, "at least three corners")
    return Polygon(points[0], points[1:])


def _apart(outline: Polygon) -> str:
    """Say what is wrong with an outline, and where in its own coordinates."""
    pieces = [
        piece
        for piece in shapely.get_parts(shapely.make_valid(outline))
        if isinstance(piece, Polygon) and piece.area > 1.0
    ]
    fall = f"falls into {len(pieces)} pieces" if len(pieces) > 1 else "is cut through itself"
    return f"{fall}: {ring_fault(outline)}"


def _pin(node: Node) -> Pin:
    return Pin(
        node["centre"].array(3),
        _unit(node["axis"]),
        node["diameter"].number(above=0.0),
        node["length"].number(above=0.0),
    )


def _unit(node: Node) -> Floats:
    found = node.array(3)
    length = float(np.linalg.norm(found))
    if abs(length - 1.0) > 1e-3:
        raise refused(node.path, node.value, "a vector of length 1")
    unit: Floats = found / length
    return unit


def _choice(kind: type[Word], node: Node) -> Word:
    try:
        return kind(node.text())
    except ValueError as error:
        allowed = "one of " + ", ".join(entry.value for entry in kind)
        raise refused(node.path, node.value, allowed) from error
