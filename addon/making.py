# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""From settings to objects: compute everything in core first, only then touch the scene.

These functions raise `PinwrightError` before anything was made, so an operator only has to report.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import bpy
from mathutils import Vector

from ..core.design.model import Design
from ..core.errors import FrameError
from ..core.frame.frame import Frame, frame_from_choice, frame_from_mesh
from ..core.pipeline import build as build_design
from ..core.results import Build
from . import (
    changes,
    choices,
    collector,
    convert,
    exploded,
    motif_curves,
    operating,
    plan_settings,
    plan_store,
    plan_view,
    scene,
    standing,
    store,
    tags,
)
from .properties import PinwrightSettings

__all__ = [
    "Order",
    "add",
    "add_design",
    "build_of",
    "exchange_design",
    "follow",
    "frame_for",
    "order_of",
    "ordered",
    "own_motifs",
    "rebuild",
]

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, eq=False)
class Order:
    """What is to be built. frame : None: core's own; place : of the frame's mesh in the scene."""

    design: Design
    frame: Frame | None
    place: Vector | None = None

    @property
    def mesh(self) -> store.FrameMesh | None:
        """The mesh that is the frame, mm."""
        return None if self.frame is None else (self.frame.vertices, list(self.frame.faces))

    def at_hand(self) -> Build | None:
        """Return the build if it was made before."""
        return store.known_build(self.design, store.frame_text(self.mesh))

    def build(self, progress: Progress | None = None) -> Build:
        """Return the build, made if it is not at hand.

        Raises
        ------
        PinwrightError : it cannot be built.
        """
        return self.at_hand() or build_design(self.design, progress, self.frame)


@collector.held()
def add(
    context: bpy.types.Context,
    settings: PinwrightSettings,
    base: bpy.types.Object | None = None,
    progress: Progress | None = None,
) -> bpy.types.Object:
    """Build a new sculpture from settings; `base` is the sculpture that they belong to, if any."""
    known = store.stored_design(base) if base is not None else None
    order = ordered(context, settings, known, base)
    build = order.build(progress)
    root = scene.add_sculpture(context.scene, build, look=settings.look)
    if order.place is not None:
        root.location = order.place
    _finish(root, build, order.mesh, settings)
    return root


@collector.held()
def add_design(
    context: bpy.types.Context, design: Design, look: str, progress: Progress | None = None
) -> bpy.types.Object:
    """Build a new sculpture from a design that was read from a file."""
    order = order_of(design)
    build = order.build(progress)
    root = scene.add_sculpture(context.scene, build, look=look)
    _finish(root, build, order.mesh, None)
    root.pinwright.look = look
    return root


@collector.held()
def exchange_design(
    context: bpy.types.Context,
    root: bpy.types.Object,
    design: Design,
    progress: Progress | None = None,
) -> None:
    """Build a design in the place of a sculpture: its root keeps place and animation."""
    order = order_of(design)
    build = order.build(progress)
    operating.to_object_mode(context)  # a mesh that is being edited cannot be filled anew
    scene.rebuild_sculpture(context.scene, root, build, look=root.pinwright.look)
    old = root.get(tags.NAME, "")
    for named in (root, *root.users_collection):
        own = named is root or named.get(tags.MODULE) == ""  # the collection is the sculpture's own
        if own and (not old or standing.plain(named.name) == old):  # or the artist's name
            named.name = design.name
    root[tags.NAME] = design.name
    _finish(root, build, order.mesh, None)
    motif_curves.refresh(root, build.design)


@collector.held()
def rebuild(
    context: bpy.types.Context,
    root: bpy.types.Object,
    progress: Progress | None = None,
    *,
    whole: bool = True,
) -> None:
    """Build a sculpture again from its own settings, in place; `whole` as `scene` has it."""
    settings = root.pinwright
    order = ordered(context, settings, store.stored_design(root), root)
    build = order.build(progress)
    operating.to_object_mode(context)  # only now: nothing is changed by settings that fail
    scene.rebuild_sculpture(context.scene, root, build, look=settings.look, whole=whole)
    _finish(root, build, order.mesh, settings)


@collector.held()
def follow(root: bpy.types.Object, design: Design, frame: Frame | None) -> None:
    """Make a sculpture show a design of its own settings, which stay as they are.

    What the artist deleted stays away, and meshes whose shape does not change are not touched.
    """
    text = root.get(tags.FRAME, "")
    build = store.known_build(design, text) or Order(design, frame).build()
    scene.rebuild_sculpture(_scene_of(root), root, build, look=root.pinwright.look, whole=False)
    _finish(root, build, store.frame_of(root), root.pinwright, show=False)


@collector.held()
def own_motifs(root: bpy.types.Object, design: Design) -> None:
    """Let a sculpture's motifs be its own, those of `design`, instead of a recipe's."""
    build = build_of(root)
    _finish(root, replace(build, design=design), store.frame_of(root), None)


@collector.held()
def build_of(root: bpy.types.Object, progress: Progress | None = None) -> Build:
    """Return the build that a sculpture shows, computed again if it is no longer at hand."""
    design, text = store.stored_design(root), root.get(tags.FRAME, "")
    known = store.known_build(design, text)
    if known is not None:
        return known
    build = build_design(design, progress, frame_for(root, design))
    store.remember(build, text)
    return build


def frame_for(root: bpy.types.Object, design: Design) -> Frame | None:
    """Return the frame of a design that hangs on the mesh stored with a root; None: core's own."""
    if design.frame.mesh is None:
        return None
    key = (root.get(tags.FRAME, ""), design.frame, design.folder)
    if _frames.get("key") != key:
        _frames.update(key=key, frame=_frame(design, store.frame_of(root)))
    return _frames["frame"]


_frames: dict[str, Any] = {}  # the last one: it is asked for again while a number is dragged


def _scene_of(root: bpy.types.Object) -> bpy.types.Scene:
    """Return a scene that a sculpture is in."""
    return next((one for one in root.users_scene), bpy.context.scene)


# ---------------------------------------------------------------- computing


def order_of(design: Design) -> Order:
    """Return what is to be built of a design that was read from a file.

    Raises
    ------
    PinwrightError : the mesh that it hangs on cannot be read.
    """
    return Order(design, _frame(design, None))


def ordered(
    context: bpy.types.Context,
    settings: PinwrightSettings,
    known: Design | None,
    root: bpy.types.Object | None,
) -> Order:
    """Return what is to be built of settings; known, root : the sculpture that they belong to.

    Raises
    ------
    PinwrightError : the settings make no design, or what is chosen is no frame.
    """
    design = choices.design_of(settings, known)
    source = _source(context, settings, root) if settings.frame_from == "OBJECT" else None
    if source is not None:
        mesh = convert.mesh_in_mm(source, context.scene, context.evaluated_depsgraph_get())
    else:
        mesh = store.frame_of(root) if root is not None else None
    frame = _frame(design, mesh)
    if root is not None:
        design = motif_curves.drawn(root, design, frame)
    if frame is None:
        return Order(design, None)
    if settings.frame_from == "OBJECT":  # its size is the object's
        design = replace(design, frame=replace(design.frame, diameter=2 * frame.radius))
    place = None
    if source is not None and mesh is not None:
        shift = (mesh[0] - frame.vertices).mean(axis=0)  # the core puts the centre at the origin
        unit = convert.unit_per_mm(context.scene)
        place = source.matrix_world.translation + convert.vector_from_mm(shift, unit)
    return Order(design, frame, place)


def _source(
    context: bpy.types.Context, settings: PinwrightSettings, root: bpy.types.Object | None
) -> bpy.types.Object | None:
    """Return the object that is to be the frame; None: the one that was stored with the root."""
    source = settings.frame_object
    if source is None and root is not None and store.frame_of(root) is not None:
        return None
    if source is None:
        active = context.active_object
        source = active if active is not None and active.select_get() else None
    if source is None:
        raise FrameError("Nothing is selected: select the closed mesh that is to be the frame.")
    if source.type != "MESH":
        raise FrameError(f"'{source.name}' is no mesh; select a closed mesh as the frame.")
    return source


def _frame(design: Design, mesh: store.FrameMesh | None) -> Frame | None:
    """Return the frame of a design that hangs on a mesh; for all others core makes its own."""
    if design.frame.mesh is None:
        return None
    if mesh is None:
        return frame_from_choice(design.frame, design.folder)
    size = None if design.frame.mesh == choices.OBJECT_FILE else design.frame.diameter
    vertices, faces = mesh
    return frame_from_mesh(design.name, vertices, tuple(faces), diameter=size)


# ---------------------------------------------------------------- finishing


def _finish(
    root: bpy.types.Object,
    build: Build,
    mesh: store.FrameMesh | None,
    shown: PinwrightSettings | None,
    *,
    show: bool = True,
) -> None:
    """Write design, settings and figures on the root and show the sculpture as it is set.

    shown : the settings that the build comes from; show : write its numbers into the root's own
    """
    store.keep(root, build, mesh)
    settings = root.pinwright
    with changes.paused():
        if shown is not None and settings != shown:
            for name in ("frame_from", "frame_object", "look", "live"):
                setattr(settings, name, getattr(shown, name))
        if show:
            choices.show_design(settings, build.design)
        settings.stale = False
        settings.fault = ""
    store.show_figures(settings.figures, build)
    if shown is None:  # a design of its own
        plan_settings.show_choice(root.pinwright_plan, build.design.assembly)
    plan = plan_store.plan_of(root) if plan_store.fits(root) else None
    exploded.settle(root, None if plan is None else plan.get("exploded"))
    exploded.apply(root, settings.explode, settings.apart)
    plan_view.settle(root)
