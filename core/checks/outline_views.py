# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The parts as the feature checks see them: one outline each, with a name for what is cut there."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..results import Build, Joint, Plate

__all__ = ["OutlineView", "TabView", "outline_views"]

Floats = npt.NDArray[np.float64]

_FAR = 1e4  # mm; beyond any fastener


@dataclass(frozen=True, slots=True, eq=False)
class TabView:
    """One tab of a part: its joint, its middle (2,) and the way that it grows (2,), mm."""

    joint: Joint
    place: Floats
    out: Floats


@dataclass(frozen=True, slots=True, eq=False)
class OutlineView:
    """One part, in its own coordinates.

    number : index into `Build.parts`
    holes : names of the closed holes, in the order of the outline's interiors; "" for one that
        belongs to no joint
    tabs : those of one copy; copies : plates of this part (0: a wedge, which is no plate)
    """

    number: int
    mark: str
    outline: Polygon
    holes: tuple[str, ...]
    tabs: tuple[TabView, ...]
    copies: int

    @property
    def bare(self) -> Polygon:
        """The outline without the holes of its joints."""
        own = [
            ring for ring, name in zip(self.outline.interiors, self.holes, strict=True) if not name
        ]
        return Polygon(self.outline.exterior, own)


def outline_views(build: Build) -> list[OutlineView]:
    """Return a view of every part; its joints are those of the first plate that is cut as it."""
    first: dict[int, int] = {}
    for k, plate in enumerate(build.plates):
        first.setdefault(plate.part, k)
    joints: dict[int, list[tuple[Joint, bool]]] = defaultdict(list)
    for joint in build.joints:
        for end, k in enumerate(joint.plates):
            if first[build.plates[k].part] == k:
                joints[k].append((joint, end == 0))
    views = []
    for p, part in enumerate(build.parts):
        home = build.plates[first[p]] if p in first else None
        own = joints[first[p]] if home is not None else []
        views.append(_view(p, part.mark, part.outline, home, own, part.quantity))
    return views


def _view(
    number: int,
    mark: str,
    outline: Polygon,
    plate: Plate | None,
    joints: list[tuple[Joint, bool]],
    quantity: int,
) -> OutlineView:
    names = [""] * len(outline.interiors)
    tabs = []
    if plate is not None:
        rings = [Polygon(ring) for ring in outline.interiors]
        for joint, is_first in joints:
            spots = _spots(joint, is_first)
            for kind, point in spots:
                here = shapely.Point(*_flat(plate, point))
                for k, ring in enumerate(rings):
                    if ring.contains(here):
                        names[k] = f"{kind} of {joint.id}"
            if is_first:
                way = joint.insertion @ plate.world_from_part[:3, :2]
                tabs += [TabView(joint, _flat(plate, tab), way) for tab in joint.tabs]
    return OutlineView(
        number, mark, outline, tuple(names), tuple(tabs), quantity if plate is not None else 0
    )


def _spots(joint: Joint, is_first: bool) -> list[tuple[str, Floats]]:
    """Return points of the world that lie in a closed hole of one plate of a joint, each named."""
    if not is_first and joint.tabs:
        return [("slot", tab) for tab in joint.tabs]
    spots = [("pin hole", pin.centre) for pin in joint.pins]
    for one in joint.fasteners:
        pose = one.world
        for tab in joint.tabs:
            # A wedge, a strap or a link crosses the tab's plane inside its hole: along a line in
            # its own plane, which is square to the joint's line.
            origin = (tab - pose[:3, 3]) @ pose[:3, :2]
            way = joint.insertion @ pose[:3, :2]
            line = shapely.LineString([origin - _FAR * way, origin + _FAR * way])
            for piece in shapely.get_parts(one.outline.intersection(line)):
                middle = np.asarray(piece.interpolate(0.5, normalized=True).coords[0])
                spots.append((f"{one.kind} hole", pose[:3, :2] @ middle + pose[:3, 3]))
    return spots


def _flat(plate: Plate, point: Floats) -> Floats:
    pose = plate.world_from_part
    own: Floats = (point - pose[:3, 3]) @ pose[:3, :2]
    return own
