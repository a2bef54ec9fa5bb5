# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Section lines of the active plate, drawn in the 3D view; core finds them, here they get colors.

Drawing only draws: what is to be seen is worked out by a timer when the active plate or its design
is another, and kept as batches for the graphics card.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import bpy
import numpy as np
from mathutils import Matrix

from ..core.errors import PinwrightError
from ..core.rough import rough
from ..core.section_map import SectionMap, section_map
from . import convert, making, motif_curves, redraw, store, tags

__all__ = ["LEGEND", "compute", "legend", "register", "unregister", "wanted"]

# Of the palette that color-blind people tell apart (looks.py): key, words, icon, sRGB, pixels.
LEGEND = (
    ("lines", "Gray: planes cross askew", "COLORSET_13_VEC", (0.75, 0.75, 0.75, 0.5), 1.0),
    ("square", "Blue: at a right angle", "COLORSET_04_VEC", (0.34, 0.71, 0.91, 0.95), 2.0),
    ("taken", "Orange: another plate is there", "COLORSET_02_VEC", (0.90, 0.45, 0.0, 1.0), 4.0),
    ("own", "Yellow: this plate is there", "COLORSET_09_VEC", (0.95, 0.9, 0.25, 1.0), 5.0),
)
_ASKEW = ("askew", (0.95, 0.9, 0.25, 0.6), 1.5)  # this plate too, where the planes cross askew


@dataclass(slots=True)
class _Shown:
    """What the batches were made for, and they themselves; `key` names no data of Blender."""

    key: tuple[Any, ...] = ()
    segments: dict[str, np.ndarray] = field(default_factory=dict)
    matrix: Matrix = field(default_factory=Matrix)
    batches: dict[str, Any] = field(default_factory=dict)


_shown = _Shown()
_handles: list[object] = []


def wanted(obj: bpy.types.Object | None) -> tuple[bpy.types.Object, str, int] | None:
    """Return the root, motif and element whose section lines are to be seen; None: none are."""
    root = tags.root_of(obj)
    if root is None or not root.pinwright.sections or tags.COARSE in root:
        return None
    motif = motif_curves.motif_of(obj)
    element = 0
    if tags.PLATE in obj:
        number = str(obj.get(tags.KEY, "")).rpartition(":")[2]
        element = int(number) if number.isdigit() else 0
    return root, motif, element


def compute(root: bpy.types.Object, motif: str, element: int) -> SectionMap:
    """Return the section lines of a plate; an empty motif is the first one.

    Raises
    ------
    PinwrightError : the design cannot be computed, or has no such plate.
    """
    design = store.stored_design(root)
    found = rough(design, making.frame_for(root, design))
    motif = motif or found.motifs[0].name
    if (motif, element) not in found.places():
        raise PinwrightError(f"There is no plate {element} of motif '{motif}'.")
    return section_map(found, motif, element)


def legend() -> tuple[tuple[str, str], ...]:
    """Return what is drawn: icon and words."""
    return tuple((icon, words) for _, words, icon, _, _ in LEGEND)


def prepare(root: bpy.types.Object, motif: str, element: int) -> None:
    """Work out what is to be drawn for a plate, in its plane."""
    _shown.key = _key(root, motif, element)
    _shown.batches = {}
    try:
        seen = compute(root, motif, element)
    except PinwrightError:
        _shown.segments = {}
        return
    design = store.stored_design(root)
    found = rough(design, making.frame_for(root, design))
    unit = root.get(tags.UNIT, 0.001)
    place = found.places()[motif or found.motifs[0].name, element]
    _shown.matrix = convert.matrix_from_mm(place, unit)
    parts = {
        "lines": seen.lines[~seen.square],
        "square": seen.lines[seen.square],
        "taken": seen.taken,
        "askew": seen.own[~seen.own_square],
        "own": seen.own[seen.own_square],
    }
    _shown.segments = {key: _flat(part, unit) for key, part in parts.items()}


def _flat(segments: np.ndarray, unit: float) -> np.ndarray:
    """Return both ends of every segment (2 n, 3) in scene units."""
    points = segments.reshape(-1, 2) * unit
    return np.column_stack((points, np.zeros(len(points))))


def _key(root: bpy.types.Object, motif: str, element: int) -> tuple[Any, ...]:
    return (root.session_uid, motif, element, root[tags.DESIGN], root.get(tags.FRAME, ""))


# ---------------------------------------------------------------- drawing


def _draw() -> None:
    """Draw what was prepared; if that is for something else by now, have it prepared anew."""
    found = wanted(bpy.context.active_object)
    if found is None or not found[0].visible_get():
        return
    root = found[0]
    if _shown.key != _key(*found):
        if not bpy.app.timers.is_registered(_prepare_active):
            bpy.app.timers.register(_prepare_active, first_interval=0.0)
        if _shown.key[:1] != (root.session_uid,):
            return
    import gpu  # late: without a window there is no graphics card
    from gpu_extras.batch import batch_for_shader

    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR")
    for key, points in _shown.segments.items():
        if key not in _shown.batches and len(points):
            _shown.batches[key] = batch_for_shader(
                shader, "LINES", {"pos": points.astype(np.float32).tolist()}
            )
    scale = bpy.context.preferences.system.ui_scale
    width, height = gpu.state.viewport_get()[2:]
    gpu.state.blend_set("ALPHA")
    gpu.state.depth_test_set("NONE")  # plates must not hide what lies in the midst of them
    shader.bind()
    shader.uniform_float("viewportSize", (width, height))
    with gpu.matrix.push_pop():
        gpu.matrix.multiply_matrix(root.matrix_world @ _shown.matrix)
        for key, color, pixels in (*((k, c, p) for k, _, _, c, p in LEGEND), _ASKEW):
            if key in _shown.batches:
                shader.uniform_float("lineWidth", pixels * scale)
                shader.uniform_float("color", color)
                _shown.batches[key].draw(shader)
    gpu.state.blend_set("NONE")


def _prepare_active() -> None:
    found = wanted(bpy.context.view_layer.objects.active)
    if found is not None:
        prepare(*found)
        redraw.views()


def register() -> None:
    """Draw in every 3D view, where there is a window."""
    if not bpy.app.background:
        space = bpy.types.SpaceView3D
        _handles.append(space.draw_handler_add(_draw, (), "WINDOW", "POST_VIEW"))


def unregister() -> None:
    """Draw no more."""
    while _handles:
        bpy.types.SpaceView3D.draw_handler_remove(_handles.pop(), "WINDOW")
    if bpy.app.timers.is_registered(_prepare_active):
        bpy.app.timers.unregister(_prepare_active)
    _shown.key, _shown.segments, _shown.batches = (), {}, {}
