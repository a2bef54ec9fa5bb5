# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Right-angle orbits: normals by formula and by search, ports on their lines, errors."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation
from shapely import LineString, Point

from pinwright.core.design.model import Bend, Design, FrameChoice, RightAngleOrbit, Sheet, Turn
from pinwright.core.errors import DesignError
from pinwright.core.frame.frame import frame_from_group, frame_from_solid
from pinwright.core.frame.group import Group, rotation_group
from pinwright.core.plates.recipes.right_angle import right_angle_orbit, usual_weave
from pinwright.core.plates.recipes.square_choice import chosen_normal
from pinwright.core.plates.recipes.square_normals import (
    right_angle_normals,
    square_cosine,
    square_normals,
)
from pinwright.core.tolerance import TOLERANCES
from tests.built import build
from tests.stages import Staged, staged, staged_by_name

Floats = npt.NDArray[np.float64]

ROTORS = RightAngleOrbit(38.0)
LAPS = RightAngleOrbit(30.0, pattern="rotor + two-fold")


# 120 deg: three planes like a cube's faces, their normals at arctan(sqrt 2) from its diagonal
# (elementary geometry of the cube); 180 deg: 45 to the axis; 90 deg: square to the axis, so that
# the normal itself turns by 90; 144 deg: from n . gn = 0 by hand, cos^2 = 0.809017 / 1.809017.
@pytest.mark.parametrize(
    ("turn_deg", "alpha_deg"),
    [
        (120.0, float(np.degrees(np.arctan(np.sqrt(2.0))))),
        (180.0, 45.0),
        (90.0, 90.0),
        (144.0, float(np.degrees(np.arccos(np.sqrt(0.8090169944 / 1.8090169944))))),
    ],
)
def test_the_angle_between_a_square_normal_and_the_axis(turn_deg: float, alpha_deg: float) -> None:
    cosine = square_cosine(turn_deg)
    assert cosine is not None
    assert np.degrees(np.arccos(cosine)) == pytest.approx(alpha_deg)
    tilted = np.array([np.sin(np.radians(alpha_deg)), 0.0, np.cos(np.radians(alpha_deg))])
    turned = Rotation.from_euler("z", turn_deg, degrees=True).apply(tilted)
    assert tilted @ turned == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("turn_deg", [0.0, 36.0, 60.0, 72.0, 89.0])
def test_a_turn_of_less_than_a_right_angle_makes_no_plane_square_to_its_copy(
    turn_deg: float,
) -> None:
    assert square_cosine(turn_deg) is None


@pytest.mark.parametrize("name", ["T", "O", "I", "D5"])
def test_square_normals_are_square_to_both_copies(name: str) -> None:
    group = rotation_group(name)
    pairs = [(a, b) for a in range(1, group.order) for b in range(1, group.order) if a != b]
    found = square_normals(group, pairs)
    assert len(found) > 0
    assert np.linalg.norm(found.normals, axis=1) == pytest.approx(1.0)
    for column in found.elements.T:
        copies = np.einsum("kij,kj->ki", group.matrices[column], found.normals)
        assert np.abs((copies * found.normals).sum(axis=1)).max() < 1e-9
    counts = np.unique(found.elements, axis=0, return_counts=True)[1]
    assert counts.max() <= 8
    assert (counts % 2 == 0).all()  # with each normal its opposite


@pytest.mark.parametrize(
    ("name", "turns"),
    [
        ("I", ((120.0, 0), (120.0, 1))),
        ("I", ((120.0, 0), (144.0, 2))),
        ("T", ((120.0, 0), (180.0, 0))),
        ("O", ((90.0, 0), (120.0, 0))),
        ("O", ((90.0, 0), (90.0, 1))),
        ("D3", ((120.0, 0), (180.0, 1))),
    ],
)
def test_no_square_normal_is_missed_and_none_is_listed_twice(
    name: str, turns: tuple[tuple[float, int], tuple[float, int]]
) -> None:
    group = rotation_group(name)
    a, b = (_element(group, angle, number) for angle, number in turns)
    listed = right_angle_normals(group, a, b)
    for i, normal in enumerate(listed):
        assert all(np.abs(normal - other).max() > 1e-6 for other in listed[:i])
    # Search from random starts with a general solver: it ends at a listed normal or nowhere.
    rng = np.random.default_rng(20260101)
    for start in rng.normal(size=(60, 3)):
        fit = least_squares(
            lambda n: [
                n @ group.matrices[a] @ n,
                n @ group.matrices[b] @ n,
                n @ n - 1.0,
            ],
            start,
            xtol=1e-14,
            ftol=1e-14,
            gtol=1e-14,
        )
        if fit.cost < 1e-24:
            assert min(np.abs(fit.x - normal).max() for normal in listed) < 1e-5


def _element(group: Group, angle: float, number: int) -> int:
    """Return one of the elements that turn by an angle, about different axes."""
    axes: list[Floats] = []
    for k in range(1, group.order):
        axis, turned = group.axis_angle_deg(k)
        if abs(turned - angle) < 1e-6 and all(abs(axis @ other) < 0.999 for other in axes):
            axes.append(axis)
            if len(axes) > number:
                return k
    raise AssertionError(f"{group.name} has no {number + 1} axes of {angle} deg")


def test_one_axis_gives_no_isolated_normals() -> None:
    group = rotation_group("C5")
    assert right_angle_normals(group, 2, 3) == []
    assert right_angle_normals(rotation_group("I"), 0, 5) == []


def test_the_icosahedron_s_group_has_a_normal_with_eight_square_copies() -> None:
    group = rotation_group("I")
    normal, elements = chosen_normal(group, ROTORS)
    copies = group.matrices @ normal
    assert (np.abs(copies @ normal) < 1e-9).sum() == 8
    assert [round(group.axis_angle_deg(k)[1]) for k in elements] == [120, 120]
    assert len(group.subgroup(elements)) == 60


@pytest.mark.parametrize("name", ["two rotors", "rotor and laps"])
def test_every_port_lies_on_its_section_line_and_every_slot_on_the_strip(name: str) -> None:
    stage = staged_by_name(name)
    (motif,) = stage.motifs
    assert motif.path is not None
    centre_line = LineString(motif.path)
    (features,) = stage.features
    for joint, choice in zip(stage.classes, stage.form.joint_classes, strict=True):
        assert joint.angle_deg == pytest.approx(90.0, abs=1e-9)
        matrix = stage.group.matrices[joint.element]
        copy = matrix @ motif.normal
        for normal in (motif.normal, copy):
            assert joint.centre @ normal == pytest.approx(motif.offset, abs=1e-9)
        if joint.tenon is not None:
            # From the foot of the origin on the line, which is offset (n + m) for square planes.
            foot = motif.offset * (motif.normal + copy)
            assert (joint.centre - foot) @ joint.line == pytest.approx(choice.at, abs=1e-9)
    for tab in features.tabs:
        assert np.linalg.norm(motif.path[[0, -1]] - tab.place, axis=1).min() < 1e-9
    for place in (*features.slots, *features.laps):
        assert centre_line.distance(Point(place.place)) < 2 * TOLERANCES.chord


def test_a_rotor_and_a_lap_hold_as_their_turns_say() -> None:
    stage = staged_by_name("rotor and laps")
    assert len(stage.orbits.motif) == 12
    tenons = stage.joints.has_pin
    assert tenons.sum() == 12  # one tab for each plate
    assert (~tenons).sum() == 6  # one lap for each two plates, on a two-fold axis's end
    for centre in stage.joints.centre[~tenons]:
        axes = [axis for axis, fold in stage.group.axes() if fold == 2]
        assert min(np.linalg.norm(np.cross(axis, centre)) for axis in axes) < 1e-6


@pytest.mark.parametrize(
    ("frame", "recipe"),
    [
        (FrameChoice(900.0, solid="icosahedron"), RightAngleOrbit(40.0)),
        (FrameChoice(600.0, group="I"), LAPS),
        (FrameChoice(600.0, group="T"), LAPS),
        (FrameChoice(1500.0, solid="tetrahedron"), replace(LAPS, width=70.0)),
    ],
)
def test_the_usual_numbers_make_a_sound_sculpture(
    frame: FrameChoice, recipe: RightAngleOrbit
) -> None:
    result = build(Design("usual", Sheet(3.0), frame, recipe))
    assert [check.message for check in result.checks if not check.ok] == []
    places, swap = usual_weave(recipe.pattern)
    spelt = replace(recipe, places=places, swap=swap)
    assert build(Design("usual", Sheet(3.0), frame, spelt)).totals.mass == result.totals.mass


def test_swap_takes_the_slots_in_the_other_order() -> None:
    stage, other = staged_by_name("two rotors"), replace(ROTORS, swap=False)
    here = stage.form.motifs[0].path
    there = right_angle_orbit(stage.frame, other).motifs[0].path
    assert here is not None
    assert there is not None
    assert np.array(here[2:4]) == pytest.approx(np.array(there[3:1:-1]))
    assert here[0] == pytest.approx(there[0])
    lap = right_angle_orbit(frame_from_group("T", 600.0), LAPS).motifs[0].path
    swapped = (
        right_angle_orbit(frame_from_group("T", 600.0), replace(LAPS, swap=True)).motifs[0].path
    )
    assert lap is not None
    assert swapped is not None
    assert np.array(lap[2:4]) == pytest.approx(np.array(swapped[3:1:-1]))


def test_numbers_scale_with_the_frame() -> None:
    recipe = replace(ROTORS, bend=Bend.SHARP)
    small = right_angle_orbit(frame_from_solid("icosahedron", 900.0), recipe)
    large = right_angle_orbit(
        frame_from_solid("icosahedron", 1800.0), replace(recipe, width=2 * recipe.width)
    )
    assert large.motifs[0].offset == pytest.approx(2 * small.motifs[0].offset)
    assert np.array(large.motifs[0].path) == pytest.approx(2 * np.array(small.motifs[0].path))
    for one, two in zip(small.joint_classes, large.joint_classes, strict=True):
        assert two.at == pytest.approx(2 * one.at)
        assert two.turn == one.turn


def test_a_normal_of_five_digits_is_polished() -> None:
    group = rotation_group("I")
    exact, elements = chosen_normal(group, ROTORS)
    for k in (0, 7, 33):
        typed = tuple(round(float(c), 5) for c in group.matrices[k] @ exact)
        normal, turns = chosen_normal(group, replace(ROTORS, normal=typed))
        assert np.abs(normal - group.matrices[k] @ exact).max() < 1e-12
        assert len(turns) == len(elements)
        for turn in turns:
            assert normal @ group.matrices[turn] @ normal == pytest.approx(0.0, abs=1e-12)


def test_elements_without_a_normal_are_enough() -> None:
    group = rotation_group("I")
    _, elements = chosen_normal(group, ROTORS)
    turns = []
    for k in elements:
        axis, angle = group.axis_angle_deg(k)
        turns.append(Turn((float(axis[0]), float(axis[1]), float(axis[2])), angle))
    normal, again = chosen_normal(group, replace(ROTORS, elements=(turns[0], turns[1])))
    assert again == elements
    for k in elements:
        assert normal @ group.matrices[k] @ normal == pytest.approx(0.0, abs=1e-12)


def _build(group: str, recipe: RightAngleOrbit) -> Staged:
    return staged(Design("tried", Sheet(3.0), FrameChoice(900.0, group=group), recipe))


def test_a_normal_that_is_near_none_is_refused_with_the_nearest() -> None:
    exact, _ = chosen_normal(rotation_group("I"), ROTORS)
    near = tuple((exact + np.array([0.02, -0.01, 0.015])).tolist())
    with pytest.raises(DesignError, match=r"recipe\.normal: .*the nearest is") as info:
        _build("I", replace(ROTORS, normal=near))
    said = re.search(r"the nearest is \(([^)]*)\)", str(info.value))
    assert said is not None
    nearest = tuple(float(c) for c in said[1].split(","))
    assert np.abs(np.array(nearest) - exact).max() < 0.03
    assert len(_build("I", replace(ROTORS, normal=nearest)).joints) == 120


X, Y, DIAGONAL = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (1.0, 1.0, 1.0)


@pytest.mark.parametrize(
    ("group", "recipe", "said"),
    [
        (
            "T",
            ROTORS,
            r"recipe\.pattern: found 'rotor \+ rotor'.*group T .*Take pattern = 'rotor \+ two",
        ),
        ("O", ROTORS, r"recipe\.pattern.*group O .*has none for this one\. Take a frame with"),
        (
            "O",
            LAPS,
            r"recipe\.pattern: found 'rotor \+ two-fold'.*2 pieces of 12 plates.*name the el",
        ),
        ("C5", LAPS, r"recipe\.pattern.*group C5 .*Take a frame with the group T or I"),
        (
            "C1",
            replace(ROTORS, normal=X),
            r"recipe\.pattern.*group C1 .*Take a frame with the group T or I",
        ),
        (
            "T",
            replace(LAPS, places=(0.1, 0.2)),
            r"recipe\.places: found \[0\.1, 0\.2\].*0 as the second place.*axis of their half-turn",
        ),
        (
            "T",
            replace(LAPS, elements=(Turn(X, 180.0), Turn(X, 180.0))),
            r"recipe\.elements\[1\]: found '180 deg'",
        ),
        (
            "T",
            replace(LAPS, elements=(Turn(DIAGONAL, 120.0), Turn(DIAGONAL, 240.0))),
            r"recipe\.elements\[2\]: found '120 deg'.*a turn of 180 deg in pattern",
        ),
        (
            "T",
            replace(LAPS, elements=(Turn(DIAGONAL, 120.0), Turn(X, 90.0))),
            r"recipe\.elements\[2\]: found '90 deg about",
        ),
        (
            "O",
            replace(ROTORS, elements=(Turn(X, 90.0), Turn(Y, 90.0))),
            r"recipe\.elements: found 'turns of 90 deg and 90 deg'.*Leave the field out",
        ),
    ],
)
def test_what_cannot_be_made_is_refused(group: str, recipe: RightAngleOrbit, said: str) -> None:
    with pytest.raises(DesignError, match=said):
        _build(group, recipe)


def test_pieces_can_be_had_by_naming_the_elements() -> None:
    turns = (Turn((1.0, -1.0, -1.0), 120.0), Turn(X, 180.0))
    stage = _build("O", replace(LAPS, elements=turns))
    assert len(stage.orbits.motif) == 24
