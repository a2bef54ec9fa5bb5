# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A sculpture in the rough: bodies of plates in their places, and pins, before anything is cut.

It takes a fraction of a whole build, so it can follow a number while that is dragged. Slots, tabs,
modules and checks are left to `pipeline.build`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from shapely import Polygon

from .design.model import Design
from .errors import DesignError
from .frame.frame import Frame, frame_from_choice
from .joints.classes import joint_classes
from .joints.fasteners import Fasteners, fasteners_of
from .joints.table import joint_table
from .pipeline import sizes_of
from .plates.motif import Motif, motif_from_choice
from .plates.orbits import Orbits, orbits_of
from .plates.recipes import blamed_on_recipe, explicit_form
from .plates.recipes.recipe import Recipe

__all__ = ["Rough", "rough", "written_out"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Rough:
    """Where the plates stand and what they are before they are cut.

    motifs : their `body` is in their plane, mm; orbits : the places of their copies
    thickness : of the sheet, mm
    fasteners : pins and the like, placed; None where the joints do not work out: `fault` says why,
        in words
    """

    motifs: tuple[Motif, ...]
    orbits: Orbits
    thickness: float
    fasteners: Fasteners | None
    fault: str = ""

    def bodies(self) -> dict[str, Polygon]:
        """Return the uncut outline of each motif by its name, in the motif's plane, mm."""
        return {motif.name: motif.body for motif in self.motifs}

    def places(self) -> dict[tuple[str, int], Floats]:
        """Return (4, 4) world from the motif's plane, mm, by motif and element of the group."""
        names = [motif.name for motif in self.motifs]
        keys = zip(self.orbits.motif.tolist(), self.orbits.element.tolist(), strict=True)
        return {
            (names[m], element): self.orbits.transforms[p] for p, (m, element) in enumerate(keys)
        }


def rough(design: Design, frame: Frame | None = None) -> Rough:
    """Compute where a design's plates stand, without cutting or judging them.

    frame : takes the place of the one that the design names

    Raises
    ------
    DesignError : the plates cannot be made; that the joints cannot is told by `Rough.fault`.
    FrameError : the frame cannot be used.
    """
    if frame is None:
        frame = frame_from_choice(design.frame, design.folder)
    sizes = sizes_of(design)
    form = explicit_form(design, frame, sizes)
    with blamed_on_recipe(design):
        motifs = tuple(motif_from_choice(choice, form.group) for choice in form.motifs)
        orbits = orbits_of(motifs, form.group)
        try:
            placed, fault = _fasteners(design, form, motifs, orbits), ""
        except DesignError as error:
            placed, fault = None, str(error)
    return Rough(motifs, orbits, design.sheet.thickness, placed, fault)


def written_out(design: Design, frame: Frame | None = None) -> Design:
    """Return a design whose motifs and joint classes are its own: those that its recipe makes.

    Raises
    ------
    DesignError, FrameError : the recipe cannot be carried out.
    """
    if design.recipe is None:
        return design
    if frame is None:
        frame = frame_from_choice(design.frame, design.folder)
    form = explicit_form(design, frame, sizes_of(design))
    return replace(
        design, recipe=None, motifs=tuple(form.motifs), joint_classes=tuple(form.joint_classes)
    )


def _fasteners(
    design: Design, form: Recipe, motifs: tuple[Motif, ...], orbits: Orbits
) -> Fasteners:
    classes = joint_classes(form.joint_classes, motifs, form.group, sizes_of(design))
    table = joint_table(classes, motifs, orbits, form.group)
    return fasteners_of(classes, table)
