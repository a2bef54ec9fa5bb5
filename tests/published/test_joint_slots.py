# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Slot widths against a worked table, and what booleans of solids say of it."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from pinwright.core.fit.tenon import half_band, slot_width

# Thickness of the tab's sheet and of the slotted one (mm), angle between the planes (deg), width of
# the slot without clearance (mm), volume shared when it is 1 % too narrow (mm3). Derived in the
# section square to the line, w = t/sin + s |cot|, and computed with manifold3d 3.5.4 beforehand: no
# shared volume at w. The odd angles are dihedral angles of tetra-, dodeca- and icosahedron.
TABLE = [
    (3.0, 3.0, 90.0, 3.000000, 2.250000),
    (3.0, 3.0, 75.0, 3.909676, 0.035654),
    (3.0, 3.0, 60.0, 5.196152, 0.029228),
    (3.0, 3.0, 45.0, 7.242641, 0.032785),
    (3.0, 3.0, 30.0, 11.196152, 0.045233),
    (3.0, 3.0, 70.529, 4.242623, 0.031820),
    (3.0, 3.0, 116.565, 4.854097, 0.029453),
    (3.0, 3.0, 138.19, 7.854167, 0.034484),
    (3.0, 6.0, 75.0, 4.713524, 0.051823),
    (3.0, 6.0, 60.0, 6.928203, 0.051962),
    (3.0, 6.0, 45.0, 10.242641, 0.065570),
    (3.0, 6.0, 30.0, 16.392305, 0.096962),
]
# As above, by the extent of a polygon (shapely).
EXTENT = [(1.5, 6.0, 138.19, 8.958292)]
TENON = 25.0  # mm, width of the tab in the table


@pytest.mark.parametrize(("t", "s", "angle", "width"), [row[:4] for row in TABLE] + EXTENT)
def test_width_of_a_slot(t: float, s: float, angle: float, width: float) -> None:
    assert slot_width(t, s, angle, 0.0) == pytest.approx(width, abs=6e-7)
    assert slot_width(t, s, 180.0 - angle, 0.0) == pytest.approx(width, abs=6e-7)
    assert slot_width(t, s, angle, 0.15) == pytest.approx(width + 0.3, abs=6e-7)
    # The shoulder stops where the slotted plate begins: the same section, from the other sheet.
    assert 2 * half_band(s, t, angle) == pytest.approx(width, abs=6e-7)


def overlap(t: float, s: float, angle: float, width: float) -> float:
    """Volume (mm3) that a tab of sheet t shares with a sheet s slotted `width` wide."""
    tab = manifold3d.Manifold.cube([TENON, 200.0, t], True)
    tab = tab.rotate([90.0 - angle, 0.0, 0.0])  # x: the line; the slotted sheet's plane is x-z
    sheet = manifold3d.Manifold.cube([80.0, s, 400.0], True)
    slot = manifold3d.Manifold.cube([TENON + 10.0, 2 * s, width], True)
    return float((tab ^ (sheet - slot)).volume())


@pytest.mark.parametrize(("t", "s", "angle", "width", "short"), TABLE)
def test_solids_agree(t: float, s: float, angle: float, width: float, short: float) -> None:
    ours = slot_width(t, s, angle, 0.0)
    assert overlap(t, s, angle, ours + 1e-6) == pytest.approx(0.0, abs=1e-6)
    assert overlap(t, s, angle, 0.99 * ours) == pytest.approx(short, abs=2e-6)


@pytest.mark.parametrize(("t", "s", "angle"), [row[:3] for row in TABLE if row[2] != 90.0])
def test_a_slot_too_narrow_shares_two_wedges(t: float, s: float, angle: float) -> None:
    """Two wedges of height lack/2: V = (lack/2)^2 |tan| tab width (derived in the same section)."""
    ours = slot_width(t, s, angle, 0.0)
    lack = 0.01 * ours
    wedges = (lack / 2) ** 2 * abs(np.tan(np.radians(angle))) * TENON
    assert overlap(t, s, angle, ours - lack) == pytest.approx(wedges, rel=1e-4)
