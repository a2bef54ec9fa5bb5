# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rotors, rings and right-angle weaves of all sheets and sizes fit, by the judge of build.json."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    MotifChoice,
    RightAngleOrbit,
    Rings,
    Sheet,
    Turn,
)
from tests.built import build
from tests.crossings import assert_sound, least_tab

thicknesses = st.one_of(st.sampled_from([1.0, 3.0, 12.0]), st.floats(1.0, 12.0))
clearances = st.one_of(st.just(0.0), st.floats(0.0, 0.3))


@settings(max_examples=40)
@given(
    fold=st.integers(3, 10),
    tilt=st.floats(-12.0, 12.0),
    at=st.floats(-10.0, 10.0),
    thickness=thicknesses,
    clearance=clearances,
    spare=st.floats(0.0, 60.0),
)
def test_any_rotor_fits(
    fold: int,
    tilt: float,
    at: float,
    thickness: float,
    clearance: float,
    spare: float,
) -> None:
    """Boards round an axis, each with its tab in the next: a ring that closes."""
    turn = Rotation.from_euler("z", 360.0 / fold, degrees=True).as_matrix()
    normal = np.array([np.cos(np.radians(tilt)), 0.0, np.sin(np.radians(tilt))])
    web = max(thickness, 2.0)
    width = least_tab(thickness) * 1.3 + 2 * web + 2 * clearance + 4.0 + spare
    long = 3.0 * width + 20.0 * web
    offset = long / (2.0 * np.tan(np.pi / fold))
    line = np.cross(normal, turn @ normal)
    line /= np.linalg.norm(line)
    foot = np.linalg.solve(np.array([normal, turn @ normal, line]), [offset, offset, at])
    x_axis = np.array([0.0, 1.0, 0.0])
    axes = np.column_stack([x_axis, np.cross(normal, x_axis)])
    tab, slot = foot @ axes, (turn.T @ foot) @ axes
    start = slot + (slot - tab) / np.linalg.norm(slot - tab) * (8.0 * thickness + 2 * web + 10.0)
    motif = MotifChoice(
        "board",
        tuple(normal.tolist()),
        float(offset),
        tuple(x_axis.tolist()),
        path=(tuple(start.tolist()), tuple(tab.tolist())),
        width=float(width),
    )
    design = Design(
        name="rotor",
        sheet=Sheet(thickness, clearance=clearance),
        frame=FrameChoice(2.0 * long, group=f"C{fold}"),
        motifs=(motif,),
        joint_classes=(
            JointClassChoice(
                "next",
                ("board", "board"),
                JointKind.TENON,
                at=at,
                turn=Turn((0.0, 0.0, 1.0), 360.0 / fold),
            ),
        ),
    )
    built = build(design)
    assert len(built.plates) == len(built.joints) == fold
    between = np.degrees(np.arccos(abs(normal @ turn @ normal)))
    assert max(abs(joint.angle - between) for joint in built.joints) < 1e-6
    assert_sound(built)


@settings(max_examples=10)
@given(
    frame=st.sampled_from(
        [
            ("tetrahedron", 2),
            ("cube", 4),
            ("octahedron", 3),
            ("truncated octahedron", 4),
            ("icosahedron", 5),
            ("icosidodecahedron", 5),
        ]
    ),
    thickness=thicknesses,
    clearance=clearances,
    share=st.floats(0.06, 0.2),
    size=st.floats(100.0, 250.0),
)
def test_any_rings_fit(
    frame: tuple[str, int], thickness: float, clearance: float, share: float, size: float
) -> None:
    solid, about = frame
    diameter = size * max(thickness, 2.0)
    design = Design(
        name="rings",
        # The rings may be larger than the sheets that are usually sold.
        sheet=Sheet(thickness, clearance=clearance, stock=(5000.0, 5000.0)),
        frame=FrameChoice(diameter, solid),
        recipe=Rings(width=share * diameter, about=about),
    )
    built = build(design)
    count = len(built.plates)
    # Great circles cross two by two, each pair twice.
    assert len(built.joints) == count * (count - 1)
    assert_sound(built)


@settings(max_examples=10)
@given(
    solid=st.sampled_from(["icosahedron", "dodecahedron", "truncated icosahedron"]),
    pattern=st.sampled_from(["rotor + rotor", "rotor + two-fold"]),
    diameter=st.floats(800.0, 2000.0),
    thickness=st.floats(1.0, 4.0),
    clearance=clearances,
)
def test_the_usual_weaves_stay_square_and_clear(
    solid: str, pattern: str, diameter: float, thickness: float, clearance: float
) -> None:
    design = Design(
        name="weave",
        sheet=Sheet(thickness * diameter / 1000.0, clearance=clearance),
        frame=FrameChoice(diameter, solid),
        recipe=RightAngleOrbit(width=0.04 * diameter, pattern=pattern),
        # A larger one is heavier, and asks for more sheet behind the pin's hole.
        joints=JointSizes(
            tab_width=0.018 * diameter, web=max(2.0, 0.004 * diameter), pin_diameter=2.5
        ),
    )
    built = build(design)
    assert len(built.plates) == 60
    assert max(abs(joint.angle - 90.0) for joint in built.joints) < 1e-6
    assert_sound(built)
