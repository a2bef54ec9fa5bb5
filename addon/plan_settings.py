# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a sculpture's plan is made with, how it is shown step by step, and its table of steps.

One group of settings on each object (only a sculpture's root uses it). Changing how it is shown
moves, hides and colors pieces; leaving the views puts all of that back, see `plan_view`.
"""

from __future__ import annotations

import bpy
from bpy.props import (
    BoolProperty,
    CollectionProperty,
    EnumProperty,
    FloatProperty,
    IntProperty,
    StringProperty,
)

from ..core.design.model import AssemblyChoice
from . import plan_store, plan_view, redraw

__all__ = ["CLASSES", "TIMES", "PinwrightPlan", "choice_of", "show_choice", "show_plan"]

MODES = (
    (plan_view.OFF, "Off", "The sculpture as it is"),
    (plan_view.STEPS, "Steps", "As it stands at one step of the plan"),
    (plan_view.MODULES, "Modules", "One module by itself"),
)
COLORS = (
    (plan_view.ROLE, "Role", "What each plate does in the step"),
    (plan_view.MODULE, "Module", "One color for each module"),
    (plan_view.PART, "Part", "One color for each part"),
    (plan_view.STEP, "Step", "From the first step to the last"),
    (plan_view.MATERIAL, "Material", "The materials of the plates"),
)
LABELS = (
    ("NONE", "None", "No labels in the view"),
    ("COMING", "Coming In", "The plates of the step"),
    ("SHOWN", "All Shown", "Every plate that is shown"),
)
STARTS = (
    ("top", "Top", "From the hang points down and outward"),
    ("base", "Base", "From the ground up"),
)
TIMES = {
    "fetch": ("Fetch", "Find a plate, look at its mark and its good side, bring it"),
    "insert": ("Bring In", "Bring a plate in along its way"),
    "join": ("Bring In Module", "Bring a module in along its way"),
    "close": ("Close Joint", "Push one joint home"),
    "pin": ("Lock Joint", "Put the pin or other lock of one joint in"),
    "spring": ("Spring Joint", "Bend a plate for one joint and let it snap in"),
    "weave": ("Weave In", "Work in by hand what has no proved way"),
    "check": ("Check", "Look over a step before its pins go in"),
}
_USUAL = AssemblyChoice()


def _shown(self: PinwrightPlan, context: bpy.types.Context) -> None:
    """Show the sculpture as it is now set."""
    root = self.id_data
    if isinstance(root, bpy.types.Object):
        if self.step > max(len(self.steps), 0):
            self.step = len(self.steps)  # comes here once more
            return
        plan_view.show(root)


def _redraw(self: PinwrightPlan, context: bpy.types.Context) -> None:
    redraw.views()


def _row(self: PinwrightPlan) -> int:
    return self.step - 1


def _set_row(self: PinwrightPlan, value: int) -> None:
    self.step = value + 1


def _course(self: PinwrightPlan) -> float:
    count = len(self.steps)
    return (max(self.step - 1, 0) + self.approach) / count if count and self.step else 0.0


def _set_course(self: PinwrightPlan, value: float) -> None:
    count = len(self.steps)
    if not count:
        return
    step = min(int(value * count), count - 1)
    self.approach = min(max(value * count - step, 0.0), 1.0)
    self.step = step + 1


def _minutes(name: str):
    title, told = TIMES[name]
    return FloatProperty(
        name=title,
        description=f"{told}, minutes",
        default=getattr(_USUAL, name),
        min=0.0,
        max=1440.0,
        soft_max=30.0,
        step=10,
        precision=1,
    )


class PinwrightStep(bpy.types.PropertyGroup):
    """One row of the table of steps."""

    place: StringProperty()  # id of the module whose table it is at, or nothing: at the whole
    module: StringProperty()  # id of the module of the plates
    what: StringProperty()
    say: StringProperty()
    people: IntProperty()
    minutes: FloatProperty()
    start: FloatProperty()  # minutes from the start
    team: IntProperty()
    free: BoolProperty()
    sprung: IntProperty()  # joints
    stress: FloatProperty()  # worst ratio to yield


class PinwrightPlan(bpy.types.PropertyGroup):
    """Choices for planning, the plan's table and figures, and how it is shown."""

    start: EnumProperty(
        name="Begin At", items=STARTS, default=_USUAL.start, description="Where assembly begins"
    )
    teams: IntProperty(
        name="Teams",
        description="Teams that work side by side",
        default=_USUAL.teams,
        min=1,
        max=20,
    )
    use_people: BoolProperty(name="Limit People", description="Say how many people there are")
    people: IntProperty(
        name="People", description="People that are there, all teams", default=6, min=1, max=200
    )
    spares: FloatProperty(
        name="Spares",
        description="Spare pins and parts, as a share of those needed",
        default=100 * _USUAL.spares,
        min=0.0,
        max=100.0,
        precision=0,
        subtype="PERCENTAGE",
    )
    fetch: _minutes("fetch")
    insert: _minutes("insert")
    join: _minutes("join")
    close: _minutes("close")
    pin: _minutes("pin")
    spring: _minutes("spring")
    weave: _minutes("weave")
    check: _minutes("check")

    steps: CollectionProperty(type=PinwrightStep)
    total: FloatProperty()  # minutes
    bound: FloatProperty()  # minutes
    most_people: IntProperty()
    places: IntProperty()
    unproved: IntProperty()
    overbent: IntProperty()
    spare_parts: StringProperty()

    mode: EnumProperty(
        name="Show", items=MODES, description="What of the plan is shown", update=_shown
    )
    step: IntProperty(
        name="Step", description="Step of the plan that is shown", min=0, update=_shown
    )
    approach: FloatProperty(
        name="Approach",
        description="How far the plates of the step have come in",
        default=0.0,
        min=0.0,
        max=1.0,
        subtype="FACTOR",
        update=_shown,
    )
    course: FloatProperty(
        name="Course",
        description="From the first step to the last, plates coming in one after another",
        min=0.0,
        max=1.0,
        subtype="FACTOR",
        get=_course,
        set=_set_course,
    )
    row: IntProperty(get=_row, set=_set_row)
    module: IntProperty(min=0, update=_shown)  # in the order of work
    isolate: BoolProperty(
        name="Isolate",
        description="Hide everything but the module at work",
        default=True,
        update=_shown,
    )
    colors: EnumProperty(
        name="Colors", items=COLORS, description="What the colors tell", update=_shown
    )
    labels: EnumProperty(
        name="Labels",
        items=LABELS,
        default="COMING",
        description="What is labeled in the view",
        update=_redraw,
    )
    label_size: IntProperty(
        name="Text Size",
        description="Of labels in the view, pixels at a resolution scale of 1",
        default=14,
        min=8,
        max=60,
        update=_redraw,
    )


# ---------------------------------------------------------------- to and from core


def choice_of(plan: PinwrightPlan) -> AssemblyChoice:
    """Return the choices as core's record."""

    def plain(value: float) -> float:
        return float(f"{value:.6g}")  # as it was typed

    times = {name: plain(getattr(plan, name)) for name in TIMES}
    return AssemblyChoice(
        start=plan.start,
        teams=plan.teams,
        spares=plain(plan.spares / 100),
        people=plan.people if plan.use_people else None,
        **times,
    )


def show_choice(plan: PinwrightPlan, choice: AssemblyChoice) -> None:
    """Set the choices to those of a design."""
    plan.start, plan.teams, plan.spares = choice.start, choice.teams, 100 * choice.spares
    plan.use_people = choice.people is not None
    if choice.people is not None:
        plan.people = choice.people
    for name in TIMES:
        setattr(plan, name, getattr(choice, name))


def show_plan(root: bpy.types.Object) -> None:
    """Fill the table of steps and the figures from the plan on a root."""
    plan, record = root.pinwright_plan, plan_store.plan_of(root)
    plan.steps.clear()
    if record is None:
        return
    schedule = record["schedule"]
    for step, turn in zip(record["steps"], schedule["turns"], strict=True):
        row = plan.steps.add()
        row.name = str(step["n"])
        row.place = step["module"] or ""
        row.module = record["members"][step["add"][0]]
        row.what = row.module if len(step["add"]) > 1 else step["add"][0]
        row.say, row.people, row.minutes = step["say"], step["people"], step["minutes"]
        row.start, row.team, row.free = turn["start"], turn["team"], step["free"]
        row.sprung = len(step["spring"])
        row.stress = max((one["stress_ratio"] for one in step["spring"]), default=0.0)
    plan.total, plan.bound = schedule["minutes"], schedule["least_minutes"]
    plan.most_people, plan.places = schedule["people"], schedule["stations"]
    plan.unproved = sum(1 for row in plan.steps if not row.free)
    plan.overbent = sum(1 for row in plan.steps if row.stress > 1.0)
    plan.spare_parts = _spares(dict(schedule["spares"]))


def _spares(spares: dict[str, int]) -> str:
    """Return spares in few words: each part where there are few, else their number."""
    pins = spares.pop("pins", 0)
    parts = [f"{count} {mark}" for mark, count in spares.items() if count]
    if len(parts) > 4:
        parts = [f"{sum(spares.values())} Plates"]
    return (
        ", ".join([*parts, *([f"{pins} {'Pin' if pins == 1 else 'Pins'}"] if pins else [])])
        or "None"
    )


CLASSES = (PinwrightStep, PinwrightPlan)
