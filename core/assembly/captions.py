# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Captions of an assembly film: a short line for each step, gathered so that each can be read.

In a short film many steps share a line. The same lines can be written as a subtitle file (SubRip,
.srt: number, times, text, an empty line; the common form, no published standard).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..results import Build, Step
from .timeline import Timeline

__all__ = ["Caption", "captions", "subtitles"]

_LEAST = 1.2  # s, to read a short line: common practice, no published source


@dataclass(frozen=True, slots=True)
class Caption:
    """A line and when it is shown, s. steps : numbers of the first and the last step."""

    start: float
    end: float
    text: str
    steps: tuple[int, int]


def captions(build: Build, film: Timeline, least: float = _LEAST) -> tuple[Caption, ...]:
    """Return the captions of a film, one after another, each shown for `least` s or longer."""
    steps = {step.n: step for step in build.steps}
    marks = sorted(film.marks, key=lambda mark: mark.start)
    groups: list[list[int]] = []
    starts: list[float] = []
    for mark in marks:
        if not groups or mark.start - starts[-1] >= least:
            groups.append([])
            starts.append(mark.start)
        groups[-1].append(mark.n)
    work = max(mark.locked for mark in marks)
    if len(groups) > 1 and work - starts[-1] < least:
        short = groups.pop()  # first: the last but one is another list before than after
        groups[-1] += short
        starts.pop()
    ends = [*starts[1:], work]
    found = [
        Caption(start, end, _line(build, [steps[n] for n in group]), (min(group), max(group)))
        for start, end, group in zip(starts, ends, groups, strict=True)
    ]
    if film.lift.shifts.any():
        last = max(steps)
        found.append(Caption(work, film.seconds, "The whole is lifted", (last, last)))
    return tuple(found)


def subtitles(lines: Sequence[Caption]) -> str:
    """Return captions as a SubRip file."""
    return "\n".join(
        f"{number}\n{_clock(line.start)} --> {_clock(line.end)}\n{line.text}\n"
        for number, line in enumerate(lines, start=1)
    )


def _line(build: Build, steps: Sequence[Step]) -> str:
    if len(steps) == 1:
        return f"Step {steps[0].n}: {_one(build, steps[0])}"
    first, last = min(s.n for s in steps), max(s.n for s in steps)
    plates = {p for s in steps for p in s.add}
    said = [f"{len(plates)} plate{'' if len(plates) == 1 else 's'}"]
    modules = sum(s.module is None and len(s.add) > 1 for s in steps)
    if modules:
        said.append(f"{modules} module{'' if modules == 1 else 's'} brought in")
    for count, word in (
        (sum(len(s.springs) for s in steps), "sprung"),
        (sum(not s.free for s in steps), "worked in by hand"),
    ):
        if count:
            said.append(f"{count} {word}")
    return f"Steps {first} to {last}: {', '.join(said)}"


def _one(build: Build, step: Step) -> str:
    home = build.modules[build.plates[step.add[0]].module].id
    what = build.plates[step.add[0]].id if len(step.add) == 1 else f"module {home}"
    where = "" if step.module is None else f" at the table of {build.modules[step.module].id}"
    if not step.close:
        return f"{what} stands first{where}"
    how = "comes in" if step.free else "is worked in by hand"
    if step.free and step.springs:
        count = len(step.springs)
        how = f"springs over {count} tab{'' if count == 1 else 's'}"
    pins = len(step.pin)
    locked = f", {pins} joint{'' if pins == 1 else 's'} locked" if pins else ""
    return f"{what} {how}{where}{locked}"


def _clock(seconds: float) -> str:
    whole = round(1000 * seconds)
    minutes, rest = divmod(whole, 60_000)
    return f"{minutes // 60:02d}:{minutes % 60:02d}:{rest // 1000:02d},{rest % 1000:03d}"
