# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is in the way of plates that are pulled apart, while others stand aside already.

Every move of an exploded view is straight, and so is the motion of one plate as another one sees
it. So one exact sweep (passing.py) for each pair and each leg covers all factors in between.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from ..outlines.finish import without_flaps
from ..results import Build, Sprung
from .bodies import Body, body_of
from .passing import Standing, overlapping

__all__ = ["Move", "Room"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Pair = tuple[int, int]

_DEEPER = -1e-3  # a leg that turns against a joint's own way out by more drives it deeper


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """One straight leg of some plates.

    plates : that move as one; start, end : (3,) mm, their displacement from their places
    sprung : joints whose zones are left out, because the plan bends a plate there
    """

    plates: Sequence[int]
    start: Floats
    end: Floats
    sprung: Sequence[int] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """All plates as solids, and the places where joints are sprung.

    middles (P, 3), halves (P, 3, 3) : mm, a box round each plate, its half axes
    bit : (plate, joint) to the bit of that joint's zone on that plate
    out : (J, 3) unit vectors, the way that the first plate of a joint leaves the second
    ends : the two plates of each joint
    """

    standing: Standing
    middles: Floats
    halves: Floats
    bit: dict[Pair, int]
    out: Floats
    ends: tuple[Pair, ...]

    @classmethod
    def of(cls, build: Build, springs: Iterable[Sprung] = ()) -> Room:
        """Make the solids of a build; springs : those of its plan, with their zones."""
        zones = {spring.joint: spring.zone for spring in springs}
        of_plate: list[list[int]] = [[] for _ in build.plates]
        for joint in sorted(zones):
            for end in build.joints[joint].plates:
                of_plate[end].append(joint)
        bit: dict[Pair, int] = {}
        bodies: list[Body] = []
        known: dict[tuple[object, ...], Body] = {}
        for p, plate in enumerate(build.plates):
            pose = plate.world_from_part
            centres = np.array([build.joints[j].centre for j in of_plate[p]]).reshape(-1, 3)
            local = (centres - pose[:3, 3]) @ pose[:3, :2]
            radii = [zones[j] for j in of_plate[p]]
            bit.update({(p, j): 1 << k for k, j in enumerate(of_plate[p])})
            key = (plate.part, *np.round(local, 1).ravel().tolist(), *np.round(radii, 1).tolist())
            if key not in known:
                part = build.parts[plate.part]
                flat = without_flaps(part.outline, part.flaps)
                known[key] = body_of(flat, part.thickness, local, radii)
            bodies.append(known[key])
        world = np.array([plate.world_from_part for plate in build.plates])
        boxes = {id(body): _box(body) for body in bodies}
        middles = np.array([boxes[id(body)][0] for body in bodies])
        halves = np.array([boxes[id(body)][1] for body in bodies])
        turns = world[:, :3, :3]
        return cls(
            Standing.of(bodies, world),
            np.einsum("pij,pj->pi", turns, middles) + world[:, :3, 3],
            np.einsum("pij,pkj->pki", turns, halves),
            bit,
            -np.array([joint.insertion for joint in build.joints]).reshape(-1, 3),
            tuple(joint.plates for joint in build.joints),
        )

    def first(
        self, move: Move, others: Ints, shifts: Floats, wary: Collection[Pair] = ()
    ) -> Pair | None:
        """Return a pair (mover, other) that shares room on the way; None: the move passes all.

        others : (n,) plates; shifts : (n, 3) mm, of others from their places
        wary : pairs to try first
        """
        return next(self._hits(move, others, shifts, wary), None)

    def met(self, move: Move, others: Ints, shifts: Floats) -> list[Pair]:
        """Return every pair (mover, other) that shares room on the way."""
        return list(self._hits(move, others, shifts))

    def bends(self, move: Move, joint: int) -> bool:
        """Tell whether a sprung joint's plates share room on the way when nothing is bent."""
        mover, other = self._sides(move, joint)
        return (
            self.standing.meets(mover, other, move.start, move.end)
            and self._leaves(move, joint) >= _DEEPER
        )

    def _hits(
        self, move: Move, others: Ints, shifts: Floats, wary: Collection[Pair] = ()
    ) -> Iterator[Pair]:
        """Yield the pairs that share room, the likeliest first."""
        left_out: dict[Pair, int] = {}
        for joint in move.sprung:
            if self._leaves(move, joint) >= _DEEPER:
                pair = self._sides(move, joint)
                left_out[pair] = left_out.get(pair, 0) | self.bit[pair[1], joint]
        rows = {int(b): k for k, b in enumerate(others.tolist())} if wary else {}
        for a, b in wary:
            if b in rows and self._meet(move, a, b, shifts[rows[b]], left_out):
                yield a, b
        for a, k in self._near(move, others, shifts).tolist():
            b = int(others[k])
            if (a, b) not in wary and self._meet(move, a, b, shifts[k], left_out):
                yield a, b

    def _meet(self, move: Move, a: int, b: int, shift: Floats, left_out: dict[Pair, int]) -> bool:
        """Tell whether a plate on a move shares room with another one that has moved by shift."""
        start, end = move.start - shift, move.end - shift
        return self.standing.blocker([a], [b], start, end, left_out) is not None

    def _near(self, move: Move, others: Ints, shifts: Floats) -> Ints:
        """Return (mover, row of others) whose balls and boxes meet, the nearest first."""
        movers = np.array(move.plates, dtype=np.intp)
        balls, radii = self.standing.balls, self.standing.radii
        way = move.end - move.start
        apart = (balls[others] + shifts)[None] - balls[movers][:, None] - move.start
        square = float(way @ way)
        share = (
            np.clip(apart @ way / square, 0.0, 1.0) if square > 0.0 else np.zeros(apart.shape[:2])
        )
        gap = np.linalg.norm(apart - share[:, :, None] * way, axis=2)
        reach = radii[movers][:, None] + radii[others][None]
        i, k = np.nonzero(gap < reach)
        order = np.argsort(gap[i, k] / reach[i, k], kind="stable")
        i, k = movers[i[order]], k[order]
        b = others[k]
        meet = overlapping(
            (self.middles[i] + move.start - shifts[k])[:, None],
            self.halves[i],
            self.middles[b][:, None],
            self.halves[b],
            np.broadcast_to(way, (len(i), 3)),
        )
        return np.column_stack([i, k])[meet]

    def _sides(self, move: Move, joint: int) -> Pair:
        """Return a joint's plate that moves, then the other."""
        a, b = self.ends[joint]
        return (a, b) if a in move.plates else (b, a)

    def _leaves(self, move: Move, joint: int) -> float:
        """Return how much of a leg runs along the joint's own way out, -1 to 1."""
        way = move.end - move.start
        length = float(np.linalg.norm(way))
        sign = 1.0 if self.ends[joint][0] in move.plates else -1.0
        return sign * float(way @ self.out[joint]) / length if length > 0.0 else 0.0


def _box(body: Body) -> tuple[Floats, Floats]:
    """Return middle (3,) and half axes (3, 3) of a box round a part, in its own frame, mm."""
    flat = body.triangles[:, :, :2].reshape(-1, 2)
    ring = shapely.get_coordinates(shapely.oriented_envelope(shapely.MultiPoint(flat)))
    along, across = (ring[1] - ring[0]) / 2, (ring[3] - ring[0]) / 2
    halves = np.array([[*along, 0.0], [*across, 0.0], body.rise])
    return np.array([*(ring[0] + along + across), 0.0]), halves
