# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A little sculpture made by hand, small enough to check with pencil and paper.

One upright plate B (in the plane x = 0) with four slots; four equal plates A stand square to it,
two from each side, each with a tab through a slot and a pin through the tab. Turning the whole by
180 degrees about the z axis carries it to itself, so the group is C2: A01 and A02 are the orbit of
motif "left", A03 and A04 that of motif "right", which is the mirror image: those two are parts A
turned over. With 3 mm sheet at 90 degrees the formulas of the tenon reduce to:

- shoulder of A at half of B's thickness before B's mid-plane: 1.5
- slot in B: (tab width + 2 clearance) x (thickness + 2 clearance) = 20.2 x 3.2
- pin centre beyond B's mid-plane: pin radius + play + half of B's thickness = 1.5 + 0.5 + 1.5
- hole: pin diameter + hole play = 3.2; then a web of 4.0 to the end of the tab
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from shapely import Polygon, box

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    Lock,
    MotifChoice,
    Sheet,
)
from pinwright.core.frame.group import Group
from pinwright.core.results import Build, Check, Joint, Module, Part, Pin, Plate, Totals

__all__ = ["circle_ring", "small_build", "small_design"]

Vector = tuple[float, float, float]
Floats = npt.NDArray[np.float64]

THICKNESS = 3.0
CLEARANCE = 0.1
TAB_WIDTH = 20.0
PIN_DIAMETER = 3.0
PIN_LENGTH = 13.0
PIN_PLAY = 0.5
HOLE_DIAMETER = 3.2
WEB = 4.0
SHOULDER = -THICKNESS / 2  # of A before B's mid-plane
PIN_AT = PIN_DIAMETER / 2 + PIN_PLAY + THICKNESS / 2  # beyond B's mid-plane
TAB_END = PIN_AT + HOLE_DIAMETER / 2 + WEB
SLOT_AT = (50.0, 15.0)  # of the slots' centres on B: height |z|, aside |y|
DENSITY = 2.68e-6  # of aluminium 5052, kg/mm3
BODY = ((-80.0, -20.0), (-80.0, 10.0), (-70.0, 20.0), (SHOULDER, 20.0), (SHOULDER, -20.0))


def circle_ring(x: float, y: float, diameter: float, count: int = 32) -> Floats:
    """Return `count` points (count, 2) of a circle, evenly spaced, mm."""
    angle = 2.0 * np.pi * np.arange(count) / count
    return np.column_stack((x + diameter / 2 * np.cos(angle), y + diameter / 2 * np.sin(angle)))


def small_design() -> Design:
    """Return what a user would have written to get `small_build`."""
    height, aside = SLOT_AT
    shift = np.array([0.0, height])
    mirrored = tuple((x, -y) for x, y in BODY)
    normal, along = (0.0, -1.0, 0.0), (1.0, 0.0, 0.0)
    upright = ((-80.0, -30.0), (80.0, -30.0), (80.0, 30.0), (-80.0, 30.0))
    return Design(
        name="small",
        sheet=Sheet(thickness=THICKNESS, clearance=CLEARANCE),
        frame=FrameChoice(diameter=200.0, group="C2"),
        motifs=(
            MotifChoice("left", normal, aside, along, outline=_moved(BODY, shift)),
            MotifChoice("right", normal, aside, along, outline=_moved(mirrored, -shift)),
            MotifChoice("upright", along, 0.0, (0.0, 0.0, 1.0), outline=upright),
        ),
        joint_classes=tuple(
            JointClassChoice(name, (motif, "upright"), JointKind.TENON, at=at, outward=1)
            for name, motif, at in (("near", "left", height), ("far", "right", -height))
        ),
        joints=JointSizes(TAB_WIDTH, PIN_DIAMETER, PIN_LENGTH, PIN_PLAY, web=WEB),
    )


def small_build() -> Build:
    """Return the sculpture of the module's docstring: 5 plates, 2 parts, 4 pinned tenons."""
    parts = (_part("A", _outline_a(), 4), _part("B", _outline_b(), 1))
    height, aside = SLOT_AT
    turn = np.diag([-1.0, -1.0, 1.0])
    standing = _columns((1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
    over = standing @ np.diag([1.0, -1.0, -1.0])  # turned over about its own x: A's mirror image
    upright = _columns((0.0, 0.0, 1.0), (0.0, -1.0, 0.0), (1.0, 0.0, 0.0))
    left = _placed(standing, (0.0, -aside, height))
    right = _placed(over, (0.0, -aside, -height))
    still = (0.0, 0.0, 0.0)
    plates = (
        _plate("A01", 0, "left", 0, 0, left, (-40.0, 0.0, 0.0)),
        _plate("A02", 0, "left", 1, 0, _turned(turn, left), (40.0, 0.0, 0.0)),
        _plate("A03", 0, "right", 0, 1, right, still, flipped=True),
        _plate("A04", 0, "right", 1, 2, _turned(turn, right), still, flipped=True),
        _plate("B01", 1, "upright", 0, 0, _placed(upright, still), still),
    )
    joints = tuple(_joint(number, plates) for number in range(4))
    modules = (
        Module("M01", (0, 1, 4), (0, 1), _frozen(still)),
        Module("M02", (2,), (), _frozen((-60.0, 0.0, 0.0))),
        Module("M03", (3,), (), _frozen((60.0, 0.0, 0.0))),
    )
    checks = (Check("right angles", True, 0.0, "deg", 0.001, "Every joint is square.", ()),)
    return Build(
        small_design(), _group_c2(), parts, plates, joints, modules, checks, _totals(parts)
    )


def _outline_a() -> Polygon:
    """Plate with one cut corner (so that it is not its own mirror image), tab and pin hole."""
    half = TAB_WIDTH / 2
    tab = ((SHOULDER, -half), (TAB_END, -half), (TAB_END, half), (SHOULDER, half))
    ring = (BODY[0], BODY[4], *tab, BODY[3], BODY[2], BODY[1])
    return Polygon(ring, [circle_ring(PIN_AT, 0.0, HOLE_DIAMETER)[::-1]])


def _outline_b() -> Polygon:
    """Rectangle with four slots."""
    length, width = TAB_WIDTH + 2 * CLEARANCE, THICKNESS + 2 * CLEARANCE
    height, aside = SLOT_AT
    slots = [
        box(x - length / 2, y - width / 2, x + length / 2, y + width / 2)
        for x in (-height, height)
        for y in (-aside, aside)
    ]
    return Polygon(box(-80.0, -30.0, 80.0, 30.0).exterior, [slot.exterior for slot in slots])


def _part(mark: str, outline: Polygon, quantity: int) -> Part:
    return Part(mark, outline, THICKNESS, quantity, outline.area * THICKNESS * DENSITY)


def _plate(
    name: str,
    part: int,
    motif: str,
    element: int,
    module: int,
    pose: Floats,
    explode: Vector,
    *,
    flipped: bool = False,
) -> Plate:
    return Plate(name, part, flipped, motif, element, module, pose, _frozen(explode))


def _joint(number: int, plates: tuple[Plate, ...]) -> Joint:
    """Join plate `number` (an A) to B; A's own x is the way in, y the line, z the pin's axis."""
    pose = plates[number].world_from_part
    rotation, origin = pose[:3, :3], pose[:3, 3]
    pin = Pin(
        _frozen(origin + PIN_AT * rotation[:, 0]), _frozen(rotation[:, 2]), PIN_DIAMETER, PIN_LENGTH
    )
    return Joint(
        f"J{number + 1:03d}",
        JointKind.TENON,
        "near" if number < 2 else "far",
        (number, 4),
        90.0,
        _frozen(origin),
        _frozen(rotation[:, 1]),
        _frozen(rotation[:, 0]),
        pin,
        number < 2,
        Lock.PIN,
        PIN_PLAY + 0.1,
        (_frozen(origin),),
    )


def _totals(parts: tuple[Part, ...]) -> Totals:
    area = sum(part.quantity * part.outline.area for part in parts)
    cut = sum(part.quantity * part.outline.length for part in parts)
    mass = sum(part.quantity * part.mass for part in parts)
    # Farthest corner: where A's cut corner begins, on the face that looks away from the centre.
    diameter = 2.0 * float(np.linalg.norm((80.0, 15.0 + THICKNESS / 2, 60.0)))
    # The turn about z puts the centre of gravity on the z axis, the mirror z -> -z at its middle.
    return Totals(5, 4, 4, mass, area, cut, diameter, _frozen((0.0, 0.0, 0.0)))


def _group_c2() -> Group:
    matrices = np.array([np.eye(3), np.diag([-1.0, -1.0, 1.0])])
    matrices.flags.writeable = False
    return Group("C2", matrices, np.array([[0, 1], [1, 0]]), np.array([0, 1]))


def _columns(x: Vector, y: Vector, z: Vector) -> Floats:
    return np.column_stack((x, y, z))


def _placed(rotation: Floats, origin: Vector) -> Floats:
    pose = np.eye(4)
    pose[:3, :3] = rotation
    pose[:3, 3] = origin
    return _frozen(pose)


def _turned(rotation: Floats, pose: Floats) -> Floats:
    turn = np.eye(4)
    turn[:3, :3] = rotation
    return _frozen(turn @ pose)


def _moved(ring: tuple[tuple[float, float], ...], shift: Floats) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in np.asarray(ring) + shift)


def _frozen(values: npt.ArrayLike) -> Floats:
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array
