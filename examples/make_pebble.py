# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Write meshes/river-pebble.obj: an egg-shaped pebble of 60 flat faces without any symmetry.

The pebble is what is left of space after a plane has been laid against an egg in each of 60
directions. Three edges meet at every corner. The directions begin on a spiral, a little disturbed,
and are relaxed: again and again each plane is moved to touch the egg above the middle of its face.

    python examples/make_pebble.py
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.spatial import ConvexHull

__all__ = ["main", "pebble"]

Floats = npt.NDArray[np.float64]
Faces = list[list[int]]

FACES = 60
HALF_AXES = np.array([450.0, 390.0, 330.0])  # mm
BLUNT_END = np.array([0.6, 0.64, 0.48])  # the egg is 20 mm fuller this way, and flatter the other
SEED = 20  # of the disturbance: of the first 45 the one with the longest shortest edge
ROUNDS = 100


def main() -> None:
    """Write the file beside this script."""
    corners, faces = pebble()
    path = Path(__file__).resolve().parent / "meshes" / "river-pebble.obj"
    path.parent.mkdir(exist_ok=True)
    lines = ["# River pebble: 60 faces, three edges at every corner, mm (examples/make_pebble.py)"]
    lines += ["v " + " ".join(f"{c:.5f}" for c in corner) for corner in corners]
    lines += ["f " + " ".join(str(v + 1) for v in face) for face in faces]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")


def pebble() -> tuple[Floats, Faces]:
    """Return corners (V, 3) in mm and faces, anticlockwise seen from outside."""
    normals = _spiral()
    for _ in range(ROUNDS):
        corners, faces = _cut(normals)
        slide = np.array([_middle(corners[face]) for face in faces]) - _touching(normals)
        normals = _unit(normals + 0.5 * slide / _reach(normals)[:, None])
    return _cut(normals)


def _spiral() -> Floats:
    turn = np.pi * (3.0 - np.sqrt(5.0))
    steps = np.arange(FACES) + 0.5
    z = 1.0 - 2.0 * steps / FACES
    flat = np.sqrt(1.0 - z**2)
    even = np.stack([flat * np.cos(turn * steps), flat * np.sin(turn * steps), z], axis=1)
    return _unit(even + np.random.default_rng(SEED).normal(size=even.shape) * 0.15)


def _reach(normals: Floats) -> Floats:
    """Return how far from the origin (mm) the plane with each unit normal touches the egg."""
    egg: Floats = np.linalg.norm(normals * HALF_AXES, axis=1)
    egg += 20.0 * (normals @ BLUNT_END) ** 3 + 30.0 * normals.prod(axis=1)
    return egg


def _touching(normals: Floats) -> Floats:
    """Return the points where the planes touch: the gradient of reach, taken to any length."""

    def long_reach(vectors: Floats) -> Floats:
        lengths: Floats = np.linalg.norm(vectors, axis=1)
        return lengths * _reach(vectors / lengths[:, None])

    step = 1e-5
    sides = [long_reach(normals + step * e) - long_reach(normals - step * e) for e in np.eye(3)]
    return np.stack(sides, axis=1) / (2.0 * step)


def _cut(normals: Floats) -> tuple[Floats, Faces]:
    """Return the solid inside all planes: its corners are the planes of the polar points' hull."""
    hull = ConvexHull(normals / _reach(normals)[:, None])
    corners: Floats = hull.equations[:, :3] / -hull.equations[:, 3:]
    faces = []
    for k, normal in enumerate(normals):
        around = np.flatnonzero((hull.simplices == k).any(axis=1))
        spokes = corners[around] - corners[around].mean(axis=0)
        angles = np.arctan2(spokes @ np.cross(normal, spokes[0]), spokes @ spokes[0])
        faces.append(around[np.argsort(angles)].tolist())
    return corners, faces


def _middle(ring: Floats) -> Floats:
    """Return the centroid of area of a flat convex polygon (k, 3)."""
    mean = ring.mean(axis=0)
    first, second = ring - mean, np.roll(ring, -1, axis=0) - mean
    weights = np.linalg.norm(np.cross(first, second), axis=1)
    centroid: Floats = mean + weights @ (first + second) / (3.0 * weights.sum())
    return centroid


def _unit(rows: Floats) -> Floats:
    unit: Floats = rows / np.linalg.norm(rows, axis=1)[:, None]
    return unit


if __name__ == "__main__":
    main()
