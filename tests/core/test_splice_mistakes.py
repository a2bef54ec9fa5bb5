# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Wrong placements of spliced strips: the list against all placements tried as solids, and keys.

The judge knows nothing of keys and sockets: it lays every part with either end against the end that
waits, this side up and turned over, and asks manifold3d whether it goes in and holds.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import manifold3d
import numpy as np
import numpy.typing as npt
import pytest

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    Keying,
    Keys,
    MotifChoice,
    Sheet,
    SpliceKind,
)
from pinwright.core.errors import DesignError
from pinwright.core.results import Build, Check
from tests.built import build

Floats = npt.NDArray[np.float64]
ENDS = (-200.0, -60.0, 90.0, 260.0)
TOUCH = 1e-3  # mm3


def _chain(kind: SpliceKind = SpliceKind.KEY, first: float = 0.0, second: float = 0.0) -> Design:
    """Return three strips end to end in a plane; first, second : shifts of the two splices."""
    strips = tuple(
        MotifChoice(
            f"s{k}", (0, 0, 1), 40.0, (1, 0, 0), path=((start, 0.0), (end, 0.0)), width=40.0
        )
        for k, (start, end) in enumerate(pairwise(ENDS))
    )
    joints = tuple(
        JointClassChoice(f"j{k}", (f"s{k}", f"s{k + 1}"), JointKind.SPLICE, at=at, splice=kind)
        for k, at in enumerate((first, second))
    )
    return Design("row", Sheet(3.0), FrameChoice(600.0, group="C1"), None, strips, joints)


def _mistakes(built: Build) -> Check:
    return {check.name: check for check in built.checks}["mistakes"]


def _solid(built: Build, plate: int) -> manifold3d.Manifold:
    part = built.parts[built.plates[plate].part]
    rings = [part.outline.exterior, *part.outline.interiors]
    section = manifold3d.CrossSection([np.asarray(r.coords)[:-1] for r in rings])
    solid = manifold3d.Manifold.extrude(section, part.thickness)
    solid = solid.translate([0.0, 0.0, -part.thickness / 2])
    return solid.transform(built.plates[plate].world_from_part[:3])


def _tried(built: Build, shift: dict[int, float]) -> set[tuple[str, str]]:
    """Return (part, place) of all wrong placements at the ends of the row that go in and hold.

    shift : of the first and the last joint: the middle of a shifted key or socket lies aside, and
        a strip that goes in follows it
    """
    found = set()
    for site, end, out in ((0, ENDS[1], 1.0), (2, ENDS[2], -1.0)):
        stands = _solid(built, 1)
        own = {p.id: p for p in built.plates}[built.plates[site].id]
        for k in range(3):
            for start in (False, True):
                tip = ENDS[k] if start else ENDS[k + 1]
                for over in (False, True):
                    # Carry the strip's tip to the waiting end, pointing out; by half-turns only.
                    turn = np.eye(3)
                    points = -1.0 if start else 1.0
                    if points != out:
                        turn = np.diag([-1.0, -1.0, 1.0])
                    if over:
                        turn = np.diag([1.0, -1.0, -1.0]) @ turn
                    if k == site and np.allclose(turn, np.eye(3)):
                        continue
                    move = np.eye(4)
                    move[:3, :3] = turn
                    move[:3, 3] = [end, 0.0, 40.0] - turn @ [tip, 0.0, 40.0]
                    body = _solid(built, k).transform(move[:3])
                    for aside in sorted({0.0, *(s for v in shift.values() for s in (v, -v, 2 * v,
                                         -2 * v))}):  # fmt: skip
                        moved = body.translate([0.0, aside, 0.0])
                        if (moved ^ stands).volume() > TOUCH:
                            continue
                        drawn = moved.translate([-out * 2.0, 0.0, 0.0])
                        if (drawn ^ stands).volume() > TOUCH:
                            part = built.parts[built.plates[k].part].mark
                            if part != built.parts[own.part].mark:
                                found.add((part, own.id))
    return found


def _told(check: Check) -> set[tuple[str, str]]:
    words = [one.partition(":")[0].split() for one in check.where]
    return {(w[2], w[-1]) for w in words if w[:2] == ["a", "part"]}


@pytest.mark.parametrize("shifts", [(0.0, 0.0), (3.0, 0.0), (3.0, -3.0)])
def test_the_list_is_what_solids_allow(shifts: tuple[float, float]) -> None:
    built = build(_chain(SpliceKind.KEY, *shifts), mistakes=True)
    assert _told(_mistakes(built)) == _tried(built, dict(enumerate(shifts)))


def test_keys_leave_no_wrong_placement() -> None:
    assert _mistakes(build(_chain(), mistakes=True)).figure == 2
    keyed = build(replace(_chain(), keying=Keying(Keys.TABS)))
    assert _mistakes(keyed).ok
    assert keyed.ok
    assert _tried(keyed, {}) == set()


def test_two_ends_under_a_fish_plate_are_alike_and_no_key_tells_them_apart() -> None:
    # A row of pins shifted aside: the middle strip, turned over end for end, still fits.
    plain = build(_chain(SpliceKind.FISH_PLATE), mistakes=True)
    keyed = build(replace(_chain(SpliceKind.FISH_PLATE), keying=Keying(Keys.TABS)))
    assert 0 < _mistakes(keyed).figure <= _mistakes(plain).figure
    assert not keyed.ok


@pytest.mark.parametrize(("at", "neck"), [(0.0, 7.0), (4.0, None), (-3.0, 8.0)])
def test_a_key_by_hand(at: float, neck: float | None) -> None:
    design = _chain()
    said = replace(design.joint_classes[0], at=at, tab_width=neck)
    built = build(replace(design, joint_classes=(said, design.joint_classes[1])))
    assert built.ok
    # Cut the first strip's solid across its key, 1 mm beyond its end: 2 mm of 15 deg more of neck.
    plate = next(k for k, p in enumerate(built.plates) if p.motif == "s0")
    solid = _solid(built, plate)
    slab = manifold3d.Manifold.cube([0.01, 100.0, 10.0]).translate([ENDS[1] + 1.0, -50.0, 35.0])
    box = (solid ^ slab).bounding_box()
    wide = (10.0 if neck is None else neck) + 2 * np.tan(np.radians(15.0))
    assert box[4] - box[1] == pytest.approx(wide, abs=0.02)
    # Its line is the normal x the way out of the end: here the world's y.
    assert (box[4] + box[1]) / 2 == pytest.approx(at, abs=0.01)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"at": 9.0}, r"joint_classes\.j0\.at: found 9\.0"),
        ({"tab_width": 30.0}, r"joint_classes\.j0\.tab_width: found 30\.0"),
        ({"tab_width": 1.0}, r"joint_classes\.j0\.tab_width: found 1\.0"),
    ],
)
def test_keys_without_room_are_refused(change: dict[str, float], said: str) -> None:
    design = _chain()
    joint = replace(design.joint_classes[0], **change)
    with pytest.raises(DesignError, match=said):
        build(replace(design, joint_classes=(joint, design.joint_classes[1])))
