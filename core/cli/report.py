# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A build told to a person in the workshop, or as a record to a program."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import shapely
from rich.console import Console
from rich.text import Text

from ..checks.places import SHOWN
from ..design.model import FrameChoice, JointKind
from ..export.build_json import build_to_dict
from ..results import Build, Part
from .terminal import counted, heading, plain_table

if TYPE_CHECKING:
    from rich.table import Table

__all__ = ["build_record", "print_failures", "print_plan_first", "print_report"]

_MOST_PLACES = 4


def build_record(build: Build) -> dict[str, Any]:
    """Return the outcome of a build, JSON-ready; the whole of it stands in build.json."""
    whole = build_to_dict(build)
    parts = [
        {key: part[key] for key in ("mark", "quantity", "thickness", "mass")}
        for part in whole["parts"]
    ]
    return {
        "ok": build.ok,
        "design": build.design.name,
        "group": whole["group"],
        "parts": parts,
        "modules": len(build.modules),
        "checks": whole["checks"],
        "totals": whole["totals"],
        "warnings": list(build.warnings),
    }


def print_report(out: Console, build: Build) -> None:
    """Print what there is to cut, then the checks."""
    design, totals = build.design, build.totals
    sheet = design.sheet
    heading(out, design.name)
    out.print(
        f"{_frame_words(design.frame)}; {sheet.material}, {sheet.thickness:g} mm; "
        f"symmetry {build.group.name} of order {build.group.order}"
    )
    heading(out, "To cut")
    out.print(_parts_table(build))
    out.print()
    out.print(
        f"{counted(totals.plates, 'plate')}, {counted(totals.joints, 'joint')}, "
        f"{counted(totals.pins, 'pin')}, {_modules_words(build)}; "
        f"{_mass(totals.mass)}, {totals.diameter:.0f} mm across when hung"
    )
    out.print(
        f"sheet in the parts {totals.sheet_area / 1e6:.2f} m2, cut {totals.cut_length / 1e3:.1f} m"
    )
    heading(out, "Checks")
    out.print(_checks_table(build))
    for warning in build.warnings:
        out.print(f"note: {warning}", style="yellow")


def print_failures(out: Console, build: Build, written: str | None) -> None:
    """Say loudly what is not well; written: the folder that got the files nevertheless."""
    failed = [check for check in build.checks if not check.ok]
    if not failed:
        return
    out.print()
    names = ", ".join(check.name for check in failed)
    out.print(f"NOT OK: {names}", style="bold red")
    for check in failed:
        out.print(Text(f"  {check.name}: {check.message}", style="red"))
        for place in check.where[:_MOST_PLACES]:
            out.print(f"    {place}")
        if len(check.where) > _MOST_PLACES:
            rest = len(check.where) - _MOST_PLACES
            most = "at least " if len(check.where) == SHOWN else ""  # the check names no more
            out.print(f"    and {most}{rest} more")
        if check.remedy:
            out.print(f"    {check.remedy}")
    if written is not None:
        out.print(
            f"The files were written to {written} nevertheless. Mend the design before you cut.",
            style="bold",
            soft_wrap=True,  # a path is one word, to be copied
        )


def print_plan_first(out: Console, design: str) -> None:
    """Say that the assembly is judged elsewhere; design : its file."""
    out.print()
    out.print(
        "Whether it can be put together is not judged here. Before you cut: "
        f"pinwright plan {design}",
        style="yellow",
        soft_wrap=True,
    )


def _frame_words(frame: FrameChoice) -> str:
    if frame.group is not None:
        return f"group {frame.group}, {frame.diameter:g} mm"
    return f"{frame.solid if frame.solid is not None else frame.mesh}, {frame.diameter:g} mm"


def _parts_table(build: Build) -> Table:
    table = plain_table("part", "cut>", "length>", "width>", "each>", "all>", "joints of one")
    joints = _joints_of_parts(build)
    for number, part in enumerate(build.parts):
        length, width = _size(part)
        table.add_row(
            part.mark,
            str(part.quantity),
            f"{length:.1f} mm",
            f"{width:.1f} mm",
            _mass(part.mass),
            _mass(part.mass * part.quantity),
            joints.get(number, "none"),
        )
    return table


def _size(part: Part) -> tuple[float, float]:
    """Return length and width of the smallest rectangle that holds a part, mm."""
    corners = shapely.get_coordinates(shapely.oriented_envelope(part.outline))
    sides = [math.dist(a, b) for a, b in pairwise(corners[:3])]
    return max(sides), min(sides)


_ROLES = {
    JointKind.TENON: ("tab", "slot"),
    JointKind.CROSS_LAP: ("cross-lap", "cross-lap"),
    JointKind.SPLICE: ("key", "socket"),
}


def _joints_of_parts(build: Build) -> dict[int, str]:
    """Return for each part in words what its first plate has: tabs, slots, cross-laps."""
    first: dict[int, int] = {}
    for index, plate in enumerate(build.plates):
        first.setdefault(plate.part, index)
    found: dict[int, Counter[str]] = {index: Counter() for index in first.values()}
    for joint in build.joints:
        roles = _ROLES[joint.kind]
        for index, role in zip(joint.plates, roles, strict=True):
            if index in found:
                found[index][role] += 1
    return {
        part: ", ".join(counted(n, role) for role, n in found[index].items())
        for part, index in first.items()
        if found[index]
    }


def _checks_table(build: Build) -> Table:
    table = plain_table("", "check", "figure>", "limit>", "")
    for check in build.checks:
        mark = Text("ok", style="green") if check.ok else Text("NOT OK", style="bold red")
        unit = "" if check.unit in ("", "pieces") else f" {check.unit}"
        table.add_row(
            mark,
            check.name,
            f"{_figure(check.figure)}{unit}",
            f"{_figure(check.limit)}{unit}",
            check.message,
        )
    return table


def _figure(value: float) -> str:
    return f"{value:.4g}" if abs(value) < 1000 else f"{value:.0f}"


def _modules_words(build: Build) -> str:
    sizes = Counter(len(module.plates) for module in build.modules)
    if len(build.modules) == 1:
        return "one module"
    return ", ".join(f"{counted(n, 'module')} of {size}" for size, n in sorted(sizes.items()))


def _mass(kg: float) -> str:
    return f"{kg:.2f} kg" if kg >= 1.0 else f"{kg * 1000:.3g} g"
