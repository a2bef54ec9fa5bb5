# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every joint tried on the outlines that would be cut: tab in slot, shoulder, pin in hole, lap.

Sizes are measured where the joint is, by lines drawn across the outlines; nothing is taken from the
design but the sheet's clearance and the pin. Formulas: core/fit/section.py and the locks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LinearRing, Polygon

from ..checks.places import at, listed
from ..design.model import JointKind, Lock
from ..fit.section import Crossing, half_band
from ..fit.sizes import Sizes
from ..outlines.tool_corners import lap_deeper, slot_longer
from ..plates.planes import cut_line
from ..results import Build, Check, Joint, Pin, Plate

__all__ = ["check_seats"]

Floats = npt.NDArray[np.float64]

_TIGHTER = 0.02  # mm of the stated clearance that may be missing
_LOOSER = 0.05  # mm by which a joint may be looser than stated
_OFF_PLANE = 0.02  # mm; parts are congruent within 0.01
_ASIDE_DEG = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class _Side:
    """One plate of a joint: its outline in axes x, y of its own plane, origin at a world point."""

    plate: Plate
    part: str
    thickness: float
    rings: tuple[Floats, ...]
    origin: Floats  # of the axes, in the part's own coordinates
    axes: Floats

    @classmethod
    def of(cls, build: Build, plate: int, origin: Floats, x: Floats, y: Floats) -> _Side:
        one = build.plates[plate]
        part, pose = build.parts[one.part], one.world_from_part
        centre = (origin - pose[:3, 3]) @ pose[:3, :2]
        axes = np.array([x @ pose[:3, :2], y @ pose[:3, :2]])
        rings = tuple(
            (np.asarray(ring.coords)[:-1] - centre) @ axes.T
            for ring in (part.outline.exterior, *part.outline.interiors)
        )
        return cls(one, part.mark, part.thickness, rings, centre, axes)

    def span(self, ring: int, point: tuple[float, float], along: int) -> tuple[float, float] | None:
        """Return the stretch inside a ring of the line through a point, along x (0) or y (1).

        It is measured from the point; None when the point lies outside.
        """
        way = np.array([1.0, 0.0]) if along == 0 else np.array([0.0, 1.0])
        cuts = cut_line(self.rings[ring], np.asarray(point), way)
        k = int(np.searchsorted(cuts, 0.0))
        return (float(cuts[k - 1]), float(cuts[k])) if k % 2 else None

    def hole_at(self, point: tuple[float, float]) -> int | None:
        """Return the number of the closed hole that a point lies in."""
        for k in range(1, len(self.rings)):
            if self.span(k, point, 0) is not None:
                return k
        return None

    def place(self, point: tuple[float, float] = (0.0, 0.0)) -> str:
        """Return "part B at (x, y)", in the part's own coordinates."""
        own = self.origin + np.asarray(point) @ self.axes
        return f"part {self.part}{at(own)}"


def check_seats(build: Build, sizes: Sizes) -> Check:
    """Every tab, slot, pin and lap is where its joint is, and as free as the sheet says."""
    lines: list[str] = []
    for joint in build.joints:
        kind = {
            JointKind.TENON: _tenon,
            JointKind.CROSS_LAP: _lap,
            JointKind.SPLICE: _splice,
        }[joint.kind]
        told = list(_directions(build, joint)) or list(kind(build, joint, sizes))
        lines += [f"{joint.id}, {_names(build, joint)}{at(joint.centre)}: {line}" for line in told]
    number = len({line.split(",")[0] for line in lines})
    if not lines:
        text = f"all {len(build.joints)} joints are seated, as free as the sheet's clearance"
        return Check("seat", True, 0.0, "", 0.0, text)
    text = f"{number} of {len(build.joints)} joints are not as they should be"
    remedy = "Put the slot, tab or pin back where the line says, in the part that it names."
    return Check("seat", False, float(number), "", 0.0, text, listed(lines), remedy)


def _names(build: Build, joint: Joint) -> str:
    return " in ".join(build.plates[k].id for k in joint.plates)


def _directions(build: Build, joint: Joint) -> Iterator[str]:
    """Tell whether the two plates stand as the joint's record says."""
    normals = [build.plates[k].world_from_part[:3, 2] for k in joint.plates]
    sine = float(np.linalg.norm(np.cross(normals[0], normals[1])))
    angle = float(np.degrees(np.arctan2(sine, abs(normals[0] @ normals[1]))))
    if abs(angle - joint.angle) > _ASIDE_DEG:
        yield f"the planes stand at {angle:.3f} deg, the record says {joint.angle:.3f}"
    points = joint.tabs or (joint.centre,)
    for k, normal in zip(joint.plates, normals, strict=True):
        plate = build.plates[k]
        off = max(abs(float((p - plate.world_from_part[:3, 3]) @ normal)) for p in points)
        if off > _OFF_PLANE:
            yield f"{plate.id} stands {off:.2f} mm off the plane that the joint lies in"


def _tenon(build: Build, joint: Joint, sizes: Sizes) -> Iterator[str]:
    first, second = joint.plates
    normal = build.plates[second].world_from_part[:3, 2]
    for k, tab in enumerate(joint.tabs):
        a = _Side.of(build, first, tab, joint.line, joint.insertion)
        b = _Side.of(build, second, tab, joint.line, np.cross(normal, joint.line))
        cross = Crossing(a.thickness, b.thickness, joint.angle)
        width = a.span(0, (0.0, 0.0), 0)
        if width is None:
            yield f"there is no tab of {a.plate.id}, {a.place()}"
            continue
        yield from _slot(b, cross, width, sizes, joint)
        yield from _shoulder(a, cross, width)
        near = [pin for pin in joint.pins if _nearest_tab(joint, pin.centre) == k]
        for pin in near:
            yield from _pin(a, cross, pin, sizes, normal)


def _nearest_tab(joint: Joint, point: Floats) -> int:
    return int(np.argmin([abs((point - tab) @ joint.line) for tab in joint.tabs]))


def _slot(
    b: _Side, cross: Crossing, width: tuple[float, float], sizes: Sizes, joint: Joint
) -> Iterator[str]:
    """Tell whether the slot takes the tab with the clearance on every side."""
    ring = b.hole_at((0.0, 0.0))
    if ring is None:
        yield f"{b.plate.id} has no closed slot for it, {b.place()}"
        return
    band = half_band(cross.s, cross.t, cross.angle_deg)
    deep = b.span(ring, (0.0, 0.0), 1)
    assert deep is not None  # the point lies in the ring
    rows = [share * (deep[1] - deep[0]) / 2 for share in (-0.6, 0.0, 0.6)]
    ends = [b.span(ring, (0.0, y + sum(deep) / 2), 0) for y in rows]
    along = [(width[0] - end[0], end[1] - width[1]) for end in ends if end is not None]
    inset = 0.1 * (width[1] - width[0])
    columns = (width[0] + inset, sum(width) / 2, width[1] - inset)
    sides = [b.span(ring, (x, 0.0), 1) for x in columns]
    across = [(-side[0] - band, side[1] - band) for side in sides if side is not None]
    loose_foot = joint.lock is Lock.FOOT
    for name, rooms in (("length", along), ("width", across)):
        low, high = (min(room[k] for room in rooms) for k in (0, 1))
        more = slot_longer(sizes) if name == "length" else 0.0
        # A tool's corners may bite into the walls all along a narrow slot.
        loose = np.inf if loose_foot else sizes.relief
        yield from _told(b, name, low, high, sizes.clearance + more, loose)


def _told(
    b: _Side, name: str, low: float, high: float, clearance: float, loose: float
) -> Iterator[str]:
    """Tell of room on two sides of a tab, mm: a shift, or a slot too small or too large.

    loose : by how much it may be larger than it need be
    """
    shift, middle = (high - low) / 2, (high + low) / 2
    if abs(shift) > _LOOSER:
        yield (
            f"the slot stands {abs(shift):.2f} mm out of its place along its {name}, {b.place()}"
        )
    if middle < clearance - _TIGHTER:
        word = "does not take the tab" if middle < 0 else "is tight"
        yield (
            f"the slot {word}: {2 * (clearance - middle):.2f} mm too small in its {name}, "
            f"{b.place()}"
        )
    elif middle > clearance + _LOOSER + loose:
        yield f"the slot is {2 * (middle - clearance):.2f} mm too large in its {name}, {b.place()}"


def _shoulder(a: _Side, cross: Crossing, width: tuple[float, float]) -> Iterator[str]:
    """Tell whether the plate's body beside the tab bears on the slotted plate."""
    wanted = -half_band(cross.t, cross.s, cross.angle_deg)
    ends = []
    for x in (width[0] - 0.5, width[1] + 0.5):
        cuts = cut_line(a.rings[0], np.array([x, 0.0]), np.array([0.0, 1.0]))
        behind = cuts[cuts < cross.s]  # a bent strip may come by again far beyond
        if len(behind) >= 2:
            ends.append(float(behind[-1] if len(behind) % 2 == 0 else behind[-2]))
    if not ends:
        yield f"{a.plate.id} has no shoulder beside its tab, {a.place()}"
        return
    gap = wanted - max(ends)
    if gap > _LOOSER + _TIGHTER:
        yield f"the shoulder stops {gap:.2f} mm short: nothing bears on the slot, {a.place()}"
    elif gap < -_TIGHTER:
        yield f"the shoulder is {-gap:.2f} mm too long, {a.place()}"


def _pin(a: _Side, cross: Crossing, pin: Pin, sizes: Sizes, normal: Floats) -> Iterator[str]:
    """Tell whether a pin stands square in its hole, as long as it should be, near the far face."""
    pose = a.plate.world_from_part
    own = (pin.centre - pose[:3, 3]) @ pose[:3, :2]
    point = tuple(((own - a.origin) @ a.axes.T).tolist())
    where = a.place(point)
    if np.linalg.norm(np.cross(pin.axis, pose[:3, 2])) > 1e-6:
        yield f"a pin does not stand square to its tab, {where}"
        return
    off = abs(float((pin.centre - pose[:3, 3]) @ pose[:3, 2]))
    if off > _OFF_PLANE:
        yield f"a pin is pushed {off:.2f} mm out of the middle of its tab, {where}"
    for word, told, right in (
        ("long", pin.length, sizes.pin_length),
        ("thick", pin.diameter, sizes.pin_diameter),
    ):
        if abs(told - right) > _OFF_PLANE:
            much = "too " + word if told > right else f"too {'short' if word == 'long' else 'thin'}"
            yield (
                f"a pin is {abs(told - right):.2f} mm {much} ({told:g} mm, the design says "
                f"{right:g} mm), {where}"
            )
    hole = a.hole_at(point)
    if hole is None:
        yield f"a pin has no hole, {where}"
        return
    ring = LinearRing(a.rings[hole])
    room = float(ring.distance(shapely.Point(point))) - pin.diameter / 2
    wide = float(np.sqrt(Polygon(ring).area / np.pi)) * 2
    if room < -1e-4:
        yield f"a pin's hole is {-room:.2f} mm out of place or too small, {where}"
    elif wide > pin.diameter + sizes.hole_play + 2 * _LOOSER:
        yield f"a pin's hole is {wide - pin.diameter - sizes.hole_play:.2f} mm too wide, {where}"
    # The way that the pin can be drawn back until it meets the far face.
    free = point[1] - pin.diameter / 2 - cross.far_face(sizes.pin_length / 2)
    if abs(free - sizes.pin_play) > _LOOSER + 2 * _OFF_PLANE:
        yield (f"a pin has {free:.2f} mm to the far face, {sizes.pin_play:g} mm are right, {where}")


def _lap(build: Build, joint: Joint, sizes: Sizes) -> Iterator[str]:
    """Tell whether of two open slots the bottoms are two clearances apart, and both wide enough."""
    way = joint.insertion
    sides = []
    for k in joint.plates:
        normal = build.plates[k].world_from_part[:3, 2]
        sides.append(_Side.of(build, k, joint.centre, way, np.cross(normal, way)))
    one, two = sides
    low, high = _material(one, -1), _material(two, 1)
    if low is None or high is None:
        lost = one if low is None else two
        yield f"{lost.plate.id} has nothing behind its slot, {lost.place()}"
        return
    gap, wanted = high[0] - low[1], 2 * (sizes.clearance + lap_deeper(sizes))
    if gap < wanted - _TIGHTER:
        yield f"the slots are {wanted - gap:.2f} mm too shallow, {one.place()}"
    elif gap > wanted + _LOOSER:
        yield f"the slots are {gap - wanted:.2f} mm too deep, {one.place()}"
    reach = {0: (low[1], high[1]), 1: (high[0], low[0])}
    for k, (side, other) in enumerate(((one, two), (two, one))):
        band = half_band(side.thickness, other.thickness, joint.angle)
        bottom, end = reach[k]
        rooms = []
        for share in (0.1, 0.5):
            cuts = np.concatenate(
                [
                    cut_line(ring, np.array([bottom + share * (end - bottom), 0.0]), _ACROSS)
                    for ring in side.rings
                ]
            )
            left, right = cuts[cuts < 0], cuts[cuts > 0]
            if len(left) and len(right):
                rooms.append((-float(left.max()) - band, float(right.min()) - band))
        if not rooms:
            continue
        left_room, right_room = (min(room[n] for room in rooms) for n in (0, 1))
        # Where three plates meet on one line a slot takes the wider of two; it may be loose.
        yield from _told(side, "width", left_room, right_room, sizes.clearance, np.inf)


_ACROSS = np.array([0.0, 1.0])


def _material(side: _Side, sign: int) -> tuple[float, float] | None:
    """Return the stretch of the line inside a plate that is nearest to the joint on one side."""
    cuts = np.sort(
        np.concatenate([cut_line(ring, np.zeros(2), np.array([1.0, 0.0])) for ring in side.rings])
    )
    spans = [(float(a), float(b)) for a, b in cuts.reshape(-1, 2)]
    kept = [span for span in spans if (span[0] < 0 if sign < 0 else span[1] > 0)]
    if not kept:
        return None
    return kept[-1] if sign < 0 else kept[0]


def _splice(build: Build, joint: Joint, sizes: Sizes) -> Iterator[str]:
    """Tell whether a key has one clearance round it, and cannot be drawn out in the plane."""
    out = np.cross(joint.line, joint.insertion)
    one, two = (_Side.of(build, k, joint.centre, joint.line, out) for k in joint.plates)
    shapes = [Polygon(side.rings[0], side.rings[1:]) for side in (one, two)]
    gap = float(shapes[0].distance(shapes[1]))
    if gap < sizes.clearance - _TIGHTER:
        yield f"the key has {gap:.2f} mm of room, {sizes.clearance:g} mm are right, {two.place()}"
    if gap > sizes.clearance + _LOOSER:
        yield f"the strips stand {gap - sizes.clearance:.2f} mm too far apart, {two.place()}"
    if joint.pins:  # a fish plate
        for pin in joint.pins:
            way = pin.centre - joint.centre
            spot = (float(way @ joint.line), float(way @ out))
            if one.hole_at(spot) is None and two.hole_at(spot) is None:
                yield f"a pin has no hole, {one.place(spot)}"
        return
    drawn = shapely.transform(shapes[0], lambda p: p - (0.0, joint.play + 2 * _LOOSER))
    if drawn.intersection(shapes[1]).area < 1e-6:
        yield f"the key does not hold: it can be drawn out of its socket, {two.place()}"
