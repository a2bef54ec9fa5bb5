# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""An independent judge of wrong placements: brute force over rigid motions, with solids.

It knows a sculpture by its plates and pins alone. Every part is laid so that any one of its joints
falls on any joint of the sculpture, in all 24 ways in which two boxes fit onto each other, for the
frames of both of a joint's planes; then it is asked of solids (manifold3d), not of sizes, whether
the part is in. It goes in when it shares no room with any plate, its own tab fills each slot that
waits and the pin goes in behind, and each tab that waits stands in a hole of it with its pin.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import manifold3d
import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation
from shapely import Point, Polygon

from pinwright.core.results import Build, Joint
from tests.judges import as_manifold, shared_volume

__all__ = ["Laid", "brute_force", "same_room"]

Floats = npt.NDArray[np.float64]

_TOUCH = 0.05  # mm3; two solids that share less only touch
_AT = 3.0  # mm; a tab this near a slot's middle is the tab in that slot
_CUBE = Rotation.create_group("O").as_matrix()  # the 24 turns of a cube


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A part laid into the place of a plate; pose : world_from_part."""

    plate: int
    part: int
    pose: Floats


def brute_force(build: Build) -> list[Laid]:
    """Return every wrong placement of one part into the finished sculpture less one plate."""
    solids = [as_manifold(part.outline, part.thickness) for part in build.parts]
    found: list[Laid] = []
    for plate in range(len(build.plates)):
        for part in range(len(build.parts)):
            for pose in _in(build, solids, plate, part):
                laid = Laid(plate, part, pose)
                right = Laid(plate, build.plates[plate].part, build.plates[plate].world_from_part)
                if same_room(solids, laid, right):
                    continue
                if not any(same_room(solids, laid, old) for old in found):
                    found.append(laid)
    return found


def same_room(solids: list[manifold3d.Manifold], a: Laid, b: Laid) -> bool:
    """Tell whether two parts fill the same room, for the same plate."""
    if a.plate != b.plate or a.part != b.part:
        return False
    whole = float(solids[a.part].volume())
    return shared_volume(solids[a.part], a.pose, solids[b.part], b.pose) > 0.9995 * whole


def _in(build: Build, solids: list[manifold3d.Manifold], plate: int, part: int) -> Iterator[Floats]:
    home = next(k for k, one in enumerate(build.plates) if one.part == part)
    own = [joint for joint in build.joints if home in joint.plates]
    waiting = [joint for joint in build.joints if plate in joint.plates]
    at_home = build.plates[home].world_from_part
    seen = set()
    for mine in own:
        for theirs in build.joints:
            for motion in _motions(build, mine, theirs):
                pose = motion @ at_home
                key = (np.round(pose, 4) + 0.0).tobytes()
                if key in seen:
                    continue
                seen.add(key)
                if all(_near(build, pose, part, joint, plate) for joint in waiting) and _fits(
                    build, solids, plate, part, home, motion
                ):
                    yield pose


def _motions(build: Build, mine: Joint, theirs: Joint) -> Iterator[Floats]:
    for a in _frames(build, mine):
        for b in _frames(build, theirs):
            for turn in _CUBE:
                motion = np.eye(4)
                motion[:3, :3] = b @ turn @ a.T
                motion[:3, 3] = theirs.centre - motion[:3, :3] @ mine.centre
                yield motion


def _frames(build: Build, joint: Joint) -> Iterator[Floats]:
    """Yield axes (3, 3) of a joint: its line, and the normal of either plate."""
    for plate in joint.plates:
        normal = build.plates[plate].world_from_part[:3, 2]
        yield np.column_stack([joint.line, normal, np.cross(joint.line, normal)])


def _near(build: Build, pose: Floats, part: int, joint: Joint, plate: int) -> bool:
    """Tell whether the part has material, or a hole, where the joint needs it."""
    x, y, z = pose[:3, :3].T @ (joint.centre - pose[:3, 3])
    if abs(z) > build.parts[part].thickness / 2:
        return False
    outline = build.parts[part].outline
    if joint.plates[0] == plate:  # the place is that of the tab
        return bool(outline.contains(Point(x, y)))
    return bool(
        Polygon(outline.exterior).contains(Point(x, y)) and not outline.contains(Point(x, y))
    )


def _fits(
    build: Build,
    solids: list[manifold3d.Manifold],
    plate: int,
    part: int,
    home: int,
    motion: Floats,
) -> bool:
    pose = motion @ build.plates[home].world_from_part
    for k, other in enumerate(build.plates):
        if k == plate:
            continue
        there = solids[other.part], other.world_from_part
        if shared_volume(solids[part], pose, *there) > _TOUCH:
            return False
    for joint in build.joints:
        if plate not in joint.plates:
            continue
        if joint.plates[1] == plate:
            pins = [(_pin(joint), np.eye(4))]
            other, where = solids[part], pose
        else:
            pins = [
                (_pin(mine), motion)
                for mine in build.joints
                if mine.plates[0] == home
                and np.linalg.norm(motion[:3, :3] @ mine.centre + motion[:3, 3] - joint.centre)
                < _AT
            ]
            slotted = build.plates[joint.plates[1]]
            other, where = solids[slotted.part], slotted.world_from_part
        if not pins or any(shared_volume(pin, at, other, where) > _TOUCH for pin, at in pins):
            return False
    return True


def _pin(joint: Joint) -> manifold3d.Manifold:
    """Return the pin in the world's frame."""
    pin = joint.pin
    assert pin is not None
    solid = manifold3d.Manifold.cylinder(pin.length, pin.diameter / 2, -1.0, 48, True)
    turn, _ = Rotation.align_vectors([pin.axis], [[0.0, 0.0, 1.0]])
    return solid.transform(np.column_stack([turn.as_matrix(), pin.centre]))
