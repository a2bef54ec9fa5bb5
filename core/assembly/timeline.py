# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The assembly plan in time: when each plate, pin and module moves, in a film of so many seconds.

The plan proves each way against what stands when its step comes. Here several bodies are in the air
at once, so it is seen to besides that bodies in flight keep apart (balls that hold them, at many
moments), that bodies land in the order of the plan, and that nobody flies through a table. A body
that would come too near to another waits; in the worst case it waits till the other has landed.
The whole is reckoned in flights of length 1 and then brought to the seconds wanted.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..errors import PinwrightError
from ..results import Build, Step
from .airspace import Airspace
from .covers import Cover, covers_of, joined
from .flights import by_hand, carried, fly_in
from .tables import Tables, tables_of
from .tracks import EASE, JUMP, LINE, Track

__all__ = ["Bending", "Mark", "Timeline", "assembly_timeline", "timeline_in_steps"]

Floats = npt.NDArray[np.float64]

_FLIGHT = 0.9  # s that a flight should take, if there is time: shorter ones are not seen
_MOST_AT_ONCE = 16.0  # flights: more is a swarm
_CARRY = 1.8  # flights: time to bring a module from its table
_PIN = 0.4  # flights: time to put a pin in
_LAND = 0.02  # flights between two landings
_LIFT = (0.12, 0.6, 3.0)  # share of the film, least and most s, for lifting the whole
_REST = (0.06, 0.2, 1.0)  # the same for looking at it in the end


@dataclass(frozen=True, slots=True)
class Mark:
    """When a step happens, s. n : of the step; locked : its pins are in."""

    n: int
    start: float
    landed: float
    locked: float


@dataclass(frozen=True, slots=True)
class Bending:
    """A plate that stands aside for a tab, as planned.

    joint, plate : indices; height : mm along +z of the plate's part at the joint, with sign
    start, full, landed : s, when it begins to bend, is bent in full, and snaps back
    """

    joint: int
    plate: int
    height: float
    start: float
    full: float
    landed: float


@dataclass(frozen=True, slots=True, eq=False)
class Timeline:
    """A film of the assembly; times in s from 0, displacements from the design's places in mm.

    plates : a track for each plate of the build; fasteners : for each joint its pins', then its
        other fasteners'
    lift : shifts of the whole sculpture, to be added to every track
    marks : of the steps, in their order; bends : springs
    by_hand : numbers of the steps whose plates are shown in their place at once, for want of a way
    """

    seconds: float
    plates: tuple[Track, ...]
    fasteners: tuple[tuple[Track, ...], ...]
    lift: Track
    marks: tuple[Mark, ...]
    bends: tuple[Bending, ...]
    by_hand: tuple[int, ...]
    covers: tuple[Cover, ...]

    def balls(self, moment: float, flying: bool = True) -> tuple[Floats, Floats]:
        """Return balls (n, 3), (n,) round all plates that are seen at a moment, mm.

        flying : False leaves out those that are on their first way, if others stand
        """
        centres, radii = [], []
        rise = self.lift.at(moment)[0]
        for track, cover in zip(self.plates, self.covers, strict=True):
            if (track.times[0] if flying else track.times[self._first_rest(track)]) <= moment:
                pose = track.pose(moment)
                centres.append(cover.moved(pose[:3, 3] + rise, pose[:3, :3]))
                radii.append(cover.radii)
        if not centres:  # nothing yet: what comes first
            first = min(range(len(self.plates)), key=lambda p: self.plates[p].times[0])
            return self.balls(max(moment, float(self.plates[first].times[0])))
        return np.concatenate(centres), np.concatenate(radii)

    @staticmethod
    def _first_rest(track: Track) -> int:
        """Return the key at which a body has come to its table, or to its place."""
        waits = np.flatnonzero(
            (track.kinds == JUMP) & (np.abs(np.diff(track.shifts, axis=0)).max(axis=1) == 0)
        )
        return int(waits[0]) if len(waits) else len(track.times) - 1


def assembly_timeline(build: Build, seconds: float, drop: float | None = None) -> Timeline:
    """Lay the plan of a build out in time: `timeline_in_steps` at one go."""
    way = timeline_in_steps(build, seconds, drop)
    while True:
        try:
            next(way)
        except StopIteration as done:
            film: Timeline = done.value
            return film


def timeline_in_steps(
    build: Build, seconds: float, drop: float | None = None
) -> Generator[float, None, Timeline]:
    """Lay the plan of a build out in time, yielding the share that is done, 0 to 1.

    seconds : length of the film
    drop : mm, how much lower the sculpture is put together than it hangs in the end; None: 0.6 of
        its diameter if the design is put together from the top, 0 if from the base

    Raises
    ------
    PinwrightError : the build has no plan; the film is shorter than a second.
    """
    if not build.steps:
        raise PinwrightError("The build has no assembly plan; make one first (planned()).")
    if not seconds >= 1.0:
        raise PinwrightError(f"seconds: found {seconds:g}, allowed is 1 or more.")
    hung = build.design.assembly.start == "top"
    fall = drop if drop is not None else 0.6 * build.totals.diameter if hung else 0.0
    rest = _share(_REST, seconds)
    lift = _share(_LIFT, seconds) if fall > 0 else 0.0
    work = seconds - rest - lift
    author = _Author(build, _pitch(len(build.steps), work))
    yield from author.write()
    pace = work / author.end
    whole = Track.of([0.0], np.zeros((1, 3)))
    if fall > 0:
        low = [0.0, 0.0, -fall]
        whole = Track.of([0.0, work, work + lift], [low, low, [0.0, 0.0, 0.0]], None, [LINE, EASE])
    return Timeline(
        seconds,
        tuple(track.scaled(pace) for track in author.plates),
        tuple(tuple(track.scaled(pace) for track in row) for row in author.fasteners),
        whole,
        tuple(Mark(m.n, m.start * pace, m.landed * pace, m.locked * pace) for m in author.marks),
        tuple(
            Bending(b.joint, b.plate, b.height, b.start * pace, b.full * pace, b.landed * pace)
            for b in author.bends
        ),
        tuple(step.n for step in build.steps if not step.free),
        tuple(author.covers),
    )


def _share(rule: tuple[float, float, float], seconds: float) -> float:
    share, least, most = rule
    return min(most, max(least, share * seconds)) if seconds > 4 * least else 0.1 * seconds


def _pitch(steps: int, seconds: float) -> float:
    """Return the time between two starts, in flights, that leaves each flight long enough."""
    at_once = steps * _FLIGHT / max(seconds - _FLIGHT, 0.1)
    return 1.0 / min(max(at_once, 1.0), _MOST_AT_ONCE)


class _Author:
    """Writes the tracks step by step; all times in flights."""

    def __init__(self, build: Build, pitch: float) -> None:
        self.build, self.pitch = build, pitch
        self.covers = covers_of(build)
        self.all = joined(self.covers)
        self.tables: Tables = tables_of(build, self.covers, self.all)
        still = Track.of([0.0], np.zeros((1, 3)))
        self.plates: list[Track] = [still] * len(build.plates)
        self.fasteners: list[list[Track]] = [
            [still] * (len(joint.pins) + len(joint.fasteners)) for joint in build.joints
        ]
        self.air = Airspace()
        self.marks: list[Mark] = []
        self.bends: list[Bending] = []
        self.at_table: dict[int, list[int]] = {}  # plates at the table of a module, in order
        self.pins_at_table: dict[int, list[int]] = {}  # joints locked there
        self.whole: list[int] = []
        self.last: dict[int | None, tuple[float, float]] = {}  # start and landing, of each site
        self.locked: dict[int, float] = {}  # when the last pin of a module is in
        self.free_from = [0.0] * self.tables.count
        self.end = 0.0

    def write(self) -> Iterator[float]:
        """Write all steps, one after another."""
        for number, step in enumerate(self.build.steps):
            yield number / len(self.build.steps)
            body = joined([self.covers[p] for p in step.add])
            own = step.module
            there = self.at_table.setdefault(own, []) if own is not None else self.whole
            standing = joined([self.covers[p] for p in there]) if there else None
            if step.free or standing is None:
                way = fly_in(step, body, standing, close_by=own is not None)
            else:
                way = by_hand(body, standing)
            length, site, earliest = 1.0, own, 0.0
            brought = self._from_table(step.add) if own is None else None
            if own is not None:
                way = way.within(*self.tables.poses[own])
                site = -1 - self.tables.place[own]
                if not there:
                    earliest = self.free_from[self.tables.place[own]]
            elif brought is not None:
                about = (self.all.centre, self.all.reach)
                way = carried(body, self.tables.poses[brought], about, way)
                length, earliest = _CARRY, self.locked[brought]
            else:
                way = self.tables.kept_clear(way, body)
            start = self._start(way, body, length, site, earliest)
            flight = way.timed(start, length)
            self._put(step.add, flight, brought)
            landed = start + length
            if brought is not None:
                self.free_from[self.tables.place[brought]] = start + 0.25 * length
            there.extend(step.add)
            self.last[site] = (start, landed)
            self.air.add(flight, body)
            locked = self._lock(step.pin, landed, own)
            if own is not None:
                self.locked[own] = max(self.locked.get(own, 0.0), locked)
            self._bend(step, flight)
            self.marks.append(Mark(step.n, start, landed, locked))
            self.end = max(self.end, locked)

    def _from_table(self, add: Sequence[int]) -> int | None:
        """Return the module at whose table these plates were put together, or None."""
        home = self.build.plates[add[0]].module
        return home if add[0] in self.at_table.get(home, ()) else None

    def _start(
        self, way: Track, body: Cover, length: float, site: int | None, earliest: float
    ) -> float:
        """Return when a body can set out: after the one before, landing later, meeting nobody."""
        before = self.last.get(site)
        start = earliest
        if before is not None:
            start = max(start, before[0] + self.pitch, before[1] + _LAND - length)
        return self.air.clear_from(way, body, length, start)

    def _put(self, add: Sequence[int], flight: Track, brought: int | None) -> None:
        for plate in add:
            known = self.plates[plate]
            self.plates[plate] = flight if brought is None else known.before(flight)
        if brought is not None:
            for joint in self.pins_at_table.get(brought, ()):
                self.fasteners[joint] = [one.before(flight) for one in self.fasteners[joint]]

    def _lock(self, joints: Sequence[int], landed: float, module: int | None) -> float:
        """Put the pins of a step in, and return when they are."""
        for joint in joints:
            ways = _pin_ways(self.build, joint, self.all.reach)
            tracks = [Track.of([0.0, 1.0], [way, np.zeros(3)]) for way in ways]
            if module is not None:
                tracks = [track.within(*self.tables.poses[module]) for track in tracks]
                self.pins_at_table.setdefault(module, []).append(joint)
            self.fasteners[joint] = [track.timed(landed, _PIN) for track in tracks]
        return landed + (_PIN if joints else 0.0)

    def _bend(self, step: Step, flight: Track) -> None:
        """Note the springs of a step: bent on the last leg, back when the plates have landed."""
        landed = float(flight.times[-1])
        begun = float(flight.times[-2])
        for spring in step.springs:
            joint = self.build.joints[spring.joint]
            normal = self.build.plates[spring.plate].world_from_part[:3, 2]
            toward = float(joint.insertion @ normal)
            if spring.plate == joint.plates[0]:
                toward = -toward
            height = float(np.copysign(spring.deflection, toward))
            full = begun + 0.5 * (landed - begun)
            back = landed + 0.3 * _PIN
            self.bends.append(Bending(spring.joint, spring.plate, height, begun, full, back))


def _pin_ways(build: Build, number: int, reach: float) -> list[Floats]:
    """Return where the pins and other fasteners of a joint come from (3,), mm from their place."""
    joint = build.joints[number]
    ways = []
    for pin in joint.pins:
        outward = 1.0 if float(pin.axis @ pin.centre) >= 0 else -1.0
        ways.append(outward * max(2.5 * pin.length, 0.05 * reach) * pin.axis)
    for fastener in joint.fasteners:
        axis = fastener.world[:3, 1]  # a wedge's or key's section grows along it: it is driven so
        outward = 1.0 if float(axis @ fastener.world[:3, 3]) >= 0 else -1.0
        ways.append(outward * 0.08 * reach * axis)
    return ways
