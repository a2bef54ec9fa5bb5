# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Splices by a fish plate: strips, plate and pins judged by manifold3d and by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely import Point, Polygon

from pinwright.core.assembly.plan import planned
from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    Keying,
    Keys,
    MotifChoice,
    Sheet,
    SpliceKind,
)
from pinwright.core.errors import DesignError
from pinwright.core.fit.fish_plate import fish_plate_sizes
from pinwright.core.fit.sizes import resolve_sizes
from tests.built import build
from tests.crossings import assert_sound


def _design(thickness: float = 3.0, width: float = 40.0, **said: Any) -> Design:
    one = MotifChoice(
        "one", (0.6, 0.0, 0.8), 90.0, (0.0, 1.0, 0.0), path=((-150.0, 0.0), (0.0, 0.0)), width=width
    )
    two = replace(one, name="two", path=((0.0, 0.0), (120.0, 0.0)))
    joint = JointClassChoice(
        "long", ("one", "two"), JointKind.SPLICE, splice=SpliceKind.FISH_PLATE, **said
    )
    return Design(
        "spliced", Sheet(thickness), FrameChoice(400.0, group="C1"), None, (one, two), (joint,)
    )


@pytest.mark.parametrize(("thickness", "width"), [(1.5, 30.0), (3.0, 40.0), (6.0, 70.0)])
@pytest.mark.parametrize("outward", [1, -1])
def test_a_fish_plate_is_judged_sound(thickness: float, width: float, outward: int) -> None:
    built = build(_design(thickness, width, outward=outward))
    (joint,) = built.joints
    assert built.ok
    assert len(joint.pins) == 4
    (plate,) = joint.fasteners
    assert plate.kind == "fish plate"
    assert built.parts[plate.part or 0].quantity == 1
    # It lies on the wanted side, face on face.
    lift = (plate.world[:3, 3] - joint.centre) @ np.array([0.6, 0.0, 0.8])
    assert lift == pytest.approx(outward * thickness)
    assert_sound(built)


def test_it_lies_on_the_side_that_looks_away_from_the_middle() -> None:
    near, far = _design(), _design()
    far = replace(
        far, motifs=tuple(replace(m, normal=(-0.6, 0.0, -0.8), offset=-90.0) for m in far.motifs)
    )
    for design in (near, far):
        (joint,) = build(design).joints
        assert (joint.fasteners[0].world[:3, 3] - joint.centre) @ joint.centre > 0


def test_distances_by_hand() -> None:
    # Sheet 3: pin 3, hole 3.2, web 3: e = max(1.2 x 3.2, 1.6 + 3) = 4.6, p = max(7.04, 6.2).
    # (1.2 d and 2.2 d: EN 1993-1-8 table 3.3, from memory.)
    sizes = resolve_sizes(JointSizes(), Sheet(3.0), None)
    fish = fish_plate_sizes(sizes, (40.0, 50.0), "x", 0.0, 1)
    assert fish.pins == pytest.approx((-11.64, -4.6, 4.7, 11.74))
    assert (fish.start, fish.end) == pytest.approx((-16.24, 16.34))
    assert fish.breadth == 40.0
    assert fish.play == pytest.approx(0.4)
    section = fish.block.section
    assert section.area == pytest.approx(40 * 32.58 - 4 * np.pi * 1.6**2, rel=1e-3)
    assert Polygon(section.exterior).boundary.distance(Point(fish.pins[0], 0)) >= 1.2 * 3.2


def test_a_row_of_pins_stands_aside_of_the_middle() -> None:
    built = build(_design(at=6.0))
    (joint,) = built.joints
    aside = [(pin.centre - joint.centre) @ joint.line for pin in joint.pins]
    assert aside == pytest.approx([6.0] * 4)
    assert_sound(built)


@pytest.mark.parametrize(
    ("said", "sizes", "message"),
    [
        ({"width": 8.0}, {}, r"joint_classes\.long\.motifs: found 8\.0.* at least 9\.2 mm wide"),
        ({"at": 16.0}, {}, r"joint_classes\.long\.at: found 16\.0.* from -15\.40 to 15\.40 mm"),
        ({}, {"pin_length": 7.0}, r"joints\.pin_length: found 7\.0.* at least 8 mm"),
    ],
)
def test_what_does_not_fit_is_refused(
    said: dict[str, float], sizes: dict[str, float], message: str
) -> None:
    with pytest.raises(DesignError, match=message):
        build(replace(_design(**said), joints=JointSizes(**sizes)))


def test_it_is_planned_like_every_joint() -> None:
    built = planned(build(_design()))
    (step,) = [step for step in built.steps if step.close]
    assert step.pin == (0,)
    assert "fish plate" in step.say


def test_ends_that_look_alike_are_told_and_keyed_apart() -> None:
    # Both strips are even: turned over or end for end each goes in as well as before.
    plain = build(_design(), mistakes=True)
    found = {check.name: check for check in plain.checks}["mistakes"]
    assert found.figure > 0
    keyed = build(replace(_design(), keying=Keying(Keys.TABS)))
    left = {check.name: check for check in keyed.checks}["mistakes"]
    assert left.figure <= found.figure
