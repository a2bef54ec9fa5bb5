# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Joints of all angles, sheets and sizes fit and hold, as tried out by the judge of build.json.

The work-horse is a pair of plates anywhere in space. It is drawn here in coordinates of its own:
the line in which the planes cross, the way across it in either plane, and the joint's place on it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pytest
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
from pinwright.core.errors import DesignError
from pinwright.core.export.build_json import build_json
from pinwright.core.pipeline import build
from pinwright.core.results import Build
from tests.judge import judge

Floats = npt.NDArray[np.float64]
Point = tuple[float, float]

angles = st.one_of(st.just(90.0), st.floats(30.0, 90.0))
thicknesses = st.one_of(st.sampled_from([1.0, 3.0, 12.0]), st.floats(1.0, 12.0))
clearances = st.one_of(st.just(0.0), st.floats(0.0, 0.3))
leans = st.one_of(st.just(0.0), st.floats(-35.0, 35.0))
seeds = st.integers(0, 1000)
radii = st.one_of(st.just(0.0), st.floats(0.05, 1.0))  # of corners, share of web or thickness


@dataclass(frozen=True, slots=True)
class Crossing:
    """Two planes n . x = h and m . x = k that cross at an angle, turned and moved at random.

    across : unit vectors in the two planes, square to the line; feet : (2,) mm, where the line's
    point nearest to the origin lies along them
    """

    normals: tuple[Floats, Floats]
    offsets: tuple[float, float]
    line: Floats
    across: tuple[Floats, Floats]
    feet: tuple[float, float]

    @classmethod
    def of(cls, angle: float, seed: int) -> Crossing:
        rng = np.random.default_rng(seed)
        turn = Rotation.random(random_state=seed).as_matrix()
        tilt = np.radians(angle if rng.random() < 0.5 else 180.0 - angle)
        n, m = turn[:, 2], turn @ np.array([np.sin(tilt), 0.0, np.cos(tilt)])
        h, k = rng.uniform(-80.0, 80.0, 2)
        line = np.cross(n, m) / np.linalg.norm(np.cross(n, m))
        point = np.linalg.solve(np.array([n, m, line]), [h, k, 0.0])
        across = (np.cross(line, n), np.cross(m, line))
        return cls((n, m), (h, k), line, across, (point @ across[0], point @ across[1]))

    def motif(self, which: int, name: str, corners: list[Point], **more: object) -> MotifChoice:
        """Return a motif; corners count from the line: (across it, along it) mm."""
        normal, foot = self.normals[which], self.feet[which]
        # x across, y = normal x across: along the line in the first plane, against it in the other.
        sense = 1.0 if which == 0 else -1.0
        points = tuple((float(foot + x), float(sense * y)) for x, y in corners)
        key = "path" if "width" in more else "outline"
        return MotifChoice(
            name,
            (float(normal[0]), float(normal[1]), float(normal[2])),
            float(self.offsets[which]),
            tuple(self.across[which].tolist()),
            **{key: points},
            **more,
        )


def assert_sound(built: Build, copies: int = 2) -> None:
    failed = [(check.name, check.figure, check.where[:3]) for check in built.checks if not check.ok]
    assert not failed
    verdict = judge(json.loads(build_json(built)), copies=copies)
    assert verdict.sound, str(verdict)
    assert verdict.interference < 0.01, str(verdict)
    assert verdict.joints > 0


def least_tab(thickness: float) -> float:
    """Room for the pin's hole and a web on each side, at default sizes."""
    return min(max(thickness, 2.0), 8.0) + 0.2 + 2 * max(thickness, 2.0)


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
        sheet=Sheet(thickness, clearance=clearance),
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
        joints=JointSizes(tab_width=0.018 * diameter, web=2.0, pin_diameter=2.5),
    )
    built = build(design)
    assert len(built.plates) == 60
    assert max(abs(joint.angle - 90.0) for joint in built.joints) < 1e-6
    assert_sound(built)


@pytest.mark.parametrize("angle", [29.9, 20.0, 5.0, 0.5])
@pytest.mark.parametrize("kind", list(JointKind))
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
