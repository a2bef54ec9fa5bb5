# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The test coupon read back from its DXF by ezdxf: widths, webs, marks, and the tab that fits."""

from __future__ import annotations

import io
import json
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Polygon
from shapely.geometry import Point

from pinwright.core.cli.main import main
from pinwright.core.design.model import JointSizes, Lock, Sheet
from pinwright.core.design.write import write_design
from pinwright.core.export.coupon import coupon_files, coupon_of
from pinwright.core.fit.sizes import Sizes, resolve_sizes
from tests.ladder import ladder


def _read(data: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(data.decode("utf-8")))


def _rings(document: Drawing, layer: str) -> list[Polygon]:
    return [
        Polygon([point[:2] for point in line.get_points("xy")])
        for line in document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    ]


def _sizes(sheet: Sheet, **chosen: object) -> Sizes:
    return resolve_sizes(JointSizes(**chosen), sheet, None)  # type: ignore[arg-type]


def _judge(sheet: Sheet, sizes: Sizes, kerf: float = 0.0) -> None:
    """Measure the files' own lines, `kerf` of which the beam burns away."""
    files = coupon_files(sheet, sizes, kerf > 0.0)
    comb = _read(files["coupon-comb.dxf"])
    assert comb.units == ezdxf.units.MM
    (plate,) = _rings(comb, "CUT_OUTER")
    slots = sorted(_rings(comb, "CUT_INNER"), key=lambda slot: slot.centroid.x)
    clearances = coupon_of(sizes).clearances
    assert len(slots) == len(clearances)
    assert any(abs(c - sheet.clearance) <= 0.05 + 1e-9 for c in clearances)
    for slot, clearance in zip(slots, clearances, strict=True):
        x0, y0, x1, y1 = slot.bounds
        # At 90 degrees a slot is as wide as the sheet and a clearance on each side.
        assert x1 - x0 + kerf == pytest.approx(sheet.thickness + 2 * clearance, abs=1e-6)
        assert y1 - y0 + kerf == pytest.approx(sizes.tab_width + 2 * clearance, abs=1e-6)
        assert slot.area == pytest.approx((x1 - x0) * (y1 - y0))
        assert plate.contains(slot)
        assert slot.distance(plate.exterior) - kerf >= sizes.web - 1e-6
    for one, two in pairwise(slots):
        assert one.distance(two) - kerf >= sizes.web - 1e-6
    marks = MultiLineString(
        [
            LineString([point[:2] for point in line.get_points("xy")])
            for line in comb.modelspace().query('LWPOLYLINE[layer=="MARK"]')
        ]
    )
    assert plate.contains(marks)
    for edge in (plate.exterior, *(slot.exterior for slot in slots)):
        assert marks.distance(edge) > 0.9
    _judge_tab(_read(files["coupon-tab.dxf"]), sheet, sizes, kerf)


def _judge_tab(document: Drawing, sheet: Sheet, sizes: Sizes, kerf: float) -> None:
    (piece,) = _rings(document, "CUT_OUTER")
    (hole,) = document.modelspace().query("CIRCLE")
    assert 2 * hole.dxf.radius + kerf == pytest.approx(sizes.pin_diameter + sizes.hole_play)
    # Across the tab, through the middle of the comb's sheet.
    across = piece.intersection(LineString([(-1e3, 0.0), (1e3, 0.0)]))
    assert across.length - kerf == pytest.approx(sizes.tab_width, abs=1e-6)
    # The shoulders stop at the sheet's near face; the pin clears the far one.
    height = -sheet.thickness / 2 - 1.0
    below = piece.intersection(LineString([(-1e3, height), (1e3, height)]))
    assert below.length > across.length + 2 * sizes.web
    assert hole.dxf.center.y - sizes.pin_diameter / 2 == pytest.approx(
        sheet.thickness / 2 + sizes.pin_play
    )
    middle = Point(hole.dxf.center.x, hole.dxf.center.y)
    assert piece.exterior.distance(middle) - hole.dxf.radius - kerf >= sizes.web - 1e-6


@pytest.mark.parametrize("kerf", [0.0, 0.2])
def test_coupon_of_a_metal_sheet(kerf: float) -> None:
    sheet = Sheet(3.0, kerf=0.2)
    _judge(sheet, _sizes(sheet, tab_width=20.0), kerf)


@given(
    st.floats(0.3, 12.0),
    st.floats(0.0, 0.6),
    st.sampled_from([Lock.PIN, Lock.TWO_PINS]),
)
def test_coupon_of_any_sheet(thickness: float, clearance: float, lock: Lock) -> None:
    sheet = Sheet(thickness, clearance=clearance)
    _judge(sheet, _sizes(sheet, lock=lock))


def test_marks_say_the_clearance_in_hundredths() -> None:
    coupon = coupon_of(_sizes(Sheet(3.0)))
    assert coupon.marks == ("-5", "0", "5", "10", "15", "20", "25", "30")
    assert coupon.clearances == pytest.approx([int(mark) / 100 for mark in coupon.marks])
    assert np.all(np.diff(coupon.places[:, 0]) > 0)
    assert coupon_of(_sizes(Sheet(0.5))).marks[0] == "0"


def test_the_command_writes_the_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_design(ladder(), tmp_path / "ladder.toml")
    out = tmp_path / "coupon"
    assert main(["coupon", str(tmp_path / "ladder.toml"), "--out", str(out), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    names = {"coupon-comb.dxf", "coupon-comb.svg", "coupon-tab.dxf", "coupon-tab.svg", "coupon.txt"}
    assert {path.name for path in out.iterdir()} == names
    assert {Path(path).name for path in told["files"]} == names
    assert told["clearances"][0] == -0.05
    assert "hundredths" in (out / "coupon.txt").read_text(encoding="utf-8")
    assert main(["coupon", str(tmp_path / "ladder.toml"), "--out", " "]) == 2
