# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What a search is asked for (kept with the scene), and how its finds are shown (kept nowhere).

Lengths are millimetres, as in `properties`.
"""

from __future__ import annotations

import bpy
from bpy.props import (
    BoolProperty,
    EnumProperty,
    FloatProperty,
    IntProperty,
    PointerProperty,
    StringProperty,
)

from ..core.search.rank import WEIGHTS
from . import search_finds
from .choices import mm
from .lengths import length
from .menu_items import GROUPS, SHEETS

__all__ = ["CLASSES", "PinwrightFinds", "PinwrightSearch", "wanted_of"]

# From 4.5 on a path has to say so when "//" may stand for the folder of the file.
_BESIDE = {"PATH_SUPPORTS_BLEND_RELATIVE"} if bpy.app.version >= (4, 5, 0) else set()
SEARCHED = tuple(entry for entry in GROUPS if entry[0] in ("T", "O", "I"))
ORDERS = (
    ("DIFFERENT", "Different First", "The best of each kind of look, then their look-alikes"),
    ("SCORE", "Score", "By the weighed figures"),
    ("CLEARANCE", "Clearance", "Most room between plates first"),
    ("WIDTH", "Strip Width", "Widest strips first"),
    ("OPENNESS", "Openness", "Most see-through first"),
    ("PLATES", "Fewest Plates", "Fewest plates first"),
    ("LINKED", "Linked Rotors", "Most linked rotors first"),
)
_ORDERS = [entry[0] for entry in ORDERS]


class PinwrightSearch(bpy.types.PropertyGroup):
    """What the next search is asked for."""

    group: EnumProperty(
        name="Group",
        items=SEARCHED,
        default="I",
        description="Rotations that carry the sculpture to itself",
    )
    motifs: IntProperty(
        name="Motifs",
        description="Plates of different shape; the group carries each of them round",
        default=2,
        min=1,
        max=3,
    )
    linked: BoolProperty(
        name="Linked Rotors Only",
        description="Only designs in which rotors of two motifs pass through each other on an axis",
    )
    diameter: length("Diameter", 1000.0, "Of the whole sculpture", least=1.0)
    thickness: length("Thickness", 3.0, "Of the sheet", least=0.01)
    clearance: length("Clearance", 10.0, "Least distance of plates that are not joined", least=0.0)
    use_width: BoolProperty(
        name="Set Strip Width", description="Choose the width instead of letting the search do it"
    )
    width: length("Strip Width", 30.0, "Width of the strips", least=0.01)
    material: EnumProperty(name="Material", items=SHEETS, description="Kind of sheet")
    seed: IntProperty(
        name="Seed",
        description="Another seed tries other designs; the same one finds the same again",
        default=1,
        min=0,
    )
    seconds: IntProperty(
        name="Seconds",
        description="How long to search; it can be stopped before and gone on with after",
        default=120,
        min=1,
        soft_max=3600,
        max=1_000_000,
    )
    use_cores: BoolProperty(
        name="Set Cores", description="Choose how many processor cores work instead of taking all"
    )
    cores: IntProperty(
        name="Cores",
        description="Processor cores at work; Blender itself comes first all the same",
        default=2,
        min=1,
        max=1024,
    )
    folder: StringProperty(
        name="Folder",
        description="Each search makes a folder of its own in here. Empty: beside the saved file, "
        "or for an unsaved one in a place that is cleared when Blender closes",
        subtype="DIR_PATH",
        options=_BESIDE,
    )


def wanted_of(settings: PinwrightSearch) -> dict[str, object]:
    """Return the fields of core's `Wanted`."""
    return {
        "group": settings.group,
        "motifs": settings.motifs,
        "thickness": mm(settings.thickness),
        "diameter": mm(settings.diameter),
        "width": mm(settings.width) if settings.use_width else None,
        "clearance": mm(settings.clearance),
        "material": settings.material,
        "linked": settings.linked and settings.motifs > 1,
    }


# ---------------------------------------------------------------- how finds are shown


def _weight(name: str, description: str):
    return FloatProperty(
        name=name.title(),
        description=description,
        default=WEIGHTS[name],
        min=0.0,
        soft_max=4.0,
        max=100.0,
        step=10,
        precision=1,
        get=lambda self: search_finds.weight(name),
        set=lambda self, value: search_finds.weigh(name, mm(value)),
    )


class PinwrightWeights(bpy.types.PropertyGroup):
    """How much each figure counts in the score."""

    clearance: _weight("clearance", "Room between plates that are not joined")
    web: _weight("web", "Material left round slots and holes")
    slenderness: _weight("slenderness", "Strips that are long for their width, within reason")
    openness: _weight("openness", "Neither a ball of sheet nor nearly nothing")
    evenness: _weight("evenness", "Spread evenly, seen from all sides")
    roundness: _weight("roundness", "As wide one way as another")
    parts: _weight("parts", "Few different outlines to cut")
    square: _weight("square", "Share of joints at a right angle")
    linked: _weight("linked", "Rotors that are linked like the rings of a chain")
    springable: _weight("springable", "Rotors that close without being bent too far")


# Blender keeps no texts of choices that a function gives, so they must last as long as it runs.
_texts: dict[str, str] = {}
_names: list[str] = []  # of all finds that were shown: a find keeps its number when others come


def _page(self: PinwrightFinds, context: bpy.types.Context | None):
    """Return the finds of the page as a choice of pictures."""
    return [
        (
            _lasting(find.name),
            _lasting(str(find.number)),
            _lasting(f"{find.name}, {find.kind}"),
            search_finds.icon(find),
            _number(find.name),
        )
        for find in search_finds.page()
    ]


def _lasting(text: str) -> str:
    return _texts.setdefault(text, text)


def _number(name: str) -> int:
    if name not in _names:
        _names.append(name)
    return _names.index(name)


def _get_order(self: PinwrightFinds) -> int:
    return _ORDERS.index(search_finds.order())


def _set_order(self: PinwrightFinds, place: int) -> None:
    search_finds.put_in_order(_ORDERS[place])


def _get_chosen(self: PinwrightFinds) -> int:
    now = search_finds.chosen()
    return -1 if now is None else _number(now.name)


def _set_chosen(self: PinwrightFinds, number: int) -> None:
    search_finds.choose(_names[number])


class PinwrightFinds(bpy.types.PropertyGroup):
    """How the finds of the folder that is open are shown."""

    chosen: EnumProperty(
        name="Find",
        description="Click to see the finds side by side and choose one",
        items=_page,
        get=_get_chosen,
        set=_set_chosen,
    )
    order: EnumProperty(
        name="Order",
        items=ORDERS,
        description="Which finds come first",
        get=_get_order,
        set=_set_order,
    )
    weights: PointerProperty(type=PinwrightWeights)


CLASSES = (PinwrightSearch, PinwrightWeights, PinwrightFinds)
