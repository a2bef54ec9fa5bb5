# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The tables, read back by the standard library; RFC 4180 (CSV) and a plate worked out by hand."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from pinwright.core.export.names import cut_names
from pinwright.core.export.table import joints_csv, parts_csv, plates_csv
from tests.builders import small_build


def _rows(data: bytes) -> list[dict[str, str]]:
    text = data.decode("utf-8")
    # RFC 4180, section 2: records end with CR LF, each has the same number of fields.
    assert text.endswith("\r\n")
    assert text.count("\r") == text.count("\n")
    rows = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert all(None not in row and None not in row.values() for row in rows)
    return rows


def test_parts_by_hand() -> None:
    first, second = _rows(parts_csv(small_build()))
    assert (first["mark"], first["quantity"]) == ("A", "4")
    assert (first["width (mm)"], first["height (mm)"]) == ("89.10", "40.00")
    area = 78.5 * 40 - 50 + 10.6 * 20 - 3.14159265 * 1.6**2
    assert float(first["area (mm2)"]) == pytest.approx(area, abs=0.06)  # hole: a 32-gon
    # 80 + 11.1 * 2 + ... : straight edges, one slanted 10 sqrt 2, hole 2 pi 1.6
    edges = 78.5 + 10 + 10.6 + 20 + 10.6 + 10 + 68.5 + 10 * 2**0.5 + 30
    round_hole = 2 * 3.14159265 * 1.6
    assert float(first["cut length (mm)"]) == pytest.approx(edges + round_hole, abs=0.02)
    assert float(first["mass each (kg)"]) == pytest.approx(area * 3.0 * 2.68e-6, rel=1e-4)
    assert float(first["mass all (kg)"]) == pytest.approx(4 * area * 3.0 * 2.68e-6, rel=1e-4)
    assert (first["DXF file"], first["SVG file"]) == ("cut/A.dxf", "cut/A.svg")
    assert (second["width (mm)"], second["height (mm)"]) == ("160.00", "60.00")


def test_plates_and_joints() -> None:
    build = small_build()
    plates = _rows(plates_csv(build))
    assert [row["plate"] for row in plates] == ["A01", "A02", "A03", "A04", "B01"]
    assert [row["flipped"] for row in plates] == ["no", "no", "yes", "yes", "no"]
    assert [row["module"] for row in plates] == ["M01", "M01", "M02", "M03", "M01"]
    joints = _rows(joints_csv(build))
    assert [(row["first plate"], row["second plate"]) for row in joints] == [
        (f"A0{number}", "B01") for number in (1, 2, 3, 4)
    ]
    assert {row["angle (deg)"] for row in joints} == {"90.000"}
    assert {row["pin (mm)"] for row in joints} == {"3 x 13"}


def test_awkward_texts_come_back_unharmed() -> None:
    build = small_build()
    material = 'birch, "aircraft"\r\nply'
    sheet = replace(build.design.sheet, material=material)
    odd = replace(build, design=replace(build.design, sheet=sheet))
    assert _rows(parts_csv(odd))[0]["material"] == material


@pytest.mark.parametrize(
    ("marks", "names"),
    [
        (["A", "B", "AA"], ["A", "B", "AA"]),
        # Reserved by Windows, whatever their case (Microsoft, "Naming Files, Paths, and
        # Namespaces").
        (["CON", "aux", "COM1", "CONE"], ["CON_", "aux_", "COM1_", "CONE"]),
        (["a", "A", "A"], ["a", "A-2", "A-3"]),
        (["../x", "a:b", "a?b", ""], ["---x", "a-b", "a-b-2", "-"]),
    ],
)
def test_file_names_suit_every_system(marks: list[str], names: list[str]) -> None:
    assert cut_names(marks) == tuple(names)
