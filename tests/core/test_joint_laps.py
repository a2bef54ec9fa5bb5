# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Cross-laps split anywhere and three plates on one line, tried by manifold3d's booleans."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import manifold3d
import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial.transform import Rotation
from shapely import Polygon

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    MotifChoice,
    Sheet,
)
from pinwright.core.errors import DesignError
from pinwright.core.export.build_json import build_json
from pinwright.core.fit.lap import lap_width, three_on_a_line
from pinwright.core.fit.sizes import resolve_sizes
from pinwright.core.frame.group import rotation_group
from pinwright.core.joints.classes import joint_classes
from pinwright.core.joints.features import motif_features
from pinwright.core.outlines.finish import finished_outline
from pinwright.core.plates.motif import motif_from_choice
from tests.built import build
from tests.crossings import Crossing
from tests.joint_kinds import ANGLES, PAIRS, shared
from tests.judges import as_manifold

Floats = npt.NDArray[np.float64]
TOUCH = 1e-5
HEIGHT = 40.0  # of the overlap, mm


def _lap(
    angle: float, pair: tuple[float, float], split: float, clearance: float, narrow: float = 1.0
) -> tuple[manifold3d.Manifold, manifold3d.Manifold, Floats, Floats]:
    """Return two bars (world), the insertion of the first and the way across the second's slot."""
    crossing = Crossing.of(angle, int(angle + 10 * pair[0]))
    half = HEIGHT / 2
    bar = [(-60.0, -half), (60.0, -half), (60.0, half), (-60.0, half)]
    group = rotation_group("C1")
    motifs = [motif_from_choice(crossing.motif(k, name, bar), group) for k, name in enumerate("ab")]
    choice = JointClassChoice("one", ("a", "b"), JointKind.CROSS_LAP, split=split)
    sizes = resolve_sizes(JointSizes(), Sheet(pair[0], clearance=clearance), None)
    (joint,) = joint_classes([choice], motifs, group, sizes)
    features = motif_features([joint], motifs, group)
    solids = []
    for k, (motif, own, other) in enumerate(zip(motifs, pair, pair[::-1], strict=True)):
        width = lap_width(own, other, angle, clearance) * (narrow if k == 1 else 1.0)
        cut = finished_outline(motif, features[k], [replace(joint, lap_width=width)], sizes)
        solid = as_manifold(cut.outline, own)
        solids.append(solid.transform(motif.world_from_plane[:3]))
    across = np.cross(motifs[1].normal, joint.insertion)
    return solids[0], solids[1], joint.insertion, across


@pytest.mark.parametrize("pair", PAIRS, ids=str)
@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("split", [0.15, 0.5, 0.8])
def test_a_lap_split_anywhere_fits(split: float, angle: float, pair: tuple[float, float]) -> None:
    one, two, _, across = _lap(angle, pair, split, 0.0)
    assert shared(one, two) < TOUCH
    one, two, _, across = _lap(angle, pair, split, 0.0, narrow=0.98)
    # The first bar is whole in the second's slot over 1 - split of the height; section square to
    # the line: V = (d/2)^2 |tan| for each mm, at 90 deg d . s.
    own, other = pair[1], pair[0]
    lack = 0.02 * lap_width(own, other, angle, 0.0)
    area = lack * own if angle == 90.0 else lack**2 / 4 * np.tan(np.radians(angle))
    assert shared(one, two) == pytest.approx(area * (1 - split) * HEIGHT, rel=1e-3)
    one, two, way, across = _lap(angle, pair, split, 0.1)
    for sign in (1.0, -1.0):
        assert shared(one, two, sign * 0.095 * across) < TOUCH
        assert shared(one, two, sign * 0.12 * across) > TOUCH
    # From bottom to bottom the clearance of both; drawn out, free all the way.
    assert shared(one, two, 0.195 * way) < TOUCH
    assert shared(one, two, 0.22 * way) > TOUCH
    for far in np.linspace(0.0, HEIGHT, 9):
        assert shared(one, two, -far * way) < TOUCH


def _three(
    angle: float, thickness: float, clearance: float, shares: tuple[float, float] = (1 / 3, 1 / 3)
) -> Design:
    """Return three bars on one line: the second at `angle` to the first, the third between."""
    turn = Rotation.random(random_state=int(angle)).as_matrix()
    turns = np.radians([0.0, angle, (angle + 180.0) / 2])
    along = turn[:, 2]
    normals = [turn @ (np.cos(a), np.sin(a), 0.0) for a in turns]
    half = HEIGHT / 2
    motifs = []
    for name, normal in zip(("low", "middle", "high"), normals, strict=True):
        x = np.cross(along, normal)  # y = normal x (along x normal) = along
        ring = ((-60.0, -half), (60.0, -half), (60.0, half), (-60.0, half))
        motifs.append(MotifChoice(name, tuple(normal), 0.0, tuple(x), outline=ring))
    names = [motif.name for motif in motifs]
    classes = []
    for share in three_on_a_line(*shares):
        a, b = share.plates
        up = np.cross(normals[a], normals[b]) @ along > 0
        classes.append(
            JointClassChoice(
                f"{names[a]} and {names[b]}",
                (names[a], names[b]),
                JointKind.CROSS_LAP,
                outward=share.outward if up else -share.outward,
                split=share.split,
            )
        )
    return Design(
        "three",
        Sheet(thickness, clearance=clearance),
        FrameChoice(300.0, group="C1"),
        motifs=tuple(motifs),
        joint_classes=tuple(classes),
    )


def _solids(design: Design) -> tuple[dict[str, Any], list[manifold3d.Manifold]]:
    record = json.loads(build_json(build(design)))
    parts = {part["mark"]: part for part in record["parts"]}
    solids = {}
    for plate in record["plates"]:
        part = parts[plate["part"]]
        polygon = part["outline"]
        from_json = as_manifold(_polygon(polygon), part["thickness"])
        solids[plate["motif"]] = from_json.transform(np.array(plate["transform"])[:3])
    return record, [solids[name] for name in ("low", "middle", "high")]


def _polygon(outline: dict[str, Any]) -> Polygon:
    return Polygon(outline["exterior"], outline["interiors"])


@pytest.mark.parametrize("thickness", [1.0, 3.0])
@pytest.mark.parametrize("angle", ANGLES)
def test_three_plates_meet_on_one_line(angle: float, thickness: float) -> None:
    design = _three(angle, thickness, 0.1)
    record, (low, middle, high) = _solids(design)
    assert [check["name"] for check in record["checks"] if not check["ok"]] == []
    for one, two in ((low, middle), (middle, high), (low, high)):
        assert shared(one, two) < TOUCH
    # The line runs from low to high: as the third axis of the turn that places them.
    up = Rotation.random(random_state=int(angle)).as_matrix()[:, 2]
    for far in np.linspace(0.0, 2 * HEIGHT, 17):  # low and middle first, then high from above
        assert shared(low, middle, -far * up) < TOUCH
        assert shared(high, low + middle, far * up) < TOUCH
    # Pushed together they stop after the clearance of two bottoms; pulled, they come apart.
    assert shared(low, middle, 0.195 * up) < TOUCH
    assert shared(low, middle, 0.22 * up) > TOUCH
    assert shared(high, middle, -0.195 * up) < TOUCH
    assert shared(high, middle, -0.22 * up) > TOUCH


def test_shares_of_three_may_differ_and_must_be_left() -> None:
    _, (low, middle, high) = _solids(_three(60.0, 2.0, 0.0, (0.25, 0.25)))
    for one, two in ((low, middle), (middle, high), (low, high)):
        assert shared(one, two) < TOUCH
    with pytest.raises(DesignError, match="leave the middle plate a share"):
        three_on_a_line(0.5, 0.5)


def test_three_with_a_slot_too_narrow_bite() -> None:
    _, exact = _solids(_three(60.0, 3.0, 0.0))
    design = _three(60.0, 3.0, 0.0)
    narrow = replace(design, sheet=replace(design.sheet, thickness=3.0 * 0.98))
    record = json.loads(build_json(build(narrow)))
    # Slots for a sheet 2 % thinner, plates of the true one.
    parts = {part["mark"]: part for part in record["parts"]}
    thick = [
        as_manifold(_polygon(parts[plate["part"]]["outline"]), 3.0).transform(
            np.array(plate["transform"])[:3]
        )
        for plate in record["plates"]
    ]
    pairs = [(0, 1), (0, 2), (1, 2)]
    assert max(shared(exact[i], exact[j]) for i, j in pairs) < TOUCH
    assert sum(shared(thick[i], thick[j]) > TOUCH for i, j in pairs) >= 2
