# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Try out one joint as hands would: push, pull and shake the first plate and see what it hits.

Everything happens in the joint's own coordinates: x along the line in which the mid-planes cross, y
the way that the first plate goes in (tenon), z square to the first plate; a cross-lap has x along
its insertion and y in the first plate. Sizes are measured on the outlines, not taken from a design.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import manifold3d
import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Point, Polygon, box

__all__ = ["JointTrial", "Piece", "Tools", "inside", "lap_failures", "tenon_failures"]

Floats = npt.NDArray[np.float64]
Record = dict[str, Any]
Failure = tuple[str, str]

TOUCH = 1e-4  # mm3: less is rounding, more is contact; the least wedge that should be felt has 1e-3
LOOSER = 0.05  # mm that a slot may be looser than stated, on each side
TIGHTER = 0.02  # mm of the stated clearance that may be missing
SEAT = 0.05  # mm: pushed in as much farther, the shoulders bite into the slotted plate


@dataclass(frozen=True, slots=True)
class Piece:
    """A plate: its outline in its own plane, the solid over it, and where it stands (4, 4).

    solid : as it stands in the end; flat : as it is cut, before anything is bent
    """

    name: str
    outline: Polygon
    solid: manifold3d.Manifold
    world: Floats
    thickness: float
    flat: manifold3d.Manifold


@dataclass(frozen=True, slots=True)
class Tools:
    """How the judge makes solids: where a pin stands, a pin, a fastener."""

    pin_pose: Callable[[Record], Floats]
    pin_solid: Callable[..., manifold3d.Manifold]
    prism: Callable[[Record], manifold3d.Manifold]


@dataclass(frozen=True, slots=True)
class JointTrial:
    """A joint's record with its two plates, and the design that it should fit.

    A tenon's record tells of one tab; companions : other joints, or tabs, of the same two plates
    """

    joint: Record
    first: Piece
    second: Piece
    design: Record
    companions: list[Record]
    tools: Tools

    @property
    def clearance(self) -> float:
        """Stated free room on each side of a tab in its slot, mm."""
        return float(self.design["sheet"]["clearance"])

    def size(self, name: str) -> float:
        """A stated size of all joints, mm."""
        return float(self.design["joints"][name])

    def frame(self, x: Floats, y: Floats) -> Floats:
        """Return world from joint (4, 4)."""
        frame = np.eye(4)
        frame[:3] = np.column_stack([x, y, np.cross(x, y), self.joint["centre"]])
        return frame


def _directions(trial: JointTrial) -> Iterator[Failure]:
    """The record's own words: angle, line, insertion and centre fit the two planes."""
    joint = trial.joint
    a, b = trial.first.world[:3, 2], trial.second.world[:3, 2]
    line, way, centre = (np.array(joint[key]) for key in ("line", "insertion", "centre"))
    angle = np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b)), abs(a @ b)))
    if abs(angle - joint["angle"]) > 1e-6:
        yield "angle", f"{joint['angle']:.8f} is given, the planes stand at {angle:.8f}"
    if max(abs(line @ a), abs(line @ b), abs(np.linalg.norm(line) - 1)) > 1e-9:
        yield "direction", "the line does not lie in both planes"
    across = abs(way @ line) if joint["kind"] == "tenon" else 1 - abs(way @ line)
    if max(abs(way @ a), across, abs(np.linalg.norm(way) - 1)) > 1e-9:
        yield "direction", "the insertion does not lie in the first plane as it should"
    for piece in (trial.first, trial.second):
        off = abs((centre - piece.world[:3, 3]) @ piece.world[:3, 2])
        if off > 0.011:  # parts are congruent within 0.01 mm
            yield "direction", f"the centre is {off:.4f} mm off the mid-plane of {piece.name}"


def inside(frame: Floats, pose: Floats) -> Floats:
    """Return a pose (4, 4) as seen from the rigid frame (4, 4)."""
    seen = np.eye(4)
    seen[:3, :3] = frame[:3, :3].T @ pose[:3, :3]
    seen[:3, 3] = frame[:3, :3].T @ (pose[:3, 3] - frame[:3, 3])
    return seen


def _outline_in(piece: Piece, frame: Floats) -> Polygon:
    """Return a plate's outline in x and y of `frame`, whose z is the plate's normal."""
    move = inside(frame, piece.world)
    return shapely.transform(piece.outline, lambda p: p @ move[:2, :2].T + move[:2, 3])


def _solid_in(piece: Piece, frame: Floats) -> manifold3d.Manifold:
    return piece.solid.transform(inside(frame, piece.world)[:3])


def _cut(solid: manifold3d.Manifold, low: Floats, high: Floats) -> manifold3d.Manifold:
    """Return what lies in a box."""
    return solid ^ manifold3d.Manifold.cube((high - low).tolist()).translate(low.tolist())


def _shared(
    a: manifold3d.Manifold, b: manifold3d.Manifold, move: npt.ArrayLike = (0.0, 0.0, 0.0)
) -> float:
    """Volume that `a`, moved, shares with `b`, mm3."""
    return float((a.translate(np.asarray(move, dtype=float).tolist()) ^ b).volume())


def _shaken(
    a: manifold3d.Manifold, b: manifold3d.Manifold, way: Floats, play: float, name: str
) -> Iterator[Failure]:
    """Moved by the stated play and a little more it touches; by a little less it does not."""
    for sign in (1.0, -1.0):
        if _shared(a, b, sign * (play + LOOSER) * way) < TOUCH:
            yield "loose", f"{name}: {play + LOOSER:.3f} mm aside and still free"
        if play > TIGHTER:
            hit = _shared(a, b, sign * (play - TIGHTER) * way)
            if hit > TOUCH:
                yield "tight", f"{name}: {play - TIGHTER:.3f} mm aside shares {hit:.4g} mm3"


def _swept(
    a: manifold3d.Manifold, b: manifold3d.Manifold, way: Floats, length: float, thickness: float
) -> Iterator[Failure]:
    """Draw `a` out by `length` mm, in steps that no sheet slips through: free all the way?"""
    steps = max(6, int(np.ceil(length / (0.7 * thickness))))
    for far in np.linspace(0.0, length, steps + 1):
        hit = _shared(a, b, far * way)
        if hit > TOUCH:
            yield "insertion", f"drawn out by {far:.2f} mm it shares {hit:.4g} mm3"
            return


def tenon_failures(trial: JointTrial) -> Iterator[Failure]:
    """Try a tab in its slot, and what holds it."""
    yield from _directions(trial)
    joint, t, s = trial.joint, trial.first.thickness, trial.second.thickness
    frame = trial.frame(np.array(joint["line"]), np.array(joint["insertion"]))
    sheet = _outline_in(trial.first, frame)
    filled = Polygon(sheet.exterior)  # a wedge's hole may reach into the slot
    at_line = _piece_at(filled.intersection(LineString([(-1e4, 0), (1e4, 0)])), Point(0, 0))
    if at_line is None:
        yield "through", "there is no tab where the mid-planes cross"
        return
    x0, _, x1, _ = at_line.bounds
    grown = _piece_at(filled.intersection(box(x0 - 1e-6, 0, x1 + 1e-6, 1e4)), Point(0, 0))
    end = 0.0 if grown is None else float(grown.bounds[3])
    yield from _width_told(trial, x1 - x0)
    yield from _slot_closed(trial)

    angle = np.radians(joint["angle"])
    normal = frame[:3, :3].T @ trial.second.world[:3, 2]
    normal = normal * np.sign(normal[1])  # towards the far side
    band = s / 2 / np.sin(angle) + t / 2 / np.tan(angle)
    wide = t / np.sin(angle) + s / np.tan(angle) + 8.0
    wide += max((pin["length"] / 2 for pin in joint["pins"]), default=0.0)
    low = np.array([x0 - 4.0, -band - 2.0, -wide])
    high = np.array([x1 + 4.0, end + 1.0, wide])
    # Pushed in flat; what is bent is bent afterwards.
    whole_tab = trial.first.flat.transform(inside(frame, trial.first.world)[:3])
    whole_slot = _solid_in(trial.second, frame)
    tab, slot = _cut(whole_tab, low, high), _cut(whole_slot, low, high)

    still = _shared(tab, slot)
    if still > TOUCH:
        yield "fit", f"tab and slot share {still:.4g} mm3 at rest"
    whole = 0.999 if joint["pins"] else 0.5
    if joint["lock"] == "foot":
        yield from _stands(tab, normal, s)
    else:
        yield from _passes(tab, normal, s, (x1 - x0) * t / np.sin(angle), whole)
    yield from _shaken(tab, slot, np.array([1.0, 0, 0]), trial.clearance, "along the slot")
    across = np.cross(normal, [1.0, 0, 0])
    for kind, what in _shaken(tab, slot, across, trial.clearance, "across the slot"):
        # A leaning foot ends before the slot's edge on the far face, which would stop it.
        if not (kind == "loose" and joint["lock"] == "foot" and joint["angle"] < 89.9):
            yield kind, what
    if _shared(tab, slot, (0, SEAT, 0)) < TOUCH:
        yield "shoulder", f"pushed in {SEAT} mm farther and nothing stops it"
    alone = not trial.companions
    moving, standing = (whole_tab, whole_slot) if alone else (tab, slot)
    yield from _swept(moving, standing, np.array([0, -1.0, 0]), end + band + 0.5, min(t, s))
    for pin in joint["pins"]:
        yield from _pin_holds(trial, pin, frame, sheet, (tab, slot))
    if joint["fasteners"]:
        yield from _fasteners_hold(trial, frame, (_solid_in(trial.first, frame), whole_slot))


def _piece_at(found: shapely.Geometry, point: Point) -> shapely.Geometry | None:
    """The piece of a geometry that holds a point, if any does."""
    for piece in shapely.get_parts(found):
        if piece.distance(point) < 1e-6:
            return piece
    return None


def _width_told(trial: JointTrial, width: float) -> Iterator[Failure]:
    told = trial.design["joints"]["tab_width"]
    for choice in trial.design["joint_classes"]:
        if choice["name"] == trial.joint["class"] and choice["tab_width"] is not None:
            told = choice["tab_width"]
    if told is not None and abs(width - told) > 0.011:
        yield "fit", f"the tab is {width:.3f} mm wide, {told} was asked for"


def _slot_closed(trial: JointTrial) -> Iterator[Failure]:
    """The joint's centre lies in a hole of the second plate, with sheet all round."""
    piece = trial.second
    centre = (trial.joint["centre"] - piece.world[:3, 3]) @ piece.world[:3, :2]
    if not any(Polygon(ring).contains(Point(centre)) for ring in piece.outline.interiors):
        yield "slot", f"{piece.name} has no closed slot there"


def _passes(
    tab: manifold3d.Manifold, normal: Floats, s: float, area: float, whole: float
) -> Iterator[Failure]:
    """The tab fills the slotted plate's whole thickness and stands out on both sides.

    whole : the share of it that must be there: the hole of a wedge or a tie may begin in the slot
    """
    near = tab.trim_by_plane((-normal).tolist(), s / 2).volume()
    far = tab.trim_by_plane(normal.tolist(), s / 2).volume()
    inside = tab.volume() - near - far
    if near < 0.1 * area or far < 0.5 * area:
        yield "through", f"{near:.3g} mm3 before the slot and {far:.3g} mm3 beyond it"
    # Shoulders of an oblique joint reach between the faces of the plate only by rounding.
    if not whole * area * s < inside < 1.001 * area * s + TOUCH:
        yield "through", f"{inside:.5g} mm3 of the tab in the slot, {area * s:.5g} expected"


def _stands(tab: manifold3d.Manifold, normal: Floats, s: float) -> Iterator[Failure]:
    """The tab of a foot reaches past the base plate's middle, and nowhere out of it."""
    if tab.trim_by_plane(normal.tolist(), s / 2).volume() > TOUCH:
        yield "through", "the tab stands out of its base plate"
    if tab.trim_by_plane(normal.tolist(), 0.0).volume() < TOUCH:
        yield "through", "the tab does not reach the middle of its base plate"


def _pin_holds(
    trial: JointTrial,
    record: Record,
    frame: Floats,
    sheet: Polygon,
    solids: tuple[manifold3d.Manifold, manifold3d.Manifold],
) -> Iterator[Failure]:
    """The pin sits in its hole, touches neither plate, and stops the tab when it is drawn."""
    tab, slot = solids
    solid_of = trial.tools.pin_solid
    here = inside(frame, trial.tools.pin_pose(record))[:3]
    pin = solid_of(record).transform(here)
    if np.abs(here[:2, 2]).max() > 1e-9:
        yield "pin", "it does not stand square to the tab"
    if abs(here[2, 3]) > 0.011:
        yield "pin", f"its middle is {here[2, 3]:.3f} mm off the tab's mid-plane"
    around = [ring for ring in sheet.interiors if Polygon(ring).contains(Point(here[:2, 3]))]
    if not around:
        yield "pin", "its axis passes through no hole"
        return
    hole = float(np.sqrt(4 * Polygon(around[0]).area / np.pi))
    play = trial.size("hole_play")
    if abs(hole - record["diameter"] - play) > 0.05:
        yield "pin", f"a pin of {record['diameter']:.3f} mm in a hole of {hole:.3f} mm"
    for piece, solid in ((trial.first, tab), (trial.second, slot)):
        hit = _shared(pin, solid)
        if hit > TOUCH:
            yield "pin", f"it shares {hit:.4g} mm3 with {piece.name}"
    fat = solid_of(record, extra=hole - record["diameter"] + 0.1).transform(here)
    if _shared(fat, tab) < TOUCH:
        yield "pin", "its hole is wider than it says"
    drawn = trial.size("pin_play") + 1.0
    if _shared(pin, slot, (0, -drawn, 0)) < TOUCH:
        yield "pin", f"drawn out by {drawn} mm it does not stop at {trial.second.name}"
    if trial.size("pin_play") > 0.03:
        closer = trial.size("pin_play") - 0.02
        if _shared(pin, slot, (0, -closer, 0)) > TOUCH:
            yield "pin", f"drawn out by {closer:.2f} mm it already touches"


def _fasteners_hold(
    trial: JointTrial, frame: Floats, solids: tuple[manifold3d.Manifold, manifold3d.Manifold]
) -> Iterator[Failure]:
    """What holds the tab touches neither plate, and stops it when it is drawn back by its play."""
    tab, slot = solids
    held = manifold3d.Manifold()
    for record in trial.joint["fasteners"]:
        pose = np.array(record["transform"])
        held += trial.tools.prism(record).transform(inside(frame, pose)[:3])
    for piece, solid in ((trial.first, tab), (trial.second, slot)):
        hit = _shared(held, solid)
        if hit > TOUCH:
            yield "lock", f"it shares {hit:.4g} mm3 with {piece.name}"
    play = trial.joint["play"]
    way = 0.0  # of the tab until it stops at what holds it, and with it until that stops at B
    bent = trial.joint["lock"] == "bent end"  # one piece with the tab
    for one, other in ((held, slot),) if bent else ((tab, held), (held, slot)):
        step = 0.0
        while step < play + 1.0 and _shared(one, other, (0, -step, 0)) < TOUCH:
            step += 0.01
        way += step
    if abs(way - play) > 0.04:
        yield "lock", f"drawn back it stops after {way:.2f} mm, {play:.2f} is stated"


def lap_failures(trial: JointTrial) -> Iterator[Failure]:
    """Try a cross-lap: both slots open, free on the way out, snug at rest."""
    yield from _directions(trial)
    if trial.joint["pins"] or trial.joint["fasteners"]:
        yield "pin", "a cross-lap needs none"
    joint, t, s = trial.joint, trial.first.thickness, trial.second.thickness
    way = np.array(joint["insertion"])
    frames = [trial.frame(way, np.cross(p.world[:3, 2], way)) for p in (trial.first, trial.second)]
    frame = frames[0]
    depth = [
        _material(_outline_in(piece, own), side)
        for piece, own, side in ((trial.first, frames[0], -1), (trial.second, frames[1], 1))
    ]
    if depth[0] is None or depth[1] is None:
        yield "through", "a plate ends before the joint"
        return
    (a_low, a_high), (b_low, b_high) = depth
    play = b_low - a_high
    c = trial.clearance
    if not 2 * c - 1e-6 - TIGHTER < play < 2 * c + LOOSER:
        yield "loose", f"{play:.3f} mm from bottom to bottom, {2 * c:.3f} expected"
    angle = np.radians(joint["angle"])
    wide = (t + s) / np.sin(angle) + 8.0
    low = np.array([min(a_low, b_low) - 1.0, -wide, -wide])
    high = np.array([max(a_high, b_high) + 1.0, wide, wide])
    whole_one, whole_two = _solid_in(trial.first, frame), _solid_in(trial.second, frame)
    one, two = _cut(whole_one, low, high), _cut(whole_two, low, high)
    still = _shared(one, two)
    if still > TOUCH:
        yield "fit", f"the two share {still:.4g} mm3 at rest"
    turn = frame[:3, :3].T
    for piece, name in ((trial.second, "in the second slot"), (trial.first, "in the first slot")):
        across = np.cross(turn @ piece.world[:3, 2], [1.0, 0, 0])
        yield from _shaken(one, two, across, c, name)
    if _shared(one, two, (2 * c + LOOSER, 0, 0)) < TOUCH:
        yield "loose", f"pushed in {2 * c + LOOSER:.3f} mm farther and nothing stops it"
    same_way = all(
        abs(np.array(other["insertion"]) @ way - (1 if other["plates"] == joint["plates"] else -1))
        < 1e-6
        for other in trial.companions
    )
    moving, standing = (whole_one, whole_two) if same_way else (one, two)
    yield from _swept(moving, standing, np.array([-1.0, 0, 0]), b_high - a_low + 0.5, min(t, s))


def _material(sheet: Polygon, side: int) -> tuple[float, float] | None:
    """The stretch of the line inside a plate that is nearest to the joint on one side of it."""
    found = shapely.get_parts(sheet.intersection(LineString([(-1e4, 0), (1e4, 0)])))
    spans = sorted((float(p.bounds[0]), float(p.bounds[2])) for p in found if p.length > 1e-6)
    if side < 0:
        spans = [span for span in spans if span[0] < 0]
        return spans[-1] if spans else None
    spans = [span for span in spans if span[1] > 0]
    return spans[0] if spans else None
