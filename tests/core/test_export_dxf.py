# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""DXF files, read back by ezdxf and measured by hand formulas.

Codes are those of the published DXF Reference (Autodesk): HEADER section, $INSUNITS 4 is
millimetres, $MEASUREMENT 1 is metric, $ACADVER AC1024 is R2010; LWPOLYLINE, group 70 bit 1 is
closed.
"""

from __future__ import annotations

import io

import ezdxf
import numpy as np
import pytest
from ezdxf.document import Drawing as Document
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from pinwright.core.design.model import Sheet
from pinwright.core.export.drawing import part_drawing
from pinwright.core.export.dxf import part_dxf
from pinwright.core.results import Part
from tests.builders import PIN_AT, circle_ring, small_build
from tests.outlines import mitred_area, plates_with_holes, shoelace


def _read(data: bytes) -> Document:
    return ezdxf.read(io.StringIO(data.decode("utf-8")))


def _area(document: Document) -> float:
    """Return outer minus inner, by Gauss's formula and pi r^2, from the file's entities alone."""
    total = {"CUT_OUTER": 0.0, "CUT_INNER": 0.0}
    for line in document.modelspace().query("LWPOLYLINE[layer != 'MARK']"):
        assert line.closed
        total[line.dxf.layer] += abs(shoelace(np.array(line.get_points("xy"))))
    for circle in document.modelspace().query("CIRCLE"):
        total[circle.dxf.layer] += np.pi * circle.dxf.radius**2
    return total["CUT_OUTER"] - total["CUT_INNER"]


def _file(outline: Polygon, sheet: Sheet, kerf: bool = False) -> bytes:
    return part_dxf(part_drawing(Part("A", outline, sheet.thickness, 3, 0.1), sheet, kerf))


@pytest.mark.parametrize("kerf", [False, True])
def test_files_pass_the_audit_and_say_millimetres(kerf: bool) -> None:
    build = small_build()
    for part in build.parts:
        document = _read(part_dxf(part_drawing(part, build.design.sheet, kerf)))
        audit = document.audit()
        assert (audit.errors, audit.fixes) == ([], [])
        assert document.dxfversion == "AC1024"
        assert document.header["$INSUNITS"] == 4
        assert document.header["$MEASUREMENT"] == 1


def test_layers_have_plain_colours_of_their_own() -> None:
    document = _read(_file(box(0, 0, 60, 40), Sheet(3.0)))
    colours = [document.layers.get(name).color for name in ("CUT_OUTER", "CUT_INNER", "MARK")]
    assert len(set(colours)) == 3
    assert all(1 <= colour <= 7 for colour in colours)


def test_the_plate_by_hand() -> None:
    # Plate A of the builder: body 78.5 x 40 less a cut corner 10 x 10 / 2, tab 10.6 x 20, one hole
    # of 3.2, all from its drawing.
    build = small_build()
    document = _read(part_dxf(part_drawing(build.parts[0], build.design.sheet)))
    expected = 78.5 * 40 - 50 + 10.6 * 20 - np.pi * 1.6**2
    assert _area(document) == pytest.approx(expected, rel=1e-9)
    (hole,) = document.modelspace().query("CIRCLE")
    assert hole.dxf.layer == "CUT_INNER"
    assert tuple(hole.dxf.center) == pytest.approx((PIN_AT, 0.0, 0.0), abs=1e-9)
    assert hole.dxf.radius == pytest.approx(1.6, abs=1e-9)


def test_kerf_by_hand() -> None:
    build = small_build()
    sheet = Sheet(3.0, kerf=0.4)
    document = _read(part_dxf(part_drawing(build.parts[0], sheet, kerf=True)))
    (hole,) = document.modelspace().query("CIRCLE")
    assert hole.dxf.radius == pytest.approx(1.4, abs=1e-9)
    outer = [
        line for line in document.modelspace().query("LWPOLYLINE") if line.dxf.layer == "CUT_OUTER"
    ]
    points = np.array(outer[0].get_points("xy"))
    assert points.min(axis=0) == pytest.approx((-80.2, -20.2))
    assert points.max(axis=0) == pytest.approx((9.3, 20.2))


@settings(max_examples=40)  # each is a whole document for ezdxf to read
@given(plates_with_holes(), st.sampled_from([0.0, 0.15, 0.5]))
def test_area_survives_the_file(outline: Polygon, kerf: float) -> None:
    document = _read(_file(outline, Sheet(3.0, kerf=kerf), kerf=kerf > 0.0))
    outer = mitred_area(np.asarray(outline.exterior.coords)[:-1], kerf / 2)
    holes = [np.asarray(hole.coords)[:-1] for hole in outline.interiors]
    expected = outer - sum(_hole_area(ring, kerf / 2) for ring in holes)
    # GEOS straightens a ring by up to 1 % of the offset before it moves it.
    room = 0.01 * kerf * outline.length
    assert _area(document) == pytest.approx(expected, rel=1e-9, abs=room)
    assert not document.audit().has_errors


def test_rings_run_the_same_way_round_always() -> None:
    slotted = box(0, 0, 60, 40).difference(box(5, 5, 25, 8))
    for outline in (slotted, slotted.reverse()):
        lines = _read(_file(outline, Sheet(3.0))).modelspace().query("LWPOLYLINE")
        for line in lines:
            area = shoelace(np.array(line.get_points("xy")))
            if line.dxf.layer != "MARK":
                assert (area > 0) == (line.dxf.layer == "CUT_OUTER")


def test_equal_parts_give_equal_bytes() -> None:
    assert _file(box(0, 0, 60, 40), Sheet(3.0)) == _file(box(0, 0, 60, 40), Sheet(3.0))


def test_the_fixed_stamp_is_no_setting_that_stays() -> None:
    _file(box(0, 0, 60, 40), Sheet(3.0))
    assert not ezdxf.options.write_fixed_meta_data_for_testing


def test_comments_say_what_it_is_and_whether_kerf_is_included() -> None:
    sheet = Sheet(3.0, material="birch\nply", kerf=0.2)
    true_size = _file(box(0, 0, 60, 40), sheet).decode()
    compensated = _file(box(0, 0, 60, 40), sheet, kerf=True).decode()
    # Group code 999 is a comment.
    assert true_size.startswith("999\nPart A, cut 3, birch ply 3 mm\n999\nKerf: NOT included.")
    assert "999\nKerf: 0.2 mm IS included." in compensated
    assert not _read(compensated.encode()).modelspace().query("TEXT MTEXT")


def test_a_disc_is_cut_as_a_circle() -> None:
    document = _read(_file(Polygon(circle_ring(5, 5, 80, 128)), Sheet(3.0, kerf=0.2), kerf=True))
    (disc,) = document.modelspace().query("CIRCLE")
    assert disc.dxf.layer == "CUT_OUTER"
    assert disc.dxf.radius == pytest.approx(40.1, abs=1e-9)


def _hole_area(ring: np.ndarray, half: float) -> float:
    if len(ring) == 64:  # the round holes of the random plates
        return np.pi * (np.hypot(*(ring[0] - ring.mean(axis=0))) - half) ** 2
    return mitred_area(ring, -half)
