# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The user's own modules: of plates that are selected, or cut to a number, a size, a mass."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import bpy
from bpy.props import BoolProperty, FloatProperty, IntProperty

from ...core.assembly.modules import plate_name
from ...core.design.model import ModuleChoice
from ...core.design.write import format_design
from .. import changes, making, operating, store, tags
from ..lengths import length
from ..words import worded

__all__ = ["CLASSES"]


class PINWRIGHT_OT_gather_plates(bpy.types.Operator):
    """Make a module of the selected plates; all others stay in theirs"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.gather_plates"
    bl_label = "Gather Selected"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not operating.needs_own_sculpture(cls, context):
            return False
        if not any(tags.PLATE in obj for obj in context.selected_objects):
            cls.poll_message_set("Select the plates of the module first")
            return False
        return True

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        names = _names(root)
        chosen = [
            names[obj[tags.PLATE]]
            for obj in context.selected_objects
            if tags.PLATE in obj and tags.root_of(obj) == root
        ]
        gathered: dict[str, list[str]] = defaultdict(list)
        for piece in tags.pieces(root):
            if tags.PLATE in piece and names[piece[tags.PLATE]] not in chosen:
                gathered[piece[tags.MODULE]].append(names[piece[tags.PLATE]])
        lists = [tuple(sorted(set(plates))) for _, plates in sorted(gathered.items())]
        lists.append(tuple(sorted(set(chosen))))
        _rebuild(context, root, {"about": "listed", "listed": tuple(lists)})
        self.report(
            {"INFO"},
            worded(
                "{plates} plates gathered; {modules} modules",
                plates=len(lists[-1]),
                modules=len(lists),
            ),
        )
        return {"FINISHED"}


class PINWRIGHT_OT_cut_modules(bpy.types.Operator):
    """Cut the sculpture into modules where the fewest joints are, as small as can be carried"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.cut_modules"
    bl_label = "Cut into Modules"
    bl_options = {"REGISTER", "UNDO"}

    use_count: BoolProperty(name="Set Number", description="Say how many modules there are")
    count: IntProperty(name="Modules", description="How many there are", default=6, min=1, max=1000)
    use_largest: BoolProperty(name="Limit Size", description="Say how large a module may be")
    largest: length("Size", 800.0, "Diameter of a ball round a module", least=1.0, step=10.0)
    use_heaviest: BoolProperty(name="Limit Mass", description="Say how heavy a module may be")
    heaviest: FloatProperty(
        name="Mass", description="Of a module, kg", default=10.0, min=0.001, max=100000.0
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return operating.needs_own_sculpture(cls, context)

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        """Begin with what the design says."""
        kept = store.stored_design(tags.root_of(context.active_object)).modules
        for name in ("count", "largest", "heaviest"):
            value = getattr(kept, name)
            setattr(self, f"use_{name}", value is not None)
            if value is not None:
                setattr(self, name, value)
        context.window_manager.invoke_props_dialog(self)
        return {"RUNNING_MODAL"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.use_property_split = True
        layout.use_property_decorate = False
        for name, title in (("count", "Modules"), ("largest", "Size"), ("heaviest", "Mass, kg")):
            row = layout.row(heading=title)
            row.prop(self, f"use_{name}", text="")
            sub = row.row()
            sub.active = getattr(self, f"use_{name}")
            sub.prop(self, name, text="")

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        limits = {
            name: _plain(getattr(self, name)) if getattr(self, f"use_{name}") else None
            for name in ("largest", "heaviest")
        }
        count = self.count if self.use_count else None
        _rebuild(context, root, {"about": "joints", "count": count, **limits})
        figures = root.pinwright.figures
        self.report(
            {"INFO"},
            worded(
                "{modules} modules, {joints} joints between them",
                modules=figures.modules,
                joints=figures.between,
            ),
        )
        return {"FINISHED"}


def _plain(value: float) -> float:
    return float(f"{value:.7g}")  # as it was typed


def _names(root: bpy.types.Object) -> dict[str, str]:
    """Return how a list of modules calls each plate, by its id."""
    plates = making.build_of(root).plates
    elements: dict[str, list[int]] = defaultdict(list)
    for plate in plates:
        elements[plate.motif].append(plate.element)
    names = {}
    for plate in plates:
        found = sorted(elements[plate.motif])
        copy = found.index(plate.element) + 1
        names[plate.id] = plate.motif if len(found) == 1 else plate_name(plate.motif, copy)
    return names


def _rebuild(context: bpy.types.Context, root: bpy.types.Object, choice: dict) -> None:
    """Build the sculpture again with other modules; if that fails all is as before."""
    text, about = root[tags.DESIGN], root.pinwright.about
    design = store.stored_design(root)
    modules: ModuleChoice = replace(design.modules, **choice)
    root[tags.DESIGN] = format_design(replace(design, modules=modules))
    with changes.paused():
        root.pinwright.about = modules.about
    try:
        with operating.progress(context) as told:
            making.rebuild(context, root, told)
    except BaseException:
        root[tags.DESIGN] = text
        with changes.paused():
            root.pinwright.about = about
        raise


CLASSES = (PINWRIGHT_OT_gather_plates, PINWRIGHT_OT_cut_modules)
