# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Finished outlines against outlines made by hand, areas that add up, and what falls apart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from shapely import Point, Polygon

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    MotifChoice,
    Sheet,
)
from pinwright.core.errors import DesignError
from tests.builders import small_build
from tests.stages import DESIGNS, Staged, staged, staged_by_name

Floats = npt.NDArray[np.float64]


@pytest.fixture(params=list(DESIGNS))
def stage(request: pytest.FixtureRequest) -> Staged:
    return staged_by_name(request.param)


def test_plates_are_those_made_by_hand() -> None:
    stage, by_hand = staged_by_name("by hand"), small_build()
    for plate in by_hand.plates:
        if plate.element != 0:
            continue
        motif = next(m for m in range(3) if stage.motifs[m].name == plate.motif)
        pose = stage.motifs[motif].world_from_plane
        # Both outlines in the world, seen along the plate's normal.
        wanted = _placed(by_hand.parts[plate.part].outline, plate.world_from_part, pose)
        found = stage.finished[motif].outline
        assert found.symmetric_difference(wanted).area < 1.5  # rounded holes differ a little
        assert len(found.interiors) == len(wanted.interiors)
        assert found.exterior.hausdorff_distance(wanted.exterior) < 1e-6
        for ring, other in zip(found.interiors, wanted.interiors, strict=True):
            nearest = min(wanted.interiors, key=lambda r: r.distance(ring.centroid))
            assert ring.hausdorff_distance(nearest) < 0.05
            assert other.is_valid


def _placed(outline: Polygon, world_from_part: Floats, world_from_plane: Floats) -> Polygon:
    carry = np.linalg.inv(world_from_plane) @ world_from_part
    rings = []
    for ring in (outline.exterior, *outline.interiors):
        flat = np.asarray(ring.coords)
        points = flat @ carry[:2, :2].T + carry[:2, 3]
        assert np.abs(flat @ carry[2, :2] + carry[2, 3]).max() < 1e-9
        rings.append(points)
    return Polygon(rings[0], rings[1:])


def test_outlines_are_sound_polygons_in_one_sense(stage: Staged) -> None:
    for one in stage.finished:
        assert isinstance(one.outline, Polygon)
        assert one.outline.is_valid
        assert one.outline.exterior.is_ccw
        assert not any(ring.is_ccw for ring in one.outline.interiors)
        corners = np.asarray(one.outline.exterior.coords)
        assert np.linalg.norm(np.diff(corners, axis=0), axis=1).min() > 1e-6


def test_holes_take_away_what_they_are_large(stage: Staged) -> None:
    for one in stage.finished:
        holes = sum(Polygon(hole.ring).area for hole in one.holes)
        assert one.outline.area == pytest.approx(one.outer.area - holes)


def test_each_hole_is_a_slot_or_a_pin_hole_of_its_joint(stage: Staged) -> None:
    for one, features in zip(stage.finished, stage.features, strict=True):
        assert len(one.holes) == len(features.slots) + len(features.tabs)
        for hole in one.holes:
            tenon = stage.classes[hole.joint].tenon
            assert tenon is not None
            area = Polygon(hole.ring).area
            if hole.kind == "slot":
                assert area == pytest.approx(tenon.slot_length * tenon.slot_width)
            else:
                assert hole.kind == "pin hole"
                # A regular polygon of 32 corners on the circle (its area by hand).
                radius = tenon.hole_diameter / 2
                assert area == pytest.approx(16 * radius**2 * np.sin(2 * np.pi / 32))


def test_a_tab_reaches_through_and_its_shoulder_stops_short(stage: Staged) -> None:
    for one, features in zip(stage.finished, stage.features, strict=True):
        for tab in features.tabs:
            tenon = stage.classes[tab.joint].tenon
            assert tenon is not None
            tip = tab.place + (tenon.tab_end - 0.01) * tab.out
            assert one.outer.covers(Point(tip))
            assert not one.outer.covers(Point(tip + 0.02 * tab.out))
            for side in (-1, 1):
                edge = tab.place + side * (tenon.tab_width / 2) * tab.along
                assert one.outer.covers(Point(edge - side * 0.01 * tab.along))
                assert not one.outer.covers(Point(edge + side * 0.01 * tab.along))
            pin = tab.place + tenon.pin_centre * tab.out
            assert not one.outline.covers(Point(pin))


def test_an_open_slot_runs_from_its_bottom_to_the_edge() -> None:
    stage = staged_by_name("six rings")
    for one, features in zip(stage.finished, stage.features, strict=True):
        width = stage.classes[0].lap_width
        for lap in features.laps:
            inside = lap.place + (lap.bottom - stage.sizes.clearance - 0.01) * lap.out
            assert one.outline.covers(Point(inside))
            for along in np.linspace(lap.bottom, 100.0, 9):
                assert not one.outline.covers(Point(lap.place + along * lap.out))
        depth = 36.0 / 2 + stage.sizes.clearance
        lost = len(features.laps) * width * depth
        ring = stage.motifs[0].body.area
        # The corners of a slot stand on arcs: what is cut differs a little from a rectangle.
        assert one.outline.area == pytest.approx(ring - lost, rel=2e-3)


STRIP = MotifChoice(
    "strip", (0.0, 0.0, 1.0), 0.0, (1.0, 0.0, 0.0), ((-60.0, 5.0), (50.0, 5.0)), 30.0
)
WALL = MotifChoice(
    "wall",
    (1.0, 0.0, 0.0),
    50.0,
    (0.0, 1.0, 0.0),
    outline=((-30.0, -40.0), (40.0, -40.0), (40.0, 40.0), (-30.0, 40.0)),
)
TENON = JointClassChoice("t", ("strip", "wall"), JointKind.TENON, at=5.0)


def _stage(*classes: JointClassChoice, radius: float = 0.0, **motifs: MotifChoice) -> Staged:
    known = {"strip": STRIP, "wall": WALL} | motifs
    return staged(
        Design(
            "hand",
            Sheet(3.0),
            FrameChoice(200.0, group="C1"),
            motifs=tuple(known.values()),
            joint_classes=classes,
            joints=JointSizes(tab_width=16.0, corner_radius=radius),
        )
    )


def test_the_area_of_a_strip_with_a_tab_adds_up() -> None:
    stage = _stage(TENON)
    tenon = stage.classes[0].tenon
    assert tenon is not None
    strip, wall = stage.finished
    # Body to the shoulder, tab from there to its end.
    body = 30.0 * (110.0 - tenon.shoulder)
    tab = 16.0 * (tenon.tab_end + tenon.shoulder)
    assert strip.outer.area == pytest.approx(body + tab, abs=1e-3)
    assert wall.outer.area == pytest.approx(70.0 * 80.0)
    assert wall.outline.area == pytest.approx(70.0 * 80.0 - 16.2 * 3.2)


def test_a_slanting_end_is_cut_along_the_line() -> None:
    slanted = replace(STRIP, path=((-60.0, 45.0), (50.0, 5.0)))
    stage = _stage(TENON, strip=slanted)
    tenon = stage.classes[0].tenon
    assert tenon is not None
    corners = np.asarray(stage.finished[0].outer.exterior.coords)
    shoulder = corners[np.abs(corners[:, 0] - (50.0 - tenon.shoulder)) < 1e-3]
    # Four corners lie on the shoulder: two of the body, two where the tab begins.
    assert len(shoulder) >= 4
    cosine = 110 / np.hypot(110, 40)
    assert np.ptp(shoulder[:, 1]) == pytest.approx(30.0 / cosine, abs=1e-3)


def test_a_strip_that_crosses_its_own_line_again_is_not_cut_there() -> None:
    hook = replace(
        STRIP,
        path=((-30.0, 90.0), (90.0, 90.0), (90.0, 40.0), (-20.0, 40.0), (-20.0, 5.0), (50.0, 5.0)),
        width=23.0,
    )
    outline = _stage(TENON, strip=hook).finished[0].outline
    for place in ((90.0, 65.0), (70.0, 90.0), (60.0, 40.0)):
        assert outline.covers(Point(place))


def test_corners_are_rounded_when_asked() -> None:
    sharp, rounded = (_stage(TENON, radius=radius).finished[0].outer for radius in (0.0, 2.0))
    assert rounded.area < sharp.area
    # Each convex corner loses r^2 (1 - pi / 4), a little more where chords stand for the arc: two
    # at the free end, two beside the tab, two at its tip.
    assert sharp.area - rounded.area == pytest.approx(6 * 4 * (1 - np.pi / 4), rel=0.03)


def test_slots_that_overlap_are_cut_as_one() -> None:
    second = JointClassChoice("u", ("other", "wall"), JointKind.TENON, at=12.0)
    other = replace(STRIP, name="other", path=((-60.0, 12.0), (50.0, 12.0)))
    wall = _stage(TENON, second, other=other).finished[1]
    assert len(wall.holes) == 2
    assert len(wall.outline.interiors) == 1
    assert wall.outline.area == pytest.approx(70.0 * 80.0 - (16.2 + 7.0) * 3.2)


LAP = JointClassChoice("l", ("strip", "wall"), JointKind.CROSS_LAP, at=5.0)
LONG = replace(STRIP, path=((-60.0, 5.0), (110.0, 5.0)))
PATH_ASIDE = ((-60.0, 5.0), (49.2, 5.0))


@pytest.mark.parametrize(
    ("choice", "motifs", "said"),
    [
        (
            replace(LAP, split=1.0),
            {"strip": LONG},
            r"motifs\.strip: found '2 pieces', allowed is a plate that its cuts leave in one piece",
        ),
        (
            replace(TENON, outward=-1, at=80.0),
            {},
            r"motifs\.strip: found 'a tab apart from its plate'.*Move the path's end",
        ),
    ],
)
def test_plates_that_fall_apart_are_refused(
    choice: JointClassChoice, motifs: dict[str, MotifChoice], said: str
) -> None:
    with pytest.raises(DesignError, match=said):
        _stage(choice, **motifs)


@pytest.mark.parametrize("split", [0.0, 0.001])
def test_a_lap_cut_from_one_plate_only_leaves_the_other_whole(split: float) -> None:
    stage = _stage(replace(LAP, split=split), strip=LONG)
    strip, wall = stage.finished
    clearance, width = stage.sizes.clearance, stage.classes[0].lap_width
    notch = (split * 30.0 + clearance) * width
    assert strip.outline.area == pytest.approx(170.0 * 30.0 - notch, abs=1e-3)
    # The line runs along y: 30 mm of it lie inside the strip, and the wall's slot goes from its
    # own edge at -30 to the upper end of the overlap at 20.
    assert wall.outline.area < 70.0 * 80.0 - 30.0 * width
