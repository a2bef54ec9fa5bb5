# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The way out of a body that is free of its joints: straight where it can be, else by turning too.

First many directions are looked at in one go (screens.py), and the likely ones proved. Where none
goes, a tree of poses grows from the place where the joints are open: random poses are steered to,
step by step, each step proved clear (room.py), and from new poses straight ways out are tried again
(rapidly exploring random tree; LaValle and Kuffner, Randomized kinodynamic planning, Int. J.
Robotics Research 20, 2001, from memory). Seeds are fixed, so that equal designs get equal plans.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from .passing import Standing
from .room import Room
from .screens import Screens, skeleton

__all__ = ["Growth", "sphere_ways"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_STEP = 90.0  # mm that a point moves at most from pose to pose of the tree
_AT_ONCE = 12  # poses that are steered to in one round
_BARREN = 4  # rounds that are done at once after one in which the tree did not grow
_EXITS = 4  # poses in a round from which straight ways out are tried
_PROVED = 4  # straight ways that are proved for a pose, at most


def sphere_ways(count: int) -> Floats:
    """Return unit vectors (count, 3) spread evenly: a spiral of golden angles."""
    k = np.arange(count) + 0.5
    z = 1.0 - 2.0 * k / count
    angle = np.pi * (1.0 + 5.0**0.5) * k
    radius = np.sqrt(1.0 - z * z)
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle), z])


_SPHERE = sphere_ways(64)


class _Tree:
    def __init__(self, seeds: Floats) -> None:
        self.poses = seeds
        self.parents = np.full(len(seeds), -1, dtype=np.intp)

    def add(self, poses: Floats, parents: Ints) -> Ints:
        first = len(self.poses)
        self.poses = np.concatenate([self.poses, poses])
        self.parents = np.concatenate([self.parents, parents])
        return np.arange(first, len(self.poses))

    def back(self, node: int) -> list[int]:
        """Return the nodes from a seed to this one."""
        way = [node]
        while self.parents[way[-1]] >= 0:
            way.append(int(self.parents[way[-1]]))
        return way[::-1]


class Growth:
    """A tree of poses that grows from the place where a body's joints are open; it can go on."""

    def __init__(
        self,
        standing: Standing,
        screens: Screens,
        room: Room,
        movers: Sequence[int],
        still: Sequence[int],
        seeds: Floats,
        away: Floats,
        far: float,
        open_at: Sequence[tuple[int, Floats, float]] = (),
    ) -> None:
        """Begin at some poses.

        seeds : (s, 7) poses that are proved to be reached: shift of the pivot, quaternion
        away : (3,) from the middle of what stands to the body; far : mm, a shift that brings the
        body outside from anywhere; open_at : see `Screens.cut`
        """
        self.screens, self.room, self.still = screens, room, still
        self.away, self.far, self.open_at = away, far, open_at
        self.random = np.random.default_rng(20260727)
        self.points = skeleton(standing, movers)  # (k, 2, 3)
        self.seen: Counter[int] = Counter()  # how often plates were in the way
        self.rounds = 0
        gaps, nearest = room.gaps(seeds[:, :3], seeds[:, 3:])
        good = np.flatnonzero(gaps > 0.6)
        if not len(good):
            self.seen.update(nearest[nearest >= 0].tolist())
        self.tree = _Tree(seeds[good])
        flat = self.points.reshape(-1, 3) - self.points.mean(axis=(0, 1))
        self.along = np.linalg.svd(flat, full_matrices=False)[2]
        self.home = standing.balls[list(movers)].mean(axis=0)
        self.middle = self.home - away
        outer = np.linalg.norm(standing.balls[list(still)] - self.middle, axis=1)
        self.outer = float((outer + standing.radii[list(still)]).max())
        self.fresh = np.arange(len(good))

    def until(self, rounds: int) -> Floats | None:
        """Grow until so many rounds are done; return poses (k, 7) from a seed to outside, or None.

        Where it returns None, `seen` tells which plates were hit how often.
        """
        while self.rounds < rounds and len(self.tree.poses):
            out = _straight_out(
                self.tree,
                self.fresh[:_EXITS],
                self.room,
                self.screens,
                self.points,
                self.still,
                self.along,
                self.away,
                self.far,
                self.open_at,
                self.seen,
            )
            if out is not None:
                node, end = out
                way = self.tree.back(node)
                found: Floats = np.concatenate([self.tree.poses[way], end[None]])
                return found
            once = 1 if len(self.fresh) else min(_BARREN, rounds - self.rounds)
            self.fresh = _grown(
                once * _AT_ONCE,
                self.tree,
                self.room,
                self.screens,
                self.points,
                self.still,
                self.random,
                self.home,
                self.middle,
                self.outer,
                self.away,
                self.open_at,
                self.seen,
            )
            self.rounds += once
        return None


def _straight_out(
    tree: _Tree,
    nodes: Ints,
    room: Room,
    screens: Screens,
    points: Floats,
    still: Sequence[int],
    along: Floats,
    away: Floats,
    far: float,
    open_at: Sequence[tuple[int, Floats, float]],
    seen: Counter[int],
) -> tuple[int, Floats] | None:
    """Try straight ways out from some poses; return the pose and where it ends."""
    size = float(np.linalg.norm(away))
    for node in nodes.tolist():
        pose = tree.poses[node]
        turn = Rotation.from_quat(pose[3:]).as_matrix()
        own = along @ turn.T
        ways = np.concatenate([own, -own, _SPHERE])
        if size > 1e-6:  # the middles of concentric rings give no direction
            ways = np.concatenate([ways, away[None] / size])
        moved = (points[:, 0] - room.pivot) @ turn.T + room.pivot + pose[:3]
        starts = np.broadcast_to(moved, (len(ways), *moved.shape))
        blocked = screens.cut(starts, starts + far * ways[:, None], still, open_at)
        seen.update(blocked[blocked >= 0].tolist())
        open_ways = ways[blocked < 0]
        if not len(open_ways):
            continue
        open_ways = open_ways[np.argsort(-(open_ways @ away), kind="stable")][:_PROVED]
        ends = np.tile(pose, (len(open_ways), 1))
        ends[:, :3] += far * open_ways
        free, blocker = room.clear(np.tile(pose, (len(open_ways), 1)), ends)
        seen.update(blocker[blocker >= 0].tolist())
        if free.any():
            return node, ends[int(np.argmax(free))]
    return None


def _grown(
    count: int,
    tree: _Tree,
    room: Room,
    screens: Screens,
    points: Floats,
    still: Sequence[int],
    random: np.random.Generator,
    home: Floats,
    middle: Floats,
    outer: float,
    away: Floats,
    open_at: Sequence[tuple[int, Floats, float]],
    seen: Counter[int],
) -> Ints:
    """Steer to so many random poses; return the new nodes, those farthest outside first."""
    # Places in the ball of what stands, half of them near the body; turns of all sizes.
    place = random.normal(size=(count, 3))
    place /= np.linalg.norm(place, axis=1)[:, None]
    near = random.random(count) < 0.5
    place *= (np.where(near, 0.4 * outer, 1.3 * outer) * random.random(count) ** (1 / 3))[:, None]
    goal = np.where(near[:, None], place + home, place + middle) - home
    axis = random.normal(size=(count, 3))
    axis /= np.linalg.norm(axis, axis=1)[:, None]
    angle = np.pi * random.random(count) ** 2
    turns = Rotation.from_rotvec(axis * angle[:, None]).as_quat()
    goals = np.concatenate([goal, turns], axis=1)
    dots = np.abs(goals[:, 3:] @ tree.poses[:, 3:].T)
    apart = np.linalg.norm(goals[:, None, :3] - tree.poses[None, :, :3], axis=2)
    apart += 2.0 * np.arccos(np.clip(dots, 0.0, 1.0)) * room.arm * 0.5
    parent = apart.argmin(axis=1)
    starts = tree.poses[parent]
    run = room.run(starts, goals)
    share = np.minimum(1.0, _STEP / np.maximum(run, 1e-9))
    ends = _steered(starts, goals, share)
    rotation = Rotation.from_quat(ends[:, 3:]).as_matrix()
    moved = np.einsum("nij,ksj->nksi", rotation, points - room.pivot)
    moved = moved + (room.pivot + ends[:, :3])[:, None, None]
    cut = screens.cut(moved[:, :, 0], moved[:, :, 1], still, open_at)
    seen.update(cut[cut >= 0].tolist())
    kept = np.flatnonzero(cut < 0)
    if not len(kept):
        return kept
    free, blocker = room.clear(starts[kept], ends[kept])
    seen.update(blocker[blocker >= 0].tolist())
    kept = kept[free]
    new = tree.add(ends[kept], parent[kept])
    outward = np.linalg.norm(ends[kept, :3] + home - middle, axis=1)
    return new[np.argsort(-outward, kind="stable")]


def _steered(starts: Floats, goals: Floats, share: Floats) -> Floats:
    """Return poses a share of the way from starts to goals, (n, 7)."""
    one, two = starts[:, 3:], goals[:, 3:].copy()
    two[(one * two).sum(axis=1) < 0.0] *= -1.0
    relative = Rotation.from_quat(two) * Rotation.from_quat(one).inv()
    turn = Rotation.from_rotvec(share[:, None] * relative.as_rotvec()) * Rotation.from_quat(one)
    shift = starts[:, :3] + share[:, None] * (goals[:, :3] - starts[:, :3])
    return np.concatenate([shift, turn.as_quat()], axis=1)
