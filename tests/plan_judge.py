# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""An independent judge of assembly plans: it replays the steps of a build.json with solids.

No geometry of pinwright's own is used: parts are triangulated and swept by manifold3d (a triangle
times the thickness is convex, so what it sweeps is the hull of its two ends), and a boolean says
what the swept piece shares with a plate that stands. What stands is made slimmer by 0.03 mm on all
sides, for congruent outlines are cut as one part when they agree to 0.01 mm.

Legs on which plates turn are walked through by python-fcl, which tells whether two meshes cut each
other: so densely that no point moves farther from pose to pose than two fifths of the thinnest
sheet, which therefore cannot be stepped over. Poses in between are made here, as the schema of the
build file words them (straight shift of the pivot, turn at a constant rate the short way round).
"""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import fcl
import manifold3d
import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial.transform import Rotation
from shapely import Point, Polygon

__all__ = ["Replay", "replay"]

Floats = npt.NDArray[np.float64]
Record = dict[str, Any]

SLIM = 0.03  # mm
NOISE = 1e-3  # mm3
SAME_WAY_DEG = 0.2
STRIDE = 0.4  # of the thinnest sheet, from pose to pose of a leg that turns


@dataclass(slots=True)
class Replay:
    """What the judge found. unproved : steps without a way; swept : legs that were tried."""

    failures: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    unproved: list[int] = field(default_factory=list)
    swept: int = 0

    def fail(self, kind: str, what: str) -> None:
        self.failures[kind].append(what)

    @property
    def sound(self) -> bool:
        return not self.failures


@dataclass(slots=True)
class _Site:
    """What stands at the tables and at the whole, and what is closed."""

    whole: set[str] = field(default_factory=set)
    tables: dict[str, set[str]] = field(default_factory=lambda: defaultdict(set))
    closed: Counter[str] = field(default_factory=Counter)
    pinned: Counter[str] = field(default_factory=Counter)
    done: set[int] = field(default_factory=set)


def replay(build: Record, sweeps: int | None = None) -> Replay:
    """Replay the plan; sweeps : how many steps' ways are swept (chosen at random); None: all."""
    found = Replay()
    steps = build["steps"]
    if not steps:
        found.fail("plan", "there are no steps")
        return found
    moving = [step["n"] for step in steps if step["free"] and len(step["way"]) > 1]
    for step in steps:
        if step["free"] == bool(step["why"]) or len(step["turns"]) != len(step["way"]):
            found.fail("way", f"step {step['n']}: free, why and turns do not fit together")
    if sweeps is not None and sweeps < len(moving):
        moving = random.Random(7).sample(moving, sweeps)
    solids = _Solids(build)
    site = _Site()
    for step in steps:
        standing = _arrive(build, step, site, found)
        _close(build, step, site, standing, found)
        if not step["free"]:
            found.unproved.append(step["n"])
        elif step["n"] in moving:
            _sweep(build, step, standing, solids, found)
    _end(build, site, found)
    return found


def _arrive(build: Record, step: Record, site: _Site, found: Replay) -> set[str]:
    """Put the plates down; return what stood there before."""
    name = f"step {step['n']}"
    if not set(step["after"]) <= site.done:
        found.fail("order", f"{name} comes before one of {step['after']}")
    site.done.add(step["n"])
    home = {plate["id"]: plate["module"] for plate in build["plates"]}
    add = set(step["add"])
    if not add or len(add) < len(step["add"]):
        found.fail("add", f"{name} adds {step['add']}")
    if step["module"] is not None:
        table = site.tables[step["module"]]
        standing = set(table)
        if {home[plate] for plate in add} != {step["module"]}:
            found.fail("add", f"{name}: plates of other modules")
        if add & (table | site.whole):
            found.fail("add", f"{name}: {add & (table | site.whole)} are there already")
        table |= add
        return standing
    standing = set(site.whole)
    if add & site.whole:
        found.fail("add", f"{name}: {add & site.whole} are in the whole already")
    tables = [t for t in site.tables.values() if t & add]
    if len(add) > 1 and tables != [add]:
        found.fail("add", f"{name}: brings in what was not put together before")
    if len(add) == 1 and tables:
        found.fail("add", f"{name}: tears {add} out of its module")
    for plates in tables:
        plates.clear()
    site.whole |= add
    return standing


def _close(build: Record, step: Record, site: _Site, standing: set[str], found: Replay) -> None:
    """Joints close once, with both plates there; what is not sprung closes along the way."""
    joints = {joint["id"]: joint for joint in build["joints"]}
    add, name = set(step["add"]), f"step {step['n']}"
    sprung = {spring["joint"]: spring for spring in step["spring"]}
    for key in step["close"]:
        joint = joints[key]
        site.closed[key] += 1
        a, b = joint["plates"]
        if not ({a, b} & add and {a, b} & standing):
            found.fail("close", f"{name}: {key} joins {a} and {b}, which are not both there")
            continue
        if key in sprung:
            if joint["kind"] != "tenon":
                found.fail("spring", f"{name}: {key} is a {joint['kind']}, which no bending opens")
            if sprung[key]["plate"] != b:
                found.fail("spring", f"{name}: {key} bends a plate that has no slot")
        elif step["free"]:
            way = np.array(joint["insertion"]) * (1 if a in add else -1)
            off = np.degrees(np.arccos(np.clip(way @ np.array(step["direction"]), -1, 1)))
            if off > SAME_WAY_DEG:
                found.fail("close", f"{name}: {key} closes at {off:.1f} deg to the way in")
            if len(step["turns"]) > 1 and _angle(*step["turns"][-2:]) > 1e-6:
                found.fail("close", f"{name}: {key} closes while the plates turn")
    if not set(sprung) <= set(step["close"]):
        found.fail("spring", f"{name}: springs joints that it does not close")
    for key in step["pin"]:
        site.pinned[key] += 1
        if not site.closed[key]:
            found.fail("pin", f"{name}: {key} is pinned and not closed")
    for key in step["leave_open"]:
        if site.closed[key]:
            found.fail("open", f"{name}: {key} should be open and is closed")
    there = add | standing
    for key, joint in joints.items():
        if set(joint["plates"]) <= there and not site.closed[key]:
            found.fail("close", f"{name}: both plates of {key} are in place, it is not closed")


def _end(build: Record, site: _Site, found: Replay) -> None:
    if site.whole != {plate["id"] for plate in build["plates"]} or any(site.tables.values()):
        found.fail("add", "not every plate came into the whole")
    for joint in build["joints"]:
        if site.closed[joint["id"]] != 1:
            found.fail("close", f"{joint['id']} is closed {site.closed[joint['id']]} times")
        wanted = joint["pin"] is not None or bool(joint.get("fasteners"))
        if site.pinned[joint["id"]] != wanted:
            found.fail("pin", f"{joint['id']} is locked {site.pinned[joint['id']]} times")


def _rings(outline: Polygon) -> list[shapely.LinearRing]:
    outline = shapely.geometry.polygon.orient(outline)
    return [outline.exterior, *outline.interiors]


class _Solids:
    """Parts as triangles and as solids, made when they are asked for."""

    def __init__(self, build: Record) -> None:
        self.parts = {part["mark"]: part for part in build["parts"]}
        self.part = {plate["id"]: plate["part"] for plate in build["plates"]}
        self.pose = {plate["id"]: np.array(plate["transform"]) for plate in build["plates"]}
        self.triangles: dict[str, Floats] = {}
        self.whole: dict[str, manifold3d.Manifold] = {}
        self.meshes: dict[str, fcl.BVHModel] = {}

    def thickness(self, plate: str) -> float:
        return float(self.parts[self.part[plate]]["thickness"])

    def middle(self, plate: str) -> tuple[Floats, float]:
        """A ball about a plate in its part's frame: middle (3,) and radius."""
        points = shapely.get_coordinates(self.outline(plate))
        middle = (points.min(axis=0) + points.max(axis=0)) / 2
        reach = np.linalg.norm(points - middle, axis=1).max() + self.thickness(plate)
        return np.append(middle, 0.0), float(reach)

    def mesh(self, plate: str) -> fcl.BVHModel:
        """The surface of a whole plate, true to size, in its part's frame."""
        mark = self.part[plate]
        if mark not in self.meshes:
            high = self.thickness(plate)
            solid = manifold3d.CrossSection(
                [np.asarray(r.coords)[:-1] for r in _rings(self.outline(plate))],
                manifold3d.FillRule.NonZero,
            ).extrude(high)
            self.meshes[mark] = _model(solid.translate([0.0, 0.0, -high / 2]))
        return self.meshes[mark]

    def outline(self, plate: str) -> Polygon:
        rings = self.parts[self.part[plate]]["outline"]
        return Polygon(rings["exterior"], rings["interiors"])

    def corners(self, plate: str) -> Floats:
        """Triangles (n, 6, 3) of a plate as prisms, world coordinates."""
        mark = self.part[plate]
        if mark not in self.triangles:
            outline = shapely.geometry.polygon.orient(self.outline(plate))
            rings = [np.asarray(r.coords)[:-1] for r in (outline.exterior, *outline.interiors)]
            flat = np.concatenate(rings)[np.asarray(manifold3d.triangulate(rings))]
            half = self.thickness(plate) / 2
            prisms = np.concatenate([flat, flat], axis=1)
            height = np.broadcast_to(np.repeat([-half, half], 3)[:, None], (len(flat), 6, 1))
            self.triangles[mark] = np.concatenate([prisms, height], axis=2)
        pose = self.pose[plate]
        return self.triangles[mark] @ pose[:3, :3].T + pose[:3, 3]

    def slim(self, plate: str, without: list[tuple[Floats, float]]) -> manifold3d.Manifold:
        """A plate in its part's frame, made slim, without discs about some places."""
        if not without and self.part[plate] in self.whole:
            return self.whole[self.part[plate]]
        shape = self.outline(plate).buffer(-SLIM, join_style="mitre")
        for centre, radius in without:
            shape = shape.difference(Point(centre).buffer(radius, quad_segs=32))
        pieces = [p for p in shapely.get_parts(shape) if isinstance(p, Polygon) and p.area > 1e-6]
        rings = [
            np.asarray(ring.coords)[:-1]
            for piece in map(shapely.geometry.polygon.orient, pieces)
            for ring in (piece.exterior, *piece.interiors)
        ]
        high = self.thickness(plate) - 2 * SLIM
        solid = manifold3d.CrossSection(rings, manifold3d.FillRule.NonZero).extrude(high)
        solid = solid.translate([0.0, 0.0, -high / 2])
        if not without:
            self.whole[self.part[plate]] = solid
        return solid


def _sweep(build: Record, step: Record, standing: set[str], solids: _Solids, found: Replay) -> None:
    joints = {joint["id"]: joint for joint in build["joints"]}
    poses = [
        _pose(step["pivot"], shift, turn)
        for shift, turn in zip(step["way"], step["turns"], strict=True)
    ]
    if not np.allclose(poses[-1], np.eye(4), atol=1e-9):
        found.fail("way", f"step {step['n']} ends aside of its place")
    _far(step, poses[0], standing, solids, found)
    for mover in step["add"]:
        corners = solids.corners(mover)
        for other in standing:
            zones = []
            for spring in step["spring"]:
                joint = joints[spring["joint"]]
                if set(joint["plates"]) == {mover, other}:
                    pose = solids.pose[other]
                    local = pose[:3, :3].T @ (np.array(joint["centre"]) - pose[:3, 3])
                    zones.append((local[:2], spring["zone"]))
            for k, (start, end) in enumerate(pairwise(poses)):
                found.swept += 1
                if np.allclose(start[:3, :3], end[:3, :3], atol=1e-9):
                    moved = corners @ start[:3, :3].T + start[:3, 3]
                    leg = end[:3, 3] - start[:3, 3]
                    shared = _shared(moved, leg, other, zones, solids)
                    if shared > NOISE:
                        what = f"step {step['n']}: {mover} sweeps {shared:.3g} mm3 of {other}"
                        found.fail("sweep", what)
                elif _cuts(step, k, mover, other, zones, solids):
                    found.fail("sweep", f"step {step['n']}: {mover} turns through {other}")


def _pose(pivot: list[float], shift: Any, turn: Any) -> Floats:
    """x -> pivot + shift + turn (x - pivot), (4, 4)."""
    pose = np.eye(4)
    pose[:3, :3] = Rotation.from_quat(turn).as_matrix()
    pose[:3, 3] = np.array(pivot) + np.array(shift) - pose[:3, :3] @ np.array(pivot)
    return pose


def _angle(one: Any, two: Any) -> float:
    return float((Rotation.from_quat(two) * Rotation.from_quat(one).inv()).magnitude())


def _cuts(
    step: Record,
    leg: int,
    mover: str,
    other: str,
    zones: list[tuple[Floats, float]],
    solids: _Solids,
) -> bool:
    """Walk through a leg that turns; True where the mover's mesh cuts the standing one."""
    pivot = np.array(step["pivot"])
    shifts = np.array(step["way"][leg : leg + 2], dtype=float)
    one, two = (Rotation.from_quat(turn) for turn in step["turns"][leg : leg + 2])
    by = (two * one.inv()).as_rotvec()
    corners = solids.corners(mover).reshape(-1, 3)
    reach = float(np.linalg.norm(corners - pivot, axis=1).max())
    way = float(np.linalg.norm(shifts[1] - shifts[0]) + np.linalg.norm(by) * reach)
    thinnest = min(solids.thickness(mover), solids.thickness(other))
    count = int(np.ceil(way / (STRIDE * thinnest))) + 1
    ball = solids.pose[other][:3, 3] + solids.pose[other][:3, :3] @ solids.middle(other)[0]
    room = reach + solids.middle(other)[1]
    still = None
    for share in np.linspace(0.0, 1.0, count):
        shift = shifts[0] + share * (shifts[1] - shifts[0])
        if np.linalg.norm(pivot + shift - ball) > room:
            continue
        turn = (Rotation.from_rotvec(share * by) * one).as_matrix()
        if still is None:
            still = fcl.CollisionObject(
                _model(solids.slim(other, zones)),
                fcl.Transform(solids.pose[other][:3, :3], solids.pose[other][:3, 3]),
            )
            moving = fcl.CollisionObject(solids.mesh(mover))
        pose = np.eye(4)
        pose[:3, :3], pose[:3, 3] = turn, pivot + shift - turn @ pivot
        pose = pose @ solids.pose[mover]
        moving.setTransform(fcl.Transform(pose[:3, :3], pose[:3, 3]))
        if fcl.collide(moving, still, fcl.CollisionRequest(), fcl.CollisionResult()):
            return True
    return False


def _model(solid: manifold3d.Manifold) -> fcl.BVHModel:
    mesh = solid.to_mesh()
    points = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    faces = np.asarray(mesh.tri_verts)
    model = fcl.BVHModel()
    model.beginModel(len(points), len(faces))
    model.addSubModel(points, faces)
    model.endModel()
    return model


def _far(step: Record, start: Floats, standing: set[str], solids: _Solids, found: Replay) -> None:
    """The way begins outside: beyond the ball that holds all that stands."""
    points = np.concatenate([solids.corners(plate).reshape(-1, 3) for plate in standing])
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    reach = np.linalg.norm(points - middle, axis=1).max()
    for mover in step["add"]:
        moved = solids.corners(mover) @ start[:3, :3].T + start[:3, 3]
        if np.linalg.norm(moved - middle, axis=2).min() < reach:
            found.fail("way", f"step {step['n']}: {mover} does not begin outside")


def _shared(
    corners: Floats,
    leg: Floats,
    other: str,
    zones: list[tuple[Floats, float]],
    solids: _Solids,
) -> float:
    """Volume of a plate that the prisms (n, 6, 3), moving by `leg`, sweep through."""
    pose = solids.pose[other]
    ends = np.concatenate([corners, corners + leg], axis=1)
    ends = (ends - pose[:3, 3]) @ pose[:3, :3]
    solid = solids.slim(other, [])
    box = np.array(solid.bounding_box())
    near = (ends.min(axis=1) < box[3:]).all(axis=1) & (ends.max(axis=1) > box[:3]).all(axis=1)
    if not near.any():
        return 0.0
    solid = solids.slim(other, zones)
    hulls = [manifold3d.Manifold.hull_points(points) for points in ends[near]]
    return max(float((hull ^ solid).volume()) for hull in hulls)
