# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Exploded offsets: carried along by the group, tabs drawn out backwards, modules outwards."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest

from pinwright.core.assembly.explode import module_offsets, plate_offsets
from pinwright.core.assembly.modules import module_of_plates
from pinwright.core.design.model import ModuleChoice
from tests.stages import Staged, staged_by_name

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# Each with modules that the group carries onto each other.
CASES = [
    ("two rotors", "faces"),
    ("two rotors", "vertices"),
    ("rotor and laps", "vertices"),
    ("rhombic dodecahedron", "vertices"),
    ("truncated tetrahedron", "edges"),
    ("dodecahedron", "none"),
    ("rotor and laps", "none"),
    ("prism", "none"),
    ("by hand", "none"),
]


def _centroids(stage: Staged) -> Floats:
    found = []
    for m, transform in zip(stage.orbits.motif, stage.orbits.transforms, strict=True):
        x, y = stage.finished[m].outline.centroid.coords[0]
        found.append((transform @ (x, y, 0.0, 1.0))[:3])
    return np.array(found)


def _normals(stage: Staged) -> Floats:
    return stage.orbits.transforms[:, :3, 2]


def _parts(name: str, about: str) -> tuple[Staged, ModuleChoice, Floats, Ints]:
    stage, choice = staged_by_name(name), ModuleChoice(about, 0.6, 0.15)
    module = module_of_plates(
        choice, stage.frame, stage.group, stage.motifs, stage.orbits, stage.joints
    )
    return stage, choice, _centroids(stage), module


@pytest.mark.parametrize(("name", "about"), CASES)
def test_a_turned_plate_carries_its_offset_along(name: str, about: str) -> None:
    stage, choice, centroids, module = _parts(name, about)
    radius = stage.frame.radius
    inner = plate_offsets(choice, radius, centroids, _normals(stage), module, stage.joints)
    outer = module_offsets(choice, radius, centroids, module)[module]
    orbits = stage.orbits
    for x in range(stage.group.order):
        image = orbits.plate_of[orbits.motif, stage.group.product[x, orbits.element]]
        turn = stage.group.matrices[x]
        assert inner[image] == pytest.approx(inner @ turn.T, abs=1e-6)
        assert outer[image] == pytest.approx(outer @ turn.T, abs=1e-6)


@pytest.mark.parametrize(("name", "about"), CASES)
def test_offsets_are_as_long_as_was_chosen(name: str, about: str) -> None:
    stage, choice, centroids, module = _parts(name, about)
    radius = stage.frame.radius
    inner = plate_offsets(choice, radius, centroids, _normals(stage), module, stage.joints)
    lengths = np.linalg.norm(inner, axis=1)
    assert ((lengths < 1e-9) | (np.abs(lengths - 0.15 * radius) < 1e-9)).all()
    outer = module_offsets(choice, radius, centroids, module)
    for m, way in enumerate(outer):
        middle = centroids[module == m].mean(axis=0)
        if np.linalg.norm(middle) < 1e-6 * radius:
            assert way.tolist() == [0, 0, 0]
        else:
            assert way == pytest.approx(0.6 * radius * middle / np.linalg.norm(middle))


def test_a_tab_is_drawn_out_against_its_insertion() -> None:
    stage, choice, centroids, module = _parts("by hand", "none")
    inner = plate_offsets(
        choice, stage.frame.radius, centroids, _normals(stage), module, stage.joints
    )
    for plate, insertion in zip(stage.joints.first, stage.joints.insertion, strict=True):
        assert inner[plate] == pytest.approx(-0.15 * stage.frame.radius * insertion)
    # The four tabs press on the upright plate from both sides alike: it stays.
    upright = int(stage.joints.second[0])
    assert inner[upright] == pytest.approx([0, 0, 0])


def test_the_two_plates_of_a_lap_part_from_each_other() -> None:
    stage, choice, centroids, module = _parts("three rings", "none")
    inner = plate_offsets(
        choice, stage.frame.radius, centroids, _normals(stage), module, stage.joints
    )
    # The laps of each ring cancel and so do the rings' middles: each leaves along its own axis.
    assert inner == pytest.approx(0.15 * stage.frame.radius * _normals(stage))
    one = stage.joints
    pair = np.zeros(3, dtype=np.intp)
    alone = type(one)(*(getattr(one, name)[:1] for name in type(one).__slots__))
    moved = plate_offsets(choice, stage.frame.radius, centroids, _normals(stage), pair, alone)
    way = 0.15 * stage.frame.radius * one.insertion[0]
    assert moved[one.first[0]] == pytest.approx(-way)
    assert moved[one.second[0]] == pytest.approx(way)


def test_nothing_moves_when_the_ways_are_zero() -> None:
    stage, _, centroids, module = _parts("two rotors", "faces")
    still = ModuleChoice("faces", 0.0, 0.0)
    assert not plate_offsets(still, 450.0, centroids, _normals(stage), module, stage.joints).any()
    assert not module_offsets(still, 450.0, centroids, module).any()
