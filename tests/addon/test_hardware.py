# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Ties, links, wedges and bent ends stand in the scene as objects, where the core puts them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

import bmesh  # noqa: E402

from pinwright.addon import exploded, scene, tags  # noqa: E402
from pinwright.core.design.model import Lock  # noqa: E402
from pinwright.core.design.read import read_design  # noqa: E402
from pinwright.core.joints.hardware import link_wire  # noqa: E402
from pinwright.core.pipeline import build  # noqa: E402
from tests.locked import crossing_design  # noqa: E402

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
NAMES = {
    Lock.TIE: ["J001 Cable Tie", "J001 Head Of The Cable Tie"],
    Lock.LINK: ["J001 Chain Link"],
    Lock.WEDGE: ["J001 Wedge"],
    Lock.BENT: ["J001 Bent End"],
}


def hardware(root) -> list:
    return [piece for piece in tags.pieces(root) if tags.JOINT in piece]


def volume(mesh, unit: float) -> float:
    """Return the volume in mm3 of a mesh that must be closed: every edge has two faces."""
    solid = bmesh.new()
    solid.from_mesh(mesh)
    assert all(edge.is_manifold for edge in solid.edges)
    found = solid.calc_volume(signed=True) / unit**3
    solid.free()
    return found


@pytest.mark.parametrize("lock", list(NAMES))
def test_each_lock_is_an_object_with_a_closed_mesh_in_its_place(lock: Lock) -> None:
    built = build(crossing_design(60.0, lock))
    root = scene.add_sculpture(bpy.context.scene, built)
    bpy.context.view_layer.update()
    pieces = hardware(root)
    assert sorted(piece.name for piece in pieces) == NAMES[lock]
    unit = root[tags.UNIT]
    for piece, one in zip(pieces, built.joints[0].fasteners, strict=True):
        place = np.array(piece.matrix_world, dtype=float)
        place[:3, 3] /= unit
        assert np.abs(place - one.world).max() < 1e-4
        judged = one.outline.area * one.thickness
        drawn = volume(piece.data, unit)
        assert 0.7 * judged < drawn < judged * (1 + 1e-5)
        assert not piece.data.validate()


def test_a_link_is_round_and_a_tie_is_no_metal() -> None:
    built = build(crossing_design(90.0, Lock.LINK))
    (link,) = hardware(scene.add_sculpture(bpy.context.scene, built))
    wire = link_wire(built.joints[0].fasteners[0].outline)
    # Pappus: section times the length of the line of its middles; 16 sides hold 97.4 % of a circle.
    ring = np.linalg.norm(np.roll(wire.centre, -1, axis=0) - wire.centre, axis=1).sum()
    wanted = np.pi * wire.radius**2 * ring
    assert volume(link.data, 0.001) == pytest.approx(wanted, rel=0.03)
    assert all(polygon.use_smooth for polygon in link.data.polygons)
    ties = hardware(scene.add_sculpture(bpy.context.scene, build(crossing_design(90.0, Lock.TIE))))
    assert {tie.data.materials[0].name for tie in ties} == {"Cable Tie Nylon"}


def test_a_bent_end_looks_like_its_plate_which_ends_at_the_fold() -> None:
    built = build(crossing_design(90.0, Lock.BENT))
    root = scene.add_sculpture(bpy.context.scene, built)
    (bent,) = hardware(root)
    plate = next(p for p in tags.pieces(root) if p.get(tags.PLATE) == built.plates[0].id)
    assert list(bent.data.materials) == list(plate.data.materials)
    part = built.parts[built.plates[0].part]
    assert volume(plate.data, 0.001) < part.outline.area * part.thickness - 100.0
    assert list(bent[tags.EXPLODE]) == list(plate[tags.EXPLODE])


@pytest.mark.parametrize("lock", [Lock.TIE, Lock.WEDGE])
def test_sixty_plates_share_one_mesh_of_each_kind_and_all_come_apart(lock: Lock) -> None:
    design = read_design(EXAMPLES / "harbour-lantern.toml")
    built = build(replace(design, joints=replace(design.joints, lock=lock)))
    root = scene.add_sculpture(bpy.context.scene, built)
    pieces = hardware(root)
    assert len(pieces) == sum(len(joint.fasteners) for joint in built.joints) >= 120
    assert len({piece.data.name for piece in pieces}) <= 2  # a tie and its head; or a wedge
    plates = {p[tags.PLATE]: p for p in tags.pieces(root) if tags.PLATE in p}
    exploded.apply(root, 1.0)
    for piece in pieces:
        held = plates[piece[tags.HOLDER]]
        assert (piece.delta_location - held.delta_location).length > 0.005  # metres
    exploded.apply(root, 0.0)
    assert all(piece.delta_location.length < 1e-9 for piece in pieces)
