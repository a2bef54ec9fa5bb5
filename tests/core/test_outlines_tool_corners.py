# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Corners cut by a router: what a round tool can reach, by shapely, and joints that still go in."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import pytest
from shapely import Polygon

from pinwright.core.design.model import (
    Corners,
    Design,
    EdgeRotor,
    FacePlates,
    FrameChoice,
    JointSizes,
    Sheet,
)
from pinwright.core.errors import DesignError
from pinwright.core.fit.sizes import resolve_sizes
from pinwright.core.results import Build
from tests.built import build

TOOL = 3.0


def _design(corners: Corners, recipe: object = None, tool: float = TOOL) -> Design:
    sheet = Sheet(4.0, "birch-plywood", clearance=0.15, tool=tool, corners=corners)
    chosen = EdgeRotor(44.0) if recipe is None else recipe
    # Little play: drawn back by more, tabs would move along plain slots farther than is allowed.
    joints = JointSizes(pin_play=0.1)
    frame = FrameChoice(700.0, solid="cube")
    return Design("cut", sheet, frame, chosen, joints=joints)  # type: ignore[arg-type]


def _slots(built: Build) -> list[Polygon]:
    rings = [Polygon(ring) for part in built.parts for ring in part.outline.interiors]
    return [ring for ring in rings if ring.length > 30.0]


@pytest.mark.parametrize("corners", Corners)
@pytest.mark.parametrize("recipe", [EdgeRotor(44.0), FacePlates()])
def test_every_recipe_passes_its_checks(corners: Corners, recipe: object) -> None:
    assert build(_design(corners, recipe)).ok


@pytest.mark.parametrize("corners", Corners)
def test_a_tool_reaches_every_place_of_a_slot(corners: Corners) -> None:
    # Opened by a disc of the tool's radius (shrunk, then grown), a slot stays what it is; only the
    # chords of its arcs are off, by less than 0.02 mm on 60 mm of edge.
    slots = _slots(build(_design(corners)))
    assert slots
    for slot in slots:
        reached = slot.buffer(-TOOL / 2 + 0.01, quad_segs=64).buffer(TOOL / 2, quad_segs=64)
        assert slot.difference(reached).area < 0.3
    sharp = _slots(build(_design(corners, tool=0.0)))
    assert min(s.difference(s.buffer(-1.49).buffer(1.5)).area for s in sharp) > 1.0


def test_a_dog_bone_leaves_the_whole_slot_free() -> None:
    sharp = _slots(build(_design(Corners.DOG_BONE, tool=0.0)))[0]
    sizes = resolve_sizes(JointSizes(), _design(Corners.DOG_BONE).sheet, 44.0)
    # By hand: the circle sticks out of both walls of a square corner by R (1 - 1/sqrt 2).
    assert sizes.relief == pytest.approx(1.5 * (1 - np.sqrt(0.5)))
    slot = _slots(build(_design(Corners.DOG_BONE)))[0]
    box = np.asarray(slot.minimum_rotated_rectangle.exterior.coords)
    sides = sorted(np.linalg.norm(np.diff(box, axis=0), axis=1)[:2])
    plain = np.asarray(sharp.minimum_rotated_rectangle.exterior.coords)
    old = sorted(np.linalg.norm(np.diff(plain, axis=0), axis=1)[:2])
    assert sides[0] - old[0] == pytest.approx(2 * sizes.relief, abs=0.02)


@pytest.mark.parametrize("corners", Corners)
def test_solids_go_in_without_a_clash(corners: Corners) -> None:
    built = build(_design(corners))
    for joint in built.joints[:6]:
        solids = []
        for k in joint.plates:
            plate = built.plates[k]
            part = built.parts[plate.part]
            rings = [part.outline.exterior, *part.outline.interiors]
            section = manifold3d.CrossSection([np.asarray(ring.coords)[:-1] for ring in rings])
            solid = manifold3d.Manifold.extrude(section, part.thickness)
            solid = solid.translate([0.0, 0.0, -part.thickness / 2])
            solids.append(solid.transform(plate.world_from_part[:3]))
        for far in (0.0, 1.0, 3.0):
            moved = solids[0].translate((-far * joint.insertion).tolist())
            assert (moved ^ solids[1]).volume() < 1e-3
        # Pushed on, the shoulders still bite.
        pushed = solids[0].translate((0.05 * joint.insertion).tolist())
        assert (pushed ^ solids[1]).volume() > 1e-3


@pytest.mark.parametrize("tool", [4.5, 12.0])
def test_a_tool_that_does_not_fit_is_refused(tool: float) -> None:
    with pytest.raises(DesignError, match=r"sheet\.tool: found .* at most \d"):
        build(_design(Corners.DOG_BONE, tool=tool))


def test_the_least_hole_and_web_of_a_material() -> None:
    # Corrugated card: web of two thicknesses, holes of one (common practice, no published source).
    sheet = Sheet(4.0, "corrugated-card")
    sizes = resolve_sizes(JointSizes(), sheet, None)
    assert sizes.web == 8.0
    with pytest.raises(DesignError, match=r"joints\.pin_diameter: found 3\.0.* at least 3\.8 mm"):
        resolve_sizes(JointSizes(pin_diameter=3.0), sheet, None)
    thick = resolve_sizes(JointSizes(), replace(sheet, material="mdf", thickness=20.0), None)
    assert thick.hole_diameter == 10.0


def test_plain_corners_let_tabs_move_along_their_slots() -> None:
    # How far is judged in test_fit_plain_corners.py; here strips stand at 60 degrees.
    for corners, joints, ok in (
        (Corners.PLAIN, JointSizes(pin_play=0.5), False),
        (Corners.PLAIN, JointSizes(pin_play=0.5, rattle=2.7), True),
        (Corners.PLAIN, JointSizes(pin_play=0.1), True),
        (Corners.DOG_BONE, JointSizes(pin_play=0.5), True),
    ):
        built = build(replace(_design(corners), joints=joints))
        (fit,) = (check for check in built.checks if check.name == "fit")
        assert fit.ok == ok
        assert any("along its slot" in line for line in fit.where) != ok
