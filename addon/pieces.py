# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a build needs in a scene, as plain records: shapes (one mesh each) and pieces (objects).

Nothing of Blender is touched here, so a build that cannot be drawn is found out before a scene is
changed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
from shapely import Polygon

from ..core.joints.hardware import BENT, way_out
from ..core.outlines.finish import without_flaps
from ..core.results import Build, Fastener, Joint, Part, Pin
from . import hardware, prisms, tags

__all__ = [
    "LOOSE", "Piece", "Shape", "Wanted", "fastener_key", "forget_ready", "made_ready", "pin_pose",
    "place_key", "wanted_of",
]  # fmt: skip

Floats = npt.NDArray[np.float64]
LOOSE = "Between Modules"
SHEET = "sheet"
STEEL = "steel"
_ready: dict[str, prisms.Prism] = {}  # solids that were made ready, by the digest of their shape
_PULL = 1.6  # pins are pulled out by this share of their length


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A mesh: `make` gives its solid (mm), `digest` tells whether it is still the same.

    index : of the part that it is, from 0; None: it is no plate. stuff : `SHEET` or `STEEL`
    """

    name: str
    digest: str
    make: Callable[[], prisms.Prism]
    tags: dict[str, Any]
    index: int | None = None
    stuff: str = SHEET


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """An object: `key` is what it is known by again when the sculpture is built anew.

    shape : index into `Wanted.shapes`; world : (4, 4) mm; home : name of its collection
    """

    key: str
    name: str
    shape: int
    world: Floats
    home: str
    tags: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """Everything that a build needs: collections are those of the modules, in order."""

    shapes: tuple[Shape, ...]
    pieces: tuple[Piece, ...]
    modules: tuple[str, ...]


def place_key(motif: str, element: int) -> str:
    """Return the key of the plate that a group's element makes of a motif."""
    return f"{motif}:{element}"


def fastener_key(joint: int, kind: str, number: int) -> str:
    """Return the key of what holds the joint number `joint` (from 0); `number` counts its kind."""
    return f"{joint}:{kind}:{number}"


def wanted_of(build: Build) -> Wanted:
    """Return the shapes and pieces of a build."""
    shapes = [_part_shape(index, part) for index, part in enumerate(build.parts)]
    ways = [np.round(module.explode, 6).tolist() for module in build.modules]
    pieces = []
    for plate in build.plates:
        build.parts[plate.part]  # a build that refers to nothing is found out here
        known = {
            tags.PLATE: plate.id,
            tags.PART: build.parts[plate.part].mark,
            tags.MODULE: build.modules[plate.module].id,
            tags.EXPLODE: np.round(plate.explode, 6).tolist(),
            tags.EXPLODE_MODULE: ways[plate.module],
        }
        key, home = place_key(plate.motif, plate.element), build.modules[plate.module].id
        pieces.append(Piece(key, plate.id, plate.part, plate.world_from_part, home, known))
    _add_fasteners(build, ways, shapes, pieces)
    keys = [piece.key for piece in pieces]
    if len(set(keys)) < len(keys):  # plates that no motif and element tells apart: by their ids
        pieces = [
            Piece(piece.name, piece.name, piece.shape, piece.world, piece.home, piece.tags)
            for piece in pieces
        ]
    return Wanted(tuple(shapes), tuple(pieces), tuple(module.id for module in build.modules))


def _add_fasteners(
    build: Build, ways: list[list[float]], shapes: list[Shape], pieces: list[Piece]
) -> None:
    """Add pins and whatever else holds tabs; each size of pin and each outline is one shape."""
    numbers: dict[Any, int] = {}
    taken: set[int] = set()

    def shape_of(key: Any, make: Callable[[], Shape]) -> int:
        if key not in numbers:
            numbers[key] = len(shapes)
            shapes.append(make())
        return numbers[key]

    for k, joint in enumerate(build.joints):
        plate = build.plates[joint.plates[0]]
        module = build.modules[plate.module].id
        home = module if joint.within_module else LOOSE
        common = {
            tags.JOINT: joint.id,
            tags.HOLDER: plate.id,
            tags.MODULE: module,
            tags.EXPLODE_MODULE: ways[plate.module],
        }
        for number, pin in enumerate(joint.pins, start=1):
            way = plate.explode + _pulled(joint, pin)
            known = {**common, tags.EXPLODE: np.round(way, 6).tolist()}
            size = (round(pin.diameter, 3), round(pin.length, 3))  # to a thousandth of a mm
            shape = shape_of(size, lambda size=size: _pin_shape(*size))
            pose = pin_pose(pin.centre, pin.axis, joint.line)
            key = fastener_key(k, "pin", number)
            pieces.append(Piece(key, _named(joint, "Pin", number), shape, pose, home, known))
        counts: dict[str, int] = {}
        for one in joint.fasteners:
            counts[one.kind] = number = counts.get(one.kind, 0) + 1
            way = plate.explode + way_out(one.kind, one.outline, one.thickness, one.world)
            known = {**common, tags.EXPLODE: np.round(way, 6).tolist()}
            solid = (one.kind, one.outline.wkb, one.thickness)
            if one.part is not None:
                known[tags.PART] = build.parts[one.part].mark
                if one.part not in taken:  # its part lies otherwise than it stands in its joint
                    taken.add(one.part)
                    numbers[solid] = one.part
                    shapes[one.part] = _cut_shape(one, build.parts[one.part].mark)
            shape = shape_of(solid, lambda one=one, part=plate.part: _block_shape(one, part))
            key = fastener_key(k, one.kind, number)
            name = _named(joint, one.kind.title(), number)
            pieces.append(Piece(key, name, shape, one.world, home, known))


def made_ready(build: Build) -> Iterator[float]:
    """Make the solids of a build's parts one by one, for the next time that they are wanted.

    Yields the share that is done, so that it can be done between other things.
    """
    for index, part in enumerate(build.parts, start=1):
        shape = _part_shape(index, part)
        _ready[shape.digest] = shape.make()
        yield index / len(build.parts)


def forget_ready() -> None:
    """Forget solids that were made ready."""
    _ready.clear()


def pin_pose(centre: Floats, axis: Floats, line: Floats) -> Floats:
    """Return (4, 4) that lays a cylinder along z onto a pin's axis, x along the joint's line."""
    across = line - axis * float(axis @ line)
    length = float(np.linalg.norm(across))
    if length < 1e-6:  # a pin along its line: any direction will do
        helper = np.eye(3)[int(np.argmin(np.abs(axis)))]
        across = helper - axis * float(axis @ helper)
        length = float(np.linalg.norm(across))
    x = across / length
    y = (
        axis[1] * x[2] - axis[2] * x[1],
        axis[2] * x[0] - axis[0] * x[2],
        axis[0] * x[1] - axis[1] * x[0],
    )
    pose = np.eye(4)
    pose[:3, 0], pose[:3, 1], pose[:3, 2], pose[:3, 3] = x, y, axis, centre
    return pose


def _named(joint: Joint, kind: str, number: int) -> str:
    return f"{joint.id} {kind}" if number == 1 else f"{joint.id} {kind} {number}"


def _pulled(joint: Joint, pin: Pin) -> Floats:
    """Return the way (3,) in mm on which a pin is drawn out of its tab."""
    outward = 1.0 if float(pin.axis @ joint.pins[0].centre) >= 0 else -1.0
    way: Floats = outward * _PULL * pin.length * pin.axis
    return way


def _part_shape(index: int, part: Part) -> Shape:
    outline = without_flaps(part.outline, part.flaps)  # what is bent is a piece of its own
    digest = _digest(outline, part.thickness)
    return Shape(
        f"Part {part.mark}",
        digest,
        lambda: _ready.get(digest) or prisms.prism(outline, part.thickness),
        {tags.PART: part.mark, tags.PART_INDEX: index},
        index,
    )


def _pin_shape(diameter: float, length: float) -> Shape:
    return Shape(
        f"Pin {diameter:g} x {length:g}",
        f"pin {diameter:g} {length:g}",
        lambda: prisms.cylinder(diameter, length),
        {tags.PIN: [diameter, length]},
        stuff=STEEL,
    )


def _cut_shape(one: Fastener, mark: str) -> Shape:
    return Shape(
        f"Part {mark}",
        _digest(one.outline, one.thickness),
        lambda: prisms.prism(one.outline, one.thickness),
        {tags.PART: mark, tags.PART_INDEX: one.part},
        one.part,
    )


def _block_shape(one: Fastener, part: int) -> Shape:
    """Return the shape of what is no part; part : of the plate that it holds, or is a piece of."""
    bent = one.kind == BENT
    return Shape(
        one.kind.title(),
        f"{one.kind} {_digest(one.outline, one.thickness)}",
        lambda: hardware.solid_of(one.kind, one.outline, one.thickness),
        {tags.FASTENER: one.kind},
        part if bent else None,
        stuff=SHEET if bent else STEEL,
    )


def _digest(outline: Polygon, thickness: float) -> str:
    told = hashlib.blake2b(outline.wkb, digest_size=12)
    told.update(np.float64(thickness).tobytes())
    return told.hexdigest()
