# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates in face planes: counts and dihedral angles of the frames, and solids that fit."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from shapely import Polygon

from pinwright.core.design.model import (
    Design,
    FacePlates,
    FaceShape,
    FrameChoice,
    JointKind,
    Sheet,
)
from pinwright.core.errors import DesignError
from tests.built import build
from tests.crossings import assert_sound

# Faces, edges and dihedral angles of the regular solids and two Archimedean ones (Coxeter, Regular
# Polytopes, table I; Cundy and Rollett, Mathematical Models; from memory).
SOLIDS = {
    "tetrahedron": (4, 6, {70.529}),
    "cube": (6, 12, {90.0}),
    "octahedron": (8, 12, {109.471}),
    "dodecahedron": (12, 30, {116.565}),
    "cuboctahedron": (14, 24, {125.264}),
}


def _design(solid: str, thickness: float = 3.0, diameter: float = 600.0, **said: Any) -> Design:
    return Design(
        "plates", Sheet(thickness), FrameChoice(diameter, solid=solid), FacePlates(**said)
    )


@pytest.mark.parametrize("solid", SOLIDS)
def test_every_solid_slides_together(solid: str) -> None:
    faces, edges, dihedral = SOLIDS[solid]
    built = build(_design(solid))
    assert built.ok
    assert (len(built.plates), len(built.joints)) == (faces, edges)
    assert {joint.kind for joint in built.joints} == {JointKind.CROSS_LAP}
    acute = sorted(min(angle, 180.0 - angle) for angle in dihedral)
    found = sorted({round(joint.angle, 4) for joint in built.joints})
    assert found == pytest.approx(acute, abs=1e-3)
    # In each joint the slots meet at the middle of an edge.
    middles = np.array([joint.centre for joint in built.joints])
    assert np.ptp(np.linalg.norm(middles, axis=1)) < 1e-6 * 600


@pytest.mark.parametrize(
    ("solid", "said"),
    [
        ("octahedron", {}),
        ("dodecahedron", {"shape": FaceShape.STAR, "width": 25.0}),
        ("dodecahedron", {"hand": -1, "thickness": 5.0}),
        ("cuboctahedron", {"width": 30.0, "joint": JointKind.TENON}),
        ("octahedron", {"joint": JointKind.TENON}),
    ],
)
def test_what_slides_together_is_judged_sound(solid: str, said: dict[str, Any]) -> None:
    assert_sound(build(_design(solid, **said)))


def test_tabs_grow_on_the_faces_with_fewer_corners() -> None:
    built = build(_design("icosidodecahedron", joint=JointKind.TENON))
    assert len(built.joints) == 60
    for joint in built.joints:
        tabbed, slotted = (built.parts[built.plates[p].part].outline for p in joint.plates)
        assert tabbed.area < slotted.area
    quantities = sorted(part.quantity for part in built.parts)
    assert quantities == [12, 20]  # pentagons and triangles


def test_an_octahedron_has_faces_of_two_sorts() -> None:
    # Its group is kept to the tetrahedral one, which carries no white face to a black one.
    built = build(_design("octahedron", joint=JointKind.TENON))
    assert built.group.order == 12
    assert sorted(part.quantity for part in built.parts) == [4, 4]


def test_a_star_has_a_point_beyond_each_edge_and_a_ring_an_opening() -> None:
    built = build(_design("cube", shape=FaceShape.STAR, overhang=60.0, width=30.0))
    (part,) = built.parts
    # Edge of the cube: 600 / sqrt(3). Tips stand half an edge and the overhang from the middle.
    edge = 600 / np.sqrt(3)
    middle = np.array(part.outline.centroid.coords[0])
    far = np.linalg.norm(np.asarray(part.outline.exterior.coords) - middle, axis=1)
    assert (np.abs(far - (edge / 2 + 60.0)) < 0.5).sum() >= 4
    opening = max((Polygon(ring) for ring in part.outline.interiors), key=lambda p: p.area)
    assert opening.area == pytest.approx((edge - 60.0) ** 2, rel=1e-3)


@pytest.mark.parametrize(
    ("solid", "said", "message"),
    [
        ("snub dodecahedron", {}, r"angle of 30 to 90 deg"),
        ("cube", {"joint": JointKind.TENON}, r"^recipe\.joint: .*two sorts"),
        ("cube", {"overhang": 2.0}, r"^recipe\.overhang: found 2\.0.* at least"),
        ("cube", {"setback": 172.0}, r"^recipe\.setback: .* at most"),
        ("cube", {"width": 3.0}, r"^recipe\.width: .* at least"),
        ("cube", {"width": 10.0, "setback": 40.0}, r"^recipe\.setback: .*corners of the opening"),
    ],
)
def test_what_does_not_fit_is_refused(solid: str, said: dict[str, Any], message: str) -> None:
    with pytest.raises(DesignError, match=message):
        build(_design(solid, **said))


def test_a_bare_group_has_no_faces() -> None:
    design = Design("x", Sheet(3.0), FrameChoice(600.0, group="O"), FacePlates())
    with pytest.raises(DesignError, match="face plates need faces"):
        build(design)
