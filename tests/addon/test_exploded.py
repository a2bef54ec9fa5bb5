# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A planned sculpture comes apart in Blender in the order of its plan, and goes back."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import exploded, scene, tags  # noqa: E402
from pinwright.core.assembly.explode_order import exploded as opened  # noqa: E402
from pinwright.core.assembly.explode_pins import explode_record  # noqa: E402
from pinwright.core.assembly.explode_straight import placed_at  # noqa: E402
from pinwright.core.assembly.plan import planned  # noqa: E402
from pinwright.core.design.model import (  # noqa: E402
    Design,
    EdgeRotor,
    FrameChoice,
    ModuleChoice,
    Sheet,
)
from pinwright.core.pipeline import build  # noqa: E402
from pinwright.core.results import Build  # noqa: E402


@cache
def whole() -> Build:
    design = Design(
        "Six",
        Sheet(3.0),
        FrameChoice(400.0, solid="tetrahedron"),
        EdgeRotor(30.0),
        modules=ModuleChoice("vertices"),
    )
    return opened(planned(build(design)))


def add():
    root = scene.add_sculpture(bpy.context.scene, whole())
    bpy.context.view_layer.update()
    return root


def gone(root) -> dict[str, np.ndarray]:
    """How far each plate has gone, mm."""
    unit = root[tags.UNIT]
    return {
        piece[tags.PLATE]: np.array(piece.delta_location) / unit
        for piece in tags.pieces(root)
        if tags.PLATE in piece
    }


@pytest.mark.parametrize("factor", [0.0, 0.13, 0.4, 0.6, 0.77, 1.0])
def test_plates_stand_where_the_core_says(factor: float) -> None:
    for record in (explode_record(whole()), None):
        root = add()
        exploded.settle(root, record)
        exploded.apply(root, factor)
        found = gone(root)
        if record is not None:
            for plate, way in zip(whole().plates, placed_at(whole(), factor), strict=True):
                np.testing.assert_allclose(found[plate.id], way, atol=1e-3)
        if factor == 1.0:
            for plate in whole().plates:
                way = plate.explode + whole().modules[plate.module].explode
                np.testing.assert_allclose(found[plate.id], way, atol=1e-3)
        scene.remove_sculpture(root)


def test_modules_stop_where_they_stand_whole() -> None:
    record = explode_record(whole())
    assert record is not None
    root = add()
    exploded.settle(root, record)
    exploded.apply(root, 1.0, exploded.MODULES)
    at = gone(root)
    for plate, way in zip(whole().plates, placed_at(whole(), record["split"]), strict=True):
        np.testing.assert_allclose(at[plate.id], way, atol=1e-3)


def test_pins_go_with_their_tabs_and_are_drawn_out_in_the_end() -> None:
    root = add()
    exploded.settle(root, explode_record(whole()))
    exploded.apply(root, 1.0)
    at, unit = gone(root), root[tags.UNIT]
    joints = {joint.id: joint for joint in whole().joints}
    for piece in tags.pieces(root):
        if tags.JOINT not in piece:
            continue
        joint = joints[piece[tags.JOINT]]
        tab = whole().plates[joint.plates[0]].id
        assert piece[tags.HOLDER] == tab
        own = np.array(piece.delta_location) / unit - at[tab]
        np.testing.assert_allclose(np.cross(own, joint.pin.axis), 0, atol=1e-3)
        assert np.linalg.norm(own) > joint.pin.length
    exploded.apply(root, 0.0)
    for piece in tags.pieces(root):
        assert tuple(piece.delta_location) == (0.0, 0.0, 0.0)


def test_without_a_plan_again_nothing_of_it_stays() -> None:
    root = add()
    exploded.settle(root, explode_record(whole()))
    assert all(tags.EXPLODE_WAY in piece for piece in tags.pieces(root))
    exploded.settle(root, None)
    assert not any(tags.EXPLODE_WAY in piece for piece in tags.pieces(root))
    exploded.apply(root, 0.3)
    for plate in whole().plates:
        way = 0.5 * whole().modules[plate.module].explode
        np.testing.assert_allclose(gone(root)[plate.id], way, atol=1e-3)
