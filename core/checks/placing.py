# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""All rigid placements of a body in which every joint that waits for it closes.

One open joint is enough to start from: whatever goes in must close it, with one of the body's own
tabs, slots or laps, in one of the few ways in which such a pair can meet. Distances between the
joints, which no motion changes, sort out nearly all of these before play is reckoned with.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .mates import (
    JointSizeTable,
    MateKind,
    Mates,
    compatible,
    mate_frames,
    meeting_poses,
    most_play,
)
from .seating import play_boxes, seated

__all__ = ["Bodies", "Placement", "placements", "torn"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

#: Rounding of the distances between mates, mm.
_ROUNDING = 1e-3
#: The same where the body may stand a little tilted against the box of its play, mm.
_TILTED = 0.05
#: How far play in one joint may turn a body, rad: wider than any slot allows a tab to turn.
_TURN = 0.04
#: Cosine of the angle between two lines that play could still bring together (about 6 degrees).
_SAME_LINE = 0.995


@dataclass(frozen=True, slots=True, eq=False)
class Bodies:
    """The bodies to be tried, padded to the largest number n of mates.

    mates : of each body, where it stands at home; size : (B,) int, how many
    kind, joint : (B, n) int; apart : (B, n, n) mm between mates
    frames : (B, n, 3, 4), see `mate_frames`
    """

    mates: tuple[Mates, ...]
    size: Ints
    kind: Ints
    joint: Ints
    apart: Floats
    frames: Floats

    @classmethod
    def of(cls, mates: Sequence[Mates]) -> Bodies:
        """Gather bodies."""
        size = np.array([len(one) for one in mates], dtype=np.intp)
        most = int(size.max(initial=0))
        kind = np.zeros((len(mates), most), dtype=np.intp)
        joint = np.zeros((len(mates), most), dtype=np.intp)
        apart = np.full((len(mates), most, most), 1e9)
        frames = np.zeros((len(mates), most, 3, 4))
        for b, one in enumerate(mates):
            n = len(one)
            kind[b, :n], joint[b, :n] = one.kind, one.joint
            apart[b, :n, :n] = np.linalg.norm(one.point[:, None] - one.point[None], axis=2)
            frames[b, :n] = mate_frames(one)
        return cls(tuple(mates), size, kind, joint, apart, frames)


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """A body brought to a place where it goes in.

    body : its number
    brought : (4, 4) motion from home that sets it there middle on middle; seated : the motion in
        which it sits with the most play. Mirroring ones carry a mirror-image body.
    matches : (mate of the body, open mate) of each joint that closes
    """

    body: int
    brought: Floats
    seated: Floats
    matches: tuple[tuple[int, int], ...]


def placements(
    bodies: Bodies, open_: Mates, sizes: JointSizeTable, mirrored: bool = False
) -> Iterator[Placement]:
    """Yield every placement of every body in which all open mates are met, and the joints fit.

    Whether the body then runs into something is not looked at.
    mirrored : place the bodies' mirror images
    """
    if not len(open_) or not bodies.size.any():
        return
    pair = bodies.kind[:, :, None], bodies.joint[:, :, None], open_.kind, open_.joint
    allowed = compatible(*pair, sizes)
    allowed &= (np.arange(bodies.kind.shape[1]) < bodies.size[:, None])[:, :, None]
    play = most_play(*pair, sizes)
    first = int(allowed.sum(axis=(0, 1)).argmin())
    body, mate = np.nonzero(_hopeful(bodies, open_, play, allowed, first))
    if not len(body):
        return
    poses, row = _poses(bodies, body, mate, open_, first, sizes, mirrored)
    near = _near(bodies, body[row], mate[row], poses, open_, first, allowed, play)
    for k in np.flatnonzero(near).tolist():
        b, f = int(body[row[k]]), int(mate[row[k]])
        there = bodies.mates[b].moved(poses[k])
        able, room = allowed[b, : len(there)], play[b, : len(there)]
        matches = _matched(there, f, open_, first, able, room, sizes)
        if matches is None:
            continue
        motion = seated(there, open_, matches, sizes)
        if motion is not None:
            yield Placement(b, poses[k], motion @ poses[k], matches)


def _hopeful(bodies: Bodies, open_: Mates, play: Floats, allowed: Bools, first: int) -> Bools:
    """Return (B, n): the mate could meet open mate `first`, and others lie as far off as needed."""
    hopeful = allowed[:, :, first].copy()
    for g in range(len(open_)):
        if g == first:
            continue
        apart = float(np.linalg.norm(open_.point[g] - open_.point[first]))
        room = play[:, :, None, first] + play[:, None, :, g] + _ROUNDING
        fits = np.abs(bodies.apart - apart) <= room
        hopeful &= (fits & allowed[:, None, :, g]).any(axis=2)
    return hopeful


def _poses(
    bodies: Bodies,
    body: Ints,
    mate: Ints,
    open_: Mates,
    g: int,
    sizes: JointSizeTable,
    mirrored: bool,
) -> tuple[Floats, Ints]:
    """Return all motions (K, 4, 4) that bring mates to open mate `g`, and which of them each does.

    A plate stands in a slot at the angle of the slot or at its own tab's; only if these differ by
    more than play does it make a difference.
    """
    kind = MateKind(int(bodies.kind[body[0], mate[0]]))
    frames = bodies.frames[body, mate]
    own = sizes.angle[bodies.joint[body, mate]]
    wanted = np.full(len(body), sizes.angle[open_.joint[g]])
    poses, fresh = meeting_poses(kind, frames, wanted, open_, g, mirrored)
    more, also = meeting_poses(kind, frames, own, open_, g, mirrored)
    also &= (np.abs(own - wanted) > _TURN / 2)[:, None]
    poses, keep = np.concatenate([poses, more], axis=1), np.concatenate([fresh, also], axis=1)
    return poses[keep], np.nonzero(keep)[0]


def _near(
    bodies: Bodies,
    body: Ints,
    mate: Ints,
    poses: Floats,
    open_: Mates,
    first: int,
    allowed: Bools,
    play: Floats,
) -> Bools:
    """Return (K,): after the motion every open mate has a mate of the body within play's reach."""
    moved = np.einsum("kij,knj->kni", poses[:, :3, :3], bodies.frames[body, :, :, 3])
    moved += poses[:, None, :3, 3]
    far = np.linalg.norm(open_.point - open_.point[first], axis=1)
    near = np.ones(len(body), dtype=bool)
    for g in range(len(open_)):
        gap = np.linalg.norm(moved - open_.point[g], axis=2)
        room = play[body, :, g] + play[body, mate, first][:, None] + _TURN * far[g] + _ROUNDING
        near &= ((gap <= room) & allowed[body, :, g]).any(axis=1)
    return near


def _matched(
    there: Mates,
    f: int,
    open_: Mates,
    first: int,
    allowed: Bools,
    play: Floats,
    sizes: JointSizeTable,
) -> tuple[tuple[int, int], ...] | None:
    """Return which mate meets each open one, the nearest that may; None if one stays open.

    allowed, play : (n, k) of the body's mates and the open ones
    """
    gap = np.linalg.norm(there.point[:, None] - open_.point[None], axis=2)
    far = np.linalg.norm(open_.point - open_.point[first], axis=1)
    cosine = there.along @ open_.along.T
    lap = (there.kind == MateKind.LAP)[:, None]
    able = allowed & np.where(lap, cosine < -_SAME_LINE, np.abs(cosine) > _SAME_LINE)
    able &= gap <= play + play[f, first] + _TURN * far + _ROUNDING
    mates = np.where(able, gap, np.inf).argmin(axis=0)
    mates[first] = f
    k = np.arange(len(mates))
    if not able[mates, k].all() or len(np.unique(mates)) < len(mates):
        return None
    matches = tuple(zip(mates.tolist(), k.tolist(), strict=True))
    return None if torn(there, open_, matches, sizes) else matches


def torn(
    there: Mates, open_: Mates, matches: Sequence[tuple[int, int]], sizes: JointSizeTable
) -> bool:
    """Tell whether two ends of tabs would have to lie farther apart, or nearer, than they do.

    No motion changes the distances in a body; each end may lie anywhere in the box of its play.
    """
    mates, waiting = (list(rows) for rows in zip(*matches, strict=True))
    middle, axes, half = play_boxes(there, open_, matches, sizes)
    tabs = np.minimum(sizes.tab_width[there.joint[mates]], sizes.tab_width[open_.joint[waiting]])
    own, theirs = there.along[mates], open_.along[waiting]
    turned = np.sign(np.einsum("ki,ki->k", own, theirs))[:, None] * theirs
    mine = _ends(there.point[mates], own, tabs / 2)
    aims = _ends(middle, turned, tabs / 2)
    aim = aims[:, None] - aims[None]
    wanted = np.linalg.norm(aim, axis=2)
    way = aim / np.maximum(wanted, 1e-9)[:, :, None]
    # How far the box of end a reaches towards end b.
    turn, side = np.tile(axes, (2, 1, 1)), np.tile(half, (2, 1))
    reach = np.einsum("abj,aj->ab", np.abs(np.einsum("abi,aji->abj", way, turn)), side)
    apart = np.linalg.norm(mine[:, None] - mine[None], axis=2)
    return bool((np.abs(apart - wanted) > reach + reach.T + _TILTED).any())


def _ends(point: Floats, along: Floats, half: Floats) -> Floats:
    return np.concatenate([point - half[:, None] * along, point + half[:, None] * along])
