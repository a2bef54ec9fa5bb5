# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Least material round slots and pin holes, and behind the bottoms of cross-laps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from ..joints.classes import JointClass
from ..joints.features import MotifFeatures, lap_groups
from ..outlines.finish import Finished
from ..plates.planes import cut_line

__all__ = ["Web", "least_web"]

_INSIDE = 1e-4  # mm; how far behind the bottom of a slot its web is looked at from


@dataclass(frozen=True, slots=True)
class Web:
    """The least web of one motif: width in mm (0 or less: cut through), and what it lies beside.

    more : what is wanted beyond the design's web, mm: a hang point carries the whole
    """

    width: float
    beside: str
    more: float = 0.0


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
            beside = f"{hole.kind} of {classes[hole.joint].name}, to the edge"
            webs.append(Web(width, beside, hole.more))
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
    return min(webs, key=lambda web: web.width - web.more)


def _behind_laps(
    outline: Polygon, features: MotifFeatures, classes: Sequence[JointClass], clearance: float
) -> list[Web]:
    """Return the material from the bottom of each open slot, straight on, to the next edge."""
    webs = []
    rings = [np.asarray(ring.coords)[:-1] for ring in (outline.exterior, *outline.interiors)]
    for lap, *_ in lap_groups(features.laps, classes):
        across = np.array([-lap.out[1], lap.out[0]]) * classes[lap.joint].lap_width / 2
        for side in (-0.98, 0.0, 0.98):
            start = lap.place + (lap.bottom - clearance - _INSIDE) * lap.out + side * across
            cuts = np.concatenate([cut_line(ring, start, -lap.out) for ring in rings])
            ahead = cuts[cuts > 0]
            # An odd number of edges ahead means that the start lies in the material.
            width = float(ahead.min()) + _INSIDE if len(ahead) % 2 else 0.0
            webs.append(Web(width, f"cross-lap of {classes[lap.joint].name}, behind its slot"))
    return webs
