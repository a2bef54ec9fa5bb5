# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The sizes that all joints of a design share, with the defaults that its sheet suggests."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from ..design.materials import MATERIALS
from ..design.model import Corners, JointSizes, Lock, Sheet
from ..errors import DesignError
from .section import LEAST_ANGLE_DEG

__all__ = ["LEAST_ANGLE_DEG", "Sizes", "resolve_sizes"]


@dataclass(frozen=True, slots=True)
class Sizes:
    """Joint sizes without gaps, mm; see `design.model.JointSizes` for their meaning.

    tab_chosen : the design says the tab's width; else a lock that needs more may widen it
    """

    thickness: float
    clearance: float
    tab_width: float
    pin_diameter: float
    pin_length: float
    pin_play: float
    hole_play: float
    web: float
    corner_radius: float
    gap: float
    lock: Lock = Lock.PIN
    tab_chosen: bool = False
    wedge_width: float = 6.0
    bend_radius: float = 3.0
    tie_width: float = 2.5
    tie_thickness: float = 1.1
    link_diameter: float = 4.0
    link_width: float = 8.0
    link_length: float | None = None
    least_corner: float = 0.0  # deg; tips that a cut leaves sharper than this are cut off
    tool: float = 0.0
    corners: Corners = Corners.DOG_BONE

    @property
    def relief(self) -> float:
        """How far a tool's corners bite beyond the walls of a slot, mm; see tool_corners.py."""
        radius, c = self.tool / 2, self.clearance
        if self.corners is Corners.DOG_BONE or radius <= c:
            return radius * (1 - sqrt(0.5))
        return max(radius - sqrt(radius**2 - (radius - c) ** 2) - c, 0.0)

    @property
    def longer(self) -> float:
        """How far a slot reaches beyond its clearance at each end, mm."""
        return _longer(self.tool, self.corners, self.clearance)

    @property
    def hole_diameter(self) -> float:
        """Diameter of the pin's hole."""
        return self.pin_diameter + self.hole_play


def resolve_sizes(chosen: JointSizes, sheet: Sheet, narrowest: float | None) -> Sizes:
    """Fill in what the design leaves open.

    Tab: six sheet thicknesses, at most 0.55 of the narrowest strip and what its webs leave. Pin: as
    thick as the sheet, at least 2 and at most 8 mm, or what the least hole of the material needs,
    showing 1.5 diameters (at least 4 mm) on both sides. Web: the sheet's thickness, at least 2 mm
    (least webs of laser shops: 0.7 to 1.5 thicknesses), more in soft board (design/materials.py).
    A wedge's thin end: twice the thickness, at least 4 mm. A bent end's inner radius: the sheet's
    thickness, three of it in hard aluminium (from memory). A tie: one of the widths that are sold,
    2.5, 3.6 and 4.8 mm, as the sheet gets thicker (from memory).
    A chain link: its rod as thick as the pin, at least 4 mm, twice as wide inside.

    Parameters
    ----------
    narrowest : width of the narrowest strip with a tenon or a mortise, mm; None: there is none

    Raises
    ------
    DesignError : the pin's hole and its webs are wider than the tab, the tab is wider than the
        narrowest strip allows, or the pin hardly sticks out of the tab.
    """
    t = sheet.thickness
    stock = MATERIALS.get(sheet.material)
    least_web, least_hole = (1.0, 0.5) if stock is None else (stock.least_web, stock.least_hole)
    web = max(least_web * t, 2.0) if chosen.web is None else chosen.web
    pin = chosen.pin_diameter
    if pin is None:
        pin = max(min(max(t, 2.0), 8.0), least_hole * t - chosen.hole_play)
    if pin + chosen.hole_play < least_hole * t - 1e-9:
        raise DesignError(
            "joints.pin_diameter",
            pin,
            f"at least {least_hole * t - chosen.hole_play:g} mm: a smaller hole than "
            f"{least_hole * t:g} mm cannot be cut cleanly through {t:g} mm of this material",
            "Take thicker pins or a thinner sheet.",
        )
    side = sheet.clearance + _longer(sheet.tool, sheet.corners, sheet.clearance)
    length = t + 2 * max(1.5 * pin, 4.0) if chosen.pin_length is None else chosen.pin_length
    tab = chosen.tab_width
    tie = _tie_width(t) if chosen.tie_width is None else chosen.tie_width
    rod = max(pin, 4.0) if chosen.link_diameter is None else chosen.link_diameter
    least_tab, needs = _least_tab(chosen, sheet, pin, web)
    least_strip = least_tab + 2 * side + 2 * web
    if narrowest is not None and narrowest < least_strip - 1e-9:
        raise DesignError(
            "width (of the narrowest strip)",
            narrowest,
            f"at least {least_strip:g} mm for a sheet of {t:g} mm: {needs[0]}, a web on each "
            "side of it, and a web on each side of the slot",
            "Widen the strips, or take a thinner sheet, a thinner pin or a smaller web.",
        )
    if tab is None:
        tab = 6 * t
        if narrowest is not None:
            tab = min(tab, 0.55 * narrowest, narrowest - 2 * web - 2 * side)
        tab = max(tab, least_tab)
    if tab < least_tab - 1e-9:
        raise DesignError(
            "joints.tab_width",
            tab,
            f"at least {least_tab:g} mm: {needs[0]} and {needs[1]} webs",
            "Widen the tab, or take a thinner pin or a smaller web.",
        )
    if narrowest is not None and tab + 2 * side + 2 * web > narrowest + 1e-9:
        raise DesignError(
            "joints.tab_width",
            tab,
            f"at most {narrowest - 2 * web - 2 * side:g} mm for a strip "
            f"{narrowest:g} mm wide: the slot needs a web on each side",
            "Narrow the tab, the pin or the web, or widen the strip.",
        )
    if length < t + 2 and chosen.lock in (Lock.PIN, Lock.TWO_PINS):
        raise DesignError(
            "joints.pin_length", length, f"at least {t + 2:g} mm: 1 mm more on each side of the tab"
        )
    return Sizes(
        thickness=t,
        clearance=sheet.clearance,
        tab_width=tab,
        pin_diameter=pin,
        pin_length=length,
        pin_play=chosen.pin_play,
        hole_play=chosen.hole_play,
        web=web,
        corner_radius=chosen.corner_radius,
        gap=chosen.gap,
        lock=chosen.lock,
        tab_chosen=chosen.tab_width is not None,
        bend_radius=_bend_radius(sheet) if chosen.bend_radius is None else chosen.bend_radius,
        tie_width=tie,
        tie_thickness=0.8 + tie / 10 if chosen.tie_thickness is None else chosen.tie_thickness,
        link_diameter=rod,
        link_width=max(2 * rod, t + 2.0) if chosen.link_width is None else chosen.link_width,
        link_length=chosen.link_length,
        tool=sheet.tool,
        corners=sheet.corners,
        wedge_width=max(2 * t, 4.0) if chosen.wedge_width is None else chosen.wedge_width,
        least_corner=sheet.least_corner,
    )


def _longer(tool: float, corners: Corners, clearance: float) -> float:
    """Return how far a tool's slot reaches beyond its clearance at each end, mm."""
    if corners is Corners.DOG_BONE:
        return tool / 2 * (1 - sqrt(0.5))
    radius, c = tool / 2, clearance
    if radius <= c:
        return 0.0
    # The rounded corner at the tab's root, and what the slot's own corners take of its end.
    return radius + max(radius - sqrt(radius**2 - (radius - c) ** 2) - c, 0.0)


def _tie_width(thickness: float) -> float:
    """Return the width of a cable tie's strap, mm: widths that are sold, from memory."""
    return 2.5 if thickness <= 3.0 else 3.6 if thickness <= 6.0 else 4.8


def _bend_radius(sheet: Sheet) -> float:
    """Return the inner radius of a bend that does not crack, mm (from memory)."""
    return 3 * sheet.thickness if sheet.material == "aluminium-6061" else sheet.thickness


def _least_tab(
    chosen: JointSizes, sheet: Sheet, pin: float, web: float
) -> tuple[float, tuple[str, str]]:
    """Return the least width of a tab for the design's lock, mm, and what it holds in words."""
    hole = pin + chosen.hole_play
    if chosen.lock is Lock.TWO_PINS:
        return 2 * hole + 3 * web, ("the pins' holes", "three")
    if chosen.lock is Lock.TIE:
        strap = _tie_width(sheet.thickness) if chosen.tie_width is None else chosen.tie_width
        return strap + 2 * sheet.clearance + 2 * web, ("the tie's hole", "two")
    if chosen.lock in (Lock.BENT, Lock.FOOT):
        return 2 * sheet.thickness, ("the tab itself", "no")
    if chosen.lock is Lock.WEDGE:
        slit = sheet.thickness + 2 * sheet.clearance
        return slit + 2 * web, ("the wedge's hole", "two")
    return pin + chosen.hole_play + 2 * web, ("the pin's hole", "two")
