# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Tenons and cross-laps of all angles, sheets and sizes fit and hold: build.json is judged."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    MotifChoice,
    Sheet,
)
from pinwright.core.errors import DesignError
from tests.built import build
from tests.crossings import Crossing, assert_sound, least_tab

angles = st.one_of(st.just(90.0), st.floats(30.0, 90.0))
thicknesses = st.one_of(st.sampled_from([1.0, 3.0, 12.0]), st.floats(1.0, 12.0))
clearances = st.one_of(st.just(0.0), st.floats(0.0, 0.3))
leans = st.one_of(st.just(0.0), st.floats(-35.0, 35.0))
seeds = st.integers(0, 1000)
radii = st.one_of(st.just(0.0), st.floats(0.05, 1.0))  # of corners, share of web or thickness


@settings(max_examples=100)
@given(
    angle=angles,
    thickness=thicknesses,
    clearance=clearances,
    lean=leans,
    tab_more=st.one_of(st.none(), st.floats(0.0, 40.0)),
    spare=st.floats(0.5, 40.0),
    at=st.floats(-150.0, 150.0),
    way=st.sampled_from([1.0, -1.0]),
    second=st.sampled_from(["along", "across", "board"]),
    radius=radii,
    seed=seeds,
)
def test_any_tenon_fits_and_holds(
    angle: float,
    thickness: float,
    clearance: float,
    lean: float,
    tab_more: float | None,
    spare: float,
    at: float,
    way: float,
    second: str,
    radius: float,
    seed: int,
) -> None:
    web = max(thickness, 2.0)
    tab = least_tab(thickness) + (tab_more or 0.0)
    width = tab + 2 * web + 2 * clearance + spare
    # At 30 deg the slot is wide and the tab long: the second plate has room for both.
    room = 8.0 * thickness + web + spare
    crossing = Crossing.of(angle, seed)
    slope = np.tan(np.radians(lean))
    reach = 3.0 * width + 60.0
    first = crossing.motif(
        0, "first", [(-way * reach, at - way * slope * reach), (0.0, at)], width=width
    )
    if second == "along":
        ends = [(0.0, at - width - room), (0.0, at + width + room)]
        other = crossing.motif(1, "second", ends, width=max(width, 2 * room))
    elif second == "across":
        ends = [(-room - 20.0, at), (room + 20.0, at)]
        other = crossing.motif(1, "second", ends, width=width)
    else:
        half = width / 2 + room
        board = [(-room, at - half), (1.5 * room, at - half), (room, at + half), (-room, at + half)]
        other = crossing.motif(1, "second", board)
    design = Design(
        name="pair",
        sheet=Sheet(thickness, clearance=clearance),
        frame=FrameChoice(400.0, group="C1"),
        motifs=(first, other),
        joint_classes=(JointClassChoice("one", ("first", "second"), JointKind.TENON, at=at),),
        joints=JointSizes(None if tab_more is None else tab, corner_radius=radius * web),
    )
    built = build(design)
    (joint,) = built.joints
    assert joint.angle == pytest.approx(angle, abs=1e-6)
    # The tab points away from the strip that it ends.
    assert joint.insertion @ crossing.across[0] * way == pytest.approx(1.0, abs=1e-9)
    assert_sound(built)


@settings(max_examples=100)
@given(
    angle=angles,
    thickness=thicknesses,
    clearance=clearances,
    # Whole degrees and mm: strips that differ by less than 0.01 mm are one part, no longer exact.
    lean=st.tuples(st.integers(-35, 35), st.integers(-35, 35)),
    widths=st.tuples(st.integers(0, 60), st.integers(0, 60)),
    at=st.floats(-150.0, 150.0),
    outward=st.sampled_from([1, 0, -1]),
    split=st.one_of(st.just(0.5), st.floats(0.35, 0.65)),
    radius=radii,
    seed=seeds,
)
def test_any_cross_lap_fits_and_holds(
    angle: float,
    thickness: float,
    clearance: float,
    lean: tuple[int, int],
    widths: tuple[int, int],
    at: float,
    outward: int,
    split: float,
    radius: float,
    seed: int,
) -> None:
    crossing = Crossing.of(angle, seed)
    least = 8.0 * max(thickness, 2.0)
    bars = []
    for which, name in enumerate(("first", "second")):
        width = least + widths[which]
        slope = np.tan(np.radians(lean[which]))
        reach = 2.0 * width + 8.0 * thickness + 30.0
        ends = [(-reach, at - slope * reach), (reach, at + slope * reach)]
        bars.append(crossing.motif(which, name, ends, width=width))
    design = Design(
        name="pair",
        sheet=Sheet(thickness, clearance=clearance),
        frame=FrameChoice(400.0, group="C1"),
        motifs=tuple(bars),
        joint_classes=(
            JointClassChoice(
                "one",
                ("first", "second"),
                JointKind.CROSS_LAP,
                at=at,
                outward=outward,
                split=split,
            ),
        ),
        joints=JointSizes(corner_radius=radius * thickness),
    )
    built = build(design)
    (joint,) = built.joints
    assert joint.angle == pytest.approx(angle, abs=1e-6)
    assert joint.insertion @ crossing.line == pytest.approx(1.0 if outward >= 0 else -1.0)
    assert joint.pin is None
    assert_sound(built)


@pytest.mark.parametrize("angle", [29.9, 20.0, 5.0, 0.5])
@pytest.mark.parametrize("kind", [JointKind.TENON, JointKind.CROSS_LAP])
def test_too_oblique_a_pair_is_refused(angle: float, kind: JointKind) -> None:
    crossing = Crossing.of(angle, 4)
    bar = [(-100.0, 0.0), (0.0 if kind is JointKind.TENON else 100.0, 0.0)]
    design = Design(
        name="pair",
        sheet=Sheet(3.0),
        frame=FrameChoice(400.0, group="C1"),
        motifs=(
            crossing.motif(0, "first", bar, width=40.0),
            crossing.motif(1, "second", [(-100.0, 0.0), (100.0, 0.0)], width=60.0),
        ),
        joint_classes=(JointClassChoice("one", ("first", "second"), kind),),
    )
    with pytest.raises(DesignError, match="an angle of 30 to 90 deg") as caught:
        build(design)
    assert caught.value.found == pytest.approx(angle, abs=1e-3)
    assert caught.value.field.startswith("joint_classes")


def test_parallel_planes_are_refused() -> None:
    bars = [
        MotifChoice(name, (0.0, 0.0, 1.0), h, path=((-90.0, 0.0), (0.0, 0.0)), width=40.0)
        for name, h in (("first", 0.0), ("second", 10.0))
    ]
    design = Design(
        name="pair",
        sheet=Sheet(3.0),
        frame=FrameChoice(400.0, group="C1"),
        motifs=tuple(bars),
        joint_classes=(JointClassChoice("one", ("first", "second"), JointKind.TENON),),
    )
    with pytest.raises(DesignError, match="parallel"):
        build(design)


@pytest.mark.parametrize(
    ("sizes", "width", "field"),
    [
        (JointSizes(tab_width=6.0), 60.0, "joints.tab_width"),  # no room for the pin's hole
        (JointSizes(tab_width=50.0), 52.0, "joints.tab_width"),  # no room beside the slot
        (JointSizes(pin_length=4.0), 60.0, "joints.pin_length"),  # does not stick out
    ],
)
def test_sizes_that_cannot_hold_are_refused(sizes: JointSizes, width: float, field: str) -> None:
    crossing = Crossing.of(90.0, 1)
    design = Design(
        name="pair",
        sheet=Sheet(3.0),
        frame=FrameChoice(400.0, group="C1"),
        motifs=(
            crossing.motif(0, "first", [(-100.0, 0.0), (0.0, 0.0)], width=width),
            crossing.motif(1, "second", [(-100.0, 0.0), (100.0, 0.0)], width=width),
        ),
        joint_classes=(JointClassChoice("one", ("first", "second"), JointKind.TENON),),
        joints=sizes,
    )
    with pytest.raises(DesignError) as caught:
        build(design)
    assert caught.value.field == field
    assert caught.value.remedy or caught.value.allowed
