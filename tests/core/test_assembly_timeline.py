# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Films of the assembly: nothing passes through anything (manifold3d); the end is the design."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import BPoly
from scipy.spatial.transform import Rotation

from pinwright.core.assembly.airspace import Airspace
from pinwright.core.assembly.captions import Caption, captions, subtitles
from pinwright.core.assembly.covers import Cover, covers_of
from pinwright.core.assembly.flights import fly_in, round_outside
from pinwright.core.assembly.plan import planned
from pinwright.core.assembly.poses import body_pose, moments
from pinwright.core.assembly.steps_read import with_steps
from pinwright.core.assembly.timeline import Timeline, assembly_timeline
from pinwright.core.assembly.tracks import EASE, Track, matrix_of, product, turned_between
from pinwright.core.design.model import AssemblyChoice, Design
from pinwright.core.errors import PinwrightError
from pinwright.core.export.plan_record import plan_record
from pinwright.core.pipeline import build
from pinwright.core.results import Build, Module, Step
from tests.builders import small_build, small_design
from tests.interlocks import TRIAD, boarded_box, keyed_box, rotor
from tests.timeline_judge import film_overlaps

SECONDS = 6.0
FRAMES = np.linspace(0.0, SECONDS, 20)


def films(design: Design, modules: tuple[Module, ...] = ()) -> tuple[Build, Timeline]:
    done = build(design)
    if modules:
        home = {plate: k for k, module in enumerate(modules) for plate in module.plates}
        plates = tuple(replace(p, module=home[k]) for k, p in enumerate(done.plates))
        joints = tuple(
            replace(j, within_module=home[j.plates[0]] == home[j.plates[1]]) for j in done.joints
        )
        done = replace(done, plates=plates, joints=joints, modules=modules)
    done = planned(done)
    return done, assembly_timeline(done, SECONDS)


@pytest.mark.parametrize(
    "design", [boarded_box(), keyed_box(crossed=True), rotor(3, TRIAD), small_design()]
)
def test_no_plate_passes_through_another_and_the_end_is_the_design(design: Design) -> None:
    done, film = films(design)
    assert film_overlaps(done, film, FRAMES) == []
    for track in (*film.plates, *(one for row in film.fasteners for one in row)):
        assert np.abs(track.pose(SECONDS) - np.eye(4)).max() <= 1e-12
    assert np.abs(film.lift.at(SECONDS)[0]).max() == 0.0
    assert max(mark.locked for mark in film.marks) <= SECONDS


def test_modules_are_put_together_aside_and_carried_in() -> None:
    plain = build(small_design())
    left = tuple(k for k, p in enumerate(plain.plates) if p.id in ("A01", "A03", "B01"))
    right = tuple(k for k, p in enumerate(plain.plates) if k not in left)
    still = np.zeros(3)
    inside = tuple(k for k, j in enumerate(plain.joints) if set(j.plates) <= set(left))
    modules = (Module("M01", left, inside, still), Module("M02", right, (), still))
    done, film = films(small_design(), modules)
    assert film_overlaps(done, film, FRAMES) == []
    at_tables = [
        mark for mark, step in zip(film.marks, done.steps, strict=True) if step.module == 0
    ]
    assert at_tables
    plate = done.plates.index(next(p for p in done.plates if p.id == "B01"))
    moved = film.plates[plate].pose(at_tables[-1].landed)
    centre = (moved @ np.append(film.covers[plate].centre, 1.0))[:3]
    assert np.linalg.norm(centre[:2]) > done.totals.diameter / 2  # beside, not in the middle


def test_the_judge_sees_a_plate_that_is_in_the_way() -> None:
    done, film = films(boarded_box())
    aside = Track.of([0.0, SECONDS], [[0.0, 0.0, 5.0], [0.0, 0.0, 5.0]])
    wrong = replace(film, plates=(aside, *film.plates[1:]))
    assert film_overlaps(done, wrong, FRAMES)


def test_steps_wait_for_those_before_them() -> None:
    done, film = films(rotor(3, TRIAD))
    marks = {mark.n: mark for mark in film.marks}
    for step in done.steps:
        for before in step.after:
            assert marks[before].landed <= marks[step.n].landed
        for joint in step.pin:
            first = min(track.times[0] for track in film.fasteners[joint])
            assert first >= marks[step.n].landed - 1e-9  # pins last


def test_a_sculpture_put_together_from_the_top_is_lifted() -> None:
    done = planned(build(replace(small_design(), assembly=AssemblyChoice(start="top"))))
    film = assembly_timeline(done, SECONDS, drop=400.0)
    assert film.lift.at(0.0)[0].tolist() == [0.0, 0.0, -400.0]
    assert film.lift.at(film.marks[-1].locked)[0][2] == pytest.approx(-400.0)
    standing = planned(build(replace(small_design(), assembly=AssemblyChoice(start="base"))))
    assert assembly_timeline(standing, SECONDS).lift.at(0.0)[0].tolist() == [0.0, 0.0, 0.0]


@pytest.mark.parametrize("seconds", [0.5, -1.0, float("nan")])
def test_a_film_too_short_is_refused(seconds: float) -> None:
    with pytest.raises(PinwrightError, match="seconds"):
        assembly_timeline(planned(build(small_design())), seconds)


def test_a_build_without_plan_is_refused() -> None:
    with pytest.raises(PinwrightError, match="plan"):
        assembly_timeline(small_build(), SECONDS)


# ---------------------------------------------------------------- what it is made of


def test_balls_hold_their_plates() -> None:
    # trimesh triangulates and samples the plates by its own means.
    done = build(small_design())
    for plate, cover in zip(done.plates, covers_of(done), strict=True):
        part = done.parts[plate.part]
        solid = trimesh.creation.extrude_polygon(part.outline, part.thickness)
        solid.apply_translation([0.0, 0.0, -part.thickness / 2])
        solid.apply_transform(plate.world_from_part)
        points = np.concatenate(
            [solid.vertices, trimesh.sample.sample_surface(solid, 500, seed=1)[0]]
        )
        gaps = np.linalg.norm(points[:, None] - cover.centres[None], axis=2) - cover.radii
        assert gaps.min(axis=1).max() < 1e-6
        assert (np.linalg.norm(points - cover.centre, axis=1) <= cover.reach + 1e-6).all()


def test_easing_is_the_bezier_curve_that_blender_draws() -> None:
    # A cubic Bezier curve with level handles at the thirds (scipy's Bernstein polynomials).
    track = Track.of([1.0, 3.0], [[0.0, 0.0, 0.0], [9.0, 0.0, 0.0]], None, EASE)
    curve = BPoly([[0.0], [0.0], [9.0], [9.0]], [1.0, 3.0])
    for moment in np.linspace(1.0, 3.0, 9):
        assert track.at(moment)[0][0] == pytest.approx(float(curve(moment)), abs=1e-12)


@given(st.integers(0, 10**6))
def test_quaternions_agree_with_scipy(seed: int) -> None:
    one, two = Rotation.random(2, random_state=seed)
    a, b = (turn.as_quat(scalar_first=True) for turn in (one, two))
    assert np.allclose(matrix_of(a), one.as_matrix())
    assert np.allclose(matrix_of(product(a, b)), (one * two).as_matrix())
    x, y = one.as_matrix()[0], two.as_matrix()[0]
    assert np.allclose(matrix_of(turned_between(x, y)) @ x, y)


@given(st.integers(0, 10**6))
def test_a_way_round_keeps_out(seed: int) -> None:
    ends = np.random.default_rng(seed).normal(size=(2, 3))
    ends *= (1.0 + np.random.default_rng(seed).random((2, 1))) / np.linalg.norm(
        ends, axis=1, keepdims=True
    )
    path = round_outside(ends[0], ends[1], 1.0)
    assert np.allclose(path[[0, -1]], ends)
    steps = np.linspace(0, 1, 50)[:, None, None]
    inner = path[:-1] + steps * np.diff(path, axis=0)
    assert np.linalg.norm(inner, axis=2).min() >= 1.0 - 1e-9


def test_who_would_meet_another_waits() -> None:
    body = Cover.of(np.zeros((1, 3)), np.array([50.0]))
    across = Track.of([0.0, 1.0], [[-500.0, 0.0, 0.0], [500.0, 0.0, 0.0]])
    down = Track.of([0.0, 1.0], [[0.0, 0.0, 500.0], [0.0, 0.0, -500.0]])
    air = Airspace()
    air.add(across.timed(0.0, 1.0), body)
    assert air.clear_from(down, body, 1.0, 2.0) == 2.0
    start = air.clear_from(down, body, 1.0, 0.0)
    assert start > 0.0
    for moment in np.linspace(start, 1.0, 200):
        gap = across.at(moment)[0] - down.timed(start, 1.0).at(moment)[0]
        assert np.linalg.norm(gap) > 100.0


def test_a_body_is_first_seen_outside_of_all_that_stands() -> None:
    body = Cover.of(np.zeros((1, 3)), np.array([20.0]))
    standing = Cover.of(np.array([[0.0, 0.0, -80.0]]), np.array([100.0]))
    legs = np.array([[0.0, 3000.0, 0.0], [0.0, 30.0, 0.0], [0.0, 0.0, 0.0]])
    step = Step(1, None, (0,), legs, True, (), (), (), (), 1.0, 1, (), "")
    way = fly_in(step, body, standing)
    assert np.linalg.norm(way.shifts[0] - standing.centre) >= 120.0
    assert way.shifts[0][1] < 3000.0
    assert np.array_equal(way.shifts[1:], legs[1:])


@pytest.mark.parametrize("degrees", [0.0, 75.0])
def test_turning_steps_go_through_the_poses_of_the_plan(degrees: float) -> None:
    body = Cover.of(np.array([[40.0, 0.0, 0.0]]), np.array([20.0]))
    standing = Cover.of(np.array([[0.0, 0.0, -80.0]]), np.array([100.0]))
    legs = np.array([[0.0, 3000.0, 0.0], [0.0, 130.0, 0.0], [0.0, 0.0, 0.0]])
    quarter = Rotation.from_euler("z", degrees, degrees=True).as_quat()
    turns = np.array([quarter, quarter, [0.0, 0.0, 0.0, 1.0]])
    pivot = np.array([10.0, 5.0, 0.0])
    step = Step(1, None, (0,), legs, True, (), (), (), (), 1.0, 1, (), "", turns=turns, pivot=pivot)
    way = fly_in(step, body, standing)
    when = moments(step)
    shifts, matrices = way.many(np.linspace(way.times[1], 1.0, 400))
    point = np.array([40.0, 0.0, 0.0])
    shown = matrices @ point + shifts
    for share in np.linspace(0.0, 1.0, 21):  # on the last leg: the same curve, at another pace
        asked = body_pose(step, when[1] + share * (1 - when[1]))
        there = asked[:3, :3] @ point + asked[:3, 3]
        assert np.linalg.norm(shown - there, axis=1).min() < 1.0
    assert np.abs(way.pose(1.0) - np.eye(4)).max() < 1e-12


# ---------------------------------------------------------------- captions


def test_captions_can_be_read_and_tell_of_each_step_once() -> None:
    done, film = films(rotor(3, TRIAD))
    lines = captions(done, film)
    assert lines[0].text.startswith("Step 1: ")
    assert all(line.end - line.start >= 1.2 - 1e-9 for line in lines[:-1])
    assert all(a.end == b.start for a, b in pairwise(lines))
    told = [n for line in lines for n in range(line.steps[0], line.steps[1] + 1)]
    assert set(told) == {step.n for step in done.steps}


def test_each_step_is_told_once_however_long_captions_stand() -> None:
    done, film = films(rotor(3, TRIAD))
    steps = sorted(step.n for step in done.steps)
    counts = set()
    for least in np.linspace(0.01, 1.2 * film.seconds, 60).tolist():
        lines = captions(done, film, least)
        if film.lift.shifts.any():
            assert lines[-1].text == "The whole is lifted"
            lines = lines[:-1]
        told = [n for line in lines for n in range(line.steps[0], line.steps[1] + 1)]
        assert told == steps, least
        assert all(a.end == b.start for a, b in pairwise(lines))
        counts.add(len(lines))
    assert {1, 2} <= counts  # from one for each step down to one for all


def test_subtitles_are_read_back_by_a_plain_pattern() -> None:
    # The form as players take it: number, "hh:mm:ss,mmm --> hh:mm:ss,mmm", text, empty line.
    text = subtitles([Caption(0.0, 1.5, "One", (1, 1)), Caption(3661.25, 3662.0, "Two", (2, 2))])
    found = re.findall(r"(\d+)\n(\d\d:\d\d:\d\d,\d{3}) --> (\S+)\n(.+)\n", text)
    assert found == [
        ("1", "00:00:00,000", "00:00:01,500", "One"),
        ("2", "01:01:01,250", "01:01:02,000", "Two"),
    ]


def test_a_plan_is_read_back_from_its_record() -> None:
    done, film = films(rotor(3, TRIAD))
    record = json.loads(json.dumps(plan_record(done)))
    again = with_steps(replace(done, steps=()), record["steps"])
    for one, other in zip(done.steps, again.steps, strict=True):
        assert (one.n, one.module, one.add, one.close, one.pin) == (
            other.n, other.module, other.add, other.close, other.pin,
        )  # fmt: skip
        assert (one.springs, one.after, one.free, one.say) == (
            other.springs, other.after, other.free, other.say,
        )  # fmt: skip
        assert np.allclose(one.way, other.way, atol=1e-9)
    same = assembly_timeline(again, SECONDS)
    assert [mark.landed for mark in same.marks] == pytest.approx([m.landed for m in film.marks])
    record["steps"][0]["add"] = ["Z99"]
    with pytest.raises(PinwrightError, match="Z99"):
        with_steps(done, record["steps"])


@given(st.integers(0, 10**6))
def test_many_moments_are_the_single_ones(seed: int) -> None:
    random = np.random.default_rng(seed)
    turns = Rotation.random(5, random_state=seed).as_quat(scalar_first=True)
    times = np.cumsum(random.random(5) + 0.1)
    track = Track.of(times, random.normal(size=(5, 3)), turns, random.integers(0, 3, 4))
    moments = np.concatenate([np.linspace(0.0, times[-1] + 1, 9), times])
    shifts, matrices = track.many(moments)
    for moment, shift, matrix in zip(moments, shifts, matrices, strict=True):
        pose = track.pose(moment)
        assert np.allclose(pose[:3, 3], shift)
        assert np.allclose(pose[:3, :3], matrix)
