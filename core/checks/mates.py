# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Tabs, slots and laps in space, as arrays: what of one plate could meet what of another, and how.

A flat cut is the same from both sides of its sheet. So a tab goes into a slot in four ways at 90
degrees (its line turned round or not, from either side), and in eight at an oblique angle, where
the slot also takes the plate that leans the other way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from ..fit.fish_plate import FishPlateSizes
from ..fit.sizes import Sizes
from ..joints.classes import JointClass
from ..joints.features import MotifFeatures

__all__ = [
    "LAP_OPEN",
    "LEVEL",
    "JointSizeTable",
    "MateKind",
    "Mates",
    "compatible",
    "mate_frames",
    "mates_of",
    "meeting_poses",
    "most_play",
]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

_FITS = 1e-6  # mm; rounding
#: A cross-lap that stays open by less than this (mm) counts as seated.
LAP_OPEN = 1.0
#: Strips of a splice that lie this level (mm) are in one plane for hands: a tenth of thin sheet.
LEVEL = 0.1


class MateKind(IntEnum):
    """What a mate is; a tab meets a slot, a lap another lap.

    In one plane a key meets a socket, and an end under a fish plate another such end.
    """

    TAB = 0
    SLOT = 1
    LAP = 2
    KEY = 3
    SOCKET = 4
    BUTT = 5

    @property
    def in_plane(self) -> bool:
        """Whether it joins two plates of one plane."""
        return self >= MateKind.KEY


@dataclass(frozen=True, slots=True, eq=False)
class JointSizeTable:
    """Sizes of C joint classes as arrays (C,), mm and radians; those of other kinds are 0.

    tab_width, slot_length : of a splice the neck of its key, and that of its socket
    key_length : of a splice's key, mm; aside, apart : the ways that a splice's two strips can move
        beside each other, and apart
    shift : how far the tab's and the slot's middle lie along the line from where the mates say;
        keying moves them
    thickness, clearance, pin_half (half a pin's length), pin_play : of the whole design, mm
    """

    angle: Floats
    tab_width: Floats
    slot_length: Floats
    slot_width: Floats
    shoulder: Floats
    lap_width: Floats
    key_length: Floats
    aside: Floats
    apart: Floats
    shift: Floats
    thickness: float
    clearance: float
    pin_half: float
    pin_play: float

    @classmethod
    def of(cls, classes: Sequence[JointClass], sizes: Sizes) -> JointSizeTable:
        """Gather the sizes of all joint classes."""
        names = ("tab_width", "slot_length", "slot_width", "shoulder")
        tenon = [
            np.array([0.0 if c.tenon is None else getattr(c.tenon, name) for c in classes])
            for name in names
        ]
        neck, length, aside, apart = np.array([_splice_row(c) for c in classes]).reshape(-1, 4).T
        flat = np.array([c.splice is not None for c in classes], dtype=bool)
        return cls(
            # Plates in one plane have no such angle; a right one keeps the formulas finite.
            np.radians(np.where(flat, 90.0, [c.angle_deg for c in classes])),
            tenon[0] + neck,
            tenon[1] + np.where(neck > 0, neck + 2 * sizes.clearance, 0.0),
            tenon[2],
            tenon[3],
            np.array([c.lap_width for c in classes]),
            length,
            aside,
            apart,
            np.zeros(len(classes)),
            sizes.thickness,
            sizes.clearance,
            sizes.pin_length / 2,
            sizes.pin_play,
        )

    def reach(self, angle: Floats | float) -> Floats:
        """How far beyond the line a pin's side must lie to clear the far face of the sheet."""
        far: Floats = (self.thickness / 2 + self.pin_half * np.abs(np.cos(angle))) / np.sin(angle)
        return far

    def half_band(self, angle: Floats | float) -> Floats:
        """Half-width of the band that one sheet fills in another, see `fit.tenon.half_band`."""
        sine, cosine = np.sin(angle), np.abs(np.cos(angle))
        band: Floats = self.thickness / 2 * (1.0 + cosine) / sine
        return band


def _splice_row(joint: JointClass) -> tuple[float, float, float, float]:
    """Return neck and length of a splice's key, and its play aside and apart, mm; 0 of others."""
    splice = joint.splice
    if splice is None:
        return 0.0, 0.0, 0.0, 0.0
    if isinstance(splice, FishPlateSizes):
        return 0.0, splice.pins[-1] - splice.pins[-2], splice.play, splice.play
    return splice.neck, splice.length, splice.clearance, splice.play


@dataclass(frozen=True, slots=True, eq=False)
class Mates:
    """N tabs, slots, laps and ends of splices in world coordinates, mm.

    kind : (N,) int, `MateKind`; joint : (N,) int, index of the class; plate : (N,) int
    point : (N, 3), of a tab or slot its middle on the section line, of a lap the bottom of its slot
    along : (N, 3) unit vectors, the section line; of a lap the way in which it opens
    out : (N, 3) unit vectors in the plate's plane, square to `along`; of a tab and a key the way it
        grows, of a socket the way into it, of an end under a fish plate the way out of its strip
    normal : (N, 3) unit vectors of the plates
    depth : (N,) of a lap, from its bottom to where the overlap ends; else 0
    middle : (N, 3) where the joint's centre lies, mm; the tabs of one joint share it
    """

    kind: Ints
    joint: Ints
    plate: Ints
    point: Floats
    along: Floats
    out: Floats
    normal: Floats
    depth: Floats
    middle: Floats

    def __len__(self) -> int:
        """Return the number of mates."""
        return len(self.kind)

    def take(self, rows: npt.ArrayLike) -> Mates:
        """Return some of the mates."""
        chosen = np.asarray(rows, dtype=np.intp)
        return Mates(*(getattr(self, name)[chosen] for name in Mates.__slots__))

    def moved(self, pose: Floats) -> Mates:
        """Return the mates after a rigid motion (4, 4) of the world, a mirroring one too."""
        turn, shift = pose[:3, :3], pose[:3, 3]
        return Mates(
            self.kind,
            self.joint,
            self.plate,
            self.point @ turn.T + shift,
            self.along @ turn.T,
            self.out @ turn.T,
            self.normal @ turn.T,
            self.depth,
            self.middle @ turn.T + shift,
        )

    def shifted(self, shift: Floats) -> Mates:
        """Return the mates with tabs and slots moved along their lines by `shift` (C,) of a class.

        `along` of a tab or slot is the line of its joint class, so the two move together.
        """
        way = np.where(self.kind == MateKind.LAP, 0.0, shift[self.joint])[:, None] * self.along
        return Mates(
            self.kind,
            self.joint,
            self.plate,
            self.point + way,
            self.along,
            self.out,
            self.normal,
            self.depth,
            self.middle + way,
        )


def mates_of(
    features: MotifFeatures, classes: Sequence[JointClass], transform: Floats, plate: int
) -> Mates:
    """Return all mates of a plate.

    transform : (4, 4) world from the motif's plane; plate : its number
    """
    flat = []
    for t in features.tabs:
        for at in _places(classes[t.joint]):
            point = t.place + at * t.along
            flat.append((MateKind.TAB, t.joint, point, t.along, t.out, 0.0, t.place))
    for s in features.slots:
        across = np.array([-s.along[1], s.along[0]])
        for at in _places(classes[s.joint]):
            point = s.place + at * s.along
            flat.append((MateKind.SLOT, s.joint, point, s.along, across, 0.0, s.place))
    for p in features.laps:
        across = np.array([-p.out[1], p.out[0]])
        low, _, high = classes[p.joint].lap or (0.0, 0.0, 0.0)
        depth = (high - low) / 2 - p.bottom
        bottom = p.place + p.bottom * p.out
        flat.append((MateKind.LAP, p.joint, bottom, p.out, across, depth, p.place))
    for k in features.keys:
        splice = classes[k.joint].splice
        assert splice is not None
        point = k.place + splice.shift * k.along
        if isinstance(splice, FishPlateSizes):
            out = -k.out if k.socket else k.out
            flat.append((MateKind.BUTT, k.joint, point, k.along, out, 0.0, k.place))
        else:
            kind = MateKind.SOCKET if k.socket else MateKind.KEY
            flat.append((kind, k.joint, point, k.along, k.out, 0.0, k.place))
    turn, shift = transform[:3, :3], transform[:3, 3]
    columns = [np.array([row[k] for row in flat]).reshape(-1, 2) for k in (2, 3, 4, 6)]
    point, along, out, middle = (column @ turn[:, :2].T for column in columns)
    return Mates(
        np.array([row[0] for row in flat], dtype=np.intp),
        np.array([row[1] for row in flat], dtype=np.intp),
        np.full(len(flat), plate, dtype=np.intp),
        point + shift,
        along,
        out,
        np.tile(turn[:, 2], (len(flat), 1)),
        np.array([row[5] for row in flat], dtype=np.float64),
        middle + shift,
    )


def _places(joint: JointClass) -> tuple[float, ...]:
    """Return the middles of the tabs of a joint along its line, about its centre."""
    return (0.0,) if joint.tenon is None else joint.tenon.places


def compatible(
    kind: Ints, joint: Ints, other_kind: Ints, other_joint: Ints, sizes: JointSizeTable
) -> Bools:
    """Tell, with numpy's broadcasting, whether mates could meet as far as their sizes go."""
    tab = np.where(kind == MateKind.TAB, joint, other_joint)
    slot = np.where(kind == MateKind.TAB, other_joint, joint)
    tenon = (kind + other_kind == MateKind.SLOT) & (kind != other_kind)
    enters = tenon & (sizes.tab_width[tab] <= sizes.slot_length[slot] + _FITS)
    steepest = np.maximum(sizes.angle[tab], sizes.angle[slot])
    enters &= 2 * sizes.half_band(steepest) <= sizes.slot_width[slot] + _FITS
    lap = (kind == MateKind.LAP) & (other_kind == MateKind.LAP)
    angle = np.maximum(sizes.angle[joint], sizes.angle[other_joint])
    passes = np.minimum(sizes.lap_width[joint], sizes.lap_width[other_joint])
    splice = (kind == MateKind.BUTT) & (other_kind == MateKind.BUTT)
    keyed = (kind + other_kind == MateKind.KEY + MateKind.SOCKET) & (kind != other_kind)
    keyed &= (kind >= MateKind.KEY) & (other_kind >= MateKind.KEY)
    key = np.where(kind == MateKind.KEY, joint, other_joint)
    socket = np.where(kind == MateKind.KEY, other_joint, joint)
    keyed &= sizes.tab_width[key] <= sizes.slot_length[socket] + _FITS
    keyed &= sizes.key_length[key] <= sizes.key_length[socket] + sizes.clearance + _FITS
    found: Bools = enters | (lap & (2 * sizes.half_band(angle) <= passes + _FITS))
    found = found | splice | keyed
    return found


def most_play(
    kind: Ints, joint: Ints, other_kind: Ints, other_joint: Ints, sizes: JointSizeTable
) -> Floats:
    """Return, with numpy's broadcasting, the farthest that two mates that meet may lie apart, mm.

    For tab and slot the sum of what is left along the slot, across it and through it.
    """
    tab = np.where(kind == MateKind.TAB, joint, other_joint)
    slot = np.where(kind == MateKind.TAB, other_joint, joint)
    angle = np.maximum(sizes.angle[tab], sizes.angle[slot])
    along = np.maximum(sizes.slot_length[slot] - sizes.tab_width[tab], 0.0) / 2
    across = np.maximum(sizes.slot_width[slot] / 2 - sizes.half_band(angle), 0.0)
    other = np.abs(sizes.reach(sizes.angle[tab]) - sizes.reach(sizes.angle[slot]))
    other += np.abs(sizes.shoulder[tab] - sizes.half_band(sizes.angle[slot]))
    lap = (kind == MateKind.LAP) & (other_kind == MateKind.LAP)
    wide = np.maximum(sizes.lap_width[joint], sizes.lap_width[other_joint])
    lapped = np.maximum(wide / 2 - sizes.half_band(angle), 0.0) + 2 * sizes.clearance + LAP_OPEN
    flat = (kind >= MateKind.KEY) & (other_kind >= MateKind.KEY)
    wider = np.abs(sizes.slot_length[joint] - sizes.slot_length[other_joint]) / 2
    both = np.maximum(sizes.aside + sizes.apart, 0.0)
    inside = wider + np.maximum(both[joint], both[other_joint]) + LEVEL
    play: Floats = np.where(lap, lapped, along + across + other + sizes.pin_play)
    play = np.where(flat, inside, play)
    return play


def meeting_poses(
    kind: MateKind, frames: Floats, angles: Floats, open_: Mates, g: int, mirrored: bool
) -> tuple[Floats, Bools]:
    """Return the motions of the world that bring N mates of one kind to open mate `g`.

    frames : (N, 3, 4) each mate's line, its second axis and its plate's third one as columns, and
        its point; the second axis of a tab or a splice is the way that it grows, of others the
        plate's normal
    angles : (N,) between the two planes, rad
    mirrored : bring mirror images
    Returns: motions (N, W, 4, 4), middle on middle; (N, W) bool, False: the same as an earlier one
    """
    line, out, normal = open_.along[g], open_.out[g], open_.normal[g]
    sine, cosine = np.sin(angles)[:, None], np.cos(angles)[:, None]
    if kind.in_plane:
        # Key and socket point the same way, two ends under a fish plate against each other.
        way = -out if kind is MateKind.BUTT else out
        return _flat_poses(frames, line, way, open_.point[g], mirrored)
    steep, flat = (normal, out) if kind is MateKind.TAB else (out, normal)
    signs = [(a, b) for a in (1.0, -1.0) for b in (1.0, -1.0)]
    seconds = np.stack([a * sine * steep + b * cosine * flat for a, b in signs], axis=1)
    lines = np.repeat([-line] if kind is MateKind.LAP else [line, -line], 4, axis=0)
    seconds = np.concatenate([seconds] * (len(lines) // 4), axis=1)
    thirds = np.cross(lines, seconds)
    targets = np.stack(
        [np.broadcast_to(lines, seconds.shape), seconds, -thirds if mirrored else thirds], axis=3
    )
    poses = np.zeros((len(angles), len(lines), 4, 4))
    poses[..., :3, :3] = np.einsum("nwij,nkj->nwik", targets, frames[:, :, :3])
    poses[..., :3, 3] = open_.point[g] - np.einsum(
        "nwij,nj->nwi", poses[..., :3, :3], frames[:, :, 3]
    )
    poses[..., 3, 3] = 1.0
    # Where the planes are square, the plate that leans the other way is the same plate.
    other = np.tile(np.array([b < 0 for _, b in signs]), len(lines) // 4)
    return poses, ~(other & (np.abs(np.cos(angles)) < 1e-7)[:, None])


def _flat_poses(
    frames: Floats, line: Floats, way: Floats, point: Floats, mirrored: bool
) -> tuple[Floats, Bools]:
    """Return the motions that bring mates of one plane to another: this side up or turned over."""
    poses = np.zeros((len(frames), 2, 4, 4))
    for k, along in enumerate((line, -line)):
        third = np.cross(along, way)
        target = np.stack([along, way, -third if mirrored else third], axis=1)
        poses[:, k, :3, :3] = target @ frames[:, :, :3].transpose(0, 2, 1)
    poses[..., :3, 3] = point - np.einsum("nwij,nj->nwi", poses[..., :3, :3], frames[:, :, 3])
    poses[..., 3, 3] = 1.0
    return poses, np.ones((len(frames), 2), dtype=bool)


def mate_frames(mates: Mates) -> Floats:
    """Return each mate's axes and point as `meeting_poses` wants them, (N, 3, 4)."""
    grows = (mates.kind == MateKind.TAB) | (mates.kind >= MateKind.KEY)
    second = np.where(grows[:, None], mates.out, mates.normal)
    third = np.cross(mates.along, second)
    return np.stack([mates.along, second, third, mates.point], axis=2)
