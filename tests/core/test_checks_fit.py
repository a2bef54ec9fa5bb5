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
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, affinity, box

from pinwright.core.checks.fit import FitRow, fit_rows, most_rattle
from pinwright.core.cli.main import main
from pinwright.core.design.model import Design, JointKind, JointSizes, Sheet
from pinwright.core.design.write import write_design
from pinwright.core.fit.sizes import Sizes, resolve_sizes
from pinwright.core.fit.tenon import tenon_sizes
from pinwright.core.pipeline import build
from pinwright.core.results import Build, Check
from tests.ladder import ladder

FAR = 500.0


def _sizes(sheet: Sheet) -> Sizes:
    return resolve_sizes(JointSizes(tab_width=40.0, pin_play=1.5), sheet, None)


def _rows(sheet: Sheet, angle_deg: float) -> tuple[FitRow, FitRow]:
    rows = fit_rows([("joint", JointKind.TENON, angle_deg)], sheet, _sizes(sheet))
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
