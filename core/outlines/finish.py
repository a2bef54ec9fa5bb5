# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""From a motif's body and its joints to the outline that is cut: shoulders, tabs, slots, holes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

from ..errors import DesignError
from ..fit.fish_plate import FishPlateSizes
from ..fit.sizes import Sizes
from ..fit.tenon import TenonSizes
from ..joints.classes import JointClass
from ..joints.features import Key, Lap, MotifFeatures, Tab, lap_groups
from ..plates.motif import Motif
from ..plates.path import end_direction
from ..plates.widths import body_of
from .corners import circle, round_corners
from .cut_outs import cut_out_rings
from .seats import rectangle, seats, slot_rings
from .tips import blunted
from .tool_corners import lap_deeper, tool_fits, with_tool_corners

__all__ = ["Finished", "Hole", "finished_outline", "without_flaps"]

Floats = npt.NDArray[np.float64]

#: Points of an outline this close are one (mm): far above the hair's breadth that cuts overlap by.
_SPECK = 1e-4
#: By so much a flap is drawn larger than the tab, so that nothing of it stays (mm).
_HAIR = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Hole:
    """A closed cut: `kind` is "slot", "pin hole" or what else a lock needs, or "cut-out".

    joint : index of its class, -1 for a cut-out, which belongs to none
    more : material wanted round it beyond the design's web, mm
    """

    kind: str
    joint: int
    ring: Floats
    more: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Finished:
    """A motif ready to be cut, in its own plane, mm, true size.

    outline : with everything cut; outer : the same before its closed holes were cut
    flaps : what is bent out of the plane once the tabs are in: corners (4, 2), the fold first
    """

    outline: Polygon
    outer: Polygon
    holes: tuple[Hole, ...]
    flaps: tuple[Floats, ...] = ()

    @property
    def standing(self) -> Polygon:
        """What stays in the plane once the flaps are bent."""
        return without_flaps(self.outline, self.flaps)


def without_flaps(outline: Polygon, flaps: Sequence[Floats]) -> Polygon:
    """Return an outline less its flaps (corners (4, 2) each)."""
    if not flaps:
        return outline
    rest = outline.difference(shapely.union_all([Polygon(ring) for ring in flaps]))
    return max(shapely.get_parts(rest), key=shapely.area)


def finished_outline(
    motif: Motif, features: MotifFeatures, classes: Sequence[JointClass], sizes: Sizes
) -> Finished:
    """Cut all joints of a motif.

    Raises DesignError when a tab does not grow out of its plate or the plate falls apart.
    """
    body = _body(motif, features, classes, sizes)
    reach = 4 * float(np.abs(shapely.get_coordinates(body)).max()) + 100.0
    for tab in features.tabs:
        body = _with_tab(body, tab, _tenon(classes[tab.joint]), reach, motif.name)
    for group in lap_groups(features.laps, classes):
        widths = [classes[lap.joint].lap_width for lap in group]
        body = _with_laps(body, group, widths, sizes.clearance + lap_deeper(sizes), reach)
    for key in features.keys:
        body = _with_key(body, key, classes[key.joint])
    # Cuts that end on a corner leave points a hair apart, between which no corner can be rounded.
    body = orient(shapely.remove_repeated_points(_whole(body, motif.name), _SPECK))
    body = blunted(body, motif.body, sizes.least_corner, sizes.web)
    exterior = np.asarray(body.exterior.coords)[:-1]
    if sizes.corner_radius > 0:
        exterior = round_corners(exterior, sizes.corner_radius)
    outer = Polygon(exterior, [ring.coords for ring in body.interiors])
    if sizes.tool > 0:
        outer = with_tool_corners(outer, seats(features, classes, sizes), sizes)
    slots = [
        Hole("slot", s.joint, ring)
        for s in features.slots
        for ring in slot_rings(s, _tenon(classes[s.joint]), sizes)
    ]
    cuts = [hole for t in features.tabs for hole in _tab_holes(t, _tenon(classes[t.joint]))]
    cuts += [hole for key in features.keys for hole in _splice_holes(key, classes[key.joint])]
    for cut in cuts if sizes.tool > 0 else ():
        tool_fits(_narrow(cut.ring) + 0.05, cut.kind, sizes)  # a circle is drawn by chords
    holes = (*slots, *cuts)
    flaps = [ring for t in features.tabs for ring in _flaps(t, _tenon(classes[t.joint]))]
    outline = _pierced(outer, holes, motif.name)
    more = cut_out_rings(motif, outline, features, classes, sizes)
    if more:
        holes = (*holes, *(Hole("cut-out", -1, ring) for ring in more))
        outline = orient(Polygon(outline.exterior, [*outline.interiors, *more]))
    return Finished(outline, outer, holes, tuple(flaps))


def _tenon(joint: JointClass) -> TenonSizes:
    assert joint.tenon is not None  # tabs and slots come from tenon classes only
    return joint.tenon


def _body(
    motif: Motif, features: MotifFeatures, classes: Sequence[JointClass], sizes: Sizes
) -> Polygon:
    """Return the motif's body; tabbed ends are lengthened so that the shoulder cuts them all."""
    if motif.path is None or motif.width is None or not features.tabs:
        return motif.body
    extra = [0.0, 0.0]
    for tab in features.tabs:
        ends = np.linalg.norm(motif.path[[0, -1]] - tab.place, axis=1)
        last = bool(ends[1] < ends[0])
        way = end_direction(motif.path, last)
        slant = abs(float(way @ tab.along)) / max(abs(float(way @ tab.out)), 0.3)
        wide = motif.width if motif.end_width is None else motif.end_width
        extra[last] = max(extra[last], wide / 2 * slant + sizes.thickness)
    return body_of(motif.path, motif.width, motif.taper, (extra[0], extra[1]))


def _with_tab(body: Polygon, tab: Tab, tenon: TenonSizes, reach: float, name: str) -> Polygon:
    """Cut the shoulder and add the tab, or both tabs."""
    half = tenon.tab_width / 2
    reaches = (tenon.places[0] - half, tenon.places[-1] + half)
    beyond = Polygon(
        rectangle(tab.place, tab.along, tab.out, (-reach, -tenon.shoulder, reach, reach))
    )
    # Only what is connected to the tab's root goes: a strip may bend round and cross the line
    # again elsewhere, where it is none of this joint's business.
    root = Polygon(
        rectangle(
            tab.place,
            tab.along,
            tab.out,
            (reaches[0], -tenon.shoulder, reaches[1], -tenon.shoulder + 0.05),
        )
    )
    for piece in shapely.get_parts(body.intersection(beyond)):
        if piece.area > 0 and piece.intersects(root):
            body = body.difference(piece.buffer(1e-7, join_style="mitre"))
    body = max(shapely.get_parts(body), key=shapely.area)
    for x in tenon.places:
        box = (x - half, -tenon.shoulder - 0.5, x + half, tenon.tab_end)
        grown = Polygon(rectangle(tab.place, tab.along, tab.out, box))
        if not body.intersects(grown):
            raise DesignError(
                f"motifs.{name}",
                "a tab apart from its plate",
                "tabs at the ends of the path (or on the edge of the outline)",
                "Move the path's end to the joint's place.",
            )
        body = body.union(grown)
    return body


def _with_laps(
    body: Polygon, laps: Sequence[Lap], widths: Sequence[float], clearance: float, reach: float
) -> Polygon:
    """Cut an opening, of one slot or several, from its bottom to where the plate's material ends.

    laps : the deepest first
    """
    slots = []
    for lap, width in zip(laps, widths, strict=True):
        across = np.array([-lap.out[1], lap.out[0]])
        span = (lap.bottom - clearance, -width / 2, reach, width / 2)
        slots.append(Polygon(rectangle(lap.place, lap.out, across, span)))
    slot = slots[0] if len(slots) == 1 else shapely.union_all(slots)
    lap = laps[0]
    start = shapely.Point(lap.place + (lap.bottom + clearance) * lap.out)
    pieces = shapely.get_parts(body.intersection(slot))
    nearest = min(pieces, key=lambda piece: piece.distance(start))
    return body.difference(nearest.buffer(1e-7, join_style="mitre"))


def _with_key(body: Polygon, key: Key, joint: JointClass) -> Polygon:
    """Add the key of a splice to the strip's end, or cut its socket."""
    assert joint.splice is not None  # keys come from splices only
    if isinstance(joint.splice, FishPlateSizes):
        if not key.socket:
            return body
        shape = joint.splice.gap()
    else:
        shape = joint.splice.socket() if key.socket else joint.splice.key(root=0.5)
    axes = np.array([key.along, key.out])
    placed = shapely.transform(shape, lambda points: points @ axes + key.place)
    return body.difference(placed) if key.socket else body.union(placed)


def _tab_holes(tab: Tab, tenon: TenonSizes) -> list[Hole]:
    """Return what the lock needs to be cut out of each tab."""
    holes = []
    for place in tenon.places:
        for cut in tenon.lock.cuts:
            x, y, a, b = place + cut.x, cut.y, cut.width / 2, cut.length / 2
            if cut.round:
                ring = circle(tab.place + x * tab.along + y * tab.out, a)
            else:
                box = (x - a, y - b, x + a, y + b)
                ring = rectangle(tab.place, tab.along, tab.out, box)
            holes.append(Hole(cut.kind, tab.joint, ring, cut.more))
    return holes


def _narrow(ring: Floats) -> float:
    """Return the width of a hole, mm."""
    return 2 * float(shapely.maximum_inscribed_circle(Polygon(ring)).length)


def _splice_holes(key: Key, joint: JointClass) -> list[Hole]:
    """Return the holes for the pins of a fish plate in one of its two strips."""
    if not isinstance(joint.splice, FishPlateSizes):
        return []
    splice = joint.splice
    middle = key.place + splice.shift * key.along
    places = splice.pins[2:] if key.socket else splice.pins[:2]
    return [
        Hole("pin hole", key.joint, circle(middle + y * key.out, splice.hole / 2)) for y in places
    ]


def _flaps(tab: Tab, tenon: TenonSizes) -> list[Floats]:
    """Return what is bent of each tab, from the fold, a hair wider and longer than the tab."""
    fold = tenon.lock.fold
    if fold is None:
        return []
    half, end = tenon.tab_width / 2 + _HAIR, tenon.tab_end + _HAIR
    return [
        rectangle(tab.place, tab.along, tab.out, (x - half, fold, x + half, end))
        for x in tenon.places
    ]


def _pierced(outer: Polygon, holes: Sequence[Hole], name: str) -> Polygon:
    """Cut the holes out: as clean rings where they lie inside, by a difference elsewhere."""
    if not holes:
        return outer
    cut = [Polygon(hole.ring) for hole in holes]
    shapely.prepare(outer)
    apart = len(shapely.STRtree(cut).query(cut, predicate="intersects")[0]) == len(cut)
    if apart and shapely.contains_properly(outer, cut).all():
        return orient(Polygon(outer.exterior, [*outer.interiors, *(h.ring for h in holes)]))
    return orient(_whole(outer.difference(shapely.union_all(cut)), name))


def _whole(shape: shapely.Geometry, name: str) -> Polygon:
    """Return the one polygon that is left; specks under 1 mm2 are dropped."""
    pieces = [p for p in shapely.get_parts(shape) if isinstance(p, Polygon) and p.area > 1.0]
    if len(pieces) != 1:
        raise DesignError(
            f"motifs.{name}",
            f"{len(pieces)} pieces",
            "a plate that its cuts leave in one piece",
            "Narrow the slots, move the joints apart or widen the plate.",
        )
    return pieces[0]
