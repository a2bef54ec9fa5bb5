# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The assembly plan: a list of steps that volunteers can follow, each proved as far as it can be.

The order of modules comes from taking the whole apart (order.py), that of the plates in a module
likewise. A module's plan is made once and carried round by the symmetry. Where a module cannot go
in whole, plates of it are kept back: the joints that wait for them are named as left open.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from ..design.model import AssemblyChoice, Lock
from ..results import Build, Joint, Sprung, Step
from .blocking import Blocking
from .closing import Closing
from .copies import Copies
from .grips import Grips, grips_of
from .interlinks import fewest_open, links_of
from .order import Entry, take_apart
from .plan_words import step_words, why_words
from .recall import Recall
from .screens import Screens
from .takedown import take_down

__all__ = ["Progress", "plan_steps", "planned"]

Floats = npt.NDArray[np.float64]
#: Called with a word for what is done and the share that is done, 0 to 1.
Progress = Callable[[str, float], None]


def planned(build: Build, progress: Progress | None = None) -> Build:
    """Return the build with its assembly plan."""
    return replace(build, steps=plan_steps(build, progress))


def plan_steps(build: Build, progress: Progress | None = None) -> tuple[Step, ...]:
    """Plan how a build is put together.

    Steps with a module are done at that module's own table, where nothing but the module stands;
    steps without one are done at the whole. Each plate comes into the whole in exactly one of
    those. With one module all is done at the whole.
    """
    say = progress if progress is not None else _silent
    say("plan", 0.0)
    grips = grips_of(build)
    copies = Copies.of(build, grips) if build.group.order > 1 else None
    writer = _Writer(build, grips, Closing(build, copies))
    whole = len(build.modules) == 1
    bodies = [[p] for p in range(len(build.plates))] if whole else [m.plates for m in build.modules]
    start = _first_plate(build, grips.standing.balls[:, 2])
    motif = {name: k for k, name in enumerate(sorted({p.motif for p in build.plates}))}
    recall = Recall(copies, Screens(grips.standing))
    say("plan", 0.1)
    entries = take_apart(
        grips,
        bodies,
        start,
        writer.closing,
        first_out=None if whole else lambda: _kept_back_best(build),
        alike=(lambda p: motif[build.plates[p].motif]) if build.group.order > 1 else None,
        recall=recall,
    )
    say("plan", 0.8)
    tables = _Tables(grips, writer.closing, copies, recall)
    for entry in entries:
        last: int | None = None
        if len(entry.plates) > 1:
            module = build.plates[entry.plates[0]].module
            for inner in tables.entries(entry.plates):
                last = writer.write(inner, module, last, entry.plates)
        writer.write(entry, None, last, entry.plates)
    say("plan", 1.0)
    return tuple(writer.steps)


def _kept_back_best(build: Build) -> list[int]:
    """Return the plates of the fewest joints that must wait because of linked rings."""
    waiting = fewest_open(links_of(build)).joints
    return list(dict.fromkeys(p for joint in waiting for p in build.joints[joint].plates))


def _first_plate(build: Build, heights: Floats) -> int:
    """Return the plate that stands first: from the base up the lowest; else the highest that hangs.

    Without hang points the highest of all.
    """
    if build.design.assembly.start == "base":
        return int(np.argmin(heights))
    held = {p for joint in build.joints if joint.lock is Lock.LINK for p in joint.plates}
    return max(sorted(held) or range(len(build.plates)), key=lambda p: (heights[p], -p))


def _silent(stage: str, share: float) -> None:
    """Take the progress of callers that do not want it."""


class _Tables:
    """The order of the plates inside modules, each found once and carried to its copies."""

    def __init__(
        self, grips: Grips, closing: Closing, copies: Copies | None, recall: Recall
    ) -> None:
        self.grips, self.closing, self.copies, self.recall = grips, closing, copies, recall
        self.known: list[tuple[tuple[int, ...], list[Entry]]] = []

    def entries(self, plates: tuple[int, ...]) -> list[Entry]:
        """Return how the plates of one module come together."""
        carried = None if self.copies is None else self._carried(self.copies, plates)
        if carried is not None:
            return carried
        inside = np.isin(self.grips.plates, plates).all(axis=1)
        counts = np.bincount(self.grips.plates[inside].ravel(), minlength=max(plates) + 1)
        start = max(plates, key=lambda p: (counts[p], -p))
        entries = take_apart(
            self.grips, [(p,) for p in plates], start, self.closing, recall=self.recall
        )
        self.known.append((plates, entries))
        return entries

    def _carried(self, copies: Copies, plates: tuple[int, ...]) -> list[Entry] | None:
        """Return the entries of a known module, turned to these plates; None if none fits."""
        for known, entries in self.known:
            element = copies.find(known, plates)
            if element is None:
                continue
            turned = [copies.carried(entry, element) for entry in entries]
            whole = [entry for entry in turned if entry is not None]
            if len(whole) == len(turned):
                return whole
        return None


@dataclass(slots=True)
class _Writer:
    """Turns entries into numbered steps and keeps the books of what is closed."""

    build: Build
    grips: Grips
    closing: Closing
    steps: list[Step] = field(default_factory=list)
    closed: set[int] = field(default_factory=set)
    last_of_whole: int | None = None
    blocking: Blocking | None = None

    def write(
        self, entry: Entry, module: int | None, before: int | None, body: Sequence[int]
    ) -> int:
        """Add one step, done after step `before` (None: at once); return its number.

        body : all plates that come into the whole together with these
        """
        joints = self.build.joints
        self.closed.update(entry.way.straight)
        springs = self._springs(entry.way.sprung)
        in_turn = [spring.joint for spring in springs]
        rest = [joint for joint in entry.way.sprung if joint not in in_turn]
        close = (*entry.way.straight, *in_turn, *rest)
        self.closed.update(close)
        pins = tuple(j for j in close if _locked(joints[j]))
        after = [before] if before is not None else []
        if module is None and self.last_of_whole is not None:
            after.append(self.last_of_whole)
        step = Step(
            n=len(self.steps) + 1,
            module=module,
            add=entry.plates,
            way=entry.way.legs,
            turns=entry.way.turns,
            pivot=np.zeros(3) if entry.way.pivot is None else entry.way.pivot,
            free=entry.way.free,
            why=""
            if entry.way.free
            else why_words(self.build, entry.way, self._locked_in(entry, module)),
            close=close,
            pin=pins,
            springs=springs,
            leave_open=self._left_open(entry, module, body),
            minutes=_minutes(
                self.build.design.assembly, entry, len(pins), module, before is not None
            ),
            people=_people(springs, len(entry.plates)),
            after=tuple(sorted(after)),
            say="",
        )
        self.steps.append(replace(step, say=step_words(self.build, step)))
        if module is None:
            self.last_of_whole = step.n
        return step.n

    def _locked_in(self, entry: Entry, module: int | None) -> int:
        """Return how many plates cross-laps lock together with an entry's; 0 where they do not.

        All else is left open: bending may open it. The proof is a linear programme (takedown.py).
        """
        there = [p for step in self.steps if step.module == module for p in step.add]
        bodies = [entry.plates, *((p,) for p in there if p not in entry.plates)]
        if self.blocking is None:
            self.blocking = Blocking.of(self.build)
        stuck = take_down(self.blocking, bodies, np.flatnonzero(~self.grips.lap).tolist()).stuck
        return next((sum(len(bodies[k]) for k in one) for one in stuck if 0 in one), 0)

    def _springs(self, sprung: Sequence[int]) -> tuple[Sprung, ...]:
        """Reckon the joints that are sprung: one after another, what is closed holds the plate."""
        return tuple(
            Sprung(
                spring.joint,
                spring.plate,
                spring.deflection,
                spring.force,
                spring.stress_ratio,
                float(self.grips.zone[spring.joint]),
            )
            for spring in self.closing.in_turn(sprung, self.closed)
        )

    def _left_open(self, entry: Entry, module: int | None, body: Sequence[int]) -> tuple[int, ...]:
        """Return the joints inside the body's module that wait for plates that are kept back."""
        if len(body) == 1:
            return ()
        present = set(entry.plates)
        if module is not None:
            present |= {p for step in self.steps if step.module == module for p in step.add}
        home = self.build.plates[body[0]].module
        inside = set(body)
        return tuple(
            j
            for j in self.build.modules[home].joints
            if present.intersection(self.build.joints[j].plates)
            and not inside.issuperset(self.build.joints[j].plates)
        )


def _locked(joint: Joint) -> bool:
    """Tell whether something is put into a joint to lock it."""
    return joint.pin is not None or bool(joint.fasteners)


def _people(springs: Sequence[Sprung], plates: int) -> int:
    """Return how many people the step takes, two hands each: a module is carried by two."""
    hands = (2 if plates == 1 else 4) + len(springs)
    return -(-hands // 2)


def _minutes(
    times: AssemblyChoice, entry: Entry, pins: int, module: int | None, carried: bool
) -> float:
    """Add up what hands do in one step, minutes."""
    joined = module is None and carried
    minutes = times.join if joined else times.fetch + times.insert
    minutes += times.close * len(entry.joints) + times.pin * pins
    if entry.way.free:
        minutes += times.spring * len(entry.way.sprung)
    else:
        minutes += times.weave
    return minutes + (times.check if entry.joints else 0.0)
