# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Features of a motif: kept by its stabiliser, one for each joint that its plates have."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    MotifChoice,
    Sheet,
    Turn,
)
from pinwright.core.errors import DesignError
from pinwright.core.joints.features import Lap, Slot, Tab
from pinwright.core.plates.planes import to_plane
from tests.stages import DESIGNS, Staged, staged, staged_by_name

Floats = npt.NDArray[np.float64]


@pytest.fixture(params=list(DESIGNS))
def stage(request: pytest.FixtureRequest) -> Staged:
    return staged_by_name(request.param)


def _all(stage: Staged, motif: int) -> list[Tab | Slot | Lap]:
    found = stage.features[motif]
    return [*found.tabs, *found.slots, *found.laps]


def _way(feature: Tab | Slot | Lap) -> Floats:
    return feature.along if isinstance(feature, Slot) else feature.out


def test_the_stabiliser_carries_features_onto_features(stage: Staged) -> None:
    for m, motif in enumerate(stage.motifs):
        plane = motif.world_from_plane
        for s in motif.stabiliser:
            matrix = stage.group.matrices[s]
            for feature in _all(stage, m):
                place = plane[:3, :2] @ feature.place + plane[:3, 3]
                image = to_plane(plane, matrix @ place)
                way = (matrix @ plane[:3, :2] @ _way(feature)) @ plane[:3, :2]
                twins = [
                    other
                    for other in _all(stage, m)
                    if type(other) is type(feature)
                    and other.joint == feature.joint
                    and np.abs(other.place - image).max() < 1e-6
                ]
                cosines = [float(_way(twin) @ way) for twin in twins]
                if isinstance(feature, Slot):
                    cosines = [abs(c) for c in cosines]
                assert max(cosines, default=0.0) == pytest.approx(1.0)


def test_plates_have_as_many_features_as_the_whole_has_joints(stage: Staged) -> None:
    plates = np.bincount(stage.orbits.motif)
    tabs = sum(len(f.tabs) * n for f, n in zip(stage.features, plates.tolist(), strict=True))
    slots = sum(len(f.slots) * n for f, n in zip(stage.features, plates.tolist(), strict=True))
    laps = sum(len(f.laps) * n for f, n in zip(stage.features, plates.tolist(), strict=True))
    tenons = int(stage.joints.has_pin.sum())
    assert tabs == tenons
    assert slots == tenons
    assert laps == 2 * (len(stage.joints) - tenons)


def test_every_joint_finds_its_features_on_both_plates(stage: Staged) -> None:
    for k in range(len(stage.joints)):
        joint, tenon = int(stage.joints.joint_class[k]), bool(stage.joints.has_pin[k])
        for role, plate in enumerate((stage.joints.first[k], stage.joints.second[k])):
            features = stage.features[stage.orbits.motif[plate]]
            kinds = (features.tabs, features.slots) if tenon else (features.laps, features.laps)
            transform = stage.orbits.transforms[plate]
            place = to_plane(transform, stage.joints.centre[k])
            near = [
                f for f in kinds[role] if f.joint == joint and np.abs(f.place - place).max() < 1e-6
            ]
            assert len(near) == 1
            if not isinstance(near[0], Slot):
                out = transform[:3, :2] @ near[0].out
                sense = 1.0 if role == 0 else -1.0
                assert out @ stage.joints.insertion[k] == pytest.approx(sense)


def test_the_two_halves_of_a_lap_meet_at_the_split() -> None:
    stage = staged_by_name("six rings")
    for k in range(len(stage.joints)):
        bottoms = []
        for plate in (stage.joints.first[k], stage.joints.second[k]):
            (lap,) = (
                lap
                for lap in stage.features[stage.orbits.motif[plate]].laps
                if lap.joint == stage.joints.joint_class[k]
            )
            transform = stage.orbits.transforms[plate]
            flat = lap.place + lap.bottom * lap.out
            bottoms.append(transform[:3, :2] @ flat + transform[:3, 3])
        assert bottoms[0] == pytest.approx(bottoms[1], abs=1e-9)


BAR = MotifChoice(
    "bar",
    (1.0, 0.0, 1.0),
    0.0,
    (1.0, 0.0, -1.0),
    path=((-120.0, 0.0), (120.0, 0.0)),
    width=40.0,
)
CROSS = JointClassChoice(
    "middle", ("bar", "bar"), JointKind.CROSS_LAP, turn=Turn((0.0, 0.0, 1.0), 180.0)
)


def _crossed(*classes: JointClassChoice) -> Staged:
    return staged(
        Design(
            "bars",
            Sheet(4.0),
            FrameChoice(300.0, group="D2"),
            motifs=(BAR,),
            joint_classes=classes,
        )
    )


def test_a_lap_between_copies_by_a_half_turn_is_one_slot() -> None:
    stage = _crossed(CROSS)
    assert len(stage.motifs[0].stabiliser) == 2
    (features,) = stage.features
    assert len(features.laps) == 1
    assert len(stage.joints) == 1


def test_copies_by_a_half_turn_cannot_be_cut_to_two_depths() -> None:
    said = (
        r"joint_classes\.middle\.split: found 'slots of two depths, 8\.00 mm apart.*allowed is 0\.5"
    )
    with pytest.raises(DesignError, match=said):
        _crossed(replace(CROSS, split=0.4))


def test_one_joint_listed_twice_is_cut_once() -> None:
    again = replace(CROSS, name="again")
    (features,) = _crossed(CROSS, again).features
    assert len(features.laps) == 1
    rotors = staged_by_name("dodecahedron")
    twice = replace(
        rotors.design,
        recipe=None,
        motifs=rotors.form.motifs,
        joint_classes=(
            *rotors.form.joint_classes,
            *(replace(one, name=f"{one.name} again") for one in rotors.form.joint_classes),
        ),
    )
    stage = staged(twice)
    assert len(stage.joints) == len(rotors.joints)
    for one, two in zip(stage.features, rotors.features, strict=True):
        assert len(one.tabs) == len(two.tabs)
        assert len(one.slots) == len(two.slots)
