# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every tolerance of the core, named, with the reason for its size."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TOLERANCES", "Tolerances"]


@dataclass(frozen=True, slots=True)
class Tolerances:
    """Tolerances in mm unless said otherwise."""

    # Two computed points are one point. Far below anything that a laser can cut (0.01 mm), far
    # above the rounding of doubles at 10 m (1e-11 mm).
    point: float = 1e-6
    # Two unit vectors are one direction, or two are perpendicular (dimensionless). Group elements
    # come from a library good to 1e-15; a design file gives normals with 5 to 17 digits.
    direction: float = 1e-9
    # A mesh or a hand-typed normal matches a symmetry when it agrees to this share of its size.
    symmetry: float = 1e-5
    # Two outlines are one part when every vertex agrees to this: no cutter shows the difference.
    same_part: float = 0.01
    # Solids that share less than this are said to touch, not to clash (mm3).
    clash_volume: float = 1e-3
    # Chord length of the polygons that stand for arcs: largest gap between arc and chord.
    chord: float = 0.05


TOLERANCES = Tolerances()
