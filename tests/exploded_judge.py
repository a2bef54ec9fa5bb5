# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""An independent judge of exploded views: it moves solids as build.json says and looks for clashes.

No geometry of pinwright's own is used: python-fcl finds the pairs that touch, manifold3d gives the
volume that they share. Plates are made slimmer by 0.03 mm on all sides, for congruent outlines are
cut as one part when they agree to 0.01 mm.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import fcl
import manifold3d
import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

__all__ = ["TENTHS", "Opened", "judge_exploded", "place"]

Floats = npt.NDArray[np.float64]
Record = dict[str, Any]

TENTHS = tuple(k / 10 for k in range(11))
SLIM = 0.03  # mm
NOISE = 1e-3  # mm3


@dataclass(slots=True)
class Opened:
    """What was found. clashes : pair of ids to the worst volume, mm3, and the factor there.

    why : each clashing pair to what the plan or the view says of it, "" where nothing is said
    uneven : motifs whose plates end at unequal distances
    """

    clashes: dict[tuple[str, str], tuple[float, float]] = field(default_factory=dict)
    why: dict[tuple[str, str], str] = field(default_factory=dict)
    uneven: list[str] = field(default_factory=list)
    tried: int = 0

    @property
    def unnamed(self) -> list[tuple[str, str]]:
        """Clashing pairs that nothing is said of."""
        return [pair for pair, why in self.why.items() if not why]

    @property
    def counts(self) -> Counter[str]:
        """How many pairs clash for each reason."""
        return Counter(why if why else "UNNAMED" for why in self.why.values())


def place(plate: Record, factor: float) -> Floats:
    """Return where a plate stands at a factor, (4, 4)."""
    pose = np.array(plate["transform"])
    rows = np.array(plate["explode_way"])
    k = int(np.clip(np.searchsorted(rows[:, 0], factor), 1, len(rows) - 1))
    share = (factor - rows[k - 1, 0]) / (rows[k, 0] - rows[k - 1, 0])
    pose[:3, 3] += rows[k - 1, 1:] + share * (rows[k, 1:] - rows[k - 1, 1:])
    return pose


def judge_exploded(build: Record, factors: Sequence[float] = TENTHS) -> Opened:
    """Open the view of a build at some factors and name every pair of plates that clashes."""
    found = Opened()
    solids = _Solids(build)
    plates = build["plates"]
    for factor in factors:
        poses = [place(plate, factor) for plate in plates]
        for a, b in solids.touching(poses):
            found.tried += 1
            pair = (plates[a]["id"], plates[b]["id"])
            volume = solids.shared(a, poses[a], b, poses[b])
            if volume > max(NOISE, found.clashes.get(pair, (0.0, 0.0))[0]):
                found.clashes[pair] = (volume, factor)
    said = _said(build)
    found.why = {pair: said.get(frozenset(pair), "") for pair in found.clashes}
    found.uneven = _uneven(build)
    return found


def _said(build: Record) -> dict[frozenset[str], str]:
    """Return what is said of pairs of plates: by the view, and above that by the plan's springs."""
    said = {frozenset(s["plates"]): s["why"] for s in build["exploded"]["snags"] or ()}
    joints = {joint["id"]: frozenset(joint["plates"]) for joint in build["joints"]}
    for step in build["steps"]:
        said |= {joints[spring["joint"]]: "sprung" for spring in step["spring"]}
    return said


def _uneven(build: Record) -> list[str]:
    """Return the motifs whose plates do not all go equally far of themselves."""
    ways: dict[str, list[float]] = {}
    away = {module["id"]: np.array(module["explode"]) for module in build["modules"]}
    for plate in build["plates"]:
        own = np.array(plate["explode_way"])[-1, 1:] - away[plate["module"]]  # where it ends up
        for way in (own, plate["explode"]):
            ways.setdefault(plate["motif"], []).append(float(np.linalg.norm(way)))
    return [motif for motif, long in ways.items() if max(long) - min(long) > 1e-6 * max(1.0, *long)]


class _Solids:
    """Slim solids of the parts, for both libraries."""

    def __init__(self, build: Record) -> None:
        parts = {part["mark"]: part for part in build["parts"]}
        self.kind = [plate["part"] for plate in build["plates"]]
        marks = set(self.kind)
        self.manifolds = {mark: _slim(parts[mark]) for mark in marks}
        self.meshes = {mark: _mesh(solid) for mark, solid in self.manifolds.items()}
        self.objects = [fcl.CollisionObject(self.meshes[mark]) for mark in self.kind]

    def touching(self, poses: list[Floats]) -> list[tuple[int, int]]:
        """Return the pairs of plates whose surfaces meet."""
        corners = {m: np.array(s.bounding_box()).reshape(2, 3) for m, s in self.manifolds.items()}
        low, high = np.zeros((len(poses), 3)), np.zeros((len(poses), 3))
        for k, pose in enumerate(poses):
            self.objects[k].setTransform(fcl.Transform(pose[:3, :3], pose[:3, 3]))
            box = corners[self.kind[k]]
            middle = pose[:3, :3] @ box.mean(axis=0) + pose[:3, 3]
            half = np.abs(pose[:3, :3]) @ (box[1] - box[0]) / 2
            low[k], high[k] = middle - half, middle + half
        near = np.ones((len(poses), len(poses)), dtype=bool)
        for axis in range(3):
            near &= low[:, None, axis] <= high[None, :, axis]
        pairs = np.argwhere(np.triu(near & near.T, 1)).tolist()
        return [(a, b) for a, b in pairs if self._collide(a, b)]

    def _collide(self, a: int, b: int) -> bool:
        result = fcl.CollisionResult()
        return bool(fcl.collide(self.objects[a], self.objects[b], fcl.CollisionRequest(), result))

    def shared(self, a: int, pose_a: Floats, b: int, pose_b: Floats) -> float:
        """Return the volume that two plates share, computed near the first one's origin."""
        between = np.linalg.solve(pose_a, pose_b)
        other = self.manifolds[self.kind[b]].transform(between[:3])
        return float((self.manifolds[self.kind[a]] ^ other).volume())


def _slim(part: Record) -> manifold3d.Manifold:
    rings = part["outline"]
    shape = Polygon(rings["exterior"], rings["interiors"])
    for flap in part["flaps"]:
        shape = shape.difference(Polygon(flap))
    shape = shape.buffer(-SLIM, join_style="mitre")
    pieces = [one for one in shapely.get_parts(shape) if isinstance(one, Polygon)]
    loops = [
        np.asarray(ring.coords)[:-1]
        for piece in map(shapely.geometry.polygon.orient, pieces)
        for ring in (piece.exterior, *piece.interiors)
    ]
    high = part["thickness"] - 2 * SLIM
    section = manifold3d.CrossSection(loops, manifold3d.FillRule.NonZero)
    return section.extrude(high).translate([0.0, 0.0, -high / 2])


def _mesh(solid: manifold3d.Manifold) -> fcl.BVHModel:
    mesh = solid.to_mesh()
    corners, faces = np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts)
    model = fcl.BVHModel()
    model.beginModel(len(corners), len(faces))
    model.addSubModel(corners.astype(float), faces)
    model.endModel()
    return model
