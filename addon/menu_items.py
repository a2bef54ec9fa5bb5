# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the settings offer to choose from: words and tool-tips of each choice."""

from __future__ import annotations

from ..core.design.materials import MATERIALS
from ..core.frame.solids import catalogue
from . import exploded, looks

__all__ = [
    "APART",
    "BENDS",
    "FRAME_FROM",
    "GROUPS",
    "LOOKS",
    "PATTERNS",
    "PATTERN_NAMES",
    "PRISMS",
    "RECIPES",
    "SHEETS",
    "SOLIDS",
]

FRAME_FROM = (
    ("SOLID", "Solid", "A solid of the catalog"),
    ("OBJECT", "Mesh Object", "A closed mesh of this file, with its modifiers and its scale"),
    ("FILE", "Mesh File", "The mesh file that the design names"),
    ("GROUP", "Rotation Group", "Symmetry without a polyhedron"),
)
RECIPES = (
    ("EDGE_ROTOR", "Edge Rotors", "A strip stands on every edge and turns with its neighbors"),
    ("RIGHT_ANGLE", "Right-Angle Orbit", "One strip, carried round; every joint is square"),
    ("RINGS", "Rings", "Flat rings through the center, crossing by cross-laps"),
    ("MOTIFS", "Own Motifs", "The motifs and joint classes of the design file"),
    ("OTHER", "As in the Design File", "A recipe that only a design file sets"),
)
GROUPS = (
    ("C", "Cyclic", "Rotations about one axis"),
    ("D", "Dihedral", "One axis, and two-fold axes square to it"),
    ("T", "Tetrahedral", "The 12 rotations of the tetrahedron"),
    ("O", "Octahedral", "The 24 rotations of the cube"),
    ("I", "Icosahedral", "The 60 rotations of the icosahedron"),
)
BENDS = (
    ("SHARP", "Sharp", "Mitered corners"),
    ("ROUND", "Round", "Corners rounded with the bend radius"),
    ("SMOOTH", "Smooth", "One smooth curve through all points"),
    ("ARC", "Arcs", "Arcs of circles through all points, each touching the next"),
)
PATTERNS = (
    ("ROTOR_ROTOR", "Rotor and Rotor", "Both joint classes turn about three-fold axes"),
    ("ROTOR_TWO_FOLD", "Rotor and Two-Fold", "One class about three-fold, one about two-fold axes"),
)
PATTERN_NAMES = {"ROTOR_ROTOR": "rotor + rotor", "ROTOR_TWO_FOLD": "rotor + two-fold"}
LOOKS = (
    (looks.SHEET, "Sheet", "The material of the sheet, with its cut edge"),
    (looks.TINTED, "Tinted Sheet", "The sheet in a color for each part: colored acrylic"),
    (looks.PARTS, "Parts", "One color for each part"),
)
APART = (
    (exploded.ALL, "Modules and Plates", "Everything comes apart"),
    (exploded.MODULES, "Modules", "Modules stay together"),
)


def _solid_items() -> tuple[tuple[str, str, str], ...]:
    """Return the catalogue as enum items, a heading before each family."""
    items, family = [], ""
    for entry in catalogue():
        if entry.family.title() != family and entry.family not in ("prism", "antiprism"):
            family = entry.family.title()
            items.append(("", family, ""))
        elif entry.family == "prism":
            items.append(("", "Prisms", ""))
        name = entry.name.removesuffix(" n")
        told = f"{entry.vertices} vertices, {entry.edges} edges, {entry.faces} faces"
        items.append((name.replace(" ", "_").upper(), name.title(), told))
    return tuple(items)


SOLIDS = _solid_items()


def _sheet_title(title: str) -> str:
    """Return a sheet's title as Blender writes titles: in capitals, and as in the States."""
    words = [w if w in ("or", "and") else w[:1].upper() + w[1:] for w in title.split(" ")]
    return " ".join(words).replace("(s", "(S").replace("Aluminium", "Aluminum")


SHEETS = tuple(
    (entry.name, _sheet_title(entry.title), f"{entry.density:.0f} kg/m\u00b3")
    for entry in MATERIALS.values()
)
PRISMS = ("PRISM", "ANTIPRISM")
