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
from bpy.app.handlers import persistent

from ..core.design.model import Design
from ..core.errors import PinwrightError
from ..core.results import Build
from ..core.rough import rough
from . import (
    bodies,
    building,
    changes,
    choices,
    collector,
    joints_beside,
    making,
    motif_curves,
    pieces,
    redraw,
    scene,
    store,
    tags,
)
from .properties import PinwrightSettings

__all__ = [
    "REST", "catch_up", "coarse", "design_of", "follow_curve", "full", "register", "unregister",
    "waiting",
]  # fmt: skip

REST = 0.25  # s, without a change, after which the hand is said to rest
_LAG = 0.3  # s that a step of a slider may lag behind
_BODIES = 0.2  # of the time that all joints take, bodies take; measured with 174 different plates
_AGAIN = 0.05  # s from undo to doing again what is in no undo step


@dataclass(slots=True)
class _Known:
    """What is known of a sculpture while its settings are changed, by the root's session uid.

    build : that its pieces show with all joints; layout : how its pieces are known
    took : seconds of the last building with joints
    """

    build: Build | None = None
    layout: bodies.Layout | None = None
    took: float = 0.0


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


@collector.held()
def _follow(root: bpy.types.Object) -> None:
    joints_beside.stop(root.session_uid)
    try:
        design = design_of(root)
        seconds = _seconds_of(root, making.Order(design, making.frame_for(root, design)))
        too_many = _BODIES * seconds > _LAG  # to follow a hand
        if too_many or coarse(root, design) or seconds > building.PATIENCE:
            _wait(root, REST)
        else:
            full(root, design)
    except PinwrightError as error:
        root.pinwright.fault = str(error)
        _wait(root, REST)


def _seconds_of(root: bpy.types.Object, order: making.Order) -> float:
    """Return about how long a window would stand still for a build; without one nothing does."""
    if bpy.app.background or order.at_hand() is not None:
        return 0.0
    return max(building.seconds_of(order), _known.setdefault(root.session_uid, _Known()).took)


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
        known.build, known.layout = build, bodies.layout_of(root, build)
    found = rough(design, making.frame_for(root, design))
    shown = bodies.show(root, known.layout, found)
    if shown is None:
        known.layout = None
    if shown:
        root.pinwright.fault = found.fault
    return bool(shown)


@collector.held()
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


# ---------------------------------------------------------------- when the hand rests


def waiting() -> bool:
    """Tell whether joints of a sculpture are still to be cut."""
    return bool(_due) or joints_beside.running()


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


def catch_up(*, beside: bool = True) -> None:
    """Cut the joints of all sculptures that wait for them, now.

    Those that take long are begun beside Blender; beside : False leaves them waiting
    """
    due = set(_due)
    _due.clear()
    for root in [obj for obj in bpy.data.objects if tags.DESIGN in obj]:
        if root.session_uid not in due or not _can_follow(root):
            continue
        if not _left_to_another(root, beside):
            full(root)
            _touched.add(root.session_uid)
            redraw.views()


def _order(root: bpy.types.Object) -> making.Order:
    settings = root.pinwright
    if settings.frame_from == "OBJECT" and settings.frame_object is not None:
        return making.ordered(bpy.context, settings, store.stored_design(root), root)
    design = design_of(root)
    return making.Order(design, making.frame_for(root, design))


def _left_to_another(root: bpy.types.Object, beside: bool) -> bool:
    """Let joints that take long be cut beside Blender, or later; False: they do not take long."""
    try:
        order = _order(root)
        if _seconds_of(root, order) <= building.PATIENCE:
            return False
        if joints_beside.running() or not beside:
            _wait(root, REST)
        else:
            joints_beside.start(root.session_uid, order, _made)
    except PinwrightError:
        return False  # it is told when it is tried here
    return True


def _made(uid: int, made: building.Building) -> None:
    """Show what was made beside Blender, if it is still wanted."""
    roots = [obj for obj in bpy.data.objects if obj.session_uid == uid and tags.DESIGN in obj]
    for root in roots:
        if not _can_follow(root):
            _wait(root, REST)
            continue
        if made.build is None:
            _back_to_good(root)
            root.pinwright.fault = made.fault
            continue
        if _order(root).at_hand() is not made.build:  # something was changed meanwhile
            _wait(root, REST)
            continue
        wanted = pieces.wanted_of(made.build)
        if root.get(tags.KEYS, "") == "\n".join(piece.key for piece in wanted.pieces):
            full(root)
        else:
            _in_a_step_of_undo(root)
        _known.setdefault(uid, _Known()).took = made.seconds
        _touched.add(uid)
        redraw.views()


def _in_a_step_of_undo(root: bpy.types.Object) -> None:
    """Let an operator show it: pieces come or go, so it must be a step of undo."""
    window = next(iter(bpy.context.window_manager.windows), None)
    try:
        with bpy.context.temp_override(window=window):
            bpy.ops.pinwright.show_joints("EXEC_DEFAULT", True, root=root.name)
    except (RuntimeError, PinwrightError):  # Blender is in the midst of something
        full(root)


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
    """Save no sculpture without its joints, unless they take long: then they are cut on loading."""
    catch_up(beside=False)


def forget() -> None:
    """Forget all that is known of sculptures."""
    _known.clear()
    _due.clear()
    _touched.clear()
    joints_beside.stop()


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
    joints_beside.end()
