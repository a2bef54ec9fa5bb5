# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Triads: right angles by numpy, designs that build for every group, solids that fit."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from pinwright.core.design.model import (
    CornerTriads,
    Design,
    FrameChoice,
    InterwovenTriads,
    JointSizes,
    Sheet,
)
from pinwright.core.errors import DesignError
from pinwright.core.fit.sizes import resolve_sizes
from pinwright.core.frame.frame import frame_from_mesh, frame_from_solid
from pinwright.core.frame.group import rotation_group
from pinwright.core.plates.recipes import explicit_form
from pinwright.core.plates.recipes.triads import triad_axes, triad_normal
from pinwright.core.results import Build
from tests.built import build
from tests.crossings import assert_sound
from tests.stages import Staged, staged

SIZES = resolve_sizes(JointSizes(), Sheet(3.0), 30.0)


def _design(recipe: CornerTriads | InterwovenTriads, group: str = "T") -> Design:
    return Design("triads", Sheet(3.0), FrameChoice(1000.0, group=group), recipe)


@pytest.mark.parametrize("group", ["T", "O", "I"])
def test_three_planes_of_a_corner_are_square(group: str) -> None:
    found = rotation_group(group)
    axes = triad_axes(found)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    turn = Rotation.from_rotvec(axes[:, 2] * np.radians(120.0)).as_matrix()
    assert np.abs(found.matrices - turn).max(axis=(1, 2)).min() < 1e-9
    for angle in (0.0, 17.0, 200.0):
        normal = axes @ triad_normal(angle)
        assert abs(normal @ turn @ normal) < 1e-12


@pytest.mark.parametrize(("group", "plates"), [("T", 24), ("O", 48), ("I", 120)])
def test_corner_triads_build(group: str, plates: int) -> None:
    built = build(_design(CornerTriads(34.0), group))
    assert built.ok, [(c.name, c.figure, c.where[:1]) for c in built.checks if not c.ok]
    assert len(built.plates) == plates
    assert len(built.parts) == 2
    assert len(built.joints) == plates // 2 * 3
    assert all(joint.angle == pytest.approx(90.0, abs=1e-6) for joint in built.joints)


def test_corner_triads_are_judged_sound() -> None:
    assert_sound(build(_design(CornerTriads(40.0))), copies=1)


@settings(max_examples=20)
@given(
    turn=st.floats(-180.0, 180.0),
    offsets=st.tuples(st.floats(0.2, 0.7), st.floats(0.2, 0.7)),
    places=st.tuples(*[st.floats(-0.5, 0.5)] * 3),
    group=st.sampled_from(["T", "O", "I"]),
)
def test_every_number_keeps_the_joints_square(
    turn: float, offsets: tuple[float, ...], places: tuple[float, ...], group: str
) -> None:
    frame = frame_from_solid({"T": "tetrahedron", "O": "cube", "I": "dodecahedron"}[group], 900.0)
    design = _design(CornerTriads(30.0, turn, offsets, places), group)
    try:
        form = explicit_form(design, frame, SIZES)
    except DesignError as error:
        if error.field != "recipe.turn":  # where a tie's two planes are parallel
            raise
        return
    normals = {motif.name: np.array(motif.normal) for motif in form.motifs}
    for joint in form.joint_classes:
        element = form.group.element(joint.turn.axis, joint.turn.angle)
        a, b = (normals[name] for name in joint.motifs)
        assert abs(a @ form.group.matrices[element] @ b) < 1e-9


def test_the_numbers_hold_for_any_position_of_the_frame() -> None:
    plain = frame_from_solid("tetrahedron", 1000.0)
    turn = Rotation.random(random_state=4).as_matrix()
    turned = frame_from_mesh("turned", plain.vertices @ turn.T, plain.faces)
    one, two = (build(_design(CornerTriads(36.0)), frame=frame) for frame in (plain, turned))
    assert two.ok
    assert [part.quantity for part in one.parts] == [part.quantity for part in two.parts]
    assert two.totals.mass == pytest.approx(one.totals.mass, rel=1e-6)


@cache
def _interwoven(group: str, width: float) -> Build:
    return build(_design(InterwovenTriads(width), group))


@pytest.mark.parametrize(("group", "width", "plates"), [("T", 30.0, 36), ("I", 25.0, 180)])
def test_interwoven_triads_build(group: str, width: float, plates: int) -> None:
    built = _interwoven(group, width)
    assert built.ok, [(c.name, c.figure, c.where[:1]) for c in built.checks if not c.ok]
    assert len(built.plates) == plates
    assert [part.quantity for part in built.parts] == [plates // 3] * 3
    assert len(built.joints) == plates // 3 * 4
    assert all(joint.angle == pytest.approx(90.0, abs=1e-6) for joint in built.joints)


def test_interwoven_triads_of_many_axes_are_judged_sound() -> None:
    assert_sound(_interwoven("I", 25.0), copies=1)


def _loop(stage: Staged, name: str) -> npt.NDArray[np.float64]:
    """Return the closed polygon (n, 3) of one triad: along its strips from slot to tab."""
    joint = next(c for c in stage.classes if c.name == name)
    motif, turn = stage.motifs[joint.a], stage.group.matrices[joint.element]
    assert motif.path is not None
    path = motif.path @ motif.world_from_plane[:3, :2].T + motif.world_from_plane[:3, 3]
    tab, slot = joint.centre, turn.T @ joint.centre
    ends = sorted(int(np.argmin(np.linalg.norm(path - place, axis=1))) for place in (tab, slot))
    piece = path[ends[0] : ends[1] + 1]
    if np.linalg.norm(piece[0] - tab) < np.linalg.norm(piece[-1] - tab):
        piece = piece[::-1]
    return np.concatenate([piece, piece @ turn.T, piece @ turn])


def _crossings(one: npt.NDArray[np.float64], two: npt.NDArray[np.float64]) -> float:
    """Half the sum of the signs of the crossings of two polygons, seen from one side.

    That is their linking number (textbooks on knots; from memory): not 0 only if they are linked.
    """
    seen = Rotation.random(random_state=8).as_matrix()
    (a, b), (c, d) = ((loop @ seen, np.roll(loop, -1, axis=0) @ seen) for loop in (one, two))
    p, q = a[:, None], (b - a)[:, None]  # edges p + t q and r + u s
    r, s = c[None], (d - c)[None]
    area = np.cross(q, s)[..., 2]
    t, u = (np.cross(r - p, edge)[..., 2] / area for edge in (s, q))
    met = (t >= 0) & (t < 1) & (u >= 0) & (u < 1)
    above = (p + t[..., None] * q)[..., 2] > (r + u[..., None] * s)[..., 2]
    return float((np.sign(area) * np.where(above, 1, -1))[met].sum() / 2)


@pytest.mark.parametrize(("group", "width"), [("T", 30.0), ("I", 25.0)])
def test_two_triads_of_an_axis_pass_through_each_other(group: str, width: float) -> None:
    stage = staged(_design(InterwovenTriads(width), group))
    loops = [_loop(stage, name) for name in ("first", "second")]
    for loop in loops:  # of one axis: a turn by 120 degrees carries each onto itself
        turn = stage.group.matrices[stage.classes[0].element]
        gaps = np.linalg.norm((loop @ turn.T)[:, None] - loop[None], axis=2).min(axis=1)
        assert gaps.max() < 1e-6
    # Three times, as the turn by 120 degrees carries each place where they pass to two others.
    assert abs(_crossings(*loops)) == 3.0


@pytest.mark.parametrize(
    ("recipe", "group", "message"),
    [
        (CornerTriads(30.0), "D5", r"^frame: .*group T, O or I"),
        (InterwovenTriads(30.0), "O", r"^frame: .*all triads of one sort"),
    ],
)
def test_what_cannot_be_is_refused(
    recipe: CornerTriads | InterwovenTriads, group: str, message: str
) -> None:
    with pytest.raises(DesignError, match=message):
        build(_design(recipe, group))
