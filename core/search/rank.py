# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a sculptor cares about, as figures; and one score of them, weighed by the user."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields

import numpy as np
import numpy.typing as npt
import shapely

from ..errors import DesignError
from ..results import Build
from .links import linked_rotors, rotor_loops
from .shape import Shape
from .spring import worst_spring

__all__ = [
    "WEIGHTS",
    "Merits",
    "merits_from",
    "merits_of",
    "parse_weights",
    "record_of",
    "score",
    "shares",
]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Merits:
    """The figures of one design.

    clearance : least distance of plates that are not joined, mm (0 to the reach of the check)
    web : least material round slots and holes, mm
    width : of the strips, mm; length : mean length of the strips, mm; slenderness : length / width
    openness : share of the silhouette's disc that is free, mean of several views, 0 to 1
    evenness : 1 less the spread (standard deviation over mean) of the covered share over the views
        and over four rings and eight sectors of each
    roundness : least distance between two parallel planes that hold the sculpture over the greatest
    parts : distinct outlines; plates : of all
    square : share of joints at 90 degrees (within 1e-6 deg)
    linked : linked pairs of rotors; linked_on_axis : those with a common axis
    sprung : bending stress over strength where the rotor that is hardest to close is sprung, an
        estimate (core/search/spring.py); 0 when none must be sprung; None when it is not known
    """

    clearance: float
    web: float
    width: float
    length: float
    slenderness: float
    openness: float
    evenness: float
    roundness: float
    parts: int
    plates: int
    square: float
    linked: int
    linked_on_axis: int
    sprung: float | None = None


#: How much each share counts when the user does not say; see `shares`.
WEIGHTS: dict[str, float] = {
    "clearance": 1.0,
    "web": 0.5,
    "slenderness": 1.0,
    "openness": 1.0,
    "evenness": 2.0,
    "roundness": 1.0,
    "parts": 0.5,
    "square": 1.0,
    "linked": 0.5,
    "springable": 0.5,
}


def merits_of(build: Build, shape: Shape) -> Merits:
    """Work out the figures of a build."""
    figures = {check.name: check.figure for check in build.checks}
    loops = rotor_loops(shape.motifs, shape.classes, build.group)
    linked, on_axis = linked_rotors(loops)
    covered = shape.covered()
    mean = float(covered.mean())
    lengths = [_length(motif.path) for motif in shape.motifs if motif.path is not None]
    widths = [motif.width for motif in shape.motifs if motif.width is not None]
    width, length = float(np.mean(widths)), float(np.mean(lengths))
    support = shape.breadths()
    return Merits(
        clearance=float(figures["clearance"]),
        web=float(figures["web"]),
        width=width,
        length=length,
        slenderness=length / width,
        openness=1.0 - mean,
        evenness=max(0.0, 1.0 - float(covered.std()) / max(mean, 1e-9)),
        roundness=float(support.min() / support.max()),
        parts=len(build.parts),
        plates=len(build.plates),
        square=float(np.mean([abs(joint.angle - 90.0) < 1e-6 for joint in build.joints])),
        linked=linked,
        linked_on_axis=on_axis,
        sprung=worst_spring(build, shape.classes, build.group),
    )


def shares(merits: Merits) -> dict[str, float]:
    """Return each figure as a share of what is best, 0 to 1; one that is not known is left out.

    clearance : full at 40 mm; web : full at 8 mm; slenderness : best from 8 to 16, falling to 0 at
    3 and 40; openness : best at 0.45, falling to 0 at 0 and 0.9; parts : 1 for one outline, 1/2 for
    two; linked : full when every plate has a part in one link; springable : full while the stress
    is at most half of the strength, falling to 0 at twice the strength
    """
    slender = np.interp(merits.slenderness, [3, 8, 16, 40], [0, 1, 1, 0])
    found = {
        "clearance": min(merits.clearance / 40.0, 1.0),
        "web": min(merits.web / 8.0, 1.0),
        "slenderness": float(slender),
        "openness": max(0.0, 1.0 - abs(merits.openness - 0.45) / 0.45),
        "evenness": merits.evenness,
        "roundness": merits.roundness,
        "parts": 1.0 / merits.parts,
        "square": merits.square,
        "linked": min(6.0 * merits.linked / merits.plates, 1.0),
    }
    if merits.sprung is not None:
        found["springable"] = float(np.interp(merits.sprung, [0.5, 2.0], [1, 0]))
    return found


def score(merits: Merits, weights: Mapping[str, float] | None = None) -> float:
    """Return the weighed mean of the shares that are known, 0 to 1."""
    chosen = {**WEIGHTS, **(weights if weights is not None else {})}
    found = shares(merits)
    total = sum(chosen[name] for name in found)
    if total <= 0:
        return 0.0
    return sum(chosen[name] * found[name] for name in found) / total


def parse_weights(text: str) -> dict[str, float]:
    """Return the weights of ``evenness=3,linked=0``.

    Raises DesignError for a name that is no figure or a number that is negative or none.
    """
    weights: dict[str, float] = {}
    for part in filter(None, (piece.strip() for piece in text.split(","))):
        name, _, number = part.partition("=")
        try:
            value = float(number)
        except ValueError:
            value = -1.0
        if name not in WEIGHTS or not 0.0 <= value < 1e6:
            raise DesignError(
                "--weights",
                part,
                f"name=number with number 0 or more and name of {', '.join(WEIGHTS)}",
            )
        weights[name] = value
    return weights


def record_of(merits: Merits) -> dict[str, float | None]:
    """Return the figures as JSON-ready values; None: not known."""
    return {k: None if v is None else round(float(v), 6) for k, v in asdict(merits).items()}


def merits_from(record: Mapping[str, float | None]) -> Merits:
    """Return the figures that `record_of` wrote; one that an older index lacks is not known."""
    made: dict[str, float | None] = {}
    for field in fields(Merits):
        if "None" in str(field.type):
            value = record.get(field.name)
        else:
            value = record[field.name]
            if value is None:
                raise ValueError(f"{field.name} is missing")
        made[field.name] = int(value) if value is not None and field.type == "int" else value
    return Merits(**made)  # type: ignore[arg-type]


def _length(path: Floats) -> float:
    return float(shapely.length(shapely.linestrings(path)))
