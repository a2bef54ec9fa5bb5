# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plan the assembly, go through its steps and modules, collect what comes in at each step."""

from __future__ import annotations

import importlib
from dataclasses import replace
from typing import Any

import bpy
from bpy.props import BoolProperty, EnumProperty, IntProperty, StringProperty

from ...core.assembly.stage import first_step_of
from ...core.design.write import format_design
from ...core.errors import PinwrightError
from .. import (
    choices,
    esc_key,
    exploded,
    operating,
    plan_child,
    plan_run,
    plan_settings,
    plan_store,
    plan_view,
    step_collections,
    store,
    tags,
)
from ..words import worded

__all__ = ["CLASSES", "needs_plan"]


def needs_plan(cls: type, context: bpy.types.Context) -> bool:
    """Tell whether the active sculpture has a plan; says in the tooltip what to do if not."""
    if not operating.needs_sculpture(cls, context):
        return False
    root = tags.root_of(context.active_object)
    if plan_store.plan_of(root) is None:
        cls.poll_message_set("Plan the assembly first")
        return False
    if not plan_store.fits(root):
        cls.poll_message_set("The sculpture has changed since it was planned; plan again")
        return False
    return True


class PINWRIGHT_OT_plan_assembly(bpy.types.Operator):
    """Find in which order the sculpture is put together, while you go on working"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.plan_assembly"
    bl_label = "Plan Assembly"
    bl_options = {"REGISTER"}

    wait: BoolProperty(
        name="Wait",
        description="Stay here until the plan is ready, as it is done without a window",
        options={"HIDDEN", "SKIP_SAVE"},
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if plan_run.running():
            cls.poll_message_set("A plan is being made already")
            return False
        return operating.needs_own_sculpture(cls, context)

    @operating.reported
    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        _write_choice(root)
        record = _job(root)
        if not (self.wait or bpy.app.background):
            plan_run.start(plan_run.Job(plan_store.key_of(root), record), _ready)
            return {"FINISHED"}
        with operating.progress(context) as said:
            plan = plan_child.planned_record(record, _core, said)
        count = _take(plan_store.key_of(root), plan)
        self.report(
            {"INFO"},
            worded("{steps} steps, for {count} sculptures", steps=len(plan["steps"]), count=count),
        )
        return {"FINISHED"}


class PINWRIGHT_OT_stop_planning(esc_key.EndedByEsc, bpy.types.Operator):
    """Give up the planning"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.stop_planning"
    bl_label = "Stop Planning"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        if not plan_run.running():
            cls.poll_message_set("Nothing is planned just now")
            return False
        return True

    def execute(self, context: bpy.types.Context) -> set[str]:
        plan_run.stop()
        self.report({"INFO"}, "The planning is given up")
        return {"FINISHED"}


class PINWRIGHT_OT_keep_plan(bpy.types.Operator):
    """Write a plan that is ready on its sculptures"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.keep_plan"
    bl_label = "Keep Plan"
    bl_options = {"UNDO", "INTERNAL"}

    key: StringProperty(options={"HIDDEN", "SKIP_SAVE"})

    def execute(self, context: bpy.types.Context) -> set[str]:
        plan = _waiting.pop(self.key, None)
        if plan is None or not _take(self.key, plan):
            self.report({"WARNING"}, "The sculpture has changed since; its plan fits no more")
            return {"CANCELLED"}
        self.report({"INFO"}, worded("The plan is ready: {steps} steps", steps=len(plan["steps"])))
        return {"FINISHED"}


class PINWRIGHT_OT_step_plan(bpy.types.Operator):
    """Show another step of the plan"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.step_plan"
    bl_label = "Next Step"
    bl_options = {"REGISTER", "UNDO"}

    by: IntProperty(name="Steps", description="How many steps on", default=1)

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return needs_plan(cls, context)

    @classmethod
    def description(cls, context: bpy.types.Context, properties: Any) -> str:
        if abs(properties.by) > 1:
            return "Show the last step" if properties.by > 0 else "Show the first step"
        return "Show the next step" if properties.by > 0 else "Show the step before"

    def execute(self, context: bpy.types.Context) -> set[str]:
        plan = tags.root_of(context.active_object).pinwright_plan
        if plan.mode != plan_view.STEPS:
            plan.mode = plan_view.STEPS
        plan.step = min(max(plan.step + self.by, 1), len(plan.steps))
        return {"FINISHED"}


class PINWRIGHT_OT_step_module(bpy.types.Operator):
    """Show another module, or the first step of its work"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.step_module"
    bl_label = "Next Module"
    bl_options = {"REGISTER", "UNDO"}

    by: IntProperty(name="Modules", description="How many modules on", default=1)

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return needs_plan(cls, context)

    @classmethod
    def description(cls, context: bpy.types.Context, properties: Any) -> str:
        return "Show the next module" if properties.by > 0 else "Show the module before"

    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        plan, record = root.pinwright_plan, plan_store.plan_of(root)
        order = plan_view.module_order(record)
        if plan.mode == plan_view.MODULES:
            plan.module = min(max(plan.module + self.by, 0), len(order) - 1)
            return {"FINISHED"}
        now = plan.steps[plan.step - 1].module if plan.step else order[0]
        place = min(max(order.index(now) + self.by, 0), len(order) - 1)
        if plan.mode != plan_view.STEPS:
            plan.mode = plan_view.STEPS
        plan.step = first_step_of(record["steps"], record["members"], order[place])
        return {"FINISHED"}


class PINWRIGHT_OT_collect_steps(bpy.types.Operator):
    """Make a collection for each step of the plan, linked to the plates that come in at it"""  # noqa: D400 - a tooltip

    bl_idname = "pinwright.collect_steps"
    bl_label = "Make Step Collections"
    bl_options = {"REGISTER", "UNDO"}

    action: EnumProperty(
        name="Action",
        items=(
            ("MAKE", "Make", "Make them, or make them anew"),
            ("REMOVE", "Remove", "Take them away; the plates stay"),
        ),
    )

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return needs_plan(cls, context) and operating.needs_own_sculpture(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        root = tags.root_of(context.active_object)
        step_collections.remove(root)
        if self.action == "MAKE":
            count = step_collections.make(root, plan_store.plan_of(root))
            self.report({"INFO"}, worded("{count} collections, one for each step", count=count))
        return {"FINISHED"}


# ---------------------------------------------------------------- helpers

_waiting: dict[str, dict[str, Any]] = {}  # plans that are ready, by the key of their design


def _core(module: str) -> Any:
    package = __package__.removesuffix(".addon.operators")
    return importlib.import_module(f"{package}.core.{module}")


def _write_choice(root: bpy.types.Object) -> None:
    """Write teams and times into the design on the root, so that they are saved with it."""
    design = store.stored_design(root)
    wanted = plan_settings.choice_of(root.pinwright_plan)
    if design.assembly != wanted:
        root[tags.DESIGN] = format_design(replace(design, assembly=wanted))


def _job(root: bpy.types.Object) -> dict[str, Any]:
    design = store.stored_design(root)
    own_size = design.frame.mesh == choices.OBJECT_FILE
    return {
        "design": root[tags.DESIGN],
        "title": root.name,
        "folder": root.get(tags.FOLDER, ""),
        "frame": root.get(tags.FRAME, "") if design.frame.mesh is not None else "",
        "diameter": None if own_size else design.frame.diameter,
    }


def _take(key: str, plan: dict[str, Any]) -> int:
    """Write a plan on every sculpture of its design; return how many there are."""
    found = [
        obj
        for obj in bpy.data.objects
        if tags.DESIGN in obj and not tags.is_foreign(obj) and plan_store.key_of(obj) == key
    ]
    for root in found:
        plan_store.keep(root, plan, key)
        exploded.settle(root, plan.get("exploded"))
        exploded.apply(root, root.pinwright.explode, root.pinwright.apart)
        plan_settings.show_plan(root)
        settings = root.pinwright_plan
        settings.step = min(max(settings.step, 1), len(settings.steps))
        plan_view.show(root)
    return len(found)


def _ready(key: str, plan: dict[str, Any]) -> None:
    """Take in a plan by an operator, so that it is an undo step; called by a timer."""
    _waiting[key] = plan
    window = next(iter(bpy.context.window_manager.windows), None)
    try:
        if window is None:
            bpy.ops.pinwright.keep_plan(key=key)
        else:
            with bpy.context.temp_override(window=window):
                bpy.ops.pinwright.keep_plan("EXEC_DEFAULT", True, key=key)
    except (RuntimeError, PinwrightError):  # Blender is in the midst of something: write it plainly
        ready = _waiting.pop(key, None)
        if ready is not None:
            _take(key, ready)


CLASSES = (
    PINWRIGHT_OT_plan_assembly,
    PINWRIGHT_OT_stop_planning,
    PINWRIGHT_OT_keep_plan,
    PINWRIGHT_OT_step_plan,
    PINWRIGHT_OT_step_module,
    PINWRIGHT_OT_collect_steps,
)
