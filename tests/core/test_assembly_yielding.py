# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Frames of strips against beam tables, and against the strip clamped as in rock."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from pinwright.core.assembly.beams import Beams, bent
from pinwright.core.assembly.closing import Closing, worst_ratio
from pinwright.core.assembly.yielding import Strips, beam_axes, beam_stiffness, displacements
from tests.built import build
from tests.interlocks import TRIAD, rotor

Floats = npt.NDArray[np.float64]
MODULUS, WIDTH, THICK = 70000.0, 40.0, 3.0
SHEAR = MODULUS / (2 * 1.33)


def moved(points: Floats, load: dict[int, Floats], held: set[int]) -> Floats:
    """Displacements (n, 6) of a chain of beams that lie in the plane z = 0."""
    steps = np.diff(points, axis=0)
    sizes = np.column_stack(
        [np.linalg.norm(steps, axis=1), np.full(len(steps), WIDTH), np.full(len(steps), THICK)]
    )
    count = len(points)
    force = np.zeros((count, 6))
    for node, push in load.items():
        force[node] = push
    elements = np.column_stack([np.arange(count - 1), np.arange(1, count)])
    axes = beam_axes(steps, np.array([0.0, 0.0, 1.0]))
    found = displacements(
        elements, axes, beam_stiffness(sizes, MODULUS), count, held, force.ravel()
    )
    assert found is not None
    return found.reshape(-1, 6)


def test_a_cantilever_bends_as_in_the_tables() -> None:
    # F L^3 / 3 E I in each plane, F L / E A along it (any beam table).
    points = np.array([[0.0, 0, 0], [300.0, 0, 0]])
    up = moved(points, {1: np.array([0, 0, 1.0, 0, 0, 0])}, {0})[1, 2]
    aside = moved(points, {1: np.array([0, 1.0, 0, 0, 0, 0])}, {0})[1, 1]
    along = moved(points, {1: np.array([1.0, 0, 0, 0, 0, 0])}, {0})[1, 0]
    assert up == pytest.approx(300.0**3 / (3 * MODULUS * WIDTH * THICK**3 / 12), rel=1e-5)
    assert aside == pytest.approx(300.0**3 / (3 * MODULUS * THICK * WIDTH**3 / 12), rel=1e-5)
    assert along == pytest.approx(300.0 / (MODULUS * WIDTH * THICK), rel=1e-3)


@pytest.mark.parametrize(("slender", "factor"), [(3, 0.263), (5, 0.291), (10, 0.312)])
def test_twist_of_a_thin_strip_is_that_of_the_table(slender: int, factor: float) -> None:
    # Torsion of a rectangle, k w t^3 G (Timoshenko and Goodier, Theory of Elasticity, from memory).
    stiffness = beam_stiffness(np.array([[100.0, 3.0 * slender, 3.0]]), MODULUS)[0]
    expected = factor * 3.0 * slender * 27.0 * SHEAR / 100.0
    assert stiffness[3, 3] == pytest.approx(expected, rel=5e-3)


def test_an_angled_bracket_bends_and_twists() -> None:
    # Two arms a, b at a right angle, loaded across their plane at the end: by the tables
    # F a^3 / 3EI + F b^3 / 3EI + F b^2 a / GJ, the last for the twist of the first arm.
    a, b = 200.0, 150.0
    points = np.array([[0.0, 0, 0], [a, 0, 0], [a, b, 0]])
    tip = moved(points, {2: np.array([0, 0, 1.0, 0, 0, 0])}, {0})[2, 2]
    soft = MODULUS * WIDTH * THICK**3 / 12
    twist = SHEAR * WIDTH * THICK**3 * (1 - 0.63 * THICK / WIDTH) / 3
    assert tip == pytest.approx((a**3 + b**3) / (3 * soft) + b**2 * a / twist, rel=1e-4)


def test_what_gives_way_asks_less_than_what_is_clamped() -> None:
    # A ring of three boards: closed but for one joint, its strip is a cantilever for the formula.
    ring = build(rotor(3, TRIAD))
    beams = Beams.of(ring)
    every = range(len(ring.joints))
    spring = beams.spring(0, every)
    assert spring is not None
    part = ring.parts[0]
    assert part.width is not None
    force, _ = bent(
        beams.modulus, part.width, part.thickness, spring.deflection, spring.lever, spring.beyond
    )
    assert force == pytest.approx(spring.force)
    eased = Strips(ring, beams.modulus).spring(0, spring.deflection, every, 2)
    assert eased is not None
    assert 0.0 < eased[0] < spring.force
    assert 0.0 < eased[1] < spring.stress


def test_the_order_of_springing_is_the_best_of_all() -> None:
    ring = build(rotor(4, 30.0))
    closing = Closing(ring)
    springs = closing.in_turn([0, 1, 2], set())
    assert sorted(spring.joint for spring in springs) == [0, 1, 2]
    last = closing.spring(springs[-1].joint, {0, 1, 2})
    assert last is not None
    assert last.stress_ratio == springs[-1].stress_ratio
    assert worst_ratio(springs) <= 1.0 or not closing.bearable([0, 1, 2], {0, 1, 2})
