# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The library of sheets agrees with published figures and helps when a name is mistyped."""

from __future__ import annotations

import pytest

from pinwright.core.design.materials import MATERIALS, Finish, material
from pinwright.core.errors import DesignError

# Least and greatest published figure: density kg/m3, Young's modulus GPa, strength MPa.
# Metals: ASM/MatWeb data sheets of 5052-H32, 6061-T6 and 304, MakeItFrom 5052-H32, EN 485-2 and
# EN 10025-2 table 7 (secondary copies), ASTM A213. PMMA: designerdata.nl and supplier data sheets.
# Plywood: Journal of Wood Science 53-4, table 3; birch: Handbook of Finnish Plywood, from memory.
# The others: common practice, no published source.
PUBLISHED = {
    "aluminium-5052": ((2680, 2700), (68, 70.3), (130, 193)),
    "aluminium-6061": ((2700, 2700), (68.9, 68.9), (276, 276)),
    "steel-s235": ((7850, 7850), (200, 210), (235, 235)),
    "stainless-304": ((7930, 8000), (193, 200), (205, 215)),
    "acrylic-cast": ((1190, 1190), (2.8, 3.2), (67, 75)),
    "plywood": ((600, 700), (6.9, 9.0), (38, 66)),
    "birch-plywood": ((630, 680), (1.0, 16.5), (10.6, 65.9)),
    "poplar-plywood": ((400, 500), (3, 8), (15, 45)),
    "mdf": ((600, 850), (2.5, 4), (18, 40)),
    "greyboard": ((550, 750), (1, 4), (8, 30)),
    "corrugated-card": ((80, 200), (0.1, 1), (0.5, 4)),
}


@pytest.mark.parametrize("name", MATERIALS)
def test_figures_lie_within_the_published(name: str) -> None:
    sheet = material(name)
    figures = (sheet.density, sheet.youngs_modulus_gpa, sheet.yield_mpa)
    for figure, (least, most) in zip(figures, PUBLISHED[name], strict=True):
        assert least <= figure <= most
    assert sheet.source
    assert isinstance(sheet.finish, Finish)


def test_along_and_across_the_grain_of_birch_average_to_the_library_figure() -> None:
    # Handbook of Finnish Plywood (from memory): the two moduli add up to 17.5 GPa at any thickness.
    assert 2 * material("birch-plywood").youngs_modulus_gpa == pytest.approx(16.471 + 1.029)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("brich-plywood", "birch-plywood"),
        ("Aluminium 5052", "aluminium-5052"),
        ("stainless304", "stainless-304"),
    ],
)
def test_a_mistyped_name_gets_the_nearest(typed: str, meant: str) -> None:
    with pytest.raises(DesignError) as caught:
        material(typed)
    assert caught.value.field == "sheet.material"
    assert meant in caught.value.remedy
    assert "greyboard" in caught.value.allowed
