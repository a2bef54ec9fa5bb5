# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Independent judges of clashes and distances, and crowds of plates to be judged.

manifold3d gives volumes by exact mesh booleans; python-fcl gives least distances and collisions by
trees of triangles. Neither knows that its solids are flat plates.
"""

from __future__ import annotations

from dataclasses import dataclass

import fcl
import manifold3d
import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial.transform import Rotation
from shapely import LineString, Polygon, affinity, box
from shapely.geometry.polygon import orient

__all__ = [
    "Crowd",
    "as_fcl",
    "as_manifold",
    "crowd",
    "fcl_distance",
    "fcl_mesh",
    "rigid",
    "shared_volume",
    "some_outline",
]

Floats = npt.NDArray[np.float64]


def as_manifold(polygon: Polygon, thickness: float) -> manifold3d.Manifold:
    rings = [np.asarray(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
    section = manifold3d.CrossSection(rings, manifold3d.FillRule.EvenOdd)
    plate = manifold3d.Manifold.extrude(section, thickness)
    return plate.translate([0.0, 0.0, -thickness / 2])


def shared_volume(
    a: manifold3d.Manifold, world_a: Floats, b: manifold3d.Manifold, world_b: Floats
) -> float:
    """Return the volume of the intersection of two placed solids, computed near the origin."""
    a_from_b = np.linalg.solve(world_a, world_b)
    return float((a ^ b.transform(a_from_b[:3])).volume())


def fcl_mesh(polygon: Polygon, thickness: float) -> fcl.BVHModel:
    """Return the plate as triangles; manifold3d fills the faces."""
    rings = [np.asarray(ring.coords)[:-1] for ring in _rings(polygon)]
    flat = np.concatenate(rings)
    caps = manifold3d.triangulate(rings)
    n, half = len(flat), thickness / 2
    here = np.arange(n)
    after = np.concatenate([np.roll(part, -1) for part in _split(here, rings)])
    walls = np.column_stack([here, after, after + n, here, after + n, here + n]).reshape(-1, 3)
    corners = np.column_stack([np.tile(flat, (2, 1)), np.repeat([-half, half], n)])
    faces = np.concatenate([caps, caps + n, walls])
    mesh = fcl.BVHModel()
    mesh.beginModel(len(corners), len(faces))
    mesh.addSubModel(corners, faces)
    mesh.endModel()
    return mesh


def _rings(polygon: Polygon) -> list[shapely.LinearRing]:
    """Return the outer ring anticlockwise, then the holes clockwise."""
    turned = orient(polygon)
    return [turned.exterior, *turned.interiors]


def _split(rows: npt.NDArray[np.intp], rings: list[Floats]) -> list[npt.NDArray[np.intp]]:
    return np.split(rows, np.cumsum([len(ring) for ring in rings])[:-1])


def as_fcl(mesh: fcl.BVHModel, world: Floats) -> fcl.CollisionObject:
    return fcl.CollisionObject(mesh, fcl.Transform(world[:3, :3], world[:3, 3]))


def fcl_distance(a: fcl.CollisionObject, b: fcl.CollisionObject) -> float:
    return max(float(fcl.distance(a, b, fcl.DistanceRequest(), fcl.DistanceResult())), 0.0)


def some_outline(rng: np.random.Generator, size: float = 50.0) -> Polygon:
    """Return a nonconvex outline about `size` in radius: a star, a bent strip or a comb; holes."""
    kind = rng.integers(3)
    if kind == 0:
        angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, rng.integers(5, 30)))
        reach = size * rng.uniform(0.35, 1.0, len(angle))
        shape = Polygon(np.column_stack([reach * np.cos(angle), reach * np.sin(angle)])).buffer(0)
        shape = shape.difference(box(-0.15 * size, -0.1 * size, 0.1 * size, 0.05 * size))
    elif kind == 1:
        x = np.linspace(-size, size, rng.integers(3, 12))
        path = LineString(np.column_stack([x, rng.uniform(0.0, 0.6) * size * np.cos(x / size)]))
        shape = path.buffer(0.2 * size, cap_style="flat", join_style="mitre")
        slots = [box(at, -9, at + 3, 9) for at in rng.uniform(-size, size, 3)]
        middle = affinity.translate(shapely.unary_union(slots), 0.0, 0.3 * size)
        shape = shape.difference(middle)
    else:
        shape = box(-size, -0.5 * size, size, 0.5 * size)
        for at in rng.uniform(-size, size, 3):
            shape = shape.difference(box(at, -0.2 * size, at + 5.0, 0.6 * size))
        shape = shape.difference(shapely.Point(0.3 * size, -0.35 * size).buffer(0.08 * size))
    pieces = [piece for piece in shapely.get_parts(shape) if piece.geom_type == "Polygon"]
    return affinity.rotate(max(pieces, key=lambda piece: piece.area), rng.uniform(0.0, 360.0))


@dataclass(frozen=True, slots=True)
class Crowd:
    """Plates 2 i and 2 i + 1 are a pair. kind : (2 k,) into outlines and thicknesses."""

    outlines: list[Polygon]
    thicknesses: list[float]
    kind: npt.NDArray[np.intp]
    world: Floats

    def polygon(self, plate: int) -> Polygon:
        return self.outlines[self.kind[plate]]

    def thickness(self, plate: int) -> float:
        return self.thicknesses[self.kind[plate]]


def crowd(seed: int, pairs: int, kinds: int = 40, least_angle_deg: float = 5.0) -> Crowd:
    """Return pairs that all but touch: a spot on one is put near a spot on the other.

    Four in five pairs are turned so that the second plate leads away from the first one's rim.
    """
    rng = np.random.default_rng(seed)
    outlines = [some_outline(rng) for _ in range(kinds)]
    thicknesses = rng.uniform(1.0, 12.0, kinds).tolist()
    kind = rng.integers(kinds, size=2 * pairs)
    world = np.tile(np.eye(4), (2 * pairs, 1, 1))
    turns = Rotation.from_euler(
        "ZXZ",
        np.column_stack(
            [
                rng.uniform(0, 360, pairs),
                rng.uniform(least_angle_deg, 180.0 - least_angle_deg, pairs),
                rng.uniform(0, 360, pairs),
            ]
        ),
        degrees=True,
    ).as_matrix()
    for i, turn in zip(range(0, 2 * pairs, 2), turns, strict=True):
        a, b = kind[i], kind[i + 1]
        spot_a, spot_b = (_spot(rng, outlines[j], thicknesses[j]) for j in (a, b))
        miss = rng.normal(scale=rng.choice([0.1, 1.0, 6.0]), size=3)
        if rng.random() < 0.8:
            body = turn @ (_middle(outlines[b]) - spot_b)
            out = spot_a - _middle(outlines[a])
            angle = np.arctan2(out[1], out[0]) - np.arctan2(body[1], body[0])
            c, s = np.cos(angle), np.sin(angle)
            turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]) @ turn
            miss += out / np.linalg.norm(out) * rng.uniform(0.0, 20.0)
        world[i + 1, :3, :3] = turn
        world[i + 1, :3, 3] = spot_a + miss - turn @ spot_b
    common = np.tile(np.eye(4), (pairs, 1, 1))
    common[:, :3, :3] = Rotation.random(pairs, random_state=seed).as_matrix()
    common[:, :3, 3] = rng.uniform(-500.0, 500.0, (pairs, 3))
    return Crowd(outlines, thicknesses, kind, np.repeat(common, 2, axis=0) @ world)


def _middle(outline: Polygon) -> Floats:
    return np.array([outline.centroid.x, outline.centroid.y, 0.0])


def rigid(rng: np.random.Generator, reach: float = 500.0) -> Floats:
    """Return a random proper rigid transform (4, 4)."""
    world = np.eye(4)
    world[:3, :3] = Rotation.random(random_state=int(rng.integers(1 << 30))).as_matrix()
    world[:3, 3] = rng.uniform(-reach, reach, 3)
    return world


def _spot(rng: np.random.Generator, outline: Polygon, thickness: float) -> Floats:
    """Return a point (3,) on the rim of an outline, or inside it, at one of three heights."""
    if rng.random() < 0.2:
        point = outline.representative_point()
    else:
        point = outline.exterior.interpolate(rng.random(), normalized=True)
    return np.array([point.x, point.y, thickness / 2 * rng.choice([-1.0, 0.0, 1.0])])
