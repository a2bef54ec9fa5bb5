# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Faults put into a finished build on purpose, each at a random place, and what must be said of it.

A fault changes the content of a build.json as a careless hand or another program might. Shapes are
changed with shapely and numpy; nothing of pinwright's own is used here.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

__all__ = ["FAULTS", "Fault", "harmless", "places_of", "reported"]

Floats = npt.NDArray[np.float64]
Record = dict[str, Any]
FAR = 1e4


@dataclass(slots=True)
class Fault:
    """A spoilt build: what must be named, how much must be told, and where.

    by : the checks of which one must find it; names : one of them must stand in the finding
    amount : a figure that the line must tell, None: any; place : (2,) a part's own or (3,) world,
    mm; within : of it
    """

    record: Record
    by: tuple[str, ...]
    names: tuple[str, ...]
    place: Floats | None
    within: float
    amount: str | None = None
    told: list[str] = field(default_factory=list)


def reported(fault: Fault, checks: list[Record]) -> tuple[str, str] | None:
    """Return the check that finds the fault, with name, amount and place, and its line."""
    for check in checks:
        if check["ok"] or check["name"] not in fault.by:
            continue
        if not check["remedy"]:
            continue
        for line in check["where"]:
            named = any(re.search(rf"\b{re.escape(name)}\b", line) for name in fault.names)
            if not named or (fault.amount is not None and fault.amount not in line):
                continue
            size = None if fault.place is None else len(fault.place)
            near = fault.place is None or any(
                np.linalg.norm(place - fault.place) <= fault.within
                for place in places_of(line)
                if len(place) == size
            )
            if near:
                return check["name"], line
    return None


def places_of(line: str) -> list[Floats]:
    """Return every place that a line tells."""
    found = re.findall(r"at \(([-0-9., ]+)\)", line)
    return [np.array([float(word) for word in text.split(",")]) for text in found]


class Spoiler:
    """Random choices in one build."""

    def __init__(self, record: Record, rng: np.random.Generator) -> None:
        self.record, self.rng = copy.deepcopy(record), rng
        self.plates = {plate["id"]: plate for plate in self.record["plates"]}
        self.parts = {part["mark"]: part for part in self.record["parts"]}

    def joint(self, wanted: Callable[[Record], bool] = lambda joint: True) -> Record | None:
        known = [joint for joint in self.record["joints"] if wanted(joint)]
        return known[int(self.rng.integers(len(known)))] if known else None

    def pose(self, plate: str) -> Floats:
        return np.array(self.plates[plate]["transform"])

    def part_of(self, plate: str) -> Record:
        found: Record = self.parts[self.plates[plate]["part"]]
        return found

    def flat(self, plate: str, point: npt.ArrayLike) -> Floats:
        pose = self.pose(plate)
        own: Floats = (np.asarray(point) - pose[:3, 3]) @ pose[:3, :2]
        return own

    def hole(self, joint: Record) -> tuple[Record, int, Floats]:
        """Return part, number and middle of the slot of a tenon's first tab."""
        plate = joint["plates"][1]
        part, point = self.part_of(plate), self.flat(plate, joint["tabs"][0])
        for k, ring in enumerate(part["outline"]["interiors"]):
            if Polygon(ring).contains(shapely.Point(point)):
                return part, k, point
        raise AssertionError(f"{joint['id']} has no slot")


def is_tenon(joint: Record) -> bool:
    return bool(joint["kind"] == "tenon")


def slot_moved(record: Record, rng: np.random.Generator) -> Fault | None:
    """Move a slot by 1 mm, along its length or across."""
    s = Spoiler(record, rng)
    joint = s.joint(is_tenon)
    if joint is None:
        return None
    part, k, point = s.hole(joint)
    ring = np.array(part["outline"]["interiors"][k])
    line = np.array(joint["line"]) @ s.pose(joint["plates"][1])[:3, :2]
    way = line if rng.random() < 0.5 else np.array([-line[1], line[0]])
    way = way * rng.choice([-1.0, 1.0])
    part["outline"]["interiors"][k] = (ring + way).tolist()
    return Fault(s.record, ("seat",), (f"part {part['mark']}",), point, 1.5, "1.00 mm")


def plate_moved(record: Record, rng: np.random.Generator) -> Fault | None:
    """Move a plate towards another, until the two run into each other by some mm3."""
    s = Spoiler(record, rng)
    names = list(s.plates)
    name = names[int(rng.integers(len(names)))]
    joint = s.joint(lambda joint: name in joint["plates"])
    way = rng.normal(size=3) if joint is None else np.array(joint["line"])
    plate = s.plates[name]
    pose = np.array(plate["transform"])
    pose[:3, 3] += rng.uniform(2.0, 12.0) * way / np.linalg.norm(way) * rng.choice([-1.0, 1.0])
    plate["transform"] = pose.tolist()
    return Fault(s.record, ("clash",), (name,), None, 0.0)


def pin_too_long(record: Record, rng: np.random.Generator) -> Fault | None:
    """Make a pin some mm longer."""
    s = Spoiler(record, rng)
    joint = s.joint(lambda joint: bool(joint["pins"]))
    if joint is None:
        return None
    k = int(rng.integers(len(joint["pins"])))
    more = float(np.round(rng.uniform(1.0, 20.0), 2))
    joint["pins"][k]["length"] += more
    if k == 0:
        joint["pin"]["length"] += more
    centre = np.array(joint["pins"][k]["centre"])
    place = s.flat(joint["plates"][0], centre)
    return Fault(s.record, ("seat",), (joint["id"],), place, 0.2, f"{more:.2f} mm too long")


def web_too_thin(record: Record, rng: np.random.Generator) -> Fault | None:
    """Cut a notch from the edge up to a slot, or drill a hole near the edge."""
    s = Spoiler(record, rng)
    web = float(next(c["limit"] for c in record["checks"] if c["name"] == "web"))
    left = float(np.round(web * rng.uniform(0.2, 0.8), 2))
    joint = s.joint(is_tenon)
    if joint is None:
        return _hole_near_edge(s, rng, left)
    part, k, _ = s.hole(joint)
    outline = _polygon(part)
    hole = outline.interiors[k]
    a, b = shapely.get_coordinates(shapely.shortest_line(hole, outline.exterior))
    way = (b - a) / np.linalg.norm(b - a)
    across = np.array([-way[1], way[0]])
    start, end = a + left * way, b + 2.0 * way
    notch = Polygon([start - 2 * across, end - 2 * across, end + 2 * across, start + 2 * across])
    _redraw(part, outline.difference(notch))
    place = a + left / 2 * way
    return Fault(s.record, ("web",), (f"part {part['mark']}",), place, 3.0, f"{left:.2f} mm")


def _hole_near_edge(s: Spoiler, rng: np.random.Generator, left: float) -> Fault | None:
    """Drill a round hole that leaves a thin bridge to the edge of a part."""
    part = s.record["parts"][int(rng.integers(len(s.record["parts"])))]
    outline = _polygon(part)
    for _ in range(400):
        spot = outline.exterior.interpolate(rng.random(), normalized=True)
        turn = rng.uniform(0.0, 2 * np.pi)
        middle = np.array([spot.x, spot.y]) + (4.0 + left) * np.array([np.cos(turn), np.sin(turn)])
        point = shapely.Point(middle)
        gap = outline.boundary.distance(point)
        if outline.contains(point) and abs(gap - 4.0 - left) < 1e-3:
            break
    else:
        return None
    hole = point.buffer(4.0, quad_segs=64)
    _redraw(part, outline.difference(hole))
    width = outline.boundary.distance(hole)
    place = middle + (4.0 + left / 2) * (np.array([spot.x, spot.y]) - middle) / (4.0 + left)
    return Fault(s.record, ("sliver",), (f"part {part['mark']}",), place, 3.0, f"{width:.2f} mm")


def over_stock(record: Record, rng: np.random.Generator) -> Fault | None:
    """Say a sheet that one part does not go on, however it is turned."""
    s = Spoiler(record, rng)
    stands = {plate["part"] for plate in record["plates"]}
    marks = sorted(stands)
    part = s.parts[marks[int(rng.integers(len(marks)))]]
    outline = _polygon(part)
    # No turn makes a shape narrower than its least width: half of that is too small a sheet.
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(outline))
    sides = np.linalg.norm(np.diff(corners, axis=0)[:2], axis=1)
    s.record["design"]["sheet"]["stock"] = [float(sides.max() * 3), float(sides.min() * 0.45)]
    middle = np.array(outline.centroid.coords[0])
    return Fault(s.record, ("stock",), (f"part {part['mark']}",), middle, 0.2)


def joint_removed(record: Record, rng: np.random.Generator) -> Fault | None:
    """Take a joint out, with its pins; every list and sum is put right."""
    s = Spoiler(record, rng)
    joint = s.joint()
    if joint is None:
        return None
    s.record["joints"].remove(joint)
    for module in s.record["modules"]:
        module["joints"] = [name for name in module["joints"] if name != joint["id"]]
    s.record["totals"]["pins"] -= len(joint["pins"])
    for one in joint["fasteners"]:
        if one["part"] is not None:
            s.parts[one["part"]]["quantity"] -= 1
    centre = np.array(joint["centre"])
    return Fault(s.record, ("as designed",), (joint["id"],), centre, 0.2, "missing")


def joint_lost_sight_of(record: Record, rng: np.random.Generator) -> Fault | None:
    """Do the same; it must be found where no design is at hand: two plates touch unjoined."""
    fault = joint_removed(record, rng)
    if fault is None:
        return None
    kept = {joint["id"] for joint in fault.record["joints"]}
    joint = next(joint for joint in record["joints"] if joint["id"] not in kept)
    for other in fault.record["joints"]:
        if set(other["plates"]) == set(joint["plates"]):
            return None  # another joint of the same two plates holds them
    return Fault(fault.record, ("clearance",), (joint["plates"][0],), fault.place, 60.0)


def slot_filled(record: Record, rng: np.random.Generator) -> Fault | None:
    """Leave a slot out of a part."""
    s = Spoiler(record, rng)
    joint = s.joint(is_tenon)
    if joint is None:
        return None
    part, k, point = s.hole(joint)
    del part["outline"]["interiors"][k]
    return Fault(s.record, ("seat",), (f"part {part['mark']}",), point, 0.5, "no closed slot")


def slot_turned(record: Record, rng: np.random.Generator) -> Fault | None:
    """Turn a slot by two degrees about its middle."""
    s = Spoiler(record, rng)
    joint = s.joint(is_tenon)
    if joint is None:
        return None
    part, k, point = s.hole(joint)
    turn = np.radians(2.0)
    matrix = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    ring = np.array(part["outline"]["interiors"][k])
    part["outline"]["interiors"][k] = ((ring - point) @ matrix + point).tolist()
    return Fault(s.record, ("seat",), (f"part {part['mark']}",), point, 1.0)


def plate_lost(record: Record, rng: np.random.Generator) -> Fault | None:
    """Take a plate out and leave all that names it."""
    s = Spoiler(record, rng)
    k = int(rng.integers(len(record["plates"])))
    name = s.record["plates"].pop(k)["id"]
    return Fault(s.record, ("record",), (name,), None, 0.0, "not in the file")


def stretched(record: Record, rng: np.random.Generator) -> Fault | None:
    """Make a transform stretch the sheet by a part in a thousand, or mirror it."""
    s = Spoiler(record, rng)
    k = int(rng.integers(len(record["plates"])))
    plate = s.record["plates"][k]
    pose = np.array(plate["transform"])
    pose[:3, 2] *= rng.choice([-1.0, 1.001])
    plate["transform"] = pose.tolist()
    return Fault(s.record, ("record",), (plate["id"],), None, 0.0, "no rigid motion")


#: What must be found, in the words of the table.
FAULTS: dict[str, Callable[[Record, np.random.Generator], Fault | None]] = {
    "slot moved by 1 mm": slot_moved,
    "plate moved into another": plate_moved,
    "pin too long": pin_too_long,
    "web under the limit": web_too_thin,
    "part over the stock size": over_stock,
    "one joint removed": joint_removed,
    "one joint removed, no design": joint_lost_sight_of,
    "slot left out": slot_filled,
    "slot turned by 2 deg": slot_turned,
    "plate lost": plate_lost,
    "transform not rigid": stretched,
}


def harmless(record: Record, rng: np.random.Generator) -> Record:
    """Write the same build in another way: lists in another order, rings begun elsewhere."""
    same = copy.deepcopy(record)
    for key in ("plates", "joints", "parts"):
        same[key] = [same[key][k] for k in rng.permutation(len(same[key]))]
    for part in same["parts"]:
        outline = part["outline"]
        for ring in (outline["exterior"], *outline["interiors"]):
            ring[:] = np.roll(ring, int(rng.integers(len(ring))), axis=0).tolist()
        outline["interiors"] = outline["interiors"][::-1]
    return same


def _polygon(part: Record) -> Polygon:
    return Polygon(part["outline"]["exterior"], part["outline"]["interiors"])


def _redraw(part: Record, outline: Polygon) -> None:
    whole = orient(max(shapely.get_parts(outline), key=shapely.area))
    part["outline"] = {
        "exterior": np.asarray(whole.exterior.coords)[:-1].tolist(),
        "interiors": [np.asarray(ring.coords)[:-1].tolist() for ring in whole.interiors],
    }
