# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How far a tab moves along a slot with plain corners, against solids of manifold3d.

shapely rounds the corners: grown and shrunk by the tool's radius a tab has it at its root, shrunk
and grown a slot has it in its corners.
"""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
from shapely import Polygon, box
from shapely.geometry.polygon import orient

from pinwright.core.checks.fit import fit_rows
from pinwright.core.design.model import Corners, JointKind, JointSizes, Lock, Sheet
from pinwright.core.fit.lock import Delivered
from pinwright.core.fit.plain_corners import PlainSlot
from pinwright.core.fit.section import Crossing, half_band
from pinwright.core.fit.sizes import Sizes, resolve_sizes
from pinwright.core.fit.tenon import tenon_sizes

TAB = 24.0


def _sizes(tool: float, coating: float) -> Sizes:
    sheet = Sheet(4.0, clearance=0.15, tool=tool, corners=Corners.PLAIN, coating=coating)
    return resolve_sizes(JointSizes(tab_width=TAB), sheet, None)


def _solid(outline: Polygon, thickness: float) -> manifold3d.Manifold:
    outline = orient(outline)
    rings = [outline.exterior, *outline.interiors]
    section = manifold3d.CrossSection([np.asarray(ring.coords)[:-1] for ring in rings])
    return manifold3d.Manifold.extrude(section, thickness).translate([0.0, 0.0, -thickness / 2])


def _plates(
    sizes: Sizes, angle: float, real: float, coating: float
) -> tuple[manifold3d.Manifold, manifold3d.Manifold]:
    """Return the tab's plate, x along the line and y along the tab, and the plate with the slot."""
    tenon, radius = tenon_sizes(sizes, angle, TAB, "joint"), sizes.tool / 2
    body = box(-60.0, -50.0, 60.0, -tenon.shoulder)
    tab = body.union(box(-TAB / 2, -50.0, TAB / 2, 30.0))
    tab = tab.buffer(radius, quad_segs=96).buffer(-radius, quad_segs=96)
    a, b = tenon.slot_length / 2 + sizes.longer, tenon.slot_width / 2
    slot = box(-a, -b, a, b).buffer(-radius, quad_segs=96).buffer(radius, quad_segs=96)
    slot = slot.buffer(-coating, join_style="mitre")
    tab = tab.buffer(coating, join_style="mitre")
    other = box(-70.0, -60.0, 70.0, 60.0).difference(slot)
    solid = real + 2 * coating
    return _solid(tab, solid), _solid(other, solid).rotate([angle, 0.0, 0.0])


@pytest.mark.parametrize(
    ("angle", "tool", "real", "coating", "back"),
    [
        (90.0, 3.0, 4.0, 0.0, 0.5),
        (90.0, 3.0, 3.9, 0.03, 0.2),
        (60.0, 3.0, 4.0, 0.0, 0.4),
        (40.0, 2.0, 3.9, 0.0, 0.6),
        (90.0, 4.0, 4.1, 0.0, 0.3),
    ],
)
def test_the_way_along_a_slot_is_that_of_solids(
    angle: float, tool: float, real: float, coating: float, back: float
) -> None:
    sizes = _sizes(tool, coating)
    solid = real + 2 * coating
    nominal, met = Crossing(4.0, 4.0, angle), Crossing(solid, solid, angle)
    delivered = Delivered(nominal, met, coating)
    slot = PlainSlot(delivered, sizes)
    tab, other = _plates(sizes, angle, real, coating)
    stands = -delivered.back - slot.seat - back
    turn = np.radians(angle)
    most = max(
        sizes.clearance - coating + half_band(4.0, 4.0, angle) - half_band(solid, solid, angle), 0.0
    )

    def least_overlap(aside: float) -> float:
        # Across the slot is along the other plate, square to the line.
        ways = np.linspace(-most, most, 61)[:, None] * [0.0, np.cos(turn), np.sin(turn)]
        return min(
            float((tab.translate([aside, stands + way[1], way[2]]) ^ other).volume())
            for way in ways
        )

    way = slot.way(back)
    assert way > 0.3
    assert least_overlap(way / 2 - 0.01) < 1e-8
    assert least_overlap(way / 2 + 0.02) > 1e-7


def test_by_hand_at_right_angles() -> None:
    # Half way across, a root of radius R drawn back by y leaves sqrt(2 R y - y^2) on each side.
    sheet = Sheet(4.0, clearance=0.15, tool=3.0, corners=Corners.PLAIN)
    sizes = resolve_sizes(JointSizes(tab_width=TAB, pin_play=0.5, hole_play=0.1), sheet, None)
    (row,) = fit_rows([("joint", JointKind.TENON, 90.0, Lock.PIN)], sheet, sizes)
    assert row.sideways == pytest.approx(2 * np.sqrt(3.0 * 0.55 - 0.55**2), abs=1e-4)
    assert row.along == pytest.approx(3.0)  # the tab itself: the tool's radius at each end
    (wedged,) = fit_rows([("joint", JointKind.TENON, 90.0, Lock.WEDGE)], sheet, sizes)
    assert wedged.sideways == pytest.approx(0.0, abs=1e-6)
