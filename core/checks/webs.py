# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Least material round slots and pin holes, and behind the bottoms of cross-laps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import LineString, Polygon

from ..joints.classes import JointClass
from ..joints.features import MotifFeatures
from ..outlines.finish import Finished

__all__ = ["Web", "least_web"]


@dataclass(frozen=True, slots=True)
class Web:
    """The least web of one motif: width in mm (0 or less: cut through), and what it lies beside."""

    width: float
    beside: str


def least_web(
    finished: Finished, features: MotifFeatures, classes: Sequence[JointClass], clearance: float
) -> Web:
    """Return the least web of a finished motif; infinite when it has no cut at all."""
    webs = [Web(float("inf"), "")]
    outer_rings = [finished.outer.exterior, *finished.outer.interiors]
    rings = [shapely.LinearRing(hole.ring) for hole in finished.holes]
    if rings:
        shapely.prepare(finished.outer)
        inside = shapely.contains_properly(finished.outer, shapely.polygons(rings))
        to_edge = shapely.distance(
            np.array(rings, dtype=object)[:, None], np.array(outer_rings, dtype=object)[None]
        ).min(axis=1)
        for k, hole in enumerate(finished.holes):
            width = float(to_edge[k]) if inside[k] else 0.0
            webs.append(Web(width, f"{hole.kind} of {classes[hole.joint].name}, to the edge"))
        between = shapely.distance(
            np.array(rings, dtype=object)[:, None], np.array(rings, dtype=object)[None]
        )
        np.fill_diagonal(between, np.inf)
        if len(rings) > 1:
            i, j = np.unravel_index(int(between.argmin()), between.shape)
            names = [classes[finished.holes[k].joint].name for k in (int(i), int(j))]
            webs.append(
                Web(
                    float(between[i, j]),
                    f"{finished.holes[i].kind} of {names[0]}, "
                    f"to {finished.holes[j].kind} of {names[1]}",
                )
            )
    webs += _behind_laps(finished.outline, features, classes, clearance)
    return min(webs, key=lambda web: web.width)


def _behind_laps(
    outline: Polygon, features: MotifFeatures, classes: Sequence[JointClass], clearance: float
) -> list[Web]:
    """Material from the bottom of each open slot, straight on, to the next edge."""
    webs = []
    far = float(np.abs(shapely.get_coordinates(outline)).max()) * 4
    for lap in features.laps:
        across = np.array([-lap.out[1], lap.out[0]]) * classes[lap.joint].lap_width / 2
        for side in (-0.98, 0.0, 0.98):
            start = lap.place + (lap.bottom - clearance - 1e-4) * lap.out + side * across
            ray = LineString([start, start - far * lap.out]).intersection(outline)
            touching = [
                p for p in shapely.get_parts(ray) if p.distance(shapely.Point(start)) < 1e-3
            ]
            width = max((float(piece.length) for piece in touching), default=0.0)
            webs.append(Web(width, f"cross-lap of {classes[lap.joint].name}, behind its slot"))
    return webs
