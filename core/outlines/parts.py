# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Congruent outlines are one part: found by the sequence of edges and turns, flips noted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from ..tolerance import TOLERANCES

__all__ = ["PartShapes", "part_mark", "part_shapes"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class PartShapes:
    """Which outline is which part.

    outlines : of the parts, each in its own frame: long side along x, lower left corner at (0, 0)
    part : (M,) int, the part of each given outline
    plane_from_part : (M, 4, 4) proper rigid transforms; a flipped one turns the sheet over
    flipped : (M,) bool
    flaps : of each given outline, what is bent out of the plane (corners (4, 2), the fold first),
        in its part's frame; empty where nothing is bent
    """

    outlines: tuple[Polygon, ...]
    part: npt.NDArray[np.intp]
    plane_from_part: Floats
    flipped: npt.NDArray[np.bool_]
    flaps: tuple[tuple[Floats, ...], ...]

    def flaps_of(self, part: int) -> tuple[Floats, ...]:
        """Return the flaps of a part: those of its first outline."""
        return self.flaps[int(np.flatnonzero(self.part == part)[0])]


def part_mark(index: int) -> str:
    """Return A, B, ... Z, AA, AB ... for 0, 1, ... 25, 26, 27 ..."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def part_shapes(
    outlines: Sequence[Polygon],
    one_sided: bool = False,
    flaps: Sequence[Sequence[Floats]] | None = None,
) -> PartShapes:
    """Gather congruent outlines (within 0.01 mm at every corner) into parts.

    A mirror image is the same part turned over, unless the sheet is one-sided.
    flaps : of each outline, what is bent (corners (4, 2) each); None: nothing
    """
    shapes: list[Polygon] = []
    part = np.zeros(len(outlines), dtype=np.intp)
    flipped = np.zeros(len(outlines), dtype=bool)
    transforms = np.zeros((len(outlines), 4, 4))
    buckets: dict[tuple[int, ...], list[int]] = {}
    for i, outline in enumerate(orient(given) for given in outlines):
        size = (len(outline.exterior.coords), len(outline.interiors))
        match = None
        for p in buckets.get(size, []):
            if abs(shapes[p].area - outline.area) > TOLERANCES.same_part * outline.length:
                continue
            match = _isometry(shapes[p], outline, mirror=False)
            if match is None and not one_sided:
                match = _isometry(shapes[p], outline, mirror=True)
                flipped[i] = match is not None
            if match is not None:
                part[i] = p
                break
        if match is None:
            part[i] = len(shapes)
            buckets.setdefault(size, []).append(len(shapes))
            shape, match = _laid_straight(outline)
            shapes.append(shape)
        transforms[i] = _lifted(match, bool(flipped[i]))
    bent = flaps if flaps is not None else [()] * len(outlines)
    moved = tuple(
        tuple(_in_part(transforms[i], ring) for ring in rings) for i, rings in enumerate(bent)
    )
    return PartShapes(tuple(shapes), part, transforms, flipped, moved)


def _in_part(plane_from_part: Floats, ring: Floats) -> Floats:
    """Return points (n, 2) of a given outline's frame in that of its part."""
    moved: Floats = (ring - plane_from_part[:2, 3]) @ plane_from_part[:2, :2]
    return moved


def _laid_straight(outline: Polygon) -> tuple[Polygon, Floats]:
    """Return the outline with its long side along x and corner at 0, and (3, 3) plane from part."""
    box = np.asarray(shapely.minimum_rotated_rectangle(outline).exterior.coords)
    sides = np.diff(box, axis=0)[:2]
    x = sides[np.argmax(np.linalg.norm(sides, axis=1))]
    x = x / np.linalg.norm(x)
    turn = np.array([x, [-x[1], x[0]]])
    corner = (np.asarray(outline.exterior.coords) @ turn.T).min(axis=0)
    plane_from_part = np.eye(3)
    plane_from_part[:2, :2] = turn.T
    plane_from_part[:2, 2] = turn.T @ corner
    shape = shapely.transform(outline, lambda points: points @ turn.T - corner)
    return orient(shape), plane_from_part


def _lifted(flat: Floats, flipped: bool) -> Floats:
    """Turn a (3, 3) planar isometry into a (4, 4) proper rigid transform."""
    solid = np.eye(4)
    solid[:2, :2] = flat[:2, :2]
    solid[:2, 3] = flat[:2, 2]
    solid[2, 2] = -1.0 if flipped else 1.0
    return solid


def _isometry(shape: Polygon, outline: Polygon, mirror: bool) -> Floats | None:
    """Return the (3, 3) planar isometry that carries `shape` onto `outline`, or None."""
    source = np.asarray(shape.exterior.coords)[:-1]
    target = np.asarray(outline.exterior.coords)[:-1]
    if mirror:
        source = source[::-1] * (1.0, -1.0)
    a, b = _word(source), _word(target)
    n = len(a)
    rolls = (np.arange(n)[:, None] + np.arange(n)) % n
    off = np.abs(a[rolls] - b[None]).max(axis=(1, 2))
    for start in np.argsort(off)[:4]:
        if off[start] > 20 * TOLERANCES.same_part:
            break
        moved = np.roll(source, -int(start), axis=0)
        flat = _best_motion(moved, target)
        if mirror:
            flat = flat @ np.diag([1.0, -1.0, 1.0])
        if _agrees(shape, outline, flat):
            return flat
    return None


def _word(ring: Floats) -> Floats:
    """Describe a ring independent of its place: (n, 2) edge length and signed turn times length."""
    edge = np.roll(ring, -1, axis=0) - ring
    length = np.linalg.norm(edge, axis=1)
    after = np.roll(edge, -1, axis=0)
    cross = edge[:, 0] * after[:, 1] - edge[:, 1] * after[:, 0]
    return np.column_stack([length, cross / np.maximum(length, 1e-9)])


def _best_motion(source: Floats, target: Floats) -> Floats:
    """Least-squares proper planar motion (3, 3) from source to target (Kabsch)."""
    from_mean, to_mean = source.mean(axis=0), target.mean(axis=0)
    p, q = source - from_mean, target - to_mean
    angle = np.arctan2((p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]).sum(), (p * q).sum())
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    motion = np.eye(3)
    motion[:2, :2] = turn
    motion[:2, 2] = to_mean - turn @ from_mean
    return motion


def _agrees(shape: Polygon, outline: Polygon, flat: Floats) -> bool:
    """Tell whether every corner, of the holes too, comes to lie on one within the tolerance."""
    moved = shapely.get_coordinates(shape) @ flat[:2, :2].T + flat[:2, 2]
    wanted = shapely.get_coordinates(outline)
    apart = np.abs(moved[:, None] - wanted[None]).max(axis=2)
    return bool(
        apart.min(axis=1).max() < TOLERANCES.same_part
        and apart.min(axis=0).max() < TOLERANCES.same_part
    )
