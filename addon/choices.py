# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Settings to a design and back: the panel's numbers here, core's frozen records there.

What the panel has no field for (motifs, joint classes, a recipe's normal) is taken over from the
design that the sculpture was built from, its `base`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from ..core.design.model import (
    Bend,
    Design,
    EdgeRotor,
    FrameChoice,
    JointSizes,
    ModuleChoice,
    Recipe,
    RightAngleOrbit,
    Rings,
    Sheet,
)
from ..core.errors import DesignError
from ..core.frame.solids import solid
from ..core.plates.recipes.right_angle import usual_weave
from . import menu_items

if TYPE_CHECKING:
    from .properties import PinwrightSettings

__all__ = ["OBJECT_FILE", "design_of", "mm", "show_design"]

OBJECT_FILE = "frame.obj"  # the name under which a mesh object is written beside a design file
_OPTIONAL = ("tab_width", "pin_diameter", "pin_length", "web")


def mm(value: float) -> float:
    """Return a number of the panel as it was typed: Blender keeps seven digits of it."""
    return float(f"{value:.7g}")


# ---------------------------------------------------------------- settings to design


def design_of(settings: PinwrightSettings, base: Design | None = None) -> Design:
    """Return the design that the settings describe.

    Raises
    ------
    DesignError : own motifs are asked for, but there is no design with motifs.
    """
    optional: dict[str, Any] = {
        name: mm(getattr(settings, name)) if getattr(settings, f"use_{name}") else None
        for name in _OPTIONAL
    }
    joints = replace(
        JointSizes() if base is None else base.joints,  # keeps what the panel does not show
        pin_play=mm(settings.pin_play),
        hole_play=mm(settings.hole_play),
        corner_radius=mm(settings.corner_radius),
        gap=mm(settings.gap),
        **optional,
    )
    thickness = mm(settings.thickness)
    kept = Sheet(thickness) if base is None else base.sheet
    if kept.thickness != thickness:  # bounds of another thickness say nothing
        kept = replace(kept, least_thickness=None, most_thickness=None)
    sheet = replace(
        kept,
        thickness=thickness,
        material=settings.material,
        kerf=mm(settings.kerf),
        clearance=mm(settings.clearance),
        one_sided=settings.one_sided,
    )
    modules = replace(
        ModuleChoice() if base is None else base.modules,
        about=settings.about,
        explode=mm(settings.way_modules),
        explode_plates=mm(settings.way_plates),
    )
    kept_recipe = base.recipe if base is not None else None
    own = settings.recipe == "MOTIFS"
    if own and (base is None or not base.motifs):
        raise DesignError("recipe", "own motifs", "a recipe", "Own motifs come with a design file.")
    design = Design(settings.title, sheet, _frame(settings)) if base is None else base
    return replace(
        design,
        name=settings.title,
        sheet=sheet,
        frame=_frame(settings),
        joints=joints,
        modules=modules,
        recipe=None if own else _recipe(settings, kept_recipe),
        motifs=design.motifs if own else (),
        joint_classes=design.joint_classes if own else (),
    )


def _frame(settings: PinwrightSettings) -> FrameChoice:
    diameter = mm(settings.diameter)
    if settings.frame_from == "OBJECT":
        return FrameChoice(diameter, mesh=OBJECT_FILE)
    if settings.frame_from == "FILE":
        return FrameChoice(diameter, mesh=settings.mesh)
    if settings.frame_from == "GROUP":
        order = str(settings.order) if settings.group in ("C", "D") else ""
        return FrameChoice(diameter, group=settings.group + order)
    name = settings.solid.lower().replace("_", " ")
    if settings.solid in menu_items.PRISMS:
        name = f"{name} {settings.sides}"
    elif settings.left:
        name = f"{name} left"
    return FrameChoice(diameter, solid=name)


def _recipe(settings: PinwrightSettings, base: Recipe | None) -> Recipe:
    """Return the recipe of the settings; what they do not show comes from `base`."""
    width, bend, radius = mm(settings.width), Bend[settings.bend], mm(settings.bend_radius)
    if settings.recipe == "OTHER":
        if base is None:
            raise DesignError("recipe", "of a file", "a recipe", "It comes with a design file.")
        return base
    if settings.recipe == "RINGS":
        rings = base if isinstance(base, Rings) else Rings(width)
        about = None if settings.axes == "0" else int(settings.axes)
        return replace(rings, width=width, about=about)
    if settings.recipe == "EDGE_ROTOR":
        rotor = base if isinstance(base, EdgeRotor) else EdgeRotor(width=width)
        return replace(
            rotor,
            width=width,
            engagement=mm(settings.engagement) if settings.use_engagement else None,
            hand=int(settings.hand),
            bend=bend,
            bend_radius=radius,
        )
    pattern = menu_items.PATTERN_NAMES[settings.pattern]
    orbit = RightAngleOrbit(width=width, pattern=pattern)
    if isinstance(base, RightAngleOrbit) and base.pattern == pattern:
        orbit = base  # its normal and its turns suit the pattern
    return replace(
        orbit,
        width=width,
        offset=mm(settings.offset),
        places=(mm(settings.places[0]), mm(settings.places[1])),
        swap=settings.swap,
        bend=bend,
        bend_radius=radius,
    )


# ---------------------------------------------------------------- design to settings


def show_design(settings: PinwrightSettings, design: Design) -> None:
    """Set the panel's numbers to those of a design."""
    settings.title = design.name
    _show_frame(settings, design.frame)
    _show_recipe(settings, design.recipe)
    sheet, joints, modules = design.sheet, design.joints, design.modules
    settings.material = sheet.material
    settings.one_sided = sheet.one_sided
    for name in ("thickness", "kerf", "clearance"):
        setattr(settings, name, getattr(sheet, name))
    for name in ("pin_play", "hole_play", "corner_radius", "gap"):
        setattr(settings, name, getattr(joints, name))
    for name in _OPTIONAL:
        value = getattr(joints, name)
        setattr(settings, f"use_{name}", value is not None)
        if value is not None:
            setattr(settings, name, value)
    settings.about = modules.about
    settings.way_modules = modules.explode
    settings.way_plates = modules.explode_plates
    settings.stale = False


def _show_frame(settings: PinwrightSettings, frame: FrameChoice) -> None:
    settings.diameter = frame.diameter
    if frame.mesh is not None:
        from_object = frame.mesh == OBJECT_FILE and settings.frame_from == "OBJECT"
        settings.frame_from = "OBJECT" if from_object else "FILE"
        settings.mesh = frame.mesh
    elif frame.group is not None:
        settings.frame_from = "GROUP"
        settings.group = frame.group[0]
        if len(frame.group) > 1:
            settings.order = int(frame.group[1:])
    elif frame.solid is not None:
        settings.frame_from = "SOLID"
        _show_solid(settings, frame.solid)


def _show_solid(settings: PinwrightSettings, name: str) -> None:
    plain = solid(name).name.upper()  # the catalogue's own name for it
    settings.left = plain.endswith(" LEFT")
    plain = plain.removesuffix(" LEFT")
    stem, _, sides = plain.rpartition(" ")
    if stem in menu_items.PRISMS and sides.isdigit():
        settings.sides = int(sides)
        plain = stem
    settings.solid = plain.replace(" ", "_")


def _show_recipe(settings: PinwrightSettings, recipe: Recipe | None) -> None:
    if recipe is None:
        settings.recipe = "MOTIFS"
        return
    if not isinstance(recipe, Rings | EdgeRotor | RightAngleOrbit):
        settings.recipe = "OTHER"
        return
    settings.width = recipe.width
    if isinstance(recipe, Rings):
        settings.recipe = "RINGS"
        settings.axes = "0" if recipe.about is None else str(recipe.about)
        return
    settings.bend = recipe.bend.name
    settings.bend_radius = recipe.bend_radius
    if isinstance(recipe, EdgeRotor):
        settings.recipe = "EDGE_ROTOR"
        settings.hand = str(recipe.hand)
        settings.use_engagement = recipe.engagement is not None
        if recipe.engagement is not None:
            settings.engagement = recipe.engagement
        return
    settings.recipe = "RIGHT_ANGLE"
    names = menu_items.PATTERN_NAMES
    settings.pattern = next(key for key, text in names.items() if text == recipe.pattern)
    settings.offset = recipe.offset
    places, swap = usual_weave(recipe.pattern)
    settings.places = places if recipe.places is None else recipe.places
    settings.swap = swap if recipe.swap is None else recipe.swap
