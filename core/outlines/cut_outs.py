# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Lightening holes: a row of round or slotted cut-outs along the middle of a strip.

A cut-out of half-width r may stand where its middle line keeps r + web from every edge, slot and
hole of the finished strip, and r from the room of the joints: the tab's shoulder, the face that a
shoulder or a pin bears on, the band of a plate that crosses. Each free run of the path takes as
many as its length holds, evenly spaced, so that a strip that looks alike from both ends keeps
doing so. The longest run keeps a piece in its middle whole, where there is room, for the mark.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
import shapely.ops
from shapely import LineString, Polygon

from ..design.model import CutOut
from ..errors import DesignError
from ..fit.sizes import Sizes
from ..joints.classes import JointClass
from ..joints.features import MotifFeatures
from ..plates.motif import Motif

__all__ = ["CutSizes", "cut_out_rings", "cut_sizes", "refuse_without_cut_outs"]

Floats = npt.NDArray[np.float64]

_STEP = 0.25  # mm, along the path
_CORNERS = 32  # of a round hole, at least
_CHORD = 0.05  # mm, between a round hole and its chords
_HAIR = 1e-3  # mm; a web between cut-outs is kept by more than rounding
_EQUAL = 1e-6  # mm; rounding
#: A bent strip is drawn by chords, which stand off its curve on both sides, mm.
_BENT = 0.2
#: Room that stays whole for the part's mark, mm along the path, where a run is this many times as
#: long.
_MARK, _MARKED_RUN = 12.0, 4.0


@dataclass(frozen=True, slots=True)
class CutSizes:
    """Cut-outs of one strip, mm: width across, length along the path (round: the same), web."""

    size: float
    length: float
    web: float


def cut_sizes(motif: Motif, sizes: Sizes) -> CutSizes | None:
    """Return the sizes of a strip's cut-outs; None: it has none.

    Raises
    ------
    DesignError : the web is less than the design's, or the strip too narrow for cut-outs and webs.
    """
    style, width = motif.style, motif.least_width
    if style.cut_out is CutOut.NONE or width is None:
        return None
    field = f"motifs.{motif.name}"
    web = max(width / 4, sizes.web) if style.cut_web is None else style.cut_web
    if web < sizes.web - 1e-9:
        raise DesignError(
            f"{field}.cut_web",
            web,
            f"at least {sizes.web:g} mm, the web of the design's joints",
            "Widen it, or set a smaller joints.web.",
        )
    most = width - 2 * web
    size = most - _BENT if style.cut_size is None else style.cut_size
    least = max(sizes.thickness, sizes.tool, 2.0)
    if size > most + 1e-9 or size < least:
        raise DesignError(
            f"{field}.cut_size",
            round(size, 3),
            f"from {least:g} to {most:g} mm: the strip is {width:g} mm wide less two webs of "
            f"{web:g} mm",
            "Widen the strip, or take a smaller cut_web.",
        )
    if style.cut_out is CutOut.ROUND:
        return CutSizes(size, size, web)
    length = 3 * size if style.cut_length is None else style.cut_length
    if length < size:
        raise DesignError(
            f"{field}.cut_length", length, f"at least the cut-outs' width, {size:g} mm", ""
        )
    return CutSizes(size, length, web)


def cut_out_rings(
    motif: Motif,
    outline: Polygon,
    features: MotifFeatures,
    classes: Sequence[JointClass],
    sizes: Sizes,
) -> list[Floats]:
    """Return the rings (n, 2) of a strip's cut-outs, clockwise, mm; none where none fits.

    outline : finished but for them
    """
    cut = cut_sizes(motif, sizes)
    if cut is None or motif.path is None:
        return []
    line = LineString(motif.path)
    count = max(int(np.ceil(line.length / _STEP)), 8)
    places = np.linspace(0.0, line.length, count + 1)
    centres = shapely.line_interpolate_point(line, places)
    half = cut.size / 2
    free = shapely.distance(centres, outline.boundary) >= half + cut.web - _EQUAL
    free &= shapely.contains_xy(outline, shapely.get_x(centres), shapely.get_y(centres))
    for room in _kept(features, classes, sizes):
        free &= shapely.distance(centres, room) >= half
    runs = _apart(_runs(free, places), cut)
    rings: list[Floats] = []
    marked = _marked(runs, cut)
    for run, mark in zip(runs, marked, strict=True):
        for start, end in _halves(run, mark, cut):
            rings += _row(line, start, end, cut)
    return _clear(rings, cut)


def refuse_without_cut_outs(
    motifs: Sequence[Motif], counts: Sequence[int], sizes: Sizes, all_of_them: bool
) -> None:
    """Refuse a design that asks for cut-outs and has no room for any.

    counts : cut-outs of each motif; all_of_them : every motif that asks for them must have some
    """
    asked = [m for m, motif in enumerate(motifs) if cut_sizes(motif, sizes) is not None]
    empty = [m for m in asked if not counts[m]]
    if empty and (all_of_them or len(empty) == len(asked)):
        motif = motifs[empty[0]]
        cut = cut_sizes(motif, sizes)
        assert cut is not None
        raise DesignError(
            f"motifs.{motif.name}.cut_out",
            motif.style.cut_out.value,
            f"a strip with a free run between its joints for a cut-out of {cut.size:g} x "
            f"{cut.length:g} mm and its webs of {cut.web:g} mm",
            "Make the cut-outs or their web smaller, or take cut_out = 'none'.",
        )


def _kept(
    features: MotifFeatures, classes: Sequence[JointClass], sizes: Sizes
) -> list[shapely.Geometry]:
    """Return the room of the joints, webs included."""
    web = sizes.web
    rooms = []
    for tab in features.tabs:
        tenon = classes[tab.joint].tenon
        assert tenon is not None
        for x in tenon.places:
            reach = tenon.tab_width / 2 + abs(x)
            ends = [tab.place - reach * tab.along, tab.place + reach * tab.along]
            rooms.append(LineString(ends).buffer(tenon.shoulder + web))
    for slot in features.slots:
        tenon = classes[slot.joint].tenon
        assert tenon is not None
        reach = tenon.slot_length / 2 + max(abs(x) for x in tenon.places)
        ends = [slot.place - reach * slot.along, slot.place + reach * slot.along]
        bearing = max(tenon.slot_width / 2, tenon.lock.reach)
        rooms.append(LineString(ends).buffer(bearing + web))
    for lap in features.laps:
        joint = classes[lap.joint]
        low, _, high = joint.lap or (0.0, 0.0, 0.0)
        ends = [lap.place + side * (high - low) / 2 * lap.out for side in (-1, 1)]
        rooms.append(LineString(ends).buffer(joint.lap_width / 2 + web))
    for key in features.keys:
        splice = classes[key.joint].splice
        assert splice is not None
        rooms.append(shapely.Point(key.place).buffer(splice.room + web))
    return rooms


def _runs(free: npt.NDArray[np.bool_], places: Floats) -> list[tuple[float, float]]:
    """Return the intervals along the path on which cut-outs may have their middles."""
    edges = np.diff(np.concatenate([[0], free.astype(np.int8), [0]]))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return [(float(places[i]), float(places[j])) for i, j in zip(starts, ends, strict=True)]


def _apart(runs: Sequence[tuple[float, float]], cut: CutSizes) -> list[tuple[float, float]]:
    """Shorten neighboring runs alike, so that the last cut-out of one keeps off the next's."""
    starts, ends = [run[0] for run in runs], [run[1] for run in runs]
    for k in range(len(runs) - 1):
        lacks = cut.size + cut.web + _HAIR - (starts[k + 1] - ends[k])
        if lacks > 0:
            ends[k] -= lacks / 2
            starts[k + 1] += lacks / 2
    return [(low, high) for low, high in zip(starts, ends, strict=True) if high >= low]


def _marked(runs: Sequence[tuple[float, float]], cut: CutSizes) -> list[bool]:
    """Tell which runs keep room for the mark: the longest, and those as long (a mirror's)."""
    lengths = np.array([end - start for start, end in runs])
    if not len(lengths):
        return []
    longest = lengths.max()
    enough = longest >= _MARKED_RUN * (_MARK + cut.length)
    marked: list[bool] = ((lengths > longest - 4 * _STEP) & enough).tolist()
    return marked


def _halves(run: tuple[float, float], mark: bool, cut: CutSizes) -> list[tuple[float, float]]:
    """Part a run in its middle, where the mark comes."""
    start, end = run
    if not mark:
        return [run]
    middle, off = (start + end) / 2, (_MARK + cut.size) / 2
    return [(start, middle - off), (middle + off, end)]


def _row(line: LineString, start: float, end: float, cut: CutSizes) -> list[Floats]:
    """Return evenly spaced cut-outs whose middle lines lie between two places on the path."""
    along = cut.length - cut.size  # of the straight part
    room = end - start - along
    if room < 0:
        return []
    pitch = cut.length + cut.web + _HAIR
    for count in range(int(room / pitch) + 1, 0, -1):
        firsts = start + room / 2 + np.zeros(1)
        if count > 1:
            firsts = np.linspace(start, start + room, count)
        rings = [_ring(line, float(s), along, cut.size / 2) for s in firsts]
        # Where the path bends, neighbours lie nearer than their places along it say.
        shapes = shapely.polygons(rings) if along == 0 else np.array([Polygon(r) for r in rings])
        if count == 1 or shapely.distance(shapes[:-1], shapes[1:]).min() >= cut.web:
            return rings
    return []


def _clear(rings: list[Floats], cut: CutSizes) -> list[Floats]:
    """Leave out cut-outs too near to an earlier one: of two runs round a tight bend."""
    kept: list[Floats] = []
    shapes: list[Polygon] = []
    for ring in rings:
        shape = Polygon(ring)
        if not shapes or shapely.distance(np.array(shapes), shape).min() >= cut.web - _HAIR:
            kept.append(ring)
            shapes.append(shape)
    return kept


def _ring(line: LineString, start: float, along: float, half: float) -> Floats:
    """Return one cut-out, clockwise; a round one has corners turned with the path."""
    if along > 0:
        middle = shapely.ops.substring(line, start, start + along)
        steps = max(8, int(np.ceil(np.pi / 4 / np.arccos(max(1 - _CHORD / half, 0.0)))))
        shape = middle.buffer(half, quad_segs=steps, join_style="round")
        ring = np.asarray(shape.exterior.coords)[:-1]
        return ring if not shape.exterior.is_ccw else ring[::-1]
    centre = np.asarray(line.interpolate(start).coords[0])
    before, after = (line.interpolate(max(start + d, 0.0)).coords[0] for d in (-0.01, 0.01))
    way = np.arctan2(after[1] - before[1], after[0] - before[0])
    corners = max(_CORNERS, 4 * int(np.ceil(np.pi / 4 / np.arccos(1 - _CHORD / half))))
    angles = way - 2 * np.pi * np.arange(corners) / corners
    ring = centre + half * np.column_stack([np.cos(angles), np.sin(angles)])
    found: Floats = ring
    return found
