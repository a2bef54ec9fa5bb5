# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What it takes to spring a rotor shut, worked out by hand for one find."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Point

from pinwright.core.design.model import Sheet
from pinwright.core.frame.group import rotation_group
from pinwright.core.search.rank import Merits, score, shares
from pinwright.core.search.shape import shape_of
from pinwright.core.search.spring import worst_spring
from tests.built import build
from tests.found import found_design


def sprung(thickness: float = 3.0, material: str = "aluminium-5052") -> float | None:
    design = replace(found_design(), sheet=Sheet(thickness, material))
    group = rotation_group("T")
    return worst_spring(build(design), shape_of(design, group).classes, group)


def by_hand() -> list[float]:
    """Stress over strength of both rotors.

    From a table of beams (cantilever with a load at its end, common practice): F = 3 E I d / L^3,
    moment F L, stress M (t/2) / I, so 3 E t d / (2 L^2).

    For 3 mm sheet at 90 degrees: the pin's centre lies 1.5 (its radius) + 0.5 (play) + 1.5 (half of
    the other sheet) beyond the line; the tab ends 1.6 (half its hole) + 3.0 (a web) behind that;
    its shoulder lies 1.5 before the line. E = 70.3 GPa: ASM; 130 MPa: EN 485-2, as the table of
    materials has them.
    """
    engaged = (1.5 + 0.5 + 1.5) + (1.6 + 3.0) + 1.5
    group = rotation_group("T")
    shape = shape_of(found_design(), group)
    found = []
    for rotor in shape.classes[:2]:
        motif = shape.motifs[rotor.a]
        path = LineString(motif.path)
        plane = np.linalg.inv(motif.world_from_plane)
        # In its own plane a strip's tab stands at the joint's centre, and the slot where the turn
        # back carries it.
        tab, slot = (
            path.project(Point((plane @ [*centre, 1.0])[:2]))
            for centre in (rotor.centre, group.matrices[rotor.element].T @ rotor.centre)
        )
        found.append(3 * 70_300 * 3.0 * engaged / (2 * (tab - slot) ** 2) / 130.0)
    return found


def test_the_worst_rotor_counts() -> None:
    both = by_hand()
    assert both == pytest.approx([0.5621, 0.1459], abs=1e-4)
    assert sprung() == pytest.approx(max(both), rel=1e-6)


def test_a_softer_sheet_is_sprung_more_easily() -> None:
    steel, card = sprung(material="steel-s235"), sprung(material="greyboard")
    assert steel is not None
    assert card is not None
    assert steel / by_hand()[0] == pytest.approx(210.0 / 235.0 / (70.3 / 130.0), rel=1e-6)
    assert card / by_hand()[0] == pytest.approx(2.0 / 15.0 / (70.3 / 130.0), rel=1e-6)


def test_nothing_is_known_without_rotors() -> None:
    design, group = found_design(), rotation_group("T")
    classes = shape_of(design, group).classes
    assert worst_spring(build(design), classes[2:], group) is None


def test_rotors_that_close_straight_need_no_springing() -> None:
    """A rotor opens all at once when its tabs move square to its axis: then none must be sprung."""
    design, group = found_design(), rotation_group("T")
    rotor = shape_of(design, group).classes[0]
    axis, _ = group.axis_angle_deg(rotor.element)
    across = np.cross(axis, [0.3, 0.1, 0.9])
    straight = replace(rotor, insertion=across / np.linalg.norm(across))
    assert worst_spring(build(design), [straight], group) == 0.0


def test_the_score_leaves_out_what_is_not_known() -> None:
    known = Merits(
        20.0, 8.0, 25.0, 300.0, 12.0, 0.45, 1.0, 1.0, 1, 60, 1.0, 10, 10, sprung=0.0
    )  # fmt: skip
    unknown = replace(known, sprung=None)
    assert "springable" not in shares(unknown)
    only = {name: float(name == "springable") for name in shares(known)}
    assert score(known, only) == 1.0
    assert score(replace(known, sprung=1.25), only) == pytest.approx(0.5)
    assert score(replace(known, sprung=2.5), only) == 0.0
    assert score(unknown, only) == 0.0  # nothing that is weighed is known
    half = {name: float(name in ("springable", "clearance")) for name in shares(known)}
    assert score(known, half) == pytest.approx((1.0 + 0.5) / 2)
    assert score(unknown, half) == pytest.approx(0.5)
