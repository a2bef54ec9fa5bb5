# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Sheets that plates are cut from: weight, stiffness and strength, each with its source.

The figures are for planning. They are typical or least values of a grade, not of the sheet on
your bench: where a person's safety hangs on one, use the certificate that came with the sheet.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from enum import StrEnum

from ..errors import DesignError

__all__ = ["MATERIALS", "Finish", "Material", "material"]

_MEMORY = "from memory; measure your own sheet"


class Finish(StrEnum):
    """How a sheet looks: chosen for pictures and the view in Blender."""

    METAL = "metal"
    WOOD = "wood"
    CLEAR = "clear"
    CARD = "card"


@dataclass(frozen=True, slots=True)
class Material:
    """One kind of sheet.

    density : kg/m3
    youngs_modulus_gpa : in bending, GPa
    yield_mpa : stress at which it stays bent (metals) or breaks (all others), MPa
    source : where the figures come from
    stock : length and width of the sheet that is usually sold, mm (from memory)
    least_hole, least_web : that can be cut cleanly, as shares of the thickness (common practice of
        cutting shops, no published source); a web is 2 mm at least unless the design says less
    """

    name: str
    title: str
    density: float
    youngs_modulus_gpa: float
    yield_mpa: float
    source: str
    finish: Finish
    stock: tuple[float, float] = (3000.0, 1500.0)
    least_hole: float = 0.5
    least_web: float = 1.0


_LIBRARY = (
    Material(
        "aluminium-5052",
        "Aluminium 5052-H32",
        2680.0,
        70.3,
        130.0,
        "ASM data sheet ma5052h32 (density, modulus); least proof stress of H22/H32 sheet in "
        "EN 485-2, secondary copy (typical is 193 MPa)",
        Finish.METAL,
    ),
    Material(
        "aluminium-6061",
        "Aluminium 6061-T6",
        2700.0,
        68.9,
        276.0,
        "ASM data sheet of 6061-T6, secondary copy",
        Finish.METAL,
    ),
    Material(
        "steel-s235",
        "Mild steel S235",
        7850.0,
        210.0,
        235.0,
        "EN 10025-2 table 7, up to 16 mm, secondary copy; modulus from memory",
        Finish.METAL,
    ),
    Material(
        "stainless-304",
        "Stainless steel 304",
        8000.0,
        193.0,
        205.0,
        "ASM data sheet of 304, secondary copy; least yield of ASTM A213",
        Finish.METAL,
    ),
    Material(
        "acrylic-cast",
        "Cast acrylic (PMMA)",
        1190.0,
        2.8,
        67.0,
        "PMMA data sheets, lowest of their ranges, for a short load only: under a lasting load "
        "acrylic crazes from 5 to 10 MPa (from memory)",
        Finish.CLEAR,
        (3050.0, 2030.0),
    ),
    Material(
        "plywood",
        "Plywood, any softwood or hardwood",
        650.0,
        6.9,
        38.0,
        "Journal of Wood Science 53-4, table 3, lowest of its ranges; density: middle of 600-700",
        Finish.WOOD,
        (2440.0, 1220.0),
    ),
    Material(
        "birch-plywood",
        "Birch plywood",
        680.0,
        8.75,
        29.0,
        "Handbook of Finnish Plywood, from memory: mean of along and across the face grain; "
        "strength across it at 6.5 mm; measure your own sheet",
        Finish.WOOD,
        (2500.0, 1250.0),
    ),
    Material(
        "poplar-plywood", "Poplar plywood", 450.0, 4.5, 20.0, _MEMORY, Finish.WOOD, (2500.0, 1220.0)
    ),
    Material("mdf", "MDF", 750.0, 3.0, 22.0, _MEMORY, Finish.WOOD, (2440.0, 1220.0)),
    Material(
        "greyboard",
        "Greyboard (solid card)",
        650.0,
        2.0,
        15.0,
        _MEMORY,
        Finish.CARD,
        (1000.0, 700.0),
    ),
    Material(
        "corrugated-card",
        "Corrugated card, single wall",
        140.0,
        0.3,
        1.5,
        _MEMORY,
        Finish.CARD,
        (1500.0, 1000.0),
        least_hole=1.0,
        least_web=2.0,
    ),
)

MATERIALS: dict[str, Material] = {entry.name: entry for entry in _LIBRARY}


def material(name: str) -> Material:
    """Return a sheet of the library by its name.

    Raises
    ------
    DesignError : the library has no such name; the nearest names are suggested.
    """
    found = MATERIALS.get(name)
    if found is not None:
        return found
    near = difflib.get_close_matches(name.strip().lower().replace(" ", "-"), MATERIALS, n=3)
    remedy = f"Did you mean {' or '.join(near)}?" if near else "Take the nearest one in weight."
    raise DesignError("sheet.material", name, "one of " + ", ".join(MATERIALS), remedy)
