# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What operators share: errors that the user can mend become reports, long work shows progress."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import bpy

from ..core.errors import PinwrightError
from . import tags

__all__ = [
    "calm_view",
    "needs_own_sculpture",
    "needs_sculpture",
    "progress",
    "reported",
    "show_only",
    "stay_in_local_view",
    "suggested_path",
    "to_object_mode",
]

CANCELLED = {"CANCELLED"}


def reported(execute: Callable) -> Callable:
    """Let an operator's execute() report the errors that a user can mend, and cancel."""

    def inner(self: bpy.types.Operator, context: bpy.types.Context) -> set[str]:
        try:
            return execute(self, context)
        except PinwrightError as error:
            self.report({"ERROR"}, str(error))
            return CANCELLED

    inner.__doc__ = execute.__doc__
    return inner


@contextmanager
def progress(context: bpy.types.Context) -> Iterator[Callable[[str, float], None]]:
    """Show a running figure at the mouse pointer while core is at work."""
    window = context.window_manager
    window.progress_begin(0, 100)
    try:
        yield lambda text, share: window.progress_update(100 * share)
    finally:
        window.progress_end()


def needs_sculpture(cls: type, context: bpy.types.Context) -> bool:
    """Tell whether a sculpture is active; says in the tooltip what to do if none is."""
    if tags.root_of(context.active_object) is None:
        cls.poll_message_set("Select a sculpture first")
        return False
    return True


def needs_own_sculpture(cls: type, context: bpy.types.Context) -> bool:
    """Tell whether the active sculpture belongs to this file, so that it can be made anew."""
    if not needs_sculpture(cls, context):
        return False
    if tags.is_foreign(tags.root_of(context.active_object)):
        cls.poll_message_set("This sculpture comes from another file; change it there")
        return False
    return True


def suggested_path(context: bpy.types.Context, ending: str) -> str:
    """Return a file for the active sculpture, beside the .blend if that was saved."""
    name = bpy.path.clean_name(tags.root_of(context.active_object).name)
    file = name.strip("_").replace("_", "-").lower() + ending
    return str(Path(bpy.data.filepath).with_name(file)) if bpy.data.filepath else file


def to_object_mode(context: bpy.types.Context) -> None:
    """Leave edit and other modes: objects are made in object mode."""
    if context.mode != "OBJECT":
        bpy.ops.object.mode_set(mode="OBJECT")


def calm_view(context: bpy.types.Context) -> None:
    """Hide the dashed lines to parents when the first sculpture comes: it has hundreds of them."""
    space = context.space_data
    if len(tags.roots(context.scene)) == 1 and getattr(space, "type", "") == "VIEW_3D":
        space.overlay.show_relationship_lines = False


def stay_in_local_view(context: bpy.types.Context, root: bpy.types.Object) -> None:
    """Show new pieces in a view that shows chosen objects only."""
    space = context.space_data
    if isinstance(space, bpy.types.SpaceView3D) and space.local_view is not None:
        for obj in (root, *tags.pieces(root)):
            obj.local_view_set(space, True)


def show_only(context: bpy.types.Context, obj: bpy.types.Object) -> None:
    """Select one object and make it active."""
    for other in list(context.selected_objects):
        other.select_set(False)
    obj.select_set(True)
    context.view_layer.objects.active = obj
