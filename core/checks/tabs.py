# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The strength of a tab: for what hands do with it, and for the whole hung on it alone.

It is a screen for tabs that are plainly too thin, no proof of strength: how the load spreads over
the joints is not reckoned. Each tab is held against two loads:

- the whole sculpture's weight, five times (the design factor that is customary for rated rigging;
  general rigging guidance), drawn out of its slot by that one tab: the sheet fails across the tab
  beside its holes, A = t (w - d), at its strength f; or the strip behind the hole shears out along
  two lines, A = 2 t e, at its shear strength (e: from the hole to the end); or the neck shears
  across, A = t w. Shear strength: f / sqrt 3 for metals (von Mises), f / 4 for all others (panel
  shear of plywood; from memory).
- its own plate, held out level by that tab alone: the neck bends, M = m g r
  with r from the neck to the plate's centre of gravity, W = w t^2 / 6, at the strength f.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..design.materials import Finish, Material
from ..plates.planes import cut_line
from ..results import Build, Check
from .outline_views import OutlineView, TabView
from .places import at, listed

__all__ = ["TabStrength", "check_tabs", "tab_strength"]

Floats = npt.NDArray[np.float64]

_GRAVITY: Final = 9.81  # m/s2
_WEIGHT_FACTOR: Final = 5.0
_ALL_OTHERS: Final = 0.25  # shear strength as a share of the strength, but for metals


@dataclass(frozen=True, slots=True)
class TabStrength:
    """What one tab can bear, N, and Nmm; why : how it fails when drawn, in words.

    width : of the neck, mm; net : of sheet beside its holes, mm; behind : from its farthest hole to
    the end, mm (inf: it has none)
    """

    width: float
    net: float
    behind: float
    pull: float
    why: str
    moment: float


def tab_strength(outline: Polygon, tab: TabView, thickness: float, stock: Material) -> TabStrength:
    """Measure a tab on its part's outline and return what it can bear."""
    along = np.array([-tab.out[1], tab.out[0]])
    axes = np.array([along, tab.out])
    rings = [
        (np.asarray(ring.coords)[:-1] - tab.place) @ axes.T
        for ring in (outline.exterior, *outline.interiors)
    ]
    low, high = _span(rings[0], 0.0)
    width, net, behind = high - low, high - low, np.inf
    end = max(float(cut_line(rings[0], np.zeros(2), np.array([0.0, 1.0])).max(initial=0.0)), 0.0)
    for ring in rings[1:]:
        middle = (ring.max(axis=0) + ring.min(axis=0)) / 2
        if low < middle[0] < high and 0.0 < ring[:, 1].max() < end + 1e-6 and middle[1] > 0.0:
            net = min(net, _net(rings, middle[1]))
            behind = min(behind, end - float(ring[:, 1].max()))
    f = stock.yield_mpa
    shear = f / sqrt(3) if stock.finish is Finish.METAL else f * _ALL_OTHERS
    ways = [
        (thickness * net * f, "torn across beside its hole"),
        (thickness * width * shear, "sheared at its neck"),
        (2 * thickness * behind * shear, "torn out behind its hole"),
    ]
    pull, why = min(ways)
    return TabStrength(width, net, behind, pull, why, width * thickness**2 / 6 * f)


def _span(ring: Floats, y: float) -> tuple[float, float]:
    """Return the stretch of the tab at height y."""
    cuts = cut_line(ring, np.array([0.0, y]), np.array([1.0, 0.0]))
    k = int(np.searchsorted(cuts, 0.0))
    return (float(cuts[k - 1]), float(cuts[k])) if k % 2 else (0.0, 0.0)


def _net(rings: Sequence[Floats], y: float) -> float:
    """Return the width of sheet across the tab at height y, its holes left out."""
    low, high = _span(rings[0], y)
    gone = 0.0
    for ring in rings[1:]:
        cuts = cut_line(ring, np.array([0.0, y]), np.array([1.0, 0.0]))
        inside = cuts[(cuts > low) & (cuts < high)]
        if len(inside) % 2 == 0:
            gone += float((inside[1::2] - inside[::2]).sum())
    return high - low - gone


def check_tabs(build: Build, views: Sequence[OutlineView], stock: Material) -> Check:
    """Every tab bears five times the whole's weight, and its own plate held out level."""
    whole = _WEIGHT_FACTOR * _GRAVITY * build.totals.mass
    told: list[tuple[float, str]] = []
    for view in views:
        part = build.parts[view.number]
        middle = np.array(shapely.centroid(view.outline).coords[0])
        for tab in view.tabs:
            one = tab_strength(view.outline, tab, part.thickness, stock)
            if one.width <= 0.0:
                continue  # no tab there: a finding of another check
            lever = float(np.linalg.norm(middle - tab.place))
            held = _GRAVITY * part.mass * lever
            drawn, bent = whole / one.pull if one.pull > 0 else np.inf, held / one.moment
            name = f"part {view.mark}, tab of {tab.joint.id}"
            if drawn >= bent:
                words = f"{one.why} by {one.pull:.0f} N, {whole:.0f} N is asked"
            else:
                words = (
                    f"its neck bends at {one.moment / 1000:.2f} Nm, {held / 1000:.2f} Nm is asked"
                )
            told.append((max(drawn, bent), f"{name}: {words}{at(tab.place)}"))
    if not told:
        return Check("tab", True, 0.0, "", 1.0, "there are no tabs")
    told.sort(key=lambda one: -one[0])
    worst = min(told[0][0], 1e6)
    weak = [line for ratio, line in told if ratio > 1.0]
    load = f"{_WEIGHT_FACTOR:g} times the whole's weight ({whole:.0f} N)"
    if not weak:
        text = f"every tab alone bears {load}; the weakest is used to {worst:.0%}"
        return Check("tab", True, worst, "", 1.0, text)
    text = f"{len(weak)} tabs are too weak for {load}, or for their own plate held out level"
    remedy = "Widen the tab, take a thicker or stronger sheet, or a larger web behind the hole."
    return Check("tab", False, worst, "", 1.0, text, listed(weak), remedy)
