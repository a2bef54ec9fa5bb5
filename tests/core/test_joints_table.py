# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The table of joints: one row for each physical joint, the same seen from everywhere."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from scipy.spatial import cKDTree

from pinwright.core.joints.table import JointTable, joint_table
from tests.stages import DESIGNS, Staged, explicit, staged, staged_by_name


@pytest.fixture(params=list(DESIGNS))
def stage(request: pytest.FixtureRequest) -> Staged:
    return staged_by_name(request.param)


def test_no_two_rows_are_one_joint(stage: Staged) -> None:
    joints = stage.joints
    same = cKDTree(joints.centre).query_pairs(0.5)
    for i, j in same:
        assert {joints.first[i], joints.second[i]} != {joints.first[j], joints.second[j]}
    assert (joints.first != joints.second).all()


def test_the_group_carries_joints_onto_joints(stage: Staged) -> None:
    joints, orbits, group = stage.joints, stage.orbits, stage.group
    rows = {}
    for k in range(len(joints)):
        rows[_key(joints, k, int(joints.first[k]), int(joints.second[k]))] = k
    for x in range(group.order):
        image_of = [
            int(orbits.plate_of[m, group.product[x, e]])
            for m, e in zip(orbits.motif, orbits.element, strict=True)
        ]
        images = set()
        for k in range(len(joints)):
            pair = image_of[joints.first[k]], image_of[joints.second[k]]
            centre = group.matrices[x] @ joints.centre[k]
            there = [
                rows[key]
                for key in rows
                if key[0] == (tuple(sorted(pair)) if not joints.has_pin[k] else pair)
                and np.abs(joints.centre[rows[key]] - centre).max() < 1e-6
            ]
            assert len(there) == 1
            images.add(there[0])
            sense = (
                1.0 if (int(joints.first[there[0]]), int(joints.second[there[0]])) == pair else -1
            )
            moved = group.matrices[x] @ joints.insertion[k]
            assert moved == pytest.approx(sense * joints.insertion[there[0]], abs=1e-9)
        assert len(images) == len(joints)


def _key(joints: JointTable, k: int, a: int, b: int) -> tuple[tuple[int, ...], int]:
    pair = (a, b) if joints.has_pin[k] else tuple(sorted((a, b)))
    return pair, k


def test_joints_stand_where_their_plates_cross(stage: Staged) -> None:
    joints = stage.joints
    normals = stage.orbits.transforms[:, :3, 2]
    offsets = np.einsum("pi,pi->p", normals, stage.orbits.transforms[:, :3, 3])
    for plate in (joints.first, joints.second):
        height = np.einsum("ki,ki->k", joints.centre, normals[plate]) - offsets[plate]
        assert np.abs(height).max() < 1e-6
        assert np.abs(np.einsum("ki,ki->k", joints.line, normals[plate])).max() < 1e-9
    cosine = np.abs(np.einsum("ki,ki->k", normals[joints.first], normals[joints.second]))
    assert np.degrees(np.arccos(np.minimum(cosine, 1))) == pytest.approx(joints.angle_deg, abs=1e-5)


def test_pins_stand_square_to_their_tabs_beyond_the_slot(stage: Staged) -> None:
    joints = stage.joints
    pins = np.flatnonzero(joints.has_pin)
    normals = stage.orbits.transforms[joints.first[pins]][:, :3, 2]
    assert np.abs(np.einsum("ki,ki->k", normals, joints.pin_axis[pins])) == pytest.approx(1.0)
    reach = joints.pin_centre[pins] - joints.centre[pins]
    for k, way in zip(pins, reach, strict=True):
        tenon = stage.classes[joints.joint_class[k]].tenon
        assert tenon is not None
        assert way == pytest.approx(tenon.pin_centre * joints.insertion[k], abs=1e-9)


def test_rows_are_kept_from_change(stage: Staged) -> None:
    for field in fields(JointTable):
        column = getattr(stage.joints, field.name)
        assert len(column) == len(stage.joints)
        assert not column.flags.writeable


def test_a_sculpture_without_joints_has_an_empty_table() -> None:
    stage = staged_by_name("by hand")
    table = joint_table((), stage.motifs, stage.orbits, stage.group)
    assert len(table) == 0
    assert table.centre.shape == (0, 3)


def test_numbers_of_seven_digits_double_no_joint() -> None:
    # A design typed by hand: the half-turns that keep a strip carry it back to a hair's breadth.
    design = explicit(DESIGNS["dodecahedron"])
    typed = replace(
        design,
        motifs=tuple(
            replace(
                motif,
                normal=tuple(float(f"{c:.7g}") for c in motif.normal),
                offset=float(f"{motif.offset:.7g}"),
                path=tuple((float(f"{x:.7g}"), float(f"{y:.7g}")) for x, y in motif.path or ()),
            )
            for motif in design.motifs
        ),
        joint_classes=tuple(
            replace(one, at=float(f"{one.at:.7g}")) for one in design.joint_classes
        ),
    )
    stage = staged(typed)
    assert [len(motif.stabiliser) for motif in stage.motifs] == [2]
    assert len(stage.joints) == 60
    assert [len(features.tabs) for features in stage.features] == [2]
