# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A step of the plan in plain words, for volunteers who never saw the sculpture."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from ..design.model import JointKind
from ..results import Build, Step
from .ways import Way

__all__ = ["step_words", "way_words", "why_words"]

Floats = npt.NDArray[np.float64]

_LEAST = 0.2  # a component of a unit vector that is worth a word
_PLAIN = 0.94  # one that needs no second word


def step_words(build: Build, step: Step) -> str:
    """Return the step as a few sentences: what comes in, how, what to check, what to lock."""
    sentences = [_coming(build, step)]
    sentences += _closing(build, step)
    if step.leave_open:
        names = _listed(build.joints[j].id for j in step.leave_open)
        sentences.append(f"Leave open for now: {names}; the plates for them come later.")
    if step.close:
        sentences.append(_check(build, step))
    if step.pin:
        sentences.append(f"Then lock {_listed(build.joints[j].id for j in step.pin)}.")
    return " ".join(sentences)


def _coming(build: Build, step: Step) -> str:
    names = _listed(build.plates[p].id for p in step.add)
    module = build.modules[build.plates[step.add[0]].module]
    what = names if len(step.add) == 1 else f"module {module.id} ({names})"
    if not step.close:
        if step.module is not None:
            return f"Lay {what} on the table of module {module.id}."
        top = build.design.assembly.start == "top"
        return f"Hang up {what} first." if top else f"Stand {what} in its place first."
    if not step.free:
        return f"Work {what} in by hand, bending and turning it. {step.why}"
    if step.turns is not None:
        return _turning(what, step)
    if len(step.way) == 2:
        return f"Bring {what} in from outside, moving {way_words(step.direction)}."
    moves = [leg / np.linalg.norm(leg) for leg in np.diff(step.way, axis=0)]
    length = float(np.linalg.norm(step.way[-1] - step.way[-2]))
    earlier = ", then ".join(way_words(leg) for leg in moves[:-1])
    return (
        f"Bring {what} in from outside, moving {earlier}, and for the last {length:.0f} mm "
        f"{way_words(moves[-1])}."
    )


def _turning(what: str, step: Step) -> str:
    """Tell of a way with turns: how often, about what, and how it comes home."""
    turns = Rotation.from_quat(step.turns)
    each = np.degrees((turns[1:] * turns[:-1].inv()).magnitude())
    start = np.degrees(turns[0].magnitude())
    count = int((each > 1.0).sum())
    text = f"Bring {what} in from outside, moving {way_words(step.way[1] - step.way[0])}"
    if start > 1.0:
        text += f" and held {start:.0f} deg askew"
    text += f", then turn it home in {count} moves" if count > 1 else ", then turn it home"
    text += " as the animation shows"
    length = float(np.linalg.norm(step.way[-1] - step.way[-2]))
    if each[-1] <= 1.0 and length > 0.5:
        text += f"; for the last {length:.0f} mm it moves {way_words(step.direction)}"
    return text + "."


def why_words(build: Build, way: Way, locked: int = 0) -> str:
    """Tell why a way is not proved, and what to do about it.

    locked : plates that cross-laps are proved to lock for good, this one among them; 0: no proof
    """
    laps = [j for j in way.sprung if build.joints[j].kind is JointKind.CROSS_LAP]
    names = _listed(build.plates[p].id for p in sorted(way.blockers))
    if way.opened:
        text = "Its joints can be closed, but no way there from outside is proved"
    elif len(laps) > 1 or (laps and len(way.sprung) > len(laps)):
        text = (
            f"No first move opens its joints: {_listed(build.joints[j].id for j in laps)} slides "
            "along its slot and cannot be bent open"
        )
    else:
        text = "No first move opens its joints"
    if names:
        text += f"; {names} {'stands' if len(way.blockers) == 1 else 'stand'} in the way"
    if locked:
        text += (
            f". It is proved that cross-laps lock {locked} plates that stand here, this one among "
            "them: none moves out without turning or being bent, alone or with others"
        )
    remedy = "Try it with card first; if it does not go, "
    remedy += (
        "let the slot of one lap run through and splice the plate there."
        if laps
        else "make a slot longer or open at the rim, or splice the plate in two."
    )
    return f"{text}. {remedy}"


def _closing(build: Build, step: Step) -> list[str]:
    sprung = {spring.joint: spring for spring in step.springs}
    straight = [j for j in step.close if j not in sprung]
    said = []
    if straight and step.free:
        verb = "closes" if len(straight) == 1 else "close"
        said.append(f"{_listed(build.joints[j].id for j in straight)} {verb} on the way.")
    elif straight:
        said.append(f"Close {_listed(build.joints[j].id for j in straight)}.")
    for joint, spring in sprung.items():
        plate = build.plates[spring.plate].id
        if spring.stress_ratio > 1.0:
            said.append(
                f"{build.joints[joint].id} asks {plate} to stand aside by "
                f"{spring.deflection:.0f} mm, {spring.stress_ratio:.1f} times what the sheet "
                "bears: mend the design, or work this joint in together with the others."
            )
            continue
        said.append(
            f"Spring {build.joints[joint].id}: bend {plate} aside by "
            f"{spring.deflection:.0f} mm (about {spring.force:.0f} N) and let it snap over the tab."
        )
    return said


def _check(build: Build, step: Step) -> str:
    kinds = {build.joints[j].kind for j in step.close}
    looks = []
    if JointKind.TENON in kinds:
        looks.append("every shoulder sits tight and every tab is through")
    if JointKind.CROSS_LAP in kinds:
        looks.append("the edges of every lap are level")
    splices = [build.joints[j] for j in step.close if build.joints[j].kind is JointKind.SPLICE]
    if any(joint.fasteners for joint in splices):
        looks.append("the ends under every fish plate lie level and straight on")
    if any(not joint.fasteners for joint in splices):
        looks.append("every key lies level in its socket")
    turned = [build.plates[p].id for p in step.add if build.plates[p].flipped]
    if turned:
        looks.append(f"{_listed(turned)} {'is' if len(turned) == 1 else 'are'} turned over")
    return f"Check that {' and '.join(looks)}."


def _listed(names: Iterable[str]) -> str:
    words = list(names)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def way_words(way: Floats) -> str:
    """Return a direction in words; x is right, y is back, z is up, as the pictures show it."""
    unit = way / np.linalg.norm(way)
    names = (("left", "right"), ("forward", "back"), ("down", "up"))
    order = np.argsort(-np.abs(unit), kind="stable")
    words = []
    for axis in order.tolist():
        if abs(unit[axis]) >= _LEAST:
            words.append(names[axis][int(unit[axis] > 0)])
        if abs(unit[axis]) >= _PLAIN:
            break
    return " and ".join(words)
