# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How far play lets a wrong part in: the linear programme against plane figures pushed about.

A rung of the ladder is turned over when the tab at its left end is keyed by a shift: tab and slot
then lie to different sides, and the rung must slide to go in. Seen from above that is a
plane figure (body, tabs and pins) between two walls with gaps, which shapely and a search for the
least overlap judge without any of the core's formulas.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy.optimize import minimize
from shapely import Polygon, affinity, box
from shapely.geometry import Point

from pinwright.core.checks.mates import JointSizeTable
from pinwright.core.checks.mistakes import Mistake, still_goes_in
from pinwright.core.checks.sites import Whole
from tests.ladder import HALF, RUNG, UPRIGHT, ladder
from tests.stages import staged
from tests.wrong import mistakes_of

THICKNESS, CLEARANCE, TAB = 3.0, 0.1, 22.0
PIN, PLAY = 3.0, 0.5  # a pin as thick as the sheet, its play: the design's defaults


def _walls(shift: float) -> Polygon:
    """Return both uprights where the rung's plane cuts them; the left gap is shifted."""
    walls = []
    for side, at in ((-1.0, shift), (1.0, 0.0)):
        x = side * HALF
        wall = box(x - THICKNESS / 2, -UPRIGHT[0], x + THICKNESS / 2, UPRIGHT[0])
        half = TAB / 2 + CLEARANCE
        gap = box(x - THICKNESS, at - half, x + THICKNESS, at + half)
        walls.append(wall.difference(gap))
    return shapely.union_all(walls)


def _rung(shift: float) -> Polygon:
    """Return a rung turned over, its pins in: its left tab lies to the other side than its slot."""
    inside = HALF - THICKNESS / 2
    pieces = [box(-inside, -RUNG, inside, RUNG)]
    pin = HALF + THICKNESS / 2 + PLAY + PIN / 2
    for side, at in ((-1.0, -shift), (1.0, 0.0)):
        ends = sorted((side * (inside - 1.0), side * (pin + 4.0)))
        pieces.append(box(ends[0], at - TAB / 2, ends[1], at + TAB / 2))
        # What stands in the way above and below the tab stands there in the plane too: the pin.
        pieces.append(Point(side * pin, at).buffer(PIN / 2))
        across = box(side * pin - PIN / 2, at - TAB / 2, side * pin + PIN / 2, at + TAB / 2)
        pieces.append(across)
    return shapely.union_all(pieces)


def _least_overlap(shift: float) -> float:
    """Return the least area that the rung shares with the walls, however it is moved, mm2."""
    walls, rung = _walls(shift), _rung(shift)

    def shared(x: np.ndarray) -> float:
        turned = affinity.rotate(rung, x[2], origin=(0.0, 0.0), use_radians=True)
        return float(affinity.translate(turned, x[0], x[1]).intersection(walls).area)

    least = np.inf
    for turn in (-0.004, 0.0, 0.004):
        for aside in (0.0, 1.0):
            start = np.array([0.0, aside * shift, turn])
            found = minimize(
                shared, start, method="Nelder-Mead", options={"xatol": 1e-6, "fatol": 1e-9}
            )
            least = min(least, float(found.fun))
            if least < 1e-7:
                return least
    return least


def _turned_over() -> tuple[Mistake, Whole]:
    found, whole = mistakes_of(ladder())
    one = next(m for m in found if m.way == "turned over" and m.site.plates[0] == 2)
    return one, whole


def _goes_in(shift: float) -> bool:
    mistake, whole = _turned_over()
    sizes = JointSizeTable.of(whole.classes, staged(ladder()).sizes)
    assert whole.classes[0].name == "rung 1 left"
    sizes.shift[0] = shift
    return still_goes_in(mistake, sizes)


def test_a_keyed_rung_goes_in_exactly_as_far_as_play_allows() -> None:
    low, high = 0.0, 2.0
    assert _goes_in(low)
    assert not _goes_in(high)
    for _ in range(12):
        middle = (low + high) / 2
        low, high = (middle, high) if _goes_in(middle) else (low, middle)
    # Between two uprights a rung cannot turn, as its shoulders touch both: it only slides, by what
    # both tabs have, and its left tab is off by twice the shift.
    assert low == pytest.approx(CLEARANCE, rel=0.02)
    assert _least_overlap(0.98 * low) == pytest.approx(0.0, abs=1e-6)
    assert _least_overlap(1.02 * high) > 1e-3
