# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Least material round slots and holes: to the edge, to each other, and behind cross-laps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LinearRing, Polygon

from ..joints.classes import JointClass
from ..joints.features import MotifFeatures, lap_groups
from ..outlines.finish import Finished
from ..plates.planes import cut_line

__all__ = ["Opening", "Web", "least_web", "motif_webs", "webs"]

Floats = npt.NDArray[np.float64]

_INSIDE = 1e-4  # mm; how far behind the bottom of a slot its web is looked at from


@dataclass(frozen=True, slots=True, eq=False)
class Opening:
    """A closed hole that a joint needs.

    name : "slot of J001", "pin hole of J002", "cut-out" ...; ring (n, 2) mm
    more : what is wanted round it beyond the design's web, mm: a hang point carries the whole
    """

    name: str
    ring: Floats
    more: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Web:
    """One web of an outline: width in mm (0: cut through), what it lies beside, and its middle.

    more : what is wanted beyond the design's web, mm
    """

    width: float
    beside: str
    place: Floats
    more: float = 0.0


def webs(outer: Polygon, openings: Sequence[Opening]) -> list[Web]:
    """Return for each opening its web to the edge, and for each two of them the web between.

    outer : the outline with none of the openings cut; its own holes are edges too
    """
    if not openings:
        return []
    edges = np.array([outer.exterior, *outer.interiors], dtype=object)
    rings = np.array([LinearRing(one.ring) for one in openings], dtype=object)
    shapely.prepare(outer)
    inside = shapely.contains_properly(outer, shapely.polygons(list(rings)))
    to_edge = shapely.distance(rings[:, None], edges[None])
    nearest = to_edge.argmin(axis=1)
    found = []
    for k, one in enumerate(openings):
        width = float(to_edge[k, nearest[k]]) if inside[k] else 0.0
        place = _between(rings[k], edges[nearest[k]])
        found.append(Web(width, f"{one.name}, to the edge", place, one.more))
    between = shapely.distance(rings[:, None], rings[None])
    for i in range(len(rings)):
        for j in range(i + 1, len(rings)):
            names = f"{openings[i].name} to {openings[j].name}"
            found.append(Web(float(between[i, j]), names, _between(rings[i], rings[j])))
    return found


def _between(one: shapely.Geometry, two: shapely.Geometry) -> Floats:
    """Return the middle (2,) of the shortest way between two rings."""
    middle: Floats = shapely.get_coordinates(shapely.shortest_line(one, two)).mean(axis=0)
    return middle


def motif_webs(
    finished: Finished, features: MotifFeatures, classes: Sequence[JointClass], clearance: float
) -> list[Web]:
    """Return all webs of a finished motif, in its own plane; none when nothing is cut out of it."""
    openings = [
        Opening(
            f"{hole.kind} of {classes[hole.joint].name}" if hole.joint >= 0 else hole.kind,
            hole.ring,
            hole.more,
        )
        for hole in finished.holes
    ]
    found = webs(finished.outer, openings)
    return found + _behind_laps(finished.outline, features, classes, clearance)


def least_web(
    finished: Finished, features: MotifFeatures, classes: Sequence[JointClass], clearance: float
) -> Web:
    """Return the web of a finished motif that has least to spare; infinite when there is none."""
    found = motif_webs(finished, features, classes, clearance)
    nothing = Web(float("inf"), "", np.full(2, np.nan))
    return min(found, key=lambda web: web.width - web.more, default=nothing)


def _behind_laps(
    outline: Polygon, features: MotifFeatures, classes: Sequence[JointClass], clearance: float
) -> list[Web]:
    """Return the material from the bottom of each open slot, straight on, to the next edge."""
    found = []
    rings = [np.asarray(ring.coords)[:-1] for ring in (outline.exterior, *outline.interiors)]
    for lap, *_ in lap_groups(features.laps, classes):
        across = np.array([-lap.out[1], lap.out[0]]) * classes[lap.joint].lap_width / 2
        beside = f"cross-lap of {classes[lap.joint].name}, behind its slot"
        behind = []
        for side in (-0.98, 0.0, 0.98):
            start = lap.place + (lap.bottom - clearance - _INSIDE) * lap.out + side * across
            cuts = np.concatenate([cut_line(ring, start, -lap.out) for ring in rings])
            ahead = cuts[cuts > 0]
            # An odd number of edges ahead means that the start lies in the material.
            width = float(ahead.min()) + _INSIDE if len(ahead) % 2 else 0.0
            behind.append(Web(width, beside, start - width / 2 * lap.out))
        found.append(min(behind, key=lambda web: web.width))
    return found
