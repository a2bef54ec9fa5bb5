# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Springs: beam tables and a stiffness matrix for the figures, solids for the way cleared."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.core.assembly.beams import HAND, Beams, bent
from pinwright.core.assembly.blocking import Blocking
from pinwright.core.assembly.motions import Lock, unlock
from pinwright.core.assembly.springing import spring_in, spring_lock, spring_loop
from pinwright.core.assembly.takedown import take_down
from pinwright.core.design.materials import material
from pinwright.core.design.model import JointKind, Sheet
from pinwright.core.results import Build
from tests.built import build
from tests.interlocks import (
    SHARED,
    TRIAD,
    keyed_box,
    rotor,
    solids_of,
    three_planks,
    worlds_of,
)
from tests.judges import shared_volume
from tests.stages import DESIGNS

Floats = npt.NDArray[np.float64]


def _singles(build: Build) -> list[frozenset[int]]:
    return [frozenset({plate}) for plate in range(len(build.plates))]


def test_cantilever_and_built_in_beam_are_those_of_the_tables() -> None:
    # A cantilever, end load 50 N, L 1000, section 3 wide and 40 high, E 70000 MPa: P L^3 / 3 E I =
    # 14.88095 mm, 62.5 MPa (beam tables; the same by PyNiteFEA 3.2).
    force, stress = bent(70000.0, 3.0, 40.0, 14.88095238, 1000.0)
    assert force == pytest.approx(50.0)
    assert stress == pytest.approx(62.5)
    # Built in at both ends, load in the middle: P L^3 / 192 E I = 0.23251 mm, M = P L / 8.
    force, stress = bent(70000.0, 3.0, 40.0, 50.0 * 1000.0**3 / (192 * 70000.0 * 16000.0), 500, 500)
    assert force == pytest.approx(50.0)
    assert stress == pytest.approx(50.0 * 1000.0 / 8 / 800.0)


@settings(max_examples=40)
@given(st.floats(20.0, 400.0), st.floats(20.0, 400.0), st.floats(1.0, 6.0), st.floats(10.0, 60.0))
def test_a_beam_of_two_elements_gives_the_same(a: float, b: float, t: float, w: float) -> None:
    """The stiffness matrix of the Euler-Bernoulli beam (any textbook of frame analysis)."""
    modulus, down = 9000.0, 5.0
    inertia = w * t**3 / 12
    stiff = np.zeros((2, 2))  # deflection and slope at the load; both ends are built in
    for length, sign in ((a, 1.0), (b, -1.0)):
        stiff += (
            modulus
            * inertia
            / length**3
            * np.array([[12.0, -6.0 * length * sign], [-6.0 * length * sign, 4.0 * length**2]])
        )
    slope = -stiff[1, 0] * down / stiff[1, 1]
    load = stiff[0, 0] * down + stiff[0, 1] * slope
    # Moments at the clamps: 6 E I v / L^2 - 2 E I slope / L, each seen from its own side.
    clamps = [
        modulus * inertia * (6.0 * down / length**2 - 2.0 * sign * slope / length)
        for length, sign in ((a, 1.0), (b, -1.0))
    ]
    force, stress = bent(modulus, w, t, down, a, b)
    assert force == pytest.approx(load, rel=1e-9)
    assert stress == pytest.approx(max(map(abs, clamps)) * t / 2 / inertia, rel=1e-9)


def test_a_far_second_clamp_is_no_clamp() -> None:
    assert bent(7e4, 40.0, 3.0, 9.6, 100.0, 1e7) == pytest.approx(
        bent(7e4, 40.0, 3.0, 9.6, 100.0), rel=1e-4
    )


def test_the_triad_by_hand() -> None:
    built = build(rotor(3, TRIAD))
    lock = unlock(Blocking.of(built), _singles(built))
    assert isinstance(lock, Lock)
    springs = spring_loop(Beams.of(built), lock.loop)
    assert len(springs.springs) == 1
    assert len(springs.others) == 2
    assert len(springs.straight) == 2
    one = springs.springs[0]
    assert one.plate == built.joints[one.joint].plates[1]
    # By hand, aluminium 3 x 40 mm: the tab goes from half a sheet before the slot's middle (1.5) to
    # its end: pin radius 1.5 + play 0.5 + half a sheet 1.5 + half a hole 1.6 + web 3.0 beyond it.
    assert one.deflection == pytest.approx(9.6)
    assert one.lever == pytest.approx(300.0)  # from slot to tab along a straight board
    assert one.beyond is None
    inertia = 40.0 * 3.0**3 / 12  # 90 mm4
    assert one.force == pytest.approx(3 * 70300.0 * inertia * 9.6 / 300.0**3)  # 6.75 N
    assert one.stress == pytest.approx(3 * 70300.0 * 3.0 * 9.6 / (2 * 300.0**2))  # 33.7 MPa
    assert one.stress_ratio == pytest.approx(one.stress / 130.0)
    assert one.hands == 1
    assert springs.ok
    assert springs.hands == 3
    assert springs.force == one.force


@pytest.mark.parametrize(("fold", "tilt"), [(3, TRIAD), (4, 20.0), (3, 20.0), (5, 35.0)])
def test_the_deflection_just_clears_the_tab(fold: int, tilt: float) -> None:
    """Solids: pushed back by the deflection, the slot's plate slides freely past the tab."""
    built = build(rotor(fold, tilt, sheet=Sheet(3.0, clearance=0.0)))
    beams = Beams.of(built)
    solids, worlds = solids_of(built), worlds_of(built)
    for number, joint in enumerate(built.joints):
        tab, slot = joint.plates
        normal = worlds[slot][:3, 2]
        normal = normal * np.sign(normal @ joint.insertion)
        for share, clear in ((1.001, True), (0.97, False)):
            pushed = worlds[slot].copy()
            pushed[:3, 3] += share * beams.deflection[number] * normal + 10.0 * joint.line
            shared = shared_volume(solids[slot], pushed, solids[tab], worlds[tab])
            assert (shared < SHARED) is clear


def test_the_easiest_joint_is_sprung() -> None:
    """Two boards of a triad are made stiffer to bend by joints fastened near their slots."""
    built = build(rotor(3, TRIAD))
    beams = Beams.of(built)
    ratios = [beams.spring(k, {0, 1, 2}) for k in range(3)]
    assert {round(one.stress_ratio, 9) for one in ratios if one is not None} == {
        round(33.744 / 130.0, 9)
    }
    weave = build(DESIGNS["two rotors"])
    beams = Beams.of(weave)
    blocking = Blocking.of(weave)
    lock = unlock(blocking, _singles(weave))
    assert isinstance(lock, Lock)
    fastened = set(range(len(weave.joints)))
    chosen = spring_loop(beams, lock.loop, fastened)
    every = [beams.spring(joint, fastened) for joint in lock.loop]
    assert chosen.worst_ratio == min(one.stress_ratio for one in every if one is not None)
    # With the whole sculpture fastened the levers are shorter than with the ring alone.
    assert chosen.worst_ratio > spring_loop(beams, lock.loop).worst_ratio


def test_a_strip_that_nothing_holds_is_bent_from_its_far_end() -> None:
    built = build(rotor(3, TRIAD))
    one = Beams.of(built).spring(0, set())
    assert one is not None
    assert one.from_joint is None
    # The path runs 40 mm behind the slot, 300 mm before it.
    assert one.lever == pytest.approx(300.0)


def test_a_board_goes_in_along_one_way_and_over_the_other() -> None:
    """The last board of a triad enters by its own tab or over it; one of its two joints springs."""
    built = build(rotor(3, TRIAD))
    springs = spring_in(Beams.of(built), Blocking.of(built), {0}, {1, 2})
    assert len(springs.springs) == len(springs.straight) == 1
    assert springs.direction is not None
    joint = built.joints[springs.straight[0]]
    sign = -1.0 if joint.plates[0] == 0 else 1.0
    assert springs.direction == pytest.approx(sign * joint.insertion)
    assert springs.springs[0].joint not in springs.straight
    easy = spring_in(Beams.of(built), Blocking.of(built), {0}, {1})
    assert easy.springs == ()
    assert easy.ok
    assert easy.hands == 2
    nothing = spring_in(Beams.of(built), Blocking.of(built), {0}, set())
    assert nothing.direction is None
    assert nothing.straight == ()


def test_laps_are_never_sprung() -> None:
    built = build(three_planks())
    blocking = Blocking.of(built)
    beams = Beams.of(built)
    assert np.isnan(beams.deflection).all()
    springs = spring_loop(beams, [0, 1, 2])
    assert springs.springs == ()
    assert springs.stuck == (0, 1, 2)
    assert not springs.ok
    last = spring_in(beams, blocking, {0}, {1, 2})
    assert len(last.stuck) == 1
    assert last.worst_ratio == np.inf
    whole = spring_lock(beams, blocking, _singles(built))
    assert set(whole.stuck) == {0, 1, 2}


def test_a_lock_of_tenons_and_laps_is_sprung_at_its_tenons() -> None:
    built = build(keyed_box(True))
    blocking = Blocking.of(built)
    springs = spring_lock(Beams.of(built), blocking, _singles(built))
    assert springs.stuck == ()
    sprung = {one.joint for one in springs.springs}
    assert sprung
    assert all(built.joints[joint].kind is JointKind.TENON for joint in sprung)
    assert take_down(blocking, _singles(built), sprung).locks == ()
    # The boards are short and the sheet is 4 mm thick: that is far beyond what it bears.
    assert not springs.ok


@pytest.mark.parametrize("name", ["dodecahedron", "two rotors", "rotor and laps"])
def test_a_whole_lock_comes_apart_by_its_springs(name: str) -> None:
    design = DESIGNS[name]
    built = build(design)
    blocking = Blocking.of(built)
    bodies = _singles(built)
    beams = Beams.of(built)
    assert take_down(blocking, bodies).locks
    springs = spring_lock(beams, blocking, bodies)
    sprung = {one.joint for one in springs.springs}
    assert take_down(blocking, bodies, sprung | set(springs.stuck)).locks == ()
    assert set(springs.straight) == set(range(len(built.joints))) - sprung - set(springs.stuck)
    # No choice has a smaller worst ratio: without any joint as stiff as that, it stays locked.
    if springs.springs and not springs.stuck:
        every = [
            beams.spring(joint, range(len(built.joints))) for joint in range(len(built.joints))
        ]
        easier = {
            one.joint
            for one in every
            if one is not None and one.stress_ratio < springs.worst_ratio * (1 - 1e-9)
        }
        assert take_down(blocking, bodies, easier).locks


def test_hands_and_force_go_with_the_sheet() -> None:
    thin = build(rotor(3, TRIAD, long=120.0, sheet=Sheet(3.0, "birch-plywood")))
    stiff = build(rotor(3, TRIAD, long=120.0, sheet=Sheet(3.0, "steel-s235")))
    one, other = (spring_loop(Beams.of(b), [0, 1, 2]).springs[0] for b in (thin, stiff))
    ply, steel = material("birch-plywood"), material("steel-s235")
    assert other.force / one.force == pytest.approx(
        steel.youngs_modulus_gpa / ply.youngs_modulus_gpa
    )
    assert one.stress_ratio == pytest.approx(one.stress / ply.yield_mpa)
    assert other.hands == int(np.ceil(other.force / HAND))
    assert other.hands > one.hands
