# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What to change in a design whose tenon cannot be sprung, with the figure that would do.

Every figure comes from the beam formula turned round, or, for slots, from a linear programme over
the locked ring: how far must this tab slide along its slot until some joint of the ring can open?
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, sqrt
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import optimize

from ..design.materials import MATERIALS, material
from ..design.model import Design, EdgeRotor
from ..errors import DesignError
from ..plates.planes import cut_line
from ..results import Check
from .beams import Beams, Spring
from .play import Ring, least_play
from .springing import Springs
from .travel import in_part, outline_ring

__all__ = ["Remedy", "apply_remedy", "check_springing", "remedies"]

Floats = npt.NDArray[np.float64]

#: A tab with more clearance than this rattles (common practice, no published source), mm.
_LOOSEST = 0.3
#: Thinner sheet is not offered: no tab holds in it (common practice, no published source), mm.
_THINNEST = 0.5


@dataclass(frozen=True, slots=True)
class Remedy:
    """One change that lets a joint close.

    kind : more clearance, longer slot, open slot, another closing joint, shorter tab, longer lever,
        thinner sheet, softer sheet; for laps a slit
    joint : index of the joint that it changes
    figure, unit : what would do; text says it in words
    field, value : the field of the design that does it, dotted; None: no single field does
    """

    kind: str
    joint: int
    figure: float
    unit: str
    text: str
    field: str | None = None
    value: float | str | None = None


def remedies(beams: Beams, springs: Springs) -> tuple[Remedy, ...]:
    """Return what would let joints close that cannot be sprung; nothing where they can.

    springs : of one locked ring, or of one body that goes in; for all locks of a sculpture at once
        ask ring by ring (`loops.locking_loops`)
    """
    if springs.ok:
        return ()
    closing = springs.joints
    general = (*_more_play(beams, springs), *_slots(beams, springs))
    if not springs.springs:
        return (*general, _slit(beams, closing[0]))
    spring = springs.springs[0]
    return (
        *general,
        *_closing(beams, closing),
        *_shorter_tab(beams, spring),
        _longer_lever(beams, spring),
        *_sheets(beams, spring),
    )


def check_springing(beams: Beams, closings: Sequence[Springs]) -> Check:
    """Judge all closings of an assembly: no sheet is bent beyond its yield, no lap is stuck.

    closings : of rings and of bodies that go in. The remedies of the worst are named.
    """
    name = "springing"
    bad = sorted(
        (one for one in closings if not one.ok), key=lambda one: one.worst_ratio, reverse=True
    )
    figure = max((one.stress_ratio for springs in closings for one in springs.springs), default=0.0)
    if not bad:
        text = f"{sum(len(one.springs) for one in closings)} tabs are sprung, the stiffest at "
        return Check(name, True, figure, "of yield", 1.0, text + f"{100 * figure:.0f} % of yield")
    named = [beams.build.joints[k].id for one in bad for k in _at_fault(one)]
    worst = bad[0]
    first = beams.build.joints[_at_fault(worst)[0]].id
    why = (
        "is held by laps, which slide and do not bend"
        if worst.stuck
        else f"would be bent to {worst.worst_ratio:.1f} times what the sheet bears"
    )
    helps = " ".join(one.text for one in remedies(beams, worst))
    message = f"{first} cannot be sprung: it {why}. {helps}".rstrip()
    return Check(name, False, figure, "of yield", 1.0, message, tuple(dict.fromkeys(named)))


def _at_fault(springs: Springs) -> tuple[int, ...]:
    """Return the joints that cannot close, worst first."""
    return (*springs.stuck, *(one.joint for one in springs.springs if one.stress_ratio > 1.0))


def apply_remedy(design: Design, remedy: Remedy) -> Design:
    """Return the design with the remedy's field changed.

    Raises
    ------
    DesignError : the remedy is not one field of the design.
    """
    if remedy.field is None:
        raise DesignError(
            "remedy", remedy.kind, "a remedy that names a field", "Change the drawing by hand."
        )
    table, name = remedy.field.split(".")
    changed: dict[str, Any] = {name: remedy.value}
    return replace(design, **{table: replace(getattr(design, table), **changed)})


def _longer_lever(beams: Beams, spring: Spring) -> Remedy:
    """Stress falls with the square of the lever: sqrt(ratio) times as long will do."""
    need = spring.lever * sqrt(spring.stress_ratio)
    text = (
        f"Move the slot {need:.0f} mm from where its strip is fastened next (now "
        f"{spring.lever:.0f} mm)."
    )
    field = "recipe.engagement" if isinstance(beams.build.design.recipe, EdgeRotor) else None
    value = float(ceil(need)) if field is not None else None
    return Remedy("longer lever", spring.joint, need, "mm", text, field, value)


def _shorter_tab(beams: Beams, spring: Spring) -> list[Remedy]:
    """Stress is in proportion to the deflection; a tab flush with the far face is the least."""
    joint = beams.build.joints[spring.joint]
    sine = float(np.sin(np.radians(joint.angle)))
    most = spring.deflection / spring.stress_ratio
    thickness = beams.build.parts[beams.build.plates[spring.plate].part].thickness
    if most < thickness:
        return []
    less = (spring.deflection - most) / sine
    text = f"Make the tab {less:.1f} mm shorter: a smaller pin, less play or a smaller web."
    return [Remedy("shorter tab", spring.joint, less, "mm", text)]


def _sheets(beams: Beams, spring: Spring) -> list[Remedy]:
    """Offer a thinner sheet of the same kind, and another kind of the same thickness."""
    found = []
    thickness = beams.build.parts[beams.build.plates[spring.plate].part].thickness
    thin = floor(10 * thickness / spring.stress_ratio) / 10
    if thin >= _THINNEST:
        text = f"Take a sheet of {thin:g} mm; its tabs come out shorter too."
        found.append(
            Remedy("thinner sheet", spring.joint, thin, "mm", text, "sheet.thickness", thin)
        )
    now = material(beams.build.design.sheet.material)
    strain = spring.stress_ratio * now.yield_mpa / now.youngs_modulus_gpa
    will = [one for one in MATERIALS.values() if one.yield_mpa / one.youngs_modulus_gpa >= strain]
    if will:
        nearest = min(will, key=lambda one: abs(one.density - now.density))
        ratio = strain * nearest.youngs_modulus_gpa / nearest.yield_mpa
        text = f"Cut it from {nearest.title}: {100 * ratio:.0f} % of what it bears."
        found.append(
            Remedy("softer sheet", spring.joint, ratio, "", text, "sheet.material", nearest.name)
        )
    return found


def _closing(beams: Beams, loop: Sequence[int]) -> list[Remedy]:
    """Close these joints before those outside them that make the lever short."""
    tries = [one for joint in loop if (one := beams.spring(joint, loop)) is not None]
    best = min(tries, key=lambda one: one.stress_ratio)
    if best.stress_ratio > 1.0:
        return []
    name = beams.build.joints[best.joint].id
    text = f"Close {name} last, before other joints near it are fastened."
    return [Remedy("another closing joint", best.joint, best.stress_ratio, "", text)]


def _slit(beams: Beams, joint: int) -> Remedy:
    """Offer to cut a plate of a ring of laps through, so that it can be woven in."""
    one = beams.build.joints[joint]
    sheet = beams.build.design.sheet
    plate = beams.build.plates[one.plates[0]].id
    wide = sheet.thickness + 2 * sheet.clearance
    text = f"Cut {plate} through beside {one.id}, {wide:.1f} mm wide, and weave it in."
    return Remedy("slit", joint, wide, "mm", text)


def _more_play(beams: Beams, springs: Springs) -> list[Remedy]:
    """Offer more clearance where a little more lets all joints close at once."""
    found = least_play(beams, springs.joints, springs.bodies)
    if found is None:
        return []
    need = ceil(100 * found.play - 1e-6) / 100
    if need > _LOOSEST:
        return []
    text = f"Cut the slots with {need:g} mm of clearance: the joints then close all at once."
    return [Remedy("more clearance", springs.joints[0], need, "mm", text, "sheet.clearance", need)]


def _slots(beams: Beams, springs: Springs) -> list[Remedy]:
    """Find the slot of the ring that has to grow least, and how far its middle is from the rim."""
    best: tuple[float, int, float] | None = None
    for joint in springs.joints:
        if np.isnan(beams.deflection[joint]):
            continue
        slide = _least_slide(beams, springs, joint)
        if slide is not None and (best is None or abs(slide) < best[0] - 1e-6):
            best = abs(slide), joint, float(np.sign(slide))
    if best is None:
        return []
    length, joint, side = best
    one = beams.build.joints[joint]
    text = f"Make the slot of {one.id} {length:.1f} mm longer on one side: its tab slides aside."
    found = [Remedy("longer slot", joint, length, "mm", text)]
    rim = _to_rim(beams, joint, side)
    if rim is not None:
        text = f"Let the slot of {one.id} run out at the rim, {rim:.1f} mm from its middle."
        found.append(Remedy("open slot", joint, rim, "mm", text))
    return found


def _least_slide(beams: Beams, springs: Springs, joint: int) -> float | None:
    """Return how far a tab must slide along its slot so that one joint of the ring opens wholly.

    For each joint k of the ring: minimise |slide| where k opens by its tab's length, the others
    by 0 or more, and the tab of `joint` slides along its line besides.
    """
    ring = Ring.of(beams, springs.joints, springs.bodies)
    k, n = len(ring.joints), len(ring.bodies)
    matrix = np.zeros((3 * k, 3 * n + k + 2))
    matrix[:, :-2] = ring.equations().toarray()
    row = ring.joints.index(joint)
    line = beams.build.joints[joint].line
    matrix[3 * row : 3 * row + 3, -2:] = np.column_stack([line, -line])
    cost = np.append(np.zeros(3 * n + k), [1.0, 1.0])
    low = np.concatenate([np.full(3 * n, -np.inf), np.zeros(k + 2)])
    best: float | None = None
    for other in range(k):
        least, most = low.copy(), np.full(len(low), np.inf)
        least[3 * n + other] = ring.travel[other]
        solved = optimize.linprog(
            cost,
            A_eq=matrix,
            b_eq=np.zeros(3 * k),
            bounds=np.column_stack([least, most]),
            method="highs",
        )
        if solved.status == 0 and (best is None or solved.fun < abs(best) - 1e-9):
            best = float(solved.x[-1] - solved.x[-2])
    return best


def _to_rim(beams: Beams, joint: int, side: float) -> float | None:
    """Return the way from a slot's middle along its line to the rim of its plate, mm."""
    one = beams.build.joints[joint]
    plate = one.plates[1]
    pose = beams.build.plates[plate].world_from_part
    along = side * (pose[:3, :3].T @ one.line)[:2]
    ring = outline_ring(beams.build, plate)
    ahead = cut_line(ring, in_part(beams.build, plate, one.centre), along)
    ahead = ahead[ahead > 0]
    return float(ahead[0]) if len(ahead) else None
