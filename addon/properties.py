# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Settings and figures of a sculpture, as Blender shows and saves them.

One group of settings stands on the scene, for the next sculpture, and one on each sculpture's root,
for itself. Lengths are millimetres (Blender's unit "camera" is just that), whatever the scene's
unit is. Figures are results of the last build; panels only show them.
"""

from __future__ import annotations

import bpy
from bpy.props import (
    BoolProperty,
    CollectionProperty,
    EnumProperty,
    FloatProperty,
    FloatVectorProperty,
    IntProperty,
    PointerProperty,
    StringProperty,
)

from ..core.frame.solids import MOST_SIDES
from ..core.plates.recipes.right_angle import usual_weave
from . import changes, exploded, looks, scene, tags
from .lengths import length
from .menu_items import (
    APART,
    BENDS,
    FRAME_FROM,
    GROUPS,
    LOOKS,
    PATTERN_NAMES,
    PATTERNS,
    RECIPES,
    SHEETS,
    SOLIDS,
)
from .module_items import ABOUT

__all__ = ["CLASSES", "PinwrightFinding", "PinwrightJointClass", "PinwrightSettings", "settings_of"]


# ---------------------------------------------------------------- what a change does


def _stale(self: PinwrightSettings, context: bpy.types.Context) -> None:
    """Note that the figures belong to other settings, and tell whoever builds anew."""
    if isinstance(self.id_data, bpy.types.Object):
        self.stale = True
        changes.note(self)


def _other_frame(self: PinwrightSettings, context: bpy.types.Context) -> None:
    """Note that the sculpture hangs on something else now."""
    if isinstance(self.id_data, bpy.types.Object):
        self.stale = True
        changes.note(self, frame=True)


def _pattern(self: PinwrightSettings, context: bpy.types.Context) -> None:
    """Start a pattern from numbers that suit it: those of the other one seldom do."""
    with changes.paused():
        self.places, self.swap = usual_weave(PATTERN_NAMES[self.pattern])
    _stale(self, context)


def _explode(self: PinwrightSettings, context: bpy.types.Context) -> None:
    if isinstance(self.id_data, bpy.types.Object):
        exploded.apply(self.id_data, self.explode, self.apart)


def _look(self: PinwrightSettings, context: bpy.types.Context) -> None:
    if isinstance(self.id_data, bpy.types.Object):
        scene.change_look(self.id_data, self.material, self.look)


def _sheet(self: PinwrightSettings, context: bpy.types.Context) -> None:
    _look(self, context)
    _stale(self, context)


def _length(name: str, default: float, description: str, *, least: float = 0.0, step: float = 0.05):
    """Return a length in mm that makes the figures stale; `step` is one press of its arrows."""
    return length(name, default, description, least=least, step=step, update=_stale)


def _flag(name: str, description: str, *, default: bool = False):
    return BoolProperty(name=name, description=description, default=default, update=_stale)


def _choice(name: str, items: tuple, default: str, description: str):
    return EnumProperty(
        name=name, items=items, default=default, description=description, update=_stale
    )


def _share(
    name: str, default: float, description: str, *, least: float = -10.0, precision: int = 4
):
    return FloatProperty(
        name=name,
        description=description,
        default=default,
        min=least,
        max=10.0,
        soft_max=2.0,
        step=1,
        precision=precision,
        update=_stale,
    )


def _is_frame(self: PinwrightSettings, obj: bpy.types.Object) -> bool:
    return obj.type == "MESH" and tags.root_of(obj) is None


class PinwrightFinding(bpy.types.PropertyGroup):
    """One check of the last build."""

    ok: BoolProperty()
    figure: FloatProperty()
    limit: FloatProperty()
    unit: StringProperty()
    message: StringProperty()
    where: StringProperty()  # ids, separated by blanks


class PinwrightClearance(bpy.types.PropertyGroup):
    """An object of the scene near the sculpture; its name is the row's."""

    distance: FloatProperty()  # mm
    ours: FloatVectorProperty(size=3)  # scene units, in the world
    theirs: FloatVectorProperty(size=3)


class PinwrightJointClass(bpy.types.PropertyGroup):
    """One joint class of the last build."""

    kind: StringProperty()
    count: IntProperty()
    angle: FloatProperty()  # deg


class PinwrightFigures(bpy.types.PropertyGroup):
    """Results of the last build, for the panels."""

    parts: IntProperty()
    plates: IntProperty()
    joints: IntProperty()
    pins: IntProperty()
    modules: IntProperty()
    between: IntProperty()  # joints between modules
    mass: FloatProperty()  # kg
    area: FloatProperty()  # m2
    cut: FloatProperty()  # m
    diameter: FloatProperty()  # mm
    group: StringProperty()
    order: IntProperty()
    material: StringProperty()
    thickness: FloatProperty()  # mm
    warnings: StringProperty()  # one a line
    findings: CollectionProperty(type=PinwrightFinding)
    joint_classes: CollectionProperty(type=PinwrightJointClass)


class PinwrightSettings(bpy.types.PropertyGroup):
    """Frame, recipe, sheet, joints and modules of a sculpture, and how it is shown."""

    title: StringProperty(
        name="Name", description="Name of the sculpture", default="Sculpture", update=_stale
    )
    frame_from: EnumProperty(
        name="Frame",
        items=FRAME_FROM,
        default="SOLID",
        description="Where the frame comes from",
        update=_other_frame,
    )
    solid: _choice("Solid", SOLIDS, "ICOSAHEDRON", "The polyhedron that everything hangs on")
    sides: IntProperty(
        name="Sides",
        description="Sides of the prism or antiprism",
        default=6,
        min=3,
        max=MOST_SIDES,
        update=_stale,
    )
    left: _flag("Mirror Image", "Take the other one of a solid that has two hands")
    frame_object: PointerProperty(
        name="Object",
        description="Closed mesh that everything hangs on; none is the active object",
        type=bpy.types.Object,
        poll=_is_frame,
        update=_other_frame,
    )
    mesh: StringProperty(name="File", description="Mesh file that the design names", update=_stale)
    group: _choice("Group", GROUPS, "I", "Rotations that carry the sculpture to itself")
    order: IntProperty(
        name="Order",
        description="Order of the main axis",
        default=5,
        min=1,
        max=120,
        update=_stale,
    )
    diameter: _length(
        "Diameter", 600.0, "Of the sphere through the frame's vertices", least=1.0, step=1.0
    )

    recipe: _choice("Recipe", RECIPES, "EDGE_ROTOR", "How the plates are found from the frame")
    width: _length("Strip Width", 30.0, "Width of the strips", least=0.01, step=0.2)
    use_engagement: _flag("Set Engagement", "Choose the engagement instead of the least one")
    engagement: _length(
        "Engagement",
        30.0,
        "From the slot that a strip carries to its own shoulder",
        least=0.01,
        step=0.2,
    )
    hand: _choice(
        "Rotors",
        (("1", "Counterclockwise", "Seen from outside"), ("-1", "Clockwise", "Seen from outside")),
        "1",
        "Which way the rotors turn",
    )
    bend: _choice("Bend", BENDS, "ROUND", "How a strip goes round the corners of its path")
    bend_radius: _length("Bend Radius", 0.0, "Of the rounded corners of a path")
    pattern: EnumProperty(
        name="Pattern",
        items=PATTERNS,
        default="ROTOR_ROTOR",
        description="Which rotations the joints follow",
        update=_pattern,
    )
    offset: _share("Plane Offset", 0.6667, "Of the plate from the center, as a share of the radius")
    places: FloatVectorProperty(
        name="Joint Places",
        description="Of the two joints on their section lines, as shares of the radius",
        size=2,
        default=usual_weave(PATTERN_NAMES["ROTOR_ROTOR"])[0],
        min=-10.0,
        max=10.0,
        step=1,
        precision=4,
        update=_stale,
    )
    swap: _flag(
        "Swap Slots",
        "Take the slots in the other order along the strip",
        default=usual_weave(PATTERN_NAMES["ROTOR_ROTOR"])[1],
    )
    axes: _choice(
        "Square To",
        (
            ("0", "Fewest Axes", "The fewest axes whose rings cross only two at a time"),
            *((str(n), f"{n}-Fold Axes", "") for n in range(2, 6)),
        ),
        "0",
        "Axes that the rings are square to",
    )

    material: EnumProperty(
        name="Material", items=SHEETS, description="Kind of sheet", update=_sheet
    )
    thickness: _length("Thickness", 3.0, "Of the sheet, as measured", least=0.01)
    clearance: _length("Clearance", 0.1, "Free room on each side of a tab in its slot")
    kerf: _length("Kerf", 0.15, "Width of the cut, for compensated cut files")
    one_sided: _flag("One-Sided", "The good face stays outside and no part is turned over")

    use_tab_width: _flag("Set Tab Width", "Choose the width instead of the sheet's rule")
    tab_width: _length("Tab Width", 15.0, "Width of the tabs", least=0.01, step=0.1)
    use_pin_diameter: _flag("Set Pin Diameter", "Choose the diameter instead of the sheet's rule")
    pin_diameter: _length("Pin Diameter", 3.0, "Diameter of the pins", least=0.01)
    use_pin_length: _flag("Set Pin Length", "Choose the length instead of the sheet's rule")
    pin_length: _length("Pin Length", 14.0, "Length of the pins", least=0.01)
    use_web: _flag("Set Web", "Choose the least web instead of the sheet's rule")
    web: _length("Web", 4.0, "Least material round holes and slots", least=0.01)
    pin_play: _length("Pin Play", 0.5, "Gap between a pin and the far face of the slotted plate")
    hole_play: _length("Hole Play", 0.2, "A pin's hole is wider than the pin by this")
    corner_radius: _length("Corner Radius", 0.0, "Of outer corners of the plates")
    gap: _length("Gap", 2.0, "Least distance of plates, but for their joints")

    about: _choice("Gather At", ABOUT, "none", "What each module gathers round")
    way_modules: _share(
        "Module Way", 0.6, "At full explosion, as a share of the radius", least=0.0, precision=2
    )
    way_plates: _share(
        "Plate Way", 0.15, "At full explosion, as a share of the radius", least=0.0, precision=2
    )

    look: EnumProperty(
        name="Look", items=LOOKS, default=looks.SHEET, description="Materials", update=_look
    )
    explode: FloatProperty(
        name="Exploded",
        description="How far the sculpture is pulled apart",
        min=0.0,
        max=1.0,
        subtype="FACTOR",
        update=_explode,
    )
    apart: EnumProperty(
        name="Apart",
        items=APART,
        default=exploded.ALL,
        description="What comes apart",
        update=_explode,
    )
    live: BoolProperty(
        name="Follow Settings",
        description="Build the sculpture anew while its settings change: plates without joints "
        "first, all joints when the hand rests",
        default=True,
    )
    sections: BoolProperty(
        name="Section Lines",
        description="Show in the active plate's plane where the planes of all others cut it",
        default=False,
    )
    clearances: CollectionProperty(type=PinwrightClearance)  # the nearest first
    show_clearances: BoolProperty(
        name="Show in View",
        description="Draw where the sculpture comes nearest to the things round it",
        default=True,
    )
    measured_at: FloatVectorProperty(size=16)  # where the root stood then
    stale: BoolProperty()
    fault: StringProperty(
        name="Fault", description="Why the settings cannot be built; the last good one is seen"
    )
    figures: PointerProperty(type=PinwrightFigures)


def settings_of(context: bpy.types.Context) -> tuple[PinwrightSettings, bpy.types.Object | None]:
    """Return the settings to show and the sculpture that they belong to (None: the next one)."""
    root = tags.root_of(context.active_object)
    if root is not None:
        return root.pinwright, root
    return context.scene.pinwright, None


CLASSES = (
    PinwrightFinding,
    PinwrightClearance,
    PinwrightJointClass,
    PinwrightFigures,
    PinwrightSettings,
)
