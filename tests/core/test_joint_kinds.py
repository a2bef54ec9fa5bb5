# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every kind of lock at five angles and three pairs of sheets, tried by manifold3d's booleans.

Nothing touches at rest, a slot 2 % too narrow bites, and the play is the one that is stated.
"""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import pytest
from shapely import Polygon, box

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    Lock,
    Sheet,
)
from pinwright.core.design.rules import check_rules
from pinwright.core.errors import DesignError
from pinwright.core.export.build_json import build_to_dict
from pinwright.core.export.drawing import part_drawing
from pinwright.core.export.files import build_files
from pinwright.core.fit.bend import flat_length
from pinwright.core.fit.sizes import resolve_sizes
from pinwright.core.fit.tenon import TenonChoice, tenon_sizes
from tests.built import build
from tests.crossings import Crossing, assert_sound
from tests.joint_kinds import ANGLES, PAIRS, WIDTH, Trial, free_way, shared, tenon_trial
from tests.judges import as_manifold

TOUCH = 1e-5  # mm3: rounding where faces touch exactly
KINDS = [
    (Lock.TIE, 1),
    (Lock.LINK, 1),
    (Lock.BENT, 1),
    (Lock.BENT, 2),
    (Lock.PIN, 1),
    (Lock.TWO_PINS, 1),
    (Lock.PIN, 2),
    (Lock.WEDGE, 1),
]

everywhere = pytest.mark.parametrize("pair", PAIRS, ids=str)
every_angle = pytest.mark.parametrize("angle", ANGLES)
every_kind = pytest.mark.parametrize(("lock", "tabs"), KINDS, ids=lambda value: str(value))


@every_kind
@every_angle
@everywhere
def test_nothing_touches_and_a_narrow_slot_bites(
    lock: Lock, tabs: int, angle: float, pair: tuple[float, float]
) -> None:
    exact = tenon_trial(angle, pair, lock, tabs, clearance=0.0)
    strip, board = exact.plates
    assert shared(strip, board) < TOUCH
    _held_apart(exact, tabs)
    narrow = tenon_trial(angle, pair, lock, tabs, clearance=0.0, narrow=0.98)
    hit = shared(narrow.flat, narrow.plates[1])
    # Wedges of the sheet's two faces, V = 2 . (d/2)^2 |tan| . width / 2 for each tab (design note,
    # section square to the line); at 90 deg d . s . width.
    lack = exact.tenon.slot_width * 0.02
    tan = np.tan(np.radians(angle))
    wide = exact.tenon.tab_width * tabs
    wanted = lack * pair[1] if angle == 90.0 else lack**2 / 4 * tan
    # A wedge's hole begins in the slot and can take a part of the tab away where it bites.
    assert hit == pytest.approx(wanted * wide, rel=0.1 if lock is Lock.WEDGE else 1e-3)


def _held_apart(trial: Trial, tabs: int) -> None:
    """Whatever holds the tabs touches neither plate nor its fellows."""
    assert len(trial.held) >= tabs
    for kind, solid in trial.held:
        assert solid.volume() > 0
        for plate in trial.plates:
            assert shared(solid, plate) < TOUCH, kind


@every_kind
@every_angle
@everywhere
def test_the_play_is_the_one_that_is_stated(
    lock: Lock, tabs: int, angle: float, pair: tuple[float, float]
) -> None:
    trial = tenon_trial(angle, pair, lock, tabs, clearance=0.1)
    strip, board = trial.plates
    _held_apart(trial, tabs)
    if lock is Lock.BENT:  # one piece with the strip
        strip += manifold3d.Manifold.batch_boolean(
            [solid for _, solid in trial.held], manifold3d.OpType.Add
        )
    for way in (trial.joint.line, trial.across):
        for sign in (1.0, -1.0):
            if lock is not Lock.BENT:  # its arc hugs the slot's edge: less play, never more
                assert shared(strip, board, sign * 0.095 * way) < TOUCH
            assert shared(strip, board, sign * 0.12 * way) > TOUCH
    # The shoulder stops it where it is; what holds it, drawn back by the stated play.
    back = -trial.joint.insertion
    assert shared(strip, board, -0.02 * back) > TOUCH
    stated = trial.tenon.lock.play
    for kind, solid in trial.held[:: max(1, len(trial.held) // tabs)][:1]:
        bent = lock is Lock.BENT  # one piece with the strip
        loose = 0.0 if bent else free_way(strip, solid, back, stated + 1.0)
        loose += free_way(solid, board, back, stated + 1.0)
        # A link's hole is a polygon of 32 corners: its play is the circle's, less the sagitta.
        assert loose == pytest.approx(stated, abs=0.08 if lock is Lock.LINK else 0.03), kind


def _design(
    angle: float, lock: Lock, tabs: int, sheet: Sheet, chosen: JointSizes | None = None
) -> Design:
    """Return the design of one strip whose tab, or tabs, go through a board."""
    crossing = Crossing.of(angle, 3)
    board = [(-90.0, -60.0), (90.0, -60.0), (90.0, 60.0), (-90.0, 60.0)]
    return Design(
        name="kinds",
        sheet=sheet,
        frame=FrameChoice(400.0, group="C1"),
        motifs=(
            crossing.motif(0, "strip", [(-200.0, 0.0), (0.0, 0.0)], width=70.0),
            crossing.motif(1, "board", board),
        ),
        joint_classes=(
            JointClassChoice("one", ("strip", "board"), JointKind.TENON, lock=lock, tabs=tabs),
        ),
        joints=chosen or JointSizes(),
    )


@every_kind
@pytest.mark.parametrize("angle", [30.0, 60.0, 90.0])
def test_a_whole_build_is_judged_sound(lock: Lock, tabs: int, angle: float) -> None:
    built = build(_design(angle, lock, tabs, Sheet(2.0)))
    (joint,) = built.joints
    assert joint.lock is lock
    assert len(joint.tabs) == tabs
    assert len(joint.pins) == {Lock.PIN: 1, Lock.TWO_PINS: 2}.get(lock, 0) * tabs
    assert built.totals.pins == len(joint.pins)
    assert_sound(built)


def test_two_tabs_part_the_shoulder_into_three() -> None:
    trial = tenon_trial(90.0, (3.0, 3.0), Lock.PIN, tabs=2)
    low, high = trial.tenon.places
    tab = trial.tenon.tab_width
    assert low == -high
    assert high - low - tab == pytest.approx(WIDTH / 2 - high - tab / 2)


@pytest.mark.parametrize(
    ("width", "spacing", "said"),
    [
        (70.0, 15.0, r"tab_spacing: found 15\.0, allowed is at least 21\.2 and at most 52 mm"),
        (70.0, 60.0, r"tab_spacing: found 60\.0"),
        (24.0, None, "two tabs"),
    ],
)
def test_two_tabs_that_do_not_fit_are_refused(
    width: float, spacing: float | None, said: str
) -> None:
    sizes = resolve_sizes(JointSizes(), Sheet(3.0), None)
    with pytest.raises(DesignError, match=said):
        tenon_sizes(sizes, 90.0, 18.0, "one", TenonChoice(tabs=2, spacing=spacing, room=width))


def test_two_pins_part_the_tab_into_three_equal_webs() -> None:
    sizes = resolve_sizes(JointSizes(tab_width=30.0), Sheet(3.0), None)
    tenon = tenon_sizes(sizes, 90.0, 30.0, "one", TenonChoice(lock=Lock.TWO_PINS))
    (left, y), (right, other) = tenon.lock.pins
    assert y == other == tenon.pin_centre
    hole = sizes.hole_diameter
    assert right - left - hole == pytest.approx(15.0 - right - hole / 2)


def test_a_tab_too_narrow_for_two_pins_is_widened_or_refused() -> None:
    # By hand: holes 2.2 (pin 2 and play 0.2), three webs of 2.
    free = resolve_sizes(JointSizes(), Sheet(1.0), None)
    assert tenon_sizes(
        free, 90.0, free.tab_width, "one", TenonChoice(lock=Lock.TWO_PINS)
    ).tab_width == pytest.approx(10.4)
    chosen = resolve_sizes(JointSizes(tab_width=9.0), Sheet(1.0), None)
    with pytest.raises(DesignError, match=r"joints\.tab_width: found 9\.0.*at least 10\.4 mm"):
        tenon_sizes(chosen, 90.0, 9.0, "one", TenonChoice(lock=Lock.TWO_PINS))


@pytest.mark.parametrize("name", ["lock", "tabs", "tab_spacing"])
def test_a_cross_lap_has_no_tab(name: str) -> None:
    more = {"lock": Lock.PIN, "tabs": 2, "tab_spacing": 20.0}[name]
    base = _design(90.0, Lock.PIN, 1, Sheet(3.0))
    entry = JointClassChoice("one", ("strip", "board"), JointKind.CROSS_LAP)
    with pytest.raises(DesignError, match=rf"{name}: found .*only of a tenon"):
        check_rules(replace(base, joint_classes=(replace(entry, **{name: more}),)))


@pytest.mark.parametrize("angle", ANGLES)
def test_a_wedge_lies_along_the_far_face_and_rises_one_in_eight(angle: float) -> None:
    trial = tenon_trial(angle, (3.0, 4.0), Lock.WEDGE)
    (block,) = trial.tenon.lock.blocks
    corners = np.asarray(block.section.exterior.coords)[:4]
    # Section square to the line: the far face runs along (cos, sin), its normal is (sin, -cos).
    a = np.radians(angle)
    along = corners @ (np.cos(a), np.sin(a))
    off = corners @ (np.sin(a), -np.cos(a)) - 2.0
    assert off[:2] == pytest.approx(0.05 * np.sin(a))
    assert off[3] - off[2] == pytest.approx((along[2] - along[3]) / 8)
    # It reaches past both edges of the slot, so that it bears on the board.
    edge = trial.tenon.slot_width / 2
    assert along.min() < -edge - 1.0
    assert along.max() > edge + 1.0


def test_wedges_are_parts_that_are_cut() -> None:
    built = build(_design(60.0, Lock.WEDGE, 2, Sheet(2.0)))
    assert [part.quantity for part in built.parts] == [1, 1, 2]
    assert [part.mark for part in built.parts] == ["A", "B", "C"]
    (joint,) = built.joints
    assert joint.pin is None
    assert [one.part for one in joint.fasteners] == [2, 2]
    for one in joint.fasteners:
        assert one.outline.area == pytest.approx(built.parts[2].outline.area)
    files = build_files(built)
    assert {"cut/A.dxf", "cut/B.dxf", "cut/C.dxf", "cut/C.svg"} <= set(files)
    assert b"wedge" in files["joints.csv"]
    assert b"2 x wedge, cut as part C" in files["README.txt"]


@pytest.mark.parametrize("angle", ANGLES)
def test_a_bent_end_lies_on_the_far_face(angle: float) -> None:
    t = radius = 2.0
    trial = tenon_trial(angle, (t, 3.0), Lock.BENT)
    (block,) = trial.tenon.lock.blocks
    assert trial.tenon.lock.fold == pytest.approx(block.section.bounds[0])
    # Part of a ring and rectangle by hand; the polygon's chords touch the circles from outside.
    a = np.radians(angle)
    straight = 4.0
    area = a / 2 * ((radius + t) ** 2 - radius**2) + t * straight
    assert block.section.area == pytest.approx(area, rel=0.005)
    # Flat: the straight length and the bend at its neutral line; k = 0.65 for R = t.
    flat = trial.tenon.tab_end - trial.tenon.lock.fold
    assert flat == pytest.approx(a * (radius + 0.65 * t / 2) + straight)
    # Its straight part runs along the far face, (cos, sin), whose normal is (sin, -cos).
    corners = np.asarray(block.section.exterior.coords)[:-1]
    off = corners @ (np.sin(a), -np.cos(a)) - 1.5
    assert off.max() == pytest.approx(np.sort(off)[-2])
    assert off[corners[:, 1] > t].min() >= -1e-9
    # ... and past the slot's edge.
    assert (corners @ (np.cos(a), np.sin(a))).max() > trial.tenon.slot_width / 2 + t


def test_a_bent_end_is_drawn_flat_with_its_fold() -> None:
    built = build(_design(60.0, Lock.BENT, 1, Sheet(2.0)))
    strip = built.parts[built.plates[0].part]
    (flap,) = strip.flaps
    (joint,) = built.joints
    assert Polygon(flap).intersection(strip.outline).area == pytest.approx(
        (joint.fasteners[0].thickness) * (np.linalg.norm(flap[2] - flap[1]) - 0.01), rel=1e-6
    )
    drawn = part_drawing(strip, built.design.sheet, engrave=False)
    assert len(drawn.strokes) == 1
    assert drawn.strokes[0].mean(axis=0) == pytest.approx(flap[:2].mean(axis=0))


def test_flat_length_of_a_bend() -> None:
    # DIN 6935, from memory: k = 0.65 at R = t, 1 from R = 5 t on.
    assert flat_length(2.0, 2.0, 90.0) == pytest.approx(np.pi / 2 * 2.65)
    assert flat_length(1.0, 8.0, 60.0) == pytest.approx(np.pi / 3 * 8.5)


@pytest.mark.parametrize("material", ["plywood", "acrylic-cast", "mdf"])
def test_sheets_that_break_are_not_bent(material: str) -> None:
    with pytest.raises(DesignError, match=r"lock: found 'bent end'.*breaks when it is bent"):
        check_rules(_design(90.0, Lock.BENT, 1, Sheet(3.0, material)))
    check_rules(_design(90.0, Lock.BENT, 1, Sheet(3.0, "greyboard")))


@pytest.mark.parametrize("angle", ANGLES)
def test_a_tie_goes_through_the_tab_and_round_its_end(angle: float) -> None:
    trial = tenon_trial(angle, (3.0, 4.0), Lock.TIE)
    loop, head = trial.tenon.lock.blocks
    (hole,) = loop.section.interiors
    y0, z0, y1, z1 = Polygon(hole).bounds
    # The tab, from the hole on, lies inside the loop with the clearance on its three free sides.
    assert (z0, z1) == pytest.approx((-1.6, 1.6))
    assert y1 == pytest.approx(trial.tenon.tab_end + 0.1)
    (cut,) = trial.tenon.lock.cuts
    assert cut.y - cut.length / 2 < loop.section.bounds[0]
    assert cut.y + cut.length / 2 > y0
    assert trial.tenon.tab_end - cut.y - cut.length / 2 == pytest.approx(trial.sizes.web)
    assert head.section.bounds[0] == pytest.approx(loop.section.bounds[2])
    # Whatever stands at the strap's height has the far face behind it.
    a = np.radians(angle)
    assert loop.section.bounds[0] > (2.0 + loop.section.bounds[3] * np.cos(a)) / np.sin(a)


@pytest.mark.parametrize("angle", ANGLES)
def test_a_hang_point_has_the_webs_of_a_lug(angle: float) -> None:
    trial = tenon_trial(angle, (3.0, 3.0), Lock.LINK)
    (cut,) = trial.tenon.lock.cuts
    hole = cut.width
    # EN 1993-1-8 table 3.9 type B, secondary copy and memory: 1.6 d0 from the middle to the end,
    # 0.75 d0 beside.
    assert trial.tenon.tab_end - cut.y >= 1.6 * hole - 1e-9
    assert (trial.tenon.tab_width - hole) / 2 >= 0.75 * hole - 1e-9
    assert hole > trial.sizes.link_diameter * np.sqrt(2)
    (block,) = trial.tenon.lock.blocks
    ring = Polygon(block.section.interiors[0])
    # The next link's rod has room beyond the tab.
    assert ring.bounds[2] - trial.tenon.tab_end > trial.sizes.link_diameter
    built = build(_design(angle, Lock.LINK, 1, Sheet(3.0)))
    record = build_to_dict(built)["joints"][0]
    assert record["hang_point"]
    assert record["pin"] is None
    assert record["fasteners"][0]["kind"] == "chain link"


@pytest.mark.parametrize(
    ("chosen", "said"),
    [
        (JointSizes(link_width=3.0), r"joints\.link_width: found 3\.0.*at least 3\.2 mm"),
        (JointSizes(link_length=12.0), r"joints\.link_length: found 12\.0.*the next link's rod"),
        (JointSizes(tab_width=14.0), r"joints\.tab_width: found 14\.0.*link hole, with webs"),
    ],
)
def test_links_that_do_not_go_in_are_refused(chosen: JointSizes, said: str) -> None:
    with pytest.raises(DesignError, match=said):
        build(_design(90.0, Lock.LINK, 1, Sheet(3.0), chosen))


@pytest.mark.parametrize("pair", PAIRS, ids=str)
@pytest.mark.parametrize("angle", ANGLES)
def test_a_foot_ends_flush_in_its_base_plate(angle: float, pair: tuple[float, float]) -> None:
    t, s = pair
    if t * np.cos(np.radians(angle)) > s:  # by hand: it would come out before it reaches the middle
        with pytest.raises(DesignError, match=r"lock: found 'foot'.*thicker base plate"):
            tenon_trial(angle, pair, Lock.FOOT)
        return
    exact = tenon_trial(angle, pair, Lock.FOOT, clearance=0.0)
    strip, board = exact.plates
    assert not exact.held
    assert shared(strip, board) < TOUCH
    assert shared(*tenon_trial(angle, pair, Lock.FOOT, clearance=0.0, narrow=0.98).plates) > TOUCH
    # Beyond the far face there is nothing: a plate that lies there is not touched, but just not.
    far = exact.motifs[1].normal
    far = far * np.sign(far @ exact.joint.insertion)
    floor = as_manifold(box(-500, -500, 500, 500), 10.0)
    floor = floor.transform(exact.motifs[1].world_from_plane[:3])
    assert shared(floor, strip, (s / 2 + 5.0) * far) < TOUCH
    assert shared(floor, strip, (s / 2 + 4.99) * far) > TOUCH
    trial = tenon_trial(angle, pair, Lock.FOOT, clearance=0.1)
    strip, board = trial.plates
    for way in (trial.joint.line, trial.across):
        for sign in (1.0, -1.0):
            assert shared(strip, board, sign * 0.095 * way) < TOUCH
    ways = [trial.joint.line, trial.across] if angle == 90.0 else [trial.joint.line]
    for way in ways:
        for sign in (1.0, -1.0):
            assert shared(strip, board, sign * 0.12 * way) > TOUCH
    # Drawn back by its play it is out, and not before.
    play = trial.tenon.lock.play
    ends = strip.trim_by_plane(trial.joint.insertion.tolist(), -1e4)
    back = ends.translate((-(play + 0.01) * trial.joint.insertion).tolist())
    assert shared(back, board, 0.12 * trial.joint.line) < TOUCH


@pytest.mark.parametrize("angle", [30.0, 60.0, 90.0])
def test_a_foot_is_judged_sound(angle: float) -> None:
    built = build(_design(angle, Lock.FOOT, 2, Sheet(3.0)))
    (joint,) = built.joints
    assert joint.pin is None
    assert joint.fasteners == ()
    assert_sound(built)
