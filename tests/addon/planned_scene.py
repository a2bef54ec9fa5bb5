# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A small sculpture with a plan in Blender's scene, for the tests of its views; needs bpy."""

from __future__ import annotations

from functools import lru_cache

import bpy
import numpy as np

from pinwright.addon import making, plan_store, tags
from pinwright.addon.operators import plan as plan_operators
from pinwright.core.assembly.plan import planned
from pinwright.core.design.model import (
    AssemblyChoice,
    Design,
    EdgeRotor,
    FrameChoice,
    ModuleChoice,
    Sheet,
)
from pinwright.core.export.plan_record import plan_record
from pinwright.core.pipeline import build
from pinwright.core.results import Build

# Two modules of three strips: steps at tables and at the whole.
DESIGN = Design(
    "Two Halves",
    Sheet(3.0),
    FrameChoice(400.0, solid="tetrahedron"),
    EdgeRotor(width=30.0),
    modules=ModuleChoice("joints", count=2),
    assembly=AssemblyChoice(teams=2),
)


@lru_cache(maxsize=1)
def whole() -> Build:
    return planned(build(DESIGN))


def sculpture(*, with_plan: bool = True):
    root = making.add_design(bpy.context, DESIGN, "SHEET")
    bpy.context.view_layer.objects.active = root
    if with_plan:
        plan_operators._take(plan_store.key_of(root), plan_record(whole()))
    bpy.context.view_layer.update()
    return root


def state(root) -> dict:
    """Return all of the pieces that showing a plan may touch, and what it may leave behind."""
    bpy.context.view_layer.update()
    return {
        piece.name: (
            piece.hide_viewport,
            piece.hide_render,
            tuple(piece.color),
            tuple(np.round(np.array(_place(piece)).ravel(), 6).tolist()),
            sorted(piece.keys()),
            [slot.material.name for slot in piece.material_slots],
        )
        for piece in tags.pieces(root)
    }


def _place(piece):
    """Return where a piece is; what is hidden is not evaluated when a file is opened."""
    return piece.matrix_basis if piece.hide_viewport else piece.matrix_world


def shown_plates(root) -> set[str]:
    return {p[tags.PLATE] for p in tags.pieces(root) if tags.PLATE in p and not p.hide_viewport}


def counts() -> tuple[int, ...]:
    kinds = ("objects", "meshes", "curves", "collections", "materials", "scenes", "worlds")
    return tuple(len(getattr(bpy.data, kind)) for kind in (*kinds, "cameras"))
