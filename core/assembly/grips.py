# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a joint asks of hands: which way it opens, how far, and how much of a plate bends with it.

All of it is measured on the finished outlines, so that drawn and recipe-made plates are alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Point, Polygon

from ..design.model import JointKind
from ..results import Build, Joint
from .bodies import Body, body_of
from .passing import Standing
from .travel import travel_of

__all__ = ["Grips", "grips_of"]

Floats = npt.NDArray[np.float64]

_MARGIN = 1.0  # mm that a joint is opened beyond the point where it comes free
_LOOK = 1000.0  # mm, farther than any tab or lap reaches
_ROOM = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class Grips:
    """All joints of a build, and its plates as bodies for sweeps.

    plates : (J, 2) int; out : (J, 3) unit vectors, the way that the first plate leaves the second
    slide : (J,) mm, the way after which the two are free of each other
    zone : (J,) mm, radius about the centre in which a plate bends aside when the joint is sprung
    lap : (J,) bool, it is a cross-lap
    centres : (J, 3) mm, of the joints
    standing : the plates; bit : (plate, joint) to the bit of that joint's zone on that plate
    """

    plates: npt.NDArray[np.intp]
    out: Floats
    slide: Floats
    zone: Floats
    lap: npt.NDArray[np.bool_]
    centres: Floats
    standing: Standing
    bit: dict[tuple[int, int], int]


def grips_of(build: Build) -> Grips:
    """Measure the joints of a build and cut its plates into convex pieces."""
    measured: dict[str, tuple[float, float]] = {}
    for number, joint in enumerate(build.joints):
        if joint.joint_class not in measured:
            measured[joint.joint_class] = _measure(build, number)
    slide = np.array([measured[joint.joint_class][0] for joint in build.joints])
    zone = np.array([measured[joint.joint_class][1] for joint in build.joints])
    of_plate: list[list[int]] = [[] for _ in build.plates]
    for number, joint in enumerate(build.joints):
        for index in joint.plates:
            of_plate[index].append(number)
    bodies: list[Body] = []
    bit: dict[tuple[int, int], int] = {}
    known: dict[tuple[object, ...], Body] = {}
    for p, plate in enumerate(build.plates):
        numbers = of_plate[p]
        local = _local(build, p, np.array([build.joints[j].centre for j in numbers]))
        order = np.lexsort(np.round(local, 2).T)
        numbers = [numbers[k] for k in order]
        for k, number in enumerate(numbers):
            bit[p, number] = 1 << k
        key = (plate.part, *np.round(local[order], 1).ravel().tolist(), *zone[numbers].tolist())
        if key not in known:
            part = build.parts[plate.part]
            radii = zone[numbers].tolist()
            known[key] = body_of(part.outline, part.thickness, local[order], radii)
        bodies.append(known[key])
    world = np.array([plate.world_from_part for plate in build.plates])
    return Grips(
        np.array([joint.plates for joint in build.joints], dtype=np.intp).reshape(-1, 2),
        -np.array([joint.insertion for joint in build.joints]).reshape(-1, 3),
        slide,
        zone,
        np.array([joint.kind is JointKind.CROSS_LAP for joint in build.joints], dtype=bool),
        np.array([joint.centre for joint in build.joints]).reshape(-1, 3),
        Standing.of(bodies, world),
        bit,
    )


def _local(build: Build, plate: int, points: Floats) -> Floats:
    """Return world points (n, 3) in the plane of a plate's part, (n, 2)."""
    world = build.plates[plate].world_from_part
    flat: Floats = (points.reshape(-1, 3) - world[:3, 3]) @ world[:3, :2]
    return flat


def _measure(build: Build, number: int) -> tuple[float, float]:
    """Return (way until a joint is free, radius of its zone), mm."""
    joint = build.joints[number]
    first, second = (build.parts[build.plates[p].part] for p in joint.plates)
    thick = second.thickness / max(np.sin(np.radians(joint.angle)), 0.1)
    if joint.kind is JointKind.TENON:
        half = _slot_half(build, joint)
        # The tab's end must come back to the near side of the slotted plate.
        way = _reach(build, joint, half) + thick / 2 + first.thickness / 2
    elif joint.kind is JointKind.SPLICE:
        half, way = thick, (first.thickness + second.thickness) / 2
    else:
        half = thick
        way = min(_reach(build, joint, thick + first.thickness), travel_of(build, number))
    way += _MARGIN
    return way, _ROOM * float(np.hypot(half, way)) + first.thickness


def _slot_half(build: Build, joint: Joint) -> float:
    """Return half the length of the slot that a tenon goes through, mm."""
    slotted = joint.plates[1]
    centre = Point(_local(build, slotted, joint.centre)[0])
    along = build.plates[slotted].world_from_part[:3, :2].T @ joint.line
    for ring in build.parts[build.plates[slotted].part].outline.interiors:
        if Polygon(ring).distance(centre) < 1e-3:
            return float(np.ptp(shapely.get_coordinates(ring) @ along)) / 2
    return 3.0 * build.parts[build.plates[slotted].part].thickness  # a slot open at the edge


def _reach(build: Build, joint: Joint, half: float) -> float:
    """Return how far the first plate reaches beyond the joint's centre, the way that it goes in."""
    plate = joint.plates[0]
    world = build.plates[plate].world_from_part
    ahead = world[:3, :2].T @ joint.insertion
    ahead /= np.linalg.norm(ahead)
    aside = np.array([-ahead[1], ahead[0]])
    centre = _local(build, plate, joint.centre)[0]
    corners = [(0.0, -half), (_LOOK, -half), (_LOOK, half), (0.0, half)]
    corridor = Polygon([centre + x * ahead + y * aside for x, y in corners])
    outline = build.parts[build.plates[plate].part].outline
    seen = outline.intersection(corridor)
    found = 0.0
    for piece in shapely.get_parts(seen):
        way = (shapely.get_coordinates(piece) - centre) @ ahead
        # It begins at the joint; other pieces are other arms of the plate.
        if len(way) and way.min() < half:
            found = max(found, float(way.max()))
    return found
