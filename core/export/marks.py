# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is engraved beside a part's mark: the side that faces out, and the partner at each joint.

A part is cut many times, so its marks must be true of every copy. ``B-3`` at a tab or slot says:
joint 3, with a part B; the other end of the joint bears the same number. ``TO B`` says only the
part. ``OUT`` says that the engraved side looks away from the middle of the sculpture, ``IN`` that
it looks towards it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..design.model import JointKind
from ..results import Build, Joint, Plate
from .engraving import EDGE_DISTANCE, LEAST_HEIGHT
from .stroke_font import text_strokes, text_width

__all__ = ["Label", "PartMarks", "part_marks", "placed_labels"]

Floats = npt.NDArray[np.float64]

_SAME_PLACE: Final = 0.5  # mm; copies of a part have their joints at the same places
#: Heights of the letters, mm, the best first.
_HEIGHTS: Final = (4.0, 3.0, LEAST_HEIGHT)
_WAYS: Final = 24  # directions in which room is looked for
_FARTHEST: Final = 30.0  # mm from the joint; farther away nobody would look for its mark
_ROOT: Final = 8.0  # mm; a tab's mark stands this far behind its root, clear of the slotted plate
_FACING: Final = 0.02  # share of the radius; planes nearer to the middle face nowhere


@dataclass(frozen=True, slots=True, eq=False)
class Label:
    """A text and the place (2,) that it is to stand at or near, mm, in the part's own plane."""

    text: str
    near: Floats


@dataclass(frozen=True, slots=True)
class PartMarks:
    """What a part is engraved with beside its mark; side : OUT, IN, or nothing."""

    side: str = ""
    labels: tuple[Label, ...] = ()


def part_marks(build: Build) -> list[PartMarks]:
    """Return the marks of every part of a build, in the order of its parts.

    A place where copies of a part close different joints gets no number; where they meet different
    parts, no label at all.
    """
    numbers: dict[str, int] = {}
    for joint in build.joints:
        numbers.setdefault(joint.joint_class, len(numbers) + 1)
    ends: list[list[Label]] = [[] for _ in build.parts]
    for joint in build.joints:
        for own, other in (joint.plates, joint.plates[::-1]):
            plate, partner = build.plates[own], build.plates[other]
            text = f"{build.parts[partner.part].mark}-{numbers[joint.joint_class]}"
            tab = joint.kind is JointKind.TENON and own == joint.plates[0]
            ends[plate.part].append(Label(text, _place(joint, plate, tab, build)))
    return [PartMarks(_side(build, p), tuple(_agreed(labels))) for p, labels in enumerate(ends)]


def _place(joint: Joint, plate: Plate, tab: bool, build: Build) -> Floats:
    """Return where a joint lies in a part's own plane (2,); of a tab, behind its shoulder."""
    world = plate.world_from_part
    point = joint.centre
    if tab:
        point = point - (build.parts[plate.part].thickness + _ROOT) * joint.insertion
    flat: Floats = (world[:3, :3].T @ (point - world[:3, 3]))[:2]
    return flat


def _agreed(labels: Iterable[Label]) -> list[Label]:
    """Return one label for each place: what all copies have there, or at least their partner."""
    places: list[tuple[Floats, set[str]]] = []
    for label in labels:
        for near, texts in places:
            if np.abs(near - label.near).max() < _SAME_PLACE:
                texts.add(label.text)
                break
        else:
            places.append((label.near, {label.text}))
    found = []
    for near, texts in places:
        partners = {text.rpartition("-")[0] for text in texts}
        if len(texts) == 1:
            found.append(Label(next(iter(texts)), near))
        elif len(partners) == 1:
            found.append(Label(f"TO {next(iter(partners))}", near))
    return found


def _side(build: Build, part: int) -> str:
    """Return OUT when the engraved side of every copy faces out, IN when in, else nothing."""
    poses = [plate.world_from_part for plate in build.plates if plate.part == part]
    lifts = np.array([pose[:3, 2] @ pose[:3, 3] for pose in poses])
    least = _FACING * build.totals.diameter / 2
    if (lifts > least).all():
        return "OUT"
    return "IN" if (lifts < -least).all() else ""


def placed_labels(
    labels: Sequence[Label], outline: Polygon, taken: Sequence[Floats], part: str
) -> tuple[tuple[Floats, ...], tuple[str, ...]]:
    """Engrave labels where they fit, each as near to its place as can be.

    taken : strokes (n, 2) that are engraved already, mm

    Returns
    -------
    strokes : tuple of (n, 2) float, mm, `EDGE_DISTANCE` away from every edge and other texts
    warnings : which found no room, in words
    """
    shapely.prepare(outline)
    boxes = [shapely.box(*_bounds(taken)).buffer(EDGE_DISTANCE)] if len(taken) else []
    strokes: list[Floats] = []
    homeless = []
    for label in labels:
        found = _room(label, outline, boxes)
        if found is None:
            homeless.append(label.text)
            continue
        centre, height = found
        own = [stroke + centre for stroke in text_strokes(label.text, height)]
        for stroke in own:
            stroke.flags.writeable = False
        strokes += own
        boxes.append(shapely.box(*_bounds(own)).buffer(EDGE_DISTANCE))
    if not homeless:
        return tuple(strokes), ()
    texts = ", ".join(homeless)
    return tuple(strokes), (f"Part {part}: no room to engrave {texts} at its joints.",)


def _room(label: Label, outline: Polygon, boxes: Sequence[Polygon]) -> tuple[Floats, float] | None:
    """Return the nearest middle (2,) at which a label fits, and its height, mm."""
    turns = 2 * np.pi * np.arange(_WAYS) / _WAYS
    ways = np.column_stack([np.cos(turns), np.sin(turns)])
    steps = np.arange(0.0, _FARTHEST, 1.0)
    centres = label.near + (steps[:, None, None] * ways).reshape(-1, 2)
    for height in _HEIGHTS:
        half = np.array([text_width(label.text) * height, height]) / 2 + EDGE_DISTANCE
        low, high = (centres - half).T, (centres + half).T
        tried = shapely.box(low[0], low[1], high[0], high[1])
        free = shapely.contains_properly(outline, tried)
        for box in boxes:
            free &= ~shapely.intersects(tried, box)
        rows = np.flatnonzero(free)
        if len(rows):
            return centres[rows[0]], height
    return None


def _bounds(strokes: Sequence[Floats]) -> tuple[float, float, float, float]:
    points = np.concatenate(strokes)
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)
