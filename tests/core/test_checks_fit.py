# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The fit table against plane sections drawn with shapely, and by hand at 90 degrees.

A joint's section square to its line shows all that thickness changes: the tab's sheet as a strip,
the slotted sheet as another that leans, less the slot, whose walls stand square to its own faces.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point, Polygon, affinity, box

from pinwright.core.checks.fit import FitRow, fit_rows, most_rattle
from pinwright.core.cli.main import main
from pinwright.core.design.model import Design, JointKind, JointSizes, Lock, Sheet
from pinwright.core.design.write import write_design
from pinwright.core.errors import DesignError
from pinwright.core.fit.bend import bent_lock
from pinwright.core.fit.foot import foot_lock
from pinwright.core.fit.link import link_lock
from pinwright.core.fit.section import Crossing, half_band
from pinwright.core.fit.sizes import Sizes, resolve_sizes
from pinwright.core.fit.tenon import tenon_sizes
from pinwright.core.fit.tie import tie_lock
from pinwright.core.fit.wedge import wedge_lock
from pinwright.core.results import Build, Check
from tests.built import build
from tests.ladder import ladder

FAR = 500.0


def _sizes(sheet: Sheet) -> Sizes:
    return resolve_sizes(JointSizes(tab_width=40.0, pin_play=1.5), sheet, None)


def _rows(sheet: Sheet, angle_deg: float) -> tuple[FitRow, FitRow]:
    rows = fit_rows([("joint", JointKind.TENON, angle_deg, Lock.PIN)], sheet, _sizes(sheet))
    return rows[0], rows[-1]


def _wall(angle_deg: float, thickness: float, slot: float) -> Polygon:
    """Return the two halves of the slotted sheet, which leans by the angle about the origin."""
    half = thickness / 2
    halves = box(-half, slot / 2, half, FAR).union(box(-half, -FAR, half, -slot / 2))
    return affinity.rotate(halves, 90.0 - angle_deg, origin=(0.0, 0.0))


angles = st.floats(30.0, 90.0)
thicknesses = st.floats(1.0, 10.0)


@given(angles, thicknesses, st.floats(-0.1, 0.1), st.floats(0.0, 0.1), st.floats(0.05, 0.3))
def test_room_across_is_that_of_the_section(
    angle: float, thickness: float, share: float, coating: float, clearance: float
) -> None:
    sheet = Sheet(thickness, clearance=clearance, coating=coating)
    real = thickness * (1 + share)
    sheet = replace(
        sheet,
        least_thickness=real if share < 0 else None,
        most_thickness=real if share > 0 else None,
    )
    row = _rows(sheet, angle)[0 if share > 0 else 1]
    sizes = _sizes(sheet)
    slot = tenon_sizes(sizes, angle, sizes.tab_width, "joint").slot_width - 2 * coating
    solid = row.thickness + 2 * coating
    wall = _wall(angle, solid, slot)
    sine = np.sin(np.radians(angle))
    for play, enters in ((row.across - 1e-3, True), (row.across + 1e-3, False)):
        # A strip thickened by what should be free: it just passes, or just not.
        strip = solid + play * sine
        if strip > 0.01:
            tab = box(-FAR / 2, -strip / 2, FAR / 2, strip / 2)
            assert (tab.intersection(wall).area < 1e-9) == enters


@given(angles, thicknesses, st.floats(-0.08, 0.08), st.floats(0.0, 0.05))
def test_room_behind_is_that_of_the_section(
    angle: float, thickness: float, share: float, coating: float
) -> None:
    real = thickness * (1 + share)
    sheet = Sheet(
        thickness,
        least_thickness=min(real, thickness),
        most_thickness=max(real, thickness),
        coating=coating,
    )
    row = _rows(sheet, angle)[0 if share > 0 else 1]
    sizes = _sizes(sheet)
    tenon = tenon_sizes(sizes, angle, sizes.tab_width, "joint")
    solid = row.thickness + 2 * coating
    wall = _wall(angle, solid, 0.0)
    # The coated shoulder is pushed in until it touches; y counts along the tab.
    body = box(-FAR / 2, -solid / 2, -tenon.shoulder + coating, solid / 2)
    step = _free_way(body, wall)
    pin = affinity.translate(
        box(-sizes.pin_diameter / 2, -sizes.pin_length / 2, sizes.pin_diameter / 2,
            sizes.pin_length / 2),
        tenon.pin_centre + step,
    )  # fmt: skip
    assert row.lock is not None
    for way, clear in ((-row.lock + 1e-3, True), (-row.lock - 1e-3, False)):
        moved = affinity.translate(pin, way)
        assert (moved.intersection(wall).area < 1e-9) == clear


def _free_way(body: Polygon, wall: Polygon) -> float:
    """Return how far the body can move along +x from far away before it meets the wall."""
    low, high = -50.0, 50.0
    for _ in range(60):
        middle = (low + high) / 2
        if affinity.translate(body, middle).intersection(wall).area > 1e-12:
            high = middle
        else:
            low = middle
    return low


# Each lock as a section, placed as the delivered sheet has it: the tab's plate pushed home, which
# moves all that the tab carries by `back`; then drawn back until shapely says that it touches. The
# far face lies farther away on the upper side, as in core/fit/section.py.


def _lean(angle_deg: float, thickness: float, slot: float) -> Polygon:
    half = thickness / 2
    halves = box(-half, slot / 2, half, FAR).union(box(-half, -FAR, half, -slot / 2))
    return affinity.rotate(halves, angle_deg - 90.0, origin=(0.0, 0.0))


def _drawn_back(shape: Polygon, wall: Polygon) -> float:
    """Return how far a shape can go towards the wall, mm; below 0: so far it must come away."""

    def hits(way: float) -> bool:
        return bool(affinity.translate(shape, -way).intersection(wall).area > 1e-11)

    high = -4.0
    while not hits(high) and high < 10.0:
        high += 0.2
    low = high - 0.2
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (low, middle) if hits(middle) else (middle, high)
    return low


class _Delivery:
    """A joint of `t` mm sheet, delivered `real` mm thick and coated."""

    def __init__(self, angle: float, t: float, share: float, coating: float) -> None:
        self.sheet = Sheet(
            t, least_thickness=min(t * (1 + share), t), most_thickness=max(t * (1 + share), t),
            coating=coating, clearance=0.2,
        )  # fmt: skip
        self.angle, self.t, self.k = angle, t, coating
        self.sizes = resolve_sizes(JointSizes(tab_width=60.0, pin_play=0.5), self.sheet, None)
        self.solid = t * (1 + share) + 2 * coating
        slot = tenon_sizes(self.sizes, angle, 60.0, "joint").slot_width - 2 * coating
        self.wall = _lean(angle, self.solid, slot)
        shoulder = half_band(t, t, angle) - coating  # the coated shoulder ends here before the line
        body = box(-FAR / 2, -self.solid / 2, -shoulder, self.solid / 2)
        self.back = _free_way(body, _lean(angle, self.solid, 0.0))  # below 0: farther back
        self.crossing = Crossing(t, t, angle)

    def row(self, lock: Lock) -> FitRow:
        share = self.solid - 2 * self.k
        rows = fit_rows([("j", JointKind.TENON, self.angle, lock)], self.sheet, self.sizes)
        return min(rows, key=lambda row: abs(row.thickness - share))


def _mirrored(shape: Polygon) -> Polygon:
    return affinity.scale(shape, -1.0, 1.0, origin=(0.0, 0.0))


coatings = st.sampled_from([0.0, 0.05])
deliveries = st.builds(_Delivery, angles, st.floats(1.0, 6.0), st.floats(-0.05, 0.05), coatings)
few = settings(max_examples=25)


@few
@given(deliveries)
def test_a_tie_has_the_room_of_its_section(made: _Delivery) -> None:
    (hole,) = tie_lock(made.crossing, made.sizes, 60.0).cuts
    far = hole.y + hole.length / 2 - made.k + made.back
    thick, outer = made.sizes.tie_thickness, made.solid / 2 + 0.2 + made.sizes.tie_thickness
    strap = box(far - thick, -outer, far, outer)
    assert made.row(Lock.TIE).lock == pytest.approx(_drawn_back(strap, made.wall), abs=0.002)
    assert made.row(Lock.TIE).hole == pytest.approx(hole.length - 2 * made.k - thick)


@few
@given(deliveries)
def test_a_bent_end_has_the_room_of_its_section(made: _Delivery) -> None:
    drawn = bent_lock(made.crossing, made.sizes, 60.0)
    real = bent_lock(Crossing(made.solid, made.solid, made.angle), made.sizes, 60.0)
    assert drawn.fold is not None
    assert real.fold is not None
    bent = affinity.translate(real.blocks[0].section, drawn.fold + made.back - real.fold)
    # Of the slot only the edge on the far face stops it.
    found = _drawn_back(bent, made.wall)
    room = made.row(Lock.BENT).lock
    assert room is not None
    # Where it jams, other places may jam more. Chords of its arc: 0.02.
    assert room == pytest.approx(found, abs=0.02) or max(room, found) < 0.0
    assert made.row(Lock.BENT).hole is None


@few
@given(deliveries)
def test_a_link_has_the_room_of_its_section(made: _Delivery) -> None:
    lock = link_lock(made.crossing, made.sizes, 60.0)
    (cut,) = lock.cuts
    rod, inside = made.sizes.link_diameter, made.sizes.link_width / 2
    hole = Point(0.0, 0.0).buffer(cut.width / 2 - made.k, quad_segs=256)
    # Pushed outwards, the rod's rectangle stops where its corners meet the hole's rim.
    rim = hole.exterior.intersection(LineString([(rod / 2, 0.0), (rod / 2, 100.0)]))
    top = float(rim.y)
    middle = cut.y + made.back + top + np.sqrt(inside**2 - made.solid**2 / 4)
    ring = Point(middle, 0.0).buffer(inside + rod, quad_segs=128)
    found = _drawn_back(ring, made.wall)
    assert made.row(Lock.LINK).lock == pytest.approx(found, abs=0.02)


@few
@given(deliveries)
def test_a_wedge_has_the_room_of_its_section(made: _Delivery) -> None:
    lock = wedge_lock(made.crossing, made.sizes, 60.0)
    (hole,), (block,) = lock.cuts, lock.blocks
    angle = np.radians(made.angle)
    # Coated, laid against the far face, and drawn back by a sheet: half of one still shows.
    wedge = block.section.buffer(made.k, join_style="mitre", mitre_limit=20.0)
    off = np.array([np.sin(angle), -np.cos(angle)])
    along = np.array([np.cos(angle), np.sin(angle)])
    depth = (np.asarray(wedge.exterior.coords) @ off).min() - made.solid / 2
    wedge = affinity.translate(wedge, *(-depth * off - made.t * along))
    end = hole.y + hole.length / 2 - made.k + made.back
    beyond = box(end, -made.solid / 2, end + 50.0, made.solid / 2)
    assert made.row(Lock.WEDGE).lock == pytest.approx(_drawn_back(beyond, wedge), abs=0.002)
    assert made.row(Lock.WEDGE).hole == pytest.approx(hole.width - 2 * made.k - made.solid)


@few
@given(deliveries)
def test_a_foot_has_the_room_of_its_section(made: _Delivery) -> None:
    try:
        end = foot_lock(made.crossing, made.sizes, 60.0).end + made.k + made.back
    except DesignError:
        return  # too thick for its angle
    tab = box(-50.0, -made.solid / 2, end, made.solid / 2)
    floor = affinity.rotate(box(made.solid / 2, -FAR, 200.0, FAR), made.angle - 90.0, origin=(0, 0))
    found = _drawn_back(_mirrored(tab), _mirrored(floor))
    assert made.row(Lock.FOOT).lock == pytest.approx(found, abs=0.002)


def test_each_lock_is_told_by_its_own_name() -> None:
    for lock, word in (
        (Lock.WEDGE, "wedge"),
        (Lock.TIE, "tie"),
        (Lock.LINK, "link"),
        (Lock.BENT, "bent end"),
        (Lock.TWO_PINS, "pins"),
    ):
        design = _ladder(most_thickness=3.19)
        # So much coating that every lock jams, with slots that would take the tabs all the same.
        design = replace(design, sheet=replace(design.sheet, clearance=0.5, coating=0.24))
        held = replace(design, joints=replace(design.joints, lock=lock, pin_play=0.3))
        check = _fit(build(held))
        assert not check.ok, lock
        assert any(word in line for line in check.where), check.where
        assert check.remedy


def test_hand_computed_at_right_angles() -> None:
    # 3 mm nominal, 3.1 at most, 2.8 at least, 0.02 of coating; 0.1 mm clearance on each side:
    # slot 3.2 - 0.04 less 3.14 leaves 0.02; less 2.84 leaves 0.32. Along: 0.2 - 4 x 0.02.
    sheet = Sheet(3.0, least_thickness=2.8, most_thickness=3.1, coating=0.02)
    thick, thin = _rows(sheet, 90.0)
    assert (thick.across, thin.across) == pytest.approx((0.02, 0.32))
    assert thick.along == pytest.approx(0.12)
    assert thick.hole == pytest.approx(0.2 - 0.04)
    # The shoulder stops 0.07 + 0.02 earlier, the far face lies 0.07 farther out.
    assert thick.lock == pytest.approx(1.5 - 0.16)


def _fit(result: Build) -> Check:
    (found,) = (check for check in result.checks if check.name == "fit")
    return found


def _ladder(**sheet: float) -> Design:
    design = ladder()
    return replace(design, sheet=replace(design.sheet, **sheet))


@pytest.mark.parametrize(
    ("sheet", "ok"),
    [
        ({}, True),
        ({"most_thickness": 3.19}, True),
        ({"most_thickness": 3.21}, False),
        ({"coating": 0.049}, True),
        ({"coating": 0.051}, False),  # the slot's ends: 0.2 - 4 x 0.051 < 0
        ({"least_thickness": 1.71}, True),  # moves 1.49 of 1.5 allowed
        ({"least_thickness": 1.69}, False),
    ],
)
def test_designs_that_just_pass_and_just_fail(sheet: dict[str, float], ok: bool) -> None:
    check = _fit(build(_ladder(**sheet)))
    assert check.ok == ok
    assert bool(check.where) != ok
    if not ok:
        assert "rung 1" in check.where[0]


def test_a_stated_rattle_is_kept() -> None:
    design = _ladder(least_thickness=2.7)
    loose = replace(design, joints=replace(design.joints, rattle=0.4))
    assert _fit(build(design)).ok
    check = _fit(build(loose))
    assert not check.ok
    assert "moves 0.50 mm" in check.where[0]
    assert most_rattle(_sizes(Sheet(3.0)), None) == 1.5
    assert most_rattle(_sizes(Sheet(0.5, clearance=0.2)), None) == 0.8


def test_the_check_command_shows_the_table(
    tmp_path: object, capsys: pytest.CaptureFixture[str]
) -> None:
    path = f"{tmp_path}/ladder.toml"
    write_design(_ladder(most_thickness=3.1, least_thickness=2.9), path)
    assert main(["check", path]) == 0
    out = capsys.readouterr().out
    assert "Fit" in out
    assert "3.1 mm" in out
    assert "2.9 mm" in out
