# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The assembly: planning, its table of steps, and how the steps are shown."""

from __future__ import annotations

from typing import Any

import bpy

from .. import plan_run, plan_store, plan_view, tags
from ..plan_settings import TIMES, PinwrightPlan
from ..words import worded
from . import shared

__all__ = ["CLASSES"]

_PARENT = "PINWRIGHT_PT_plan"
_WIDTHS = (0.12, 0.24, 0.32, 0.16, 0.16)  # of the table's columns


class _PlanPanel(shared.SidebarPanel):
    """A panel under the plan's own, there when the active sculpture has a plan that fits."""

    bl_parent_id = _PARENT

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        root = tags.root_of(context.active_object)
        return root is not None and len(root.pinwright_plan.steps) > 0 and plan_store.fits(root)


class PINWRIGHT_UL_steps(bpy.types.UIList):
    """The steps of a plan: number, place, what comes in, people, minutes."""

    def draw_item(
        self,
        context: bpy.types.Context,
        layout: bpy.types.UILayout,
        data: Any,
        item: Any,
        icon: int,
        active_data: Any,
        active_property: str,
        index: int = 0,
        flt_flag: int = 0,
    ) -> None:
        sign = "NONE" if item.free and item.stress <= 1.0 else "ERROR"
        cells = (item.name, item.place or "Whole", item.what, str(item.people))
        minutes = f"{item.minutes:.1f}" if item.minutes < 9.95 else f"{item.minutes:.0f}"
        _cells(layout, (*cells, minutes), sign)

    def draw_filter(self, context: bpy.types.Context, layout: bpy.types.UILayout) -> None:
        layout.row(align=True).prop(self, "filter_name", text="", icon="VIEWZOOM")

    def filter_items(self, context: bpy.types.Context, data: Any, name: str) -> tuple:
        """Find steps by the marks of plates and joints in their words."""
        rows = getattr(data, name)
        if not self.filter_name:
            return [], []
        wanted = self.filter_name.lower()
        hit = self.bitflag_filter_item
        return [
            hit if wanted in f"{row.place} {row.what} {row.say}".lower() else 0 for row in rows
        ], []


class PINWRIGHT_PT_plan(shared.SidebarPanel, bpy.types.Panel):
    """Planning, and what came of it."""

    bl_label = "Assembly"
    bl_order = 2  # below sculpture and search
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        root = tags.root_of(context.active_object)
        if root is None:
            layout.label(text="Select a sculpture to plan", icon="INFO")
            return
        plan = root.pinwright_plan
        if plan_run.running():
            layout.progress(factor=plan_run.share(), text="Planning")
            row = layout.row()
            row.scale_y = 1.4
            row.operator("pinwright.stop_planning", text="Stop", icon="CANCEL")
            return
        column = layout.column()
        column.prop(plan, "teams")
        row = column.row(heading="People")
        row.prop(plan, "use_people", text="")
        sub = row.row()
        sub.active = plan.use_people
        sub.prop(plan, "people", text="")
        column.prop(plan, "start")
        row = layout.row()
        row.scale_y = 1.4
        fits = plan_store.fits(root)
        stale = len(plan.steps) > 0 and not fits
        row.operator("pinwright.plan_assembly", icon="PRESET", depress=stale)
        if stale:
            layout.label(text="Sculpture changed since it was planned", icon="INFO")
        if plan_run.fault():
            box = layout.box()
            box.label(text="Planning Failed", icon="ERROR")
            shared.wrapped(box, context, plan_run.fault())
        if fits and plan.steps:
            _draw_figures(layout.column(align=True), plan)


class PINWRIGHT_PT_times(shared.SidebarPanel, bpy.types.Panel):
    """How long hands take."""

    bl_label = "Times"
    bl_parent_id = _PARENT
    bl_order = 3
    bl_options = {"DEFAULT_CLOSED"}

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return tags.root_of(context.active_object) is not None

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        plan = tags.root_of(context.active_object).pinwright_plan
        shared.wrapped(layout, context, "Minutes for one pair of hands; used by the next plan")
        column = layout.column()
        for name in TIMES:
            column.prop(plan, name)
        layout.prop(plan, "spares")


class PINWRIGHT_PT_steps(_PlanPanel, bpy.types.Panel):
    """The table of steps, and the sculpture at one of them."""

    bl_label = "Steps"
    bl_order = 1

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        root = tags.root_of(context.active_object)
        plan = root.pinwright_plan
        row = layout.row(align=True)
        row.use_property_split = False
        row.prop(plan, "mode", expand=True)
        if plan.mode == plan_view.MODULES:
            _draw_module(layout, root)
        else:
            _draw_step(layout, context, plan)
        if plan.mode == plan_view.OFF:
            return
        column = layout.column()
        column.prop(plan, "isolate")
        column.prop(plan, "colors")
        if plan.colors == plan_view.ROLE and plan.mode == plan_view.STEPS:
            shared.wrapped(
                column, context, "Orange comes in, blue holds on to it, red bends, gray stands"
            )
        if plan.colors != plan_view.MATERIAL and _shading(context) in ("MATERIAL", "RENDERED"):
            shared.wrapped(column, context, "Colors show in the Solid view")


class PINWRIGHT_PT_labels(_PlanPanel, bpy.types.Panel):
    """Labels in the view, and as objects."""

    bl_label = "Labels"
    bl_order = 2
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = shared.settings_layout(self)
        plan = tags.root_of(context.active_object).pinwright_plan
        column = layout.column()
        column.prop(plan, "labels")
        column.prop(plan, "label_size")
        row = layout.row(align=True)
        row.operator("pinwright.add_labels", icon="FONT_DATA")
        row.operator("pinwright.remove_labels", text="", icon="TRASH")


class PINWRIGHT_PT_pages(_PlanPanel, bpy.types.Panel):
    """What goes on paper, and into collections."""

    bl_label = "Pages and Collections"
    bl_order = 4
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.operator("pinwright.make_pages", icon="RENDER_STILL")
        row = layout.row(align=True)
        row.operator("pinwright.collect_steps", icon="OUTLINER_COLLECTION").action = "MAKE"
        row.operator("pinwright.collect_steps", text="", icon="TRASH").action = "REMOVE"


# ---------------------------------------------------------------- helpers


def _cells(layout: bpy.types.UILayout, texts: tuple[str, ...], sign: str = "NONE") -> None:
    """Draw the cells of a row of the table; `sign` stands before what comes in."""
    row, left = layout, 1.0
    for number, (text, width) in enumerate(zip(texts, _WIDTHS, strict=True)):
        last = number == len(texts) - 1
        row = row if last else row.split(factor=width / left)
        left -= width
        if number == 2 and sign == "ERROR":
            row.label(text=text, icon="ERROR")
        elif number < 3:
            row.label(text=text)
        else:
            _right(row, text)


def _draw_figures(column: bpy.types.UILayout, plan: PinwrightPlan) -> None:
    column.scale_y = 0.9
    shared.figure(column, "Steps", str(len(plan.steps)))
    shared.figure(column, "Time", f"{_clock(plan.total)} h")
    shared.figure(column, "Not Less Than", f"{_clock(plan.bound)} h")
    shared.figure(
        column,
        "People",
        worded("{people} at {places} Places", people=plan.most_people, places=plan.places),
    )
    shared.figure(column, "Spares", plan.spare_parts)
    if plan.unproved:
        shared.named(column, "By Hand").label(
            text=worded("{count} Steps", count=plan.unproved), icon="ERROR"
        )
    if plan.overbent:
        shared.named(column, "Bent Too Far").label(
            text=worded("{count} Steps", count=plan.overbent), icon="ERROR"
        )


def _draw_step(layout: bpy.types.UILayout, context: bpy.types.Context, plan: PinwrightPlan) -> None:
    head = layout.row()
    head.active = False
    _cells(head, ("Step", "Place", "Comes In", "Crew", "Min"))
    layout.template_list("PINWRIGHT_UL_steps", "", plan, "steps", plan, "row", rows=6)
    if plan.mode == plan_view.OFF:
        return
    count = len(plan.steps)
    row = layout.row(align=True)
    row.operator("pinwright.step_module", text="", icon="REW").by = -1
    row.operator("pinwright.step_plan", text="", icon="TRIA_LEFT").by = -1
    row.use_property_split = False
    row.prop(plan, "step", text=worded("Step of {count}", count=count))
    row.operator("pinwright.step_plan", text="", icon="TRIA_RIGHT").by = 1
    row.operator("pinwright.step_module", text="", icon="FF").by = 1
    column = layout.column()
    column.prop(plan, "approach", slider=True)
    column.prop(plan, "course", slider=True)
    if not 1 <= plan.step <= count:
        return
    step = plan.steps[plan.step - 1]
    box = layout.box()
    place = worded("At the Table of {module}", module=step.place) if step.place else "At the Whole"
    box.label(text=place, icon="OUTLINER_COLLECTION" if step.place else "OUTLINER_OB_EMPTY")
    shared.wrapped(box, context, step.say)
    column = box.column(align=True)
    column.scale_y = 0.9
    shared.figure(
        column, "Team", worded("{team}, from {clock}", team=step.team, clock=_clock(step.start))
    )
    shared.figure(column, "People", str(step.people))
    shared.figure(column, "Minutes", f"{step.minutes:.1f}")
    if step.sprung:
        shared.figure(
            column,
            "Sprung Joints",
            worded("{joints}, {share:.0f} % of Yield", joints=step.sprung, share=100 * step.stress),
        )


def _draw_module(layout: bpy.types.UILayout, root: bpy.types.Object) -> None:
    plan = root.pinwright_plan
    record = plan_store.plan_of(root)
    order = plan_view.module_order(record)
    place = min(plan.module, len(order) - 1)
    row = layout.row(align=True)
    row.operator("pinwright.step_module", text="", icon="TRIA_LEFT").by = -1
    middle = row.row()
    middle.alignment = "CENTER"
    middle.label(
        text=worded(
            "{name}, {number} of {count}", name=order[place], number=place + 1, count=len(order)
        )
    )
    row.operator("pinwright.step_module", text="", icon="TRIA_RIGHT").by = 1
    rows = [step for step in plan.steps if step.place == order[place]]
    column = layout.column(align=True)
    column.scale_y = 0.9
    plates = sum(1 for name in record["members"].values() if name == order[place])
    shared.figure(column, "Plates", str(plates))
    shared.figure(column, "Table Steps", str(len(rows)))
    shared.figure(column, "Minutes", f"{sum(step.minutes for step in rows):.0f}")


def _shading(context: bpy.types.Context) -> str:
    space = context.space_data
    return space.shading.type if isinstance(space, bpy.types.SpaceView3D) else ""


def _right(layout: bpy.types.UILayout, text: str) -> None:
    cell = layout.row()
    cell.alignment = "RIGHT"
    cell.label(text=text)


def _clock(minutes: float) -> str:
    whole = round(minutes)
    return f"{whole // 60}:{whole % 60:02d}"


CLASSES = (
    PINWRIGHT_UL_steps,
    PINWRIGHT_PT_plan,
    PINWRIGHT_PT_steps,
    PINWRIGHT_PT_labels,
    PINWRIGHT_PT_times,
    PINWRIGHT_PT_pages,
)
