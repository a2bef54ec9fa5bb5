# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Joint classes: places and directions checked by hand, cross-laps by shapely, errors by text."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    MotifChoice,
    Sheet,
    Turn,
)
from pinwright.core.errors import DesignError
from pinwright.core.joints.classes import JointClass
from pinwright.core.plates.planes import to_plane
from tests.stages import DESIGNS, Staged, staged, staged_by_name

# A strip along x in the plane z = 0 whose last end meets an upright plate in the plane x = 50.
STRIP = MotifChoice(
    "strip", (0.0, 0.0, 1.0), 0.0, (1.0, 0.0, 0.0), ((-40.0, 5.0), (50.0, 5.0)), 30.0
)
WALL = MotifChoice(
    "wall",
    (1.0, 0.0, 0.0),
    50.0,
    (0.0, 1.0, 0.0),
    outline=((-30.0, -40.0), (40.0, -40.0), (40.0, 40.0), (-30.0, 40.0)),
)
TENON = JointClassChoice("t", ("strip", "wall"), JointKind.TENON, at=5.0)
BAR = MotifChoice("bar", (0.0, 1.0, 0.0), 7.0, (1.0, 0.0, 0.0), ((-60.0, 4.0), (60.0, 4.0)), 24.0)
LAP = JointClassChoice("l", ("bar", "wall"), JointKind.CROSS_LAP, at=-4.0)


def _stage(*classes: JointClassChoice, group: str = "C1", **motifs: MotifChoice) -> Staged:
    known = {"strip": STRIP, "wall": WALL, "bar": BAR} | motifs
    return staged(
        Design(
            "hand",
            Sheet(3.0),
            FrameChoice(200.0, group=group),
            motifs=tuple(known.values()),
            joint_classes=classes,
        )
    )


def _class(choice: JointClassChoice, **motifs: MotifChoice) -> JointClass:
    return _stage(choice, **motifs).classes[0]


def test_a_tenon_at_the_end_of_a_strip() -> None:
    joint = _class(TENON)
    # (0, 0, 1) x (1, 0, 0) = y: the line runs along y at x = 50, z = 0, and 5 is a place on it.
    assert joint.line == pytest.approx([0, 1, 0])
    assert joint.centre == pytest.approx([50, 5, 0])
    assert joint.insertion == pytest.approx([1, 0, 0])
    assert joint.angle_deg == pytest.approx(90.0)
    assert joint.lap is None
    assert joint.tenon is not None
    assert joint.tenon.shoulder == pytest.approx(1.5)


def test_the_way_of_a_tab_can_be_told_or_found() -> None:
    backwards = replace(STRIP, path=((140.0, 5.0), (50.0, 5.0)))
    assert _class(TENON, strip=backwards).insertion == pytest.approx([-1, 0, 0])
    reversed_path = replace(STRIP, path=((50.0, 5.0), (-40.0, 5.0)))
    assert _class(TENON, strip=reversed_path).insertion == pytest.approx([1, 0, 0])
    # (line) x (normal of the strip) = y x z = x is the side of +1.
    assert _class(replace(TENON, outward=1)).insertion == pytest.approx([1, 0, 0])
    assert _class(replace(TENON, outward=-1), strip=backwards).insertion == pytest.approx(
        [-1, 0, 0]
    )


def test_a_class_can_have_a_tab_width_of_its_own() -> None:
    joint = _class(replace(TENON, tab_width=12.0))
    assert joint.tenon is not None
    assert joint.tenon.tab_width == 12.0
    assert joint.tenon.slot_length == pytest.approx(12.2)


@pytest.mark.parametrize("split", [0.0, 0.25, 0.5, 0.9])
@pytest.mark.parametrize("outward", [-1, 0, 1])
def test_a_cross_lap_shares_the_overlap(split: float, outward: int) -> None:
    joint = _class(replace(LAP, split=split, outward=outward))
    # The planes y = 7 and x = 50 cross upright; the bar reaches from z = -16 to 8 there (its own
    # y axis points down: (0, 1, 0) x (1, 0, 0) = -z), the wall from -40 to 40.
    assert joint.line == pytest.approx([0, 0, -1])
    assert joint.centre == pytest.approx([50, 7, -4])
    assert joint.insertion == pytest.approx([0, 0, 1 if outward < 0 else -1])
    assert joint.lap is not None
    low, middle, high = joint.lap
    assert (low, high) == pytest.approx((-12.0, 12.0))
    share = (high - middle if outward >= 0 else middle - low) / 24.0
    assert share == pytest.approx(split)
    assert joint.lap_width == pytest.approx(3.2)
    assert joint.tenon is None


def test_a_lap_is_found_round_its_place_only() -> None:
    # A window in the wall divides the line into two pieces: the place says which is meant.
    windowed = replace(WALL, holes=(((-10.0, -6.0), (20.0, -6.0), (20.0, 2.0), (-10.0, 2.0)),))
    below, above = (
        _class(replace(LAP, at=at), wall=windowed, bar=replace(BAR, width=60.0))
        for at in (20.0, -20.0)
    )
    assert below.centre[2] == pytest.approx((-6 - 34) / 2)
    assert above.centre[2] == pytest.approx((2 + 26) / 2)


@pytest.mark.parametrize("name", list(DESIGNS))
def test_lines_lie_in_both_planes_and_insertions_in_the_first(name: str) -> None:
    stage = staged_by_name(name)
    for joint in stage.classes:
        matrix = stage.group.matrices[joint.element]
        a, b = stage.motifs[joint.a], stage.motifs[joint.b]
        assert joint.centre @ a.normal == pytest.approx(a.offset, abs=1e-6)
        assert joint.centre @ (matrix @ b.normal) == pytest.approx(b.offset, abs=1e-6)
        assert joint.line @ a.normal == pytest.approx(0.0, abs=1e-9)
        assert joint.line @ (matrix @ b.normal) == pytest.approx(0.0, abs=1e-9)
        assert joint.insertion @ a.normal == pytest.approx(0.0, abs=1e-9)
        along = abs(float(joint.insertion @ joint.line))
        assert along == pytest.approx(0.0 if joint.lap is None else 1.0, abs=1e-9)
        cosine = abs(float(a.normal @ matrix @ b.normal))
        assert np.cos(np.radians(joint.angle_deg)) == pytest.approx(cosine, abs=1e-9)


@pytest.mark.parametrize("name", ["three rings", "six rings", "rotor and laps"])
def test_the_overlap_of_a_lap_is_the_one_that_shapely_finds(name: str) -> None:
    stage = staged_by_name(name)
    for joint in stage.classes:
        if joint.lap is None:
            continue
        shared = None
        for motif, matrix in (
            (stage.motifs[joint.a], np.eye(3)),
            (stage.motifs[joint.b], stage.group.matrices[joint.element]),
        ):
            ends = [joint.centre + along * joint.line for along in (-100.0, 100.0)]
            ruler = LineString(to_plane(motif.world_from_plane, np.array(ends) @ matrix))
            pieces = ruler.intersection(motif.body)
            parts = getattr(pieces, "geoms", [pieces])
            here = next(part for part in parts if part.distance(ruler.centroid) < 1e-6)
            places = [ruler.project(end) - 100.0 for end in here.boundary.geoms]
            interval = (min(places), max(places))
            shared = (
                interval
                if shared is None
                else (
                    max(shared[0], interval[0]),
                    min(shared[1], interval[1]),
                )
            )
        assert (joint.lap[0], joint.lap[2]) == pytest.approx(shared, abs=1e-6)


@pytest.mark.parametrize(
    ("choice", "motifs", "said"),
    [
        (
            replace(TENON, motifs=("strip", "door")),
            {},
            r"joint_classes\.t\.motifs: found 'door'.*wall",
        ),
        (
            replace(TENON, turn=Turn((0.0, 0.0, 1.0), 90.0)),
            {},
            r"joint_classes\.t\.turn: found '90 deg about.*no symmetry",
        ),
        (
            replace(TENON, motifs=("strip", "shelf")),
            {"shelf": replace(WALL, name="shelf", normal=(0.0, 0.0, -1.0))},
            r"joint_classes\.t\.turn: .*two planes cross\. These two planes are parallel",
        ),
        (
            replace(TENON, motifs=("strip", "slope")),
            {"slope": replace(WALL, name="slope", normal=(0.17, 0.0, 0.98), offset=9.0)},
            r"joint_classes\.t: found 9\.8\d+, allowed is an angle of 30 to 90 deg",
        ),
        (
            replace(TENON, at=9.0),
            {},
            r"motifs\.\w+\.path: found \(.*\), allowed is an end at \(.*\) mm, where",
        ),
        (
            replace(TENON, motifs=("shelf", "wall")),
            {"shelf": replace(STRIP, name="shelf", path=None, width=None, outline=WALL.outline)},
            r"joint_classes\.t\.outward: found 0, .*Say to which side",
        ),
        (
            TENON,
            {"strip": replace(STRIP, path=((30.0, -35.0), (50.0, 5.0)))},
            r"joint_classes\.t\.at: found 63\.4, .*within 60 deg of square",
        ),
        (
            replace(LAP, at=30.0),
            {},
            r"joint_classes\.l\.at: found 30\.0, .*lies inside both plates",
        ),
    ],
)
def test_joints_that_cannot_be_cut_are_refused(
    choice: JointClassChoice, motifs: dict[str, MotifChoice], said: str
) -> None:
    with pytest.raises(DesignError, match=said):
        _stage(choice, **motifs)
