# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""`pinwright plan`: in which order a design is put together, by whom, and how long it takes."""

from __future__ import annotations

import argparse
import math
from typing import TYPE_CHECKING, Any

from .answers import print_json
from .terminal import console, counted, heading, plain_table, progress_bar

if TYPE_CHECKING:
    from rich.console import Console

    from ..assembly.schedule import Schedule
    from ..results import Build, Step

__all__ = ["register", "run"]


def register(commands: Any) -> None:
    """Add the sub-command to the parser."""
    parser = commands.add_parser(
        "plan",
        help="plan the assembly: steps, teams, times, spares",
        description="Plans how a design is put together: the order of plates and modules, each "
        "one's way in, joints to spring, teams, times and spare parts. Times and teams stand in "
        "the design's [assembly] table. Writes nothing. Exit status 1: some step has no proved "
        "way in, or bends a plate beyond its yield.",
        allow_abbrev=False,
    )
    parser.add_argument("design", metavar="DESIGN.toml", help="the design file")
    parser.add_argument("--teams", type=int, metavar="N", help="instead of the design's teams")
    parser.add_argument(
        "--modules",
        action="store_true",
        help="compare the ways of cutting it into modules, instead of planning",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON object, nothing else")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Plan; return 0, or 1 when a step is not proved or asks too much of a plate."""
    from ..errors import PinwrightError

    if args.teams is not None and not 1 <= args.teams <= 20:
        raise PinwrightError(f"--teams: found {args.teams}, allowed is a number from 1 to 20.")
    if args.modules:
        return _compare(args)
    with progress_bar(not args.json) as say:
        from ..assembly.plan import planned
        from ..assembly.schedule import schedule_steps
        from ..design.read import read_design
        from ..pipeline import build

        result = planned(build(read_design(args.design), say), say)
    schedule = schedule_steps(result, args.teams)
    if args.json:
        print_json(_record(result, schedule))
    else:
        _print(result, schedule)
    return 0 if not _woven(result) and not _overbent(result) else 1


def _compare(args: argparse.Namespace) -> int:
    """Print a row for each choice of modules that the design's frame allows."""
    from dataclasses import asdict, replace

    from ..assembly.module_table import module_choices, module_row, same_modules
    from ..design.read import read_design
    from ..errors import DesignError
    from ..pipeline import build

    design = read_design(args.design)
    rows = []
    known: list[Build] = []
    with progress_bar(not args.json) as say:
        choices = module_choices(build(design))
        for k, choice in enumerate(choices):
            if say is not None:
                say("modules", k / len(choices))
            try:
                result = build(replace(design, modules=choice))
            except DesignError as error:
                if not error.field.startswith("modules."):
                    raise
                continue  # the frame has no such places
            if any(same_modules(result, other) for other in known):
                continue
            known.append(result)
            rows.append(module_row(result))
    if args.json:
        print_json({"design": design.name, "modules": [asdict(row) for row in rows]})
        return 0
    out = console()
    heading(out, f"{design.name}: ways of cutting it into modules")
    table = plain_table(
        "about", "modules>", "plates>", "inside>", "between>", "whole", "size>", "mass>", "late>",
        "sprung>",
    )  # fmt: skip
    for row in rows:
        plates = f"{row.least}" if row.least == row.most else f"{row.least} to {row.most}"
        table.add_row(
            row.about,
            str(row.modules),
            plates,
            str(row.inside),
            str(row.between),
            "yes" if row.whole else "NO",
            f"{row.size:.0f} mm",
            f"{row.mass:.2f} kg",
            f"{row.late} of {row.modules}" if row.modules > 1 else "",
            str(row.sprung) if row.late else "",
        )
    out.print(table)
    out.print(
        "inside, between: joints closed at tables, and when modules are joined; late: modules with "
        "a straight way in when all else stands; sprung: joints that the worst of those springs"
    )
    return 0


def _woven(build: Build) -> list[Step]:
    return [step for step in build.steps if not step.free]


def _overbent(build: Build) -> list[Step]:
    return [step for step in build.steps if any(s.stress_ratio > 1.0 for s in step.springs)]


def _record(build: Build, schedule: Schedule) -> dict[str, Any]:
    from ..assembly.schedule import schedule_record
    from ..export.build_json import build_to_dict

    record = schedule_record(build, schedule)
    spares = record.pop("spares")
    return {
        "ok": not _woven(build) and not _overbent(build),
        "design": build.design.name,
        "steps": build_to_dict(build)["steps"],
        "schedule": record,
        "spares": spares,
        "without_straight_way": [step.n for step in _woven(build)],
        "bent_beyond_yield": [step.n for step in _overbent(build)],
    }


def _print(build: Build, schedule: Schedule) -> None:
    from ..assembly.schedule import spare_parts
    from ..export.cautions import ASSEMBLY, HANGING

    out = console()
    heading(out, f"{build.design.name}: plan of assembly")
    table = plain_table("step>", "at", "start>", "team>", "what to do")
    turn_of = {turn.job: turn for turn in schedule.turns}
    for k, step in enumerate(build.steps):
        at = "whole" if step.module is None else build.modules[step.module].id
        turn = turn_of[k]
        table.add_row(str(step.n), at, _clock(turn.start), str(turn.team + 1), step.say)
    out.print(table)
    heading(out, "Time")
    out.print(
        f"{counted(schedule.teams, 'team')}, "
        f"at most {counted(schedule.people, 'person', 'people')} "
        f"at {counted(schedule.stations, 'place')} at a time: {_clock(schedule.total)} hours; no "
        "schedule takes less than "
        f"{_clock(schedule.bound)} (all work {_clock(schedule.work)}, longest chain "
        f"{_clock(schedule.chain)})"
    )
    spares = ", ".join(f"{count} {name}" for name, count in spare_parts(build).items() if count)
    out.print(f"spares to take along: {spares if spares else 'none'}")
    woven, overbent = _woven(build), _overbent(build)
    if woven:
        out.print(
            f"NOT PROVED: no way in was proved for {len(woven)} of {len(build.steps)} "
            f"steps ({_some(woven)}); work these in by hand, and try it on a model first.",
            style="yellow",
        )
    if overbent:
        worst = max(s.stress_ratio for step in overbent for s in step.springs)
        out.print(
            f"NOT OK: {len(overbent)} steps ({_some(overbent)}) bend a plate beyond its yield, "
            f"the worst {worst:.1f} times; lengthen the way between joints, shorten the tabs or "
            "take a softer sheet.",
            style="red",
        )
    _tell_modules(out, build)
    out.print()
    out.print(f"{ASSEMBLY} {HANGING}", style="dim")


def _tell_modules(out: Console, build: Build) -> None:
    """Say how many modules are not brought in whole, where there are several."""
    if len(build.modules) == 1:
        return
    at_tables = {step.module for step in build.steps if step.module is not None}
    loose = sum(len(module.plates) > 1 for module in build.modules) - len(at_tables)
    if loose > 0:
        out.print(
            f"note: {loose} of {len(build.modules)} modules cannot be brought in whole; their "
            "plates come in one by one. `--modules` compares other ways to part the sculpture.",
            style="yellow",
        )


def _some(steps: list[Step]) -> str:
    shown = ", ".join(str(step.n) for step in steps[:6])
    return shown + (" ..." if len(steps) > 6 else "")


def _clock(minutes: float) -> str:
    whole = math.floor(minutes + 0.5 + 1e-6)  # sums of the same minutes are one figure
    return f"{whole // 60}:{whole % 60:02d}"
