# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A build file against what its own design gives: everything that was moved, cut or lost since."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import shapely

from .. import pipeline
from ..checks.places import at, listed
from ..errors import PinwrightError
from ..results import Build, Check, Joint, Part, Pin

__all__ = ["check_against_design"]

Floats = npt.NDArray[np.float64]
_SAME = 0.02  # mm; parts are congruent within 0.01
_TURNED_DEG = 0.01
_NAME = "as designed"


def check_against_design(build: Build, fresh: Build | None = None) -> Check:
    """Compare parts, plates, joints and pins by their names with what the file's design gives.

    fresh : the design, built; None: it is built here
    """
    try:
        fresh = pipeline.build(build.design) if fresh is None else fresh
    except PinwrightError as error:
        text = f"not compared: the design in the file cannot be built here ({error})"
        return Check(_NAME, True, 0.0, "", 0.0, text)
    lines = [*_joints(build, fresh), *_plates(build, fresh), *_parts(build, fresh)]
    if not lines:
        text = "every part, plate and joint is as the file's own design gives it"
        return Check(_NAME, True, 0.0, "", 0.0, text)
    text = f"{len(lines)} things differ from what the file's own design gives"
    remedy = (
        "Undo the change, or change the design and build it again: then all that follows from it "
        "is changed, too."
    )
    return Check(_NAME, False, float(len(lines)), "", 0.0, text, listed(lines), remedy)


def _joints(build: Build, fresh: Build) -> Iterator[str]:
    found = {joint.id: joint for joint in build.joints}
    wanted = {joint.id: joint for joint in fresh.joints}
    for name, joint in wanted.items():
        pair = " and ".join(fresh.plates[k].id for k in joint.plates)
        if name not in found:
            yield f"joint {name} of {pair} is missing{at(joint.centre)}"
            continue
        other = found[name]
        if _ends(other, build) != _ends(joint, fresh) or other.kind is not joint.kind:
            yield f"joint {name} is another one, the design has {pair}{at(joint.centre)}"
            continue
        yield from _pins(name, other.pins, joint.pins)
        if len(other.fasteners) != len(joint.fasteners):
            yield (
                f"joint {name} has {len(other.fasteners)} of its {len(joint.fasteners)} "
                f"fasteners{at(joint.centre)}"
            )
        for one, two in zip(other.fasteners, joint.fasteners, strict=False):
            off = float(np.abs(one.world - two.world)[:3, 3].max())
            if off > _SAME:
                place = at(two.world[:3, 3])
                yield f"{one.kind} of {name} stands {off:.2f} mm from its place{place}"
        off = float(np.linalg.norm(other.centre - joint.centre))
        if off > _SAME:
            yield f"joint {name} is told {off:.2f} mm from its place{at(joint.centre)}"
    for name in found.keys() - wanted.keys():
        yield f"joint {name} is not in the design{at(found[name].centre)}"


def _ends(joint: Joint, build: Build) -> list[str]:
    return [build.plates[k].id for k in joint.plates]


def _pins(name: str, found: tuple[Pin, ...], wanted: tuple[Pin, ...]) -> Iterator[str]:
    if len(found) != len(wanted):
        yield f"joint {name} has {len(found)} of its {len(wanted)} pins"
    for one, two in zip(found, wanted, strict=False):
        place = at(two.centre)
        if abs(one.length - two.length) > _SAME:
            yield f"pin of {name} is {one.length:g} mm long, the design has {two.length:g}{place}"
        if abs(one.diameter - two.diameter) > _SAME:
            thick = f"{one.diameter:g} mm thick, the design has {two.diameter:g}"
            yield f"pin of {name} is {thick}{place}"
        off = float(np.linalg.norm(one.centre - two.centre))
        if off > _SAME:
            yield f"pin of {name} stands {off:.2f} mm from its place{place}"


def _plates(build: Build, fresh: Build) -> Iterator[str]:
    found = {plate.id: plate for plate in build.plates}
    wanted = {plate.id: plate for plate in fresh.plates}
    for name, plate in wanted.items():
        middle = fresh.parts[plate.part].outline.centroid
        here = np.array([middle.x, middle.y, 0.0, 1.0])
        place = (plate.world_from_part @ here)[:3]
        if name not in found:
            yield f"plate {name} is missing{at(place)}"
            continue
        other = found[name]
        if build.parts[other.part].mark != fresh.parts[plate.part].mark:
            yield f"plate {name} is of part {build.parts[other.part].mark}{at(place)}"
            continue
        turn = other.world_from_part[:3, :3] @ plate.world_from_part[:3, :3].T
        angle = float(np.degrees(np.arccos(np.clip((np.trace(turn) - 1) / 2, -1.0, 1.0))))
        off = float(np.linalg.norm((other.world_from_part @ here)[:3] - place))
        if off > _SAME or angle > _TURNED_DEG:
            turned = f", turned by {angle:.2f} deg" if angle > _TURNED_DEG else ""
            yield f"plate {name} stands {off:.2f} mm from its place{at(place)}{turned}"
    for name in found.keys() - wanted.keys():
        yield f"plate {name} is not in the design{at(found[name].world_from_part[:3, 3])}"


def _parts(build: Build, fresh: Build) -> Iterator[str]:
    found = {part.mark: part for part in build.parts}
    wanted = {part.mark: part for part in fresh.parts}
    for mark, part in wanted.items():
        if mark not in found:
            yield f"part {mark} is missing"
        else:
            yield from _rings(mark, found[mark], part)
    for mark in found.keys() - wanted.keys():
        yield f"part {mark} is not in the design"


def _rings(mark: str, found: Part, wanted: Part) -> Iterator[str]:
    """Compare ring by ring: a moved slot is told apart from a changed edge."""
    off, place = _farthest(found.outline.exterior, wanted.outline.exterior)
    if off > _SAME:
        yield f"part {mark}: its edge is {off:.2f} mm off{at(place)}"
    mine = list(found.outline.interiors)
    for ring in wanted.outline.interiors:
        middle = np.array(shapely.centroid(shapely.Polygon(ring)).coords[0])
        if not mine:
            yield f"part {mark}: a hole is missing{at(middle)}"
            continue
        apart = [shapely.hausdorff_distance(one, ring) for one in mine]
        nearest = mine.pop(int(np.argmin(apart)))
        off, place = _farthest(nearest, ring)
        if off > _SAME:
            yield f"part {mark}: a hole is {off:.2f} mm off{at(middle)}"
    for ring in mine:
        middle = np.array(shapely.centroid(shapely.Polygon(ring)).coords[0])
        yield f"part {mark}: a hole that the design has not{at(middle)}"


def _farthest(one: shapely.LinearRing, two: shapely.LinearRing) -> tuple[float, Floats]:
    """Return how far two rings lie apart at most, and where."""
    best, where = 0.0, np.full(2, np.nan)
    for a, b in ((two, one), (one, two)):
        corners = np.asarray(a.coords)
        gaps = shapely.distance(shapely.points(corners), b)
        k = int(gaps.argmax())
        if gaps[k] > best:
            best, where = float(gaps[k]), corners[k]
    return best, where
