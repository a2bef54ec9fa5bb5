# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A sculpture shown as its plan has it at one step, or one module by itself.

Pieces are hidden by Blender's own switches, moved by their deltas and colored by their object
color, so materials, places and animation stay the artist's. What each piece had before is kept on
it, and put back when the views are left: also after saving, opening, undo, copying.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import bpy
import numpy as np
from mathutils import Matrix, Quaternion, Vector

from ..core.assembly.stage import Stage, module_steps, shown_pose, stage_at
from . import exploded, looks, plan_store, redraw, tags

__all__ = [
    "MATERIAL",
    "MODULE",
    "MODULES",
    "OFF",
    "PART",
    "REACH",
    "ROLE",
    "ROLE_COLORS",
    "STEP",
    "STEPS",
    "labelled",
    "leave",
    "module_order",
    "settle",
    "show",
    "stage_of",
]

OFF, STEPS, MODULES = "OFF", "STEPS", "MODULES"
ROLE, MODULE, PART, STEP, MATERIAL = "ROLE", "MODULE", "PART", "STEP", "MATERIAL"
_BEFORE = "pinwright_before"  # piece: hidden in view and render, color, delta rotation
_SHADING = "pinwright_shading"  # screen: what its 3D views were colored by, in their order
REACH = 0.35  # of the sculpture's extent: so far from its place a coming plate is shown at most


def _hex(text: str) -> tuple[float, float, float]:
    def linear(value: float) -> float:  # IEC 61966-2-1
        return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(int(text[k : k + 2], 16) / 255) for k in (0, 2, 4))
    return red, green, blue


#: Colors of roles: of Okabe and Ito's eight; greys for what only stands.
ROLE_COLORS = {
    "coming": _hex(looks.OKABE_ITO[0]),
    "bends": _hex(looks.OKABE_ITO[3]),
    "holds": _hex(looks.OKABE_ITO[1]),
    "stands": (0.42, 0.42, 0.42),
    "elsewhere": (0.72, 0.72, 0.72),
}
_PIN = (0.09, 0.09, 0.10)
# From dark to light, told apart in grey too: five colors of viridis (S. van der Walt and N. Smith,
# 2015, public domain).
_RAMP = np.array([_hex(text) for text in ("440154", "3b528b", "21918c", "5ec962", "fde725")])


# ---------------------------------------------------------------- what is shown


@dataclass(slots=True)
class _Scenery:
    """The plan of one sculpture as it is to be shown. pose : of the coming plates, mm."""

    plan: Any
    record: dict[str, Any]
    stage: Stage
    module: str | None
    pose: np.ndarray | None

    @classmethod
    def of(cls, root: bpy.types.Object, record: dict[str, Any]) -> _Scenery:
        plan = root.pinwright_plan
        if plan.mode == MODULES:
            order = module_order(record)
            module = order[min(plan.module, len(order) - 1)]
            return cls(plan, record, Stage(0), module, None)
        stage = stage_at(record["steps"], record["joints"], plan.step)
        pose = None
        if stage.n:
            step = record["steps"][stage.n - 1]
            pose = shown_pose(step, plan.approach, REACH * record["extent"])
        return cls(plan, record, stage, None, pose)

    def plate(self, plate: str) -> tuple[bool, str, bool]:
        """Return whether a plate is shown, what it does, and whether it is on its way."""
        members = self.record["members"]
        if plate not in members:  # of a newer build
            return False, "stands", False
        if self.module is not None:
            inside = members[plate] == self.module
            return inside or not self.plan.isolate, "stands" if inside else "elsewhere", False
        role = self.stage.role(plate)
        seen = role is not None and (role != "elsewhere" or not self.plan.isolate)
        return seen, role or "elsewhere", plate in self.stage.coming

    def lock(self, joint: str) -> tuple[bool, bool]:
        """Return whether a joint's pins are shown, and whether they are on their way."""
        plates = self.record["joints"].get(joint)
        if plates is None:
            return False, False
        seen = [self.plate(plate) for plate in plates]
        if not all(shown for shown, _, _ in seen):
            return False, False
        if self.module is not None:
            return True, False
        if joint in self.stage.pinned:
            return True, all(coming for _, _, coming in seen)
        return joint in self.stage.pinning and self.plan.approach >= 1.0, False


def module_order(record: dict[str, Any]) -> list[str]:
    """Return the modules in the order in which work on them begins."""
    return module_steps(record["steps"], record["members"])


def stage_of(root: bpy.types.Object) -> Stage | None:
    """Return the step that is shown; None where no step is."""
    record = plan_store.plan_of(root)
    if record is None or root.pinwright_plan.mode != STEPS:
        return None
    return stage_at(record["steps"], record["joints"], root.pinwright_plan.step)


def labelled(root: bpy.types.Object) -> list[bpy.types.Object]:
    """Return the plates that are to be labelled in the view."""
    plan, record = root.pinwright_plan, plan_store.plan_of(root)
    if record is None or plan.mode == OFF or plan.labels == "NONE":
        return []
    scenery = _Scenery.of(root, record)
    found = []
    for piece in tags.pieces(root):
        plate = piece.get(tags.PLATE)
        if plate is None:
            continue
        shown, role, coming = scenery.plate(plate)
        wanted = plan.labels == "SHOWN" or coming or plan.mode == MODULES
        if shown and role != "elsewhere" and wanted:
            found.append(piece)
    return found


# ---------------------------------------------------------------- showing


def show(root: bpy.types.Object) -> None:
    """Show a sculpture as its plan settings say; leave it as it was if they say nothing."""
    record = plan_store.plan_of(root)
    plan = root.pinwright_plan
    if record is None or plan.mode == OFF or not plan_store.fits(root):
        leave(root)
        return
    scenery = _Scenery.of(root, record)
    unit = root.get(tags.UNIT, 0.001)
    paint = _painter(root, scenery)
    explode, apart = root.pinwright.explode, root.pinwright.apart
    if explode:
        exploded.apply(root, 0.0, apart)
    for piece in tags.pieces(root):
        _remember(piece)
        if tags.PLATE in piece:
            shown, role, coming = scenery.plate(piece[tags.PLATE])
            color = paint(piece, role)
        else:
            shown, coming = scenery.lock(piece.get(tags.JOINT, ""))
            color = _PIN
        if piece.hide_viewport == shown:
            piece.hide_viewport = not shown
        if piece.hide_render == shown:
            piece.hide_render = not shown
        _place(piece, scenery.pose if coming and shown else None, unit)
        piece.color = (*color, 1.0) if color is not None and shown else piece[_BEFORE][2:6]
    _color_views(plan.colors != MATERIAL or _anyone_colored())
    redraw.views()


def leave(root: bpy.types.Object) -> None:
    """Put everything back as it was before steps or modules were shown."""
    found = False
    for piece in tags.pieces(root):
        before = piece.get(_BEFORE)
        if before is None:
            continue
        found = True
        values = list(before)
        piece.hide_viewport, piece.hide_render = bool(values[0]), bool(values[1])
        piece.color = values[2:6]
        piece.delta_rotation_quaternion = values[6:10]
        del piece[_BEFORE]
    if found:
        exploded.apply(root, root.pinwright.explode, root.pinwright.apart)
    if not _anyone_colored():
        _color_views(False)
    redraw.views()


def settle(root: bpy.types.Object) -> None:
    """After the sculpture was built anew: go on showing the plan if it still fits, else leave."""
    if plan_store.PLAN in root or any(_BEFORE in piece for piece in tags.pieces(root)):
        show(root)


def _remember(piece: bpy.types.Object) -> None:
    if _BEFORE not in piece:
        piece[_BEFORE] = [
            float(piece.hide_viewport),
            float(piece.hide_render),
            *piece.color,
            *piece.delta_rotation_quaternion,
        ]


def _place(piece: bpy.types.Object, pose: np.ndarray | None, unit: float) -> None:
    """Move a piece by its deltas, as `pose` (mm, world of the sculpture) says."""
    before = Quaternion(piece[_BEFORE][6:10])
    if pose is None:
        piece.delta_location = (0.0, 0.0, 0.0)
        piece.delta_rotation_quaternion = before
        return
    turn = Matrix(pose[:3, :3].tolist())
    shift = Vector((pose[:3, 3] * unit).tolist())
    piece.delta_location = turn @ piece.location + shift - piece.location
    piece.delta_rotation_quaternion = turn.to_quaternion() @ before


def _painter(root: bpy.types.Object, scenery: _Scenery):
    """Return what gives a plate its color; None: that of before."""
    record, colors = scenery.record, scenery.plan.colors
    if colors == MATERIAL:
        return lambda piece, role: None
    if colors == ROLE:
        return lambda piece, role: ROLE_COLORS[role]
    if colors == PART:
        return lambda piece, role: looks.part_rgb(piece.data.get(tags.PART_INDEX, 0))
    if colors == MODULE:
        number = {name: k for k, name in enumerate(record["modules"])}
        return lambda piece, role: looks.part_rgb(number.get(piece.get(tags.MODULE, ""), 0))
    steps = record["steps"]
    first: dict[str, int] = {}
    for step in steps:
        for plate in step["add"]:
            first.setdefault(plate, step["n"])
    places = np.linspace(1, max(len(steps), 2), len(_RAMP))

    def ramp(piece: bpy.types.Object, role: str) -> tuple[float, ...]:
        at = first.get(piece[tags.PLATE], 1)
        return tuple(float(np.interp(at, places, _RAMP[:, k])) for k in range(3))

    return ramp


# ---------------------------------------------------------------- views


def _spaces(screen: bpy.types.Screen) -> Iterator[bpy.types.SpaceView3D]:
    for area in screen.areas:
        for space in area.spaces:
            if space.type == "VIEW_3D":
                yield space


def _color_views(on: bool) -> None:
    """Let the solid views show object colors, or what they showed before."""
    for screen in bpy.data.screens:
        known = screen.get(_SHADING)
        if on and known is None:
            screen[_SHADING] = " ".join(space.shading.color_type for space in _spaces(screen))
            for space in _spaces(screen):
                space.shading.color_type = "OBJECT"
        elif not on and known is not None:
            for space, was in zip(_spaces(screen), known.split(" "), strict=False):
                if space.shading.color_type == "OBJECT" and was:
                    space.shading.color_type = was
            del screen[_SHADING]


def _anyone_colored() -> bool:
    """Tell whether some sculpture of the file is shown in colors of its plan."""
    return any(
        tags.DESIGN in obj
        and obj.pinwright_plan.mode != OFF
        and obj.pinwright_plan.colors != MATERIAL
        and plan_store.fits(obj)
        for obj in bpy.data.objects
    )
