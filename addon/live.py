# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Building while a setting is dragged: bodies of plates at once, all joints when the hand rests.

A change of a setting comes here while Blender handles it, so what is done at once is part of the
same undo step. That is the coarse stage: plates without slots and tabs, and pins, in their places.
Wherever plates or pins come or go everything is done at once. Only the rest waits for a timer, and
it changes shapes and places of what is there, so that undo finds every object and mesh again. Since
its work is in no undo step, it is done again after undo and redo.

Nothing of Blender's is kept between two calls: undo would leave it dead.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any

import bpy
import numpy as np
import shapely.affinity
from bpy.app.handlers import persistent
from mathutils import Matrix
from shapely import Polygon

from ..core.design.model import Design
from ..core.errors import PinwrightError
from ..core.results import Build
from ..core.rough import Rough, rough
from . import (
    changes,
    choices,
    convert,
    making,
    meshes,
    motif_curves,
    pieces,
    redraw,
    scene,
    standing,
    store,
    tags,
)
from .prisms import prism
from .properties import PinwrightSettings

__all__ = [
    "REST", "catch_up", "coarse", "design_of", "follow_curve", "full", "register", "unregister",
    "waiting",
]  # fmt: skip

REST = 0.25  # s, without a change, after which the hand is said to rest
_SLOW = 2.0  # s that joints may take when nobody asked for them
_AGAIN = 0.05  # s from undo to doing again what is in no undo step

Floats = np.ndarray


@dataclass(slots=True)
class _Known:
    """What is known of a sculpture while its settings are changed, by the root's session uid.

    build : that its pieces show with all joints; layout : its pieces' names by key, and how each
    motif's plane lies in its part; took : seconds of the last building with joints
    """

    build: Build | None = None
    layout: _Layout | None = None
    took: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Layout:
    """names : objects by key; poses : by motif, (4, 4) plane from part; firsts : part to motif."""

    names: dict[str, str]
    poses: dict[str, Floats]
    parts: dict[str, int]
    fasteners: tuple[str, ...]


_known: dict[int, _Known] = {}
_due: dict[int, float] = {}  # uid of a root: when its joints are to be cut
_touched: set[int] = set()  # roots with changes that are in no undo step


# ---------------------------------------------------------------- a change


def _changed(settings: PinwrightSettings, frame: bool) -> None:
    """Follow a change of a setting: called for each step of a slider."""
    root: Any = settings.id_data
    if bpy.app.background or not settings.live or not _can_follow(root):
        return
    if frame and settings.frame_from == "OBJECT":  # a mesh is looked at when the hand rests
        _wait(root, REST)
        return
    _follow(root)


def follow_curve(root: bpy.types.Object) -> None:
    """Follow a curve that draws one of a sculpture's motifs: called while it is edited."""
    if not root.pinwright.live or not _can_follow(root):
        return
    try:
        if design_of(root) == store.stored_design(root) and not root.pinwright.fault:
            return  # Blender also tells of curves that nobody changed
    except PinwrightError as error:
        root.pinwright.fault = str(error)
        return
    _touched.add(root.session_uid)
    _follow(root)


def _follow(root: bpy.types.Object) -> None:
    known = _known.setdefault(root.session_uid, _Known())
    try:
        design = design_of(root)
        if not coarse(root, design):
            full(root, design)
        elif known.took < _SLOW:
            _wait(root, REST)
    except PinwrightError as error:
        root.pinwright.fault = str(error)
        _wait(root, REST)


def design_of(root: bpy.types.Object) -> Design:
    """Return the design of a sculpture's settings, with motifs as their curves draw them.

    Raises
    ------
    PinwrightError : the settings make no design, or a curve is no path.
    """
    design = choices.design_of(root.pinwright, store.stored_design(root))
    return motif_curves.drawn(root, design, making.frame_for(root, design))


def _can_follow(root: bpy.types.Object) -> bool:
    """Tell whether a sculpture may be changed now: not while one of its meshes is edited."""
    edited = bpy.context.view_layer.objects.active
    return (
        tags.DESIGN in root
        and not tags.is_foreign(root)
        and bool(root.users_scene)
        and not (edited is not None and edited.mode == "EDIT" and edited.type == "MESH")
    )


def coarse(root: bpy.types.Object, design: Design) -> bool:
    """Show plates without joints; False: plates or pins come or go, so nothing was done.

    Raises
    ------
    PinwrightError : the plates cannot be made; nothing was changed.
    """
    known = _known.setdefault(root.session_uid, _Known())
    build = store.known_build(store.stored_design(root), root.get(tags.FRAME, ""))
    if build is None:
        return False
    if known.build is not build or known.layout is None:
        known.build, known.layout = build, _layout(root, build)
    layout = known.layout
    found = rough(design, making.frame_for(root, design))
    places = found.places()
    keys = [pieces.place_key(*place) for place in places]
    held = () if found.fasteners is None else _fastener_keys(found)
    objects: dict[str, Any] = {
        key: bpy.data.objects.get(name) for key, name in layout.names.items()
    }
    if any(obj is None or obj.get(tags.KEY) != key for key, obj in objects.items()):
        known.layout = None  # renamed or deleted just now
        return False
    same_plates = len(keys) == len(build.plates) and all(m in layout.poses for m, _ in places)
    if not same_plates or (found.fasteners is not None and held != layout.fasteners):
        return False
    bodies = _bodies(found, layout)
    if bodies is None:
        return False
    unit = root.get(tags.UNIT, 0.001)
    _reshape(layout, objects, bodies, found.thickness, unit)
    for key, (motif, element) in zip(keys, places, strict=True):
        obj = objects.get(key)
        if obj is not None:
            obj.matrix_basis = _matrix(places[motif, element] @ layout.poses[motif], unit)
    if found.fasteners is not None:
        for key, world in zip(held, found.fasteners.world, strict=True):
            obj = objects.get(key)
            if obj is not None:
                obj.matrix_basis = _matrix(world, unit)
    root[tags.COARSE] = True
    root.pinwright.fault = found.fault
    return True


def full(root: bpy.types.Object, design: Design | None = None) -> bool:
    """Show a sculpture's own settings with all joints; False: they cannot be built.

    What is seen then is the last good sculpture, and the fault is told in the settings.
    design : that of the settings, where it is known
    """
    settings = root.pinwright
    known = _known.setdefault(root.session_uid, _Known())
    began = time.perf_counter()
    try:
        if design is None:
            design = design_of(root)
        if settings.frame_from == "OBJECT" and settings.frame_object is not None:
            making.rebuild(bpy.context, root, whole=False)
        else:
            making.follow(root, design, making.frame_for(root, design))
    except PinwrightError as error:
        _back_to_good(root)
        settings.fault = str(error)
        return False
    known.took = time.perf_counter() - began
    known.layout = None
    return True


def _back_to_good(root: bpy.types.Object) -> None:
    """Show the last design that could be built again, where bodies stand for its plates."""
    if tags.COARSE in root:
        build = making.build_of(root)
        look = root.pinwright.look
        scene.rebuild_sculpture(root.users_scene[0], root, build, look=look, whole=False)


# ---------------------------------------------------------------- the coarse stage


def _layout(root: bpy.types.Object, build: Build) -> _Layout:
    own = standing.Standing.of(root)
    there = rough(build.design, making.frame_for(root, build.design))
    places = there.places()
    poses: dict[str, Floats] = {}
    parts: dict[str, int] = {}
    for plate in build.plates:
        if plate.motif not in poses:
            plane = places[plate.motif, plate.element]
            poses[plate.motif] = np.linalg.inv(plane) @ plate.world_from_part
            parts[plate.motif] = plate.part
    held = () if there.fasteners is None else _fastener_keys(there)
    names = {key: obj.name for key, obj in own.by_key.items()}
    return _Layout(names, poses, parts, held)


def _fastener_keys(found: Rough) -> tuple[str, ...]:
    keys = []
    counts: dict[tuple[int, str], int] = {}
    for joint, kind in zip(found.fasteners.joint.tolist(), found.fasteners.kind, strict=True):
        counts[joint, kind] = number = counts.get((joint, kind), 0) + 1
        keys.append(pieces.fastener_key(joint, kind, number))
    return tuple(keys)


def _bodies(found: Rough, layout: _Layout) -> dict[int, tuple[str, Polygon]] | None:
    """Return for each part a motif and its body in the part's plane; None: motifs part company."""
    chosen: dict[int, tuple[str, Polygon]] = {}
    for motif, body in found.bodies().items():
        part = layout.parts[motif]
        if part not in chosen:
            part_from_plane = np.linalg.inv(layout.poses[motif])
            (a, b), (d, e) = part_from_plane[:2, :2].tolist()
            x, y = part_from_plane[:2, 3].tolist()
            chosen[part] = motif, shapely.affinity.affine_transform(body, (a, b, d, e, x, y))
        elif abs(chosen[part][1].area / body.area - 1) > 1e-3:
            return None
    return chosen


def _reshape(
    layout: _Layout,
    objects: dict[str, bpy.types.Object],
    bodies: dict[int, tuple[str, Polygon]],
    thickness: float,
    unit: float,
) -> None:
    """Fill the mesh of each part with its uncut body."""
    filled = set()
    for key, obj in objects.items():
        motif, _, element = key.rpartition(":")
        if not element.isdigit() or motif not in layout.parts:
            continue
        name, body = bodies[layout.parts[motif]]
        mesh: Any = obj.data
        if name == motif and mesh not in filled and meshes.is_ours(mesh):
            filled.add(mesh)
            convert.fill_mesh(mesh, prism(body, thickness), unit)
            mesh[tags.DIGEST] = "coarse"


def _matrix(world: Floats, unit: float) -> Matrix:
    return convert.matrix_from_mm(world, unit)


# ---------------------------------------------------------------- when the hand rests


def waiting() -> bool:
    """Tell whether joints of a sculpture are still to be cut."""
    return bool(_due)


def _wait(root: bpy.types.Object, seconds: float) -> None:
    _due[root.session_uid] = time.monotonic() + seconds
    if not bpy.app.background and not bpy.app.timers.is_registered(_rest):
        bpy.app.timers.register(_rest, first_interval=seconds)


def _rest() -> float | None:
    """Cut the joints of sculptures that have not changed for a while."""
    left = min(_due.values(), default=0.0) - time.monotonic()
    if left > 0.005:
        return left
    catch_up()
    return None if not _due else REST


def catch_up() -> None:
    """Cut the joints of all sculptures that wait for them, now."""
    due = set(_due)
    _due.clear()
    for root in [obj for obj in bpy.data.objects if tags.DESIGN in obj]:
        if root.session_uid in due and _can_follow(root):
            full(root)
            _touched.add(root.session_uid)
            redraw.views()


@persistent
def _after_undo(*_: object) -> None:
    """Do again what the timer did after the step that undo or redo went to."""
    for root in [obj for obj in bpy.data.objects if tags.DESIGN in obj]:
        if tags.COARSE in root or root.session_uid in _touched:
            _wait(root, _AGAIN)


@persistent
def _after_load(*_: object) -> None:
    """Forget the sculptures of another file; cut joints that were not when this one was saved."""
    forget()
    _after_undo()


@persistent
def _before_save(*_: object) -> None:
    """Save no sculpture without its joints."""
    catch_up()


def forget() -> None:
    """Forget all that is known of sculptures."""
    _known.clear()
    _due.clear()
    _touched.clear()


def _handlers() -> tuple[tuple[list, object], ...]:
    there = bpy.app.handlers
    return (
        (there.undo_post, _after_undo),
        (there.redo_post, _after_undo),
        (there.load_post, _after_load),
        (there.save_pre, _before_save),
    )


def register() -> None:
    """Listen to settings, undo, loading and saving."""
    changes.listen(_changed)
    for handlers, function in _handlers():
        handlers.append(function)


def unregister() -> None:
    """Listen no more."""
    changes.listen(None)
    for handlers, function in _handlers():
        if function in handlers:
            handlers.remove(function)
    if bpy.app.timers.is_registered(_rest):
        bpy.app.timers.unregister(_rest)
    forget()
