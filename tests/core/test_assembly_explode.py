# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Exploded offsets: carried along by the group, tabs drawn out backwards, modules outwards."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from functools import cache

import fcl
import numpy as np
import numpy.typing as npt
import pytest

from pinwright.core.assembly import explode_spread
from pinwright.core.assembly.explode import (
    SPLIT,
    Scattered,
    module_offsets,
    plate_offsets,
    straight_ways,
)
from pinwright.core.assembly.explode_spread import modules_apart
from pinwright.core.assembly.modules import module_of_plates
from pinwright.core.design.model import Design, EdgeRotor, FrameChoice, ModuleChoice, Sheet
from pinwright.core.export.build_json import build_json
from pinwright.core.frame.frame import frame_from_mesh, frame_from_solid
from pinwright.core.outlines.finish import without_flaps
from pinwright.core.pipeline import build
from tests.exploded_judge import judge_exploded
from tests.judges import as_fcl, fcl_mesh
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


def _scattered(stage: Staged, centroids: Floats, module: Ints) -> Scattered:
    bare = [without_flaps(one.outline, one.flaps) for one in stage.finished]
    return Scattered(
        stage.orbits, stage.group, stage.joints, centroids, module, bare, stage.sizes.thickness
    )


@cache
def _inner(name: str, about: str) -> Floats:
    stage, choice, plates = _parts(name, about)
    return plate_offsets(choice, stage.frame.radius, plates)


@cache
def _parts(name: str, about: str) -> tuple[Staged, ModuleChoice, Scattered]:
    stage, choice = staged_by_name(name), ModuleChoice(about, 0.6, 0.15)
    module = module_of_plates(
        choice, stage.frame, stage.group, stage.motifs, stage.orbits, stage.joints
    )
    return stage, choice, _scattered(stage, _centroids(stage), module)


@pytest.mark.parametrize(("name", "about"), CASES)
def test_a_turned_plate_carries_its_offset_along(name: str, about: str) -> None:
    stage, choice, plates = _parts(name, about)
    radius, module, orbits = stage.frame.radius, plates.module, stage.orbits
    inner = _inner(name, about)
    outer = module_offsets(choice, radius, plates.centroids, module)[module]
    for x in range(stage.group.order):
        image = orbits.plate_of[orbits.motif, stage.group.product[x, orbits.element]]
        turn = stage.group.matrices[x]
        # A plate that a turn carries onto itself belongs to one of several modules: it goes with
        # its own, so its offset is carried along where its module is.
        along = np.array([_carried(module, image, int(p)) for p in range(len(image))])
        assert inner[image][along] == pytest.approx((inner @ turn.T)[along], abs=1e-6)
        assert outer[image] == pytest.approx(outer @ turn.T, abs=1e-6)
        assert along.any()


def _carried(module: Ints, image: Ints, plate: int) -> bool:
    """Whether the plates of a plate's module go to one module."""
    return len(set(module[image[module == module[plate]]])) == 1


@pytest.mark.parametrize(("name", "about"), CASES)
def test_equal_plates_go_equally_far_and_at_least_as_far_as_was_chosen(
    name: str, about: str
) -> None:
    stage, choice, plates = _parts(name, about)
    radius = stage.frame.radius
    lengths = np.linalg.norm(_inner(name, about), axis=1)
    for motif in range(len(stage.motifs)):
        own = lengths[stage.orbits.motif == motif]
        assert np.ptp(own) < 1e-6
        assert own[0] < 1e-9 or own[0] > 0.15 * radius - 1e-6
    outer = module_offsets(choice, radius, plates.centroids, plates.module)
    for m, way in enumerate(outer):
        middle = plates.centroids[plates.module == m].mean(axis=0)
        if np.linalg.norm(middle) < 1e-6 * radius:
            assert way.tolist() == [0, 0, 0]
        else:
            assert way == pytest.approx(0.6 * radius * middle / np.linalg.norm(middle))


def test_a_tab_is_drawn_out_against_its_insertion() -> None:
    stage, choice, plates = _parts("by hand", "none")
    inner = plate_offsets(choice, stage.frame.radius, plates)
    for plate, insertion in zip(stage.joints.first, stage.joints.insertion, strict=True):
        assert inner[plate] == pytest.approx(-0.15 * stage.frame.radius * insertion)


@pytest.mark.parametrize(("name", "about"), CASES)
def test_plates_stand_clear_of_their_module_in_the_end(name: str, about: str) -> None:
    """Judged by python-fcl: inside each module no two plates touch at full explosion."""
    stage, _, plates = _parts(name, about)
    inner = _inner(name, about)
    t = stage.sizes.thickness
    meshes = [fcl_mesh(one.outline.buffer(-0.03), t - 0.06) for one in stage.finished]
    objects = []
    for p, pose in enumerate(stage.orbits.transforms):
        moved = pose.copy()
        moved[:3, 3] += inner[p]
        objects.append(as_fcl(meshes[stage.orbits.motif[p]], moved))
    first = plates.module == plates.module[0]
    for a, b in itertools.combinations(np.flatnonzero(first).tolist(), 2):
        hit = fcl.collide(objects[a], objects[b], fcl.CollisionRequest(), fcl.CollisionResult())
        assert not hit, (a, b)


@pytest.mark.parametrize(("name", "about"), [case for case in CASES if case[1] != "none"])
def test_one_of_each_motif_speaks_for_all_plates(
    name: str, about: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    stage, choice, plates = _parts(name, about)
    own = _inner(name, about)
    # So near that modules meet, and farther until they do not.
    near = replace(choice, explode=0.02)
    away = module_offsets(near, stage.frame.radius, plates.centroids, plates.module)
    told = modules_apart(plates, away, own)
    assert told > 1.0
    monkeypatch.setattr(explode_spread, "_carried", lambda *_: False)  # each pair is looked at
    assert modules_apart(plates, away, own) == told


def test_a_crowd_of_unequal_plates_stands_clear_in_the_end() -> None:
    """Judged by python-fcl and manifold3d: a dodecahedron squashed until each strip is unequal."""
    stretch = np.array([[1.0, 0.13, 0.05], [0.0, 0.85, 0.11], [0.0, 0.0, 0.78]])
    solid = frame_from_solid("dodecahedron", 900.0)
    squashed = frame_from_mesh("squashed", solid.vertices @ stretch, solid.faces, 900.0)
    built = build(
        Design("squashed", Sheet(3.0), FrameChoice(900.0, group="C1"), EdgeRotor(36.0)),
        frame=squashed,
    )
    assert len({plate.motif for plate in built.plates}) == 30
    record = json.loads(build_json(built))
    assert judge_exploded(record, [1.0]).clashes == {}
    lengths = [float(np.linalg.norm(plate.explode)) for plate in built.plates]
    assert np.mean(lengths) > 0.15 * squashed.radius - 1e-6
    for plate in record["plates"]:  # the least way would not do, and the judge sees it
        short = 0.02 * np.array(plate["explode"])
        plate["explode_way"] = [[0.0, 0.0, 0.0, 0.0], [1.0, *short]]
    assert judge_exploded(record, [1.0]).clashes


def test_nothing_moves_when_the_ways_are_zero() -> None:
    _, _, plates = _parts("two rotors", "faces")
    still = ModuleChoice("faces", 0.0, 0.0)
    assert not plate_offsets(still, 450.0, plates).any()
    assert not module_offsets(still, 450.0, plates.centroids, plates.module).any()


def test_modules_part_before_their_plates_do() -> None:
    away, own = np.array([[10.0, 0.0, 0.0]]), np.array([[0.0, 4.0, 0.0]])
    assert straight_ways(away, own)[0].tolist() == [
        [0.0, 0.0, 0.0, 0.0],
        [SPLIT, 10.0, 0.0, 0.0],
        [1.0, 10.0, 4.0, 0.0],
    ]
    assert straight_ways(away, own, None)[0].tolist() == [[0, 0, 0, 0], [1, 10, 4, 0]]
