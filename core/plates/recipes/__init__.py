# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Recipes: from a frame and a few numbers to motifs and joint classes, in the explicit form.

Each recipe is a pure function. What it returns could have been typed into a design file; nothing
later knows that a recipe was used.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from ...design.model import (
    CornerTriads,
    Design,
    DrawnStrips,
    EdgeRotor,
    FacePlates,
    InterwovenTriads,
    RightAngleOrbit,
    Rings,
)
from ...errors import DesignError
from ...fit.sizes import Sizes
from ...frame.frame import Frame
from .drawn_strips import drawn_strips
from .edge_rotor import edge_rotor
from .face_plates import face_plates
from .recipe import Recipe
from .right_angle import right_angle_orbit
from .rings import rings
from .triads import corner_triads, interwoven_triads

__all__ = ["Recipe", "blamed_on_recipe", "explicit_form"]


def explicit_form(design: Design, frame: Frame, sizes: Sizes) -> Recipe:
    """Return the design's motifs and joint classes, filled in by its recipe if it names one.

    Raises
    ------
    DesignError : the recipe cannot be carried out on this frame.
    """
    recipe = design.recipe
    if recipe is None:
        return Recipe(design.motifs, design.joint_classes, frame.group)
    if isinstance(recipe, RightAngleOrbit):
        return right_angle_orbit(frame, recipe)
    if isinstance(recipe, EdgeRotor):
        return edge_rotor(frame, recipe, sizes)
    if isinstance(recipe, CornerTriads):
        return corner_triads(frame, recipe)
    if isinstance(recipe, InterwovenTriads):
        return interwoven_triads(frame, recipe)
    if isinstance(recipe, FacePlates):
        return face_plates(frame, recipe, sizes)
    if isinstance(recipe, DrawnStrips):
        return drawn_strips(frame, recipe, sizes)
    assert isinstance(recipe, Rings)
    return rings(frame, recipe)


@contextmanager
def blamed_on_recipe(design: Design) -> Iterator[None]:
    """Name the recipe in errors about motifs and joint classes that a recipe has made.

    The user never wrote those; a field of the same name in the recipe is named if there is one.
    """
    try:
        yield
    except DesignError as error:
        table, _, rest = error.field.partition(".")
        if design.recipe is None or table not in ("motifs", "joint_classes"):
            raise
        name = rest.rpartition(".")[2]
        field = f"recipe.{name}" if hasattr(design.recipe, name) else "recipe"
        remedy = f"{error.remedy} (The recipe made {error.field}.)".lstrip()
        raise DesignError(field, error.found, error.allowed, remedy) from error
