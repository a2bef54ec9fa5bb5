# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Panel numbers to a design and back: nothing is lost on the way."""

from __future__ import annotations

from dataclasses import replace

import pytest

bpy = pytest.importorskip("bpy")

from pinwright.addon import choices  # noqa: E402
from pinwright.core.design.model import (  # noqa: E402
    Bend,
    Design,
    EdgeRotor,
    FrameChoice,
    JointSizes,
    Keying,
    Keys,
    ModuleChoice,
    RightAngleOrbit,
    Rings,
    Sheet,
)
from pinwright.core.design.read import design_from_dict  # noqa: E402
from pinwright.core.design.write import design_to_dict  # noqa: E402
from pinwright.core.errors import DesignError  # noqa: E402
from tests.builders import small_design  # noqa: E402

PLAIN = Design("one", Sheet(2.93), FrameChoice(512.7, solid="cube"), recipe=EdgeRotor(23.45))
DESIGNS = {
    "edge rotor": PLAIN,
    "engagement": replace(PLAIN, recipe=EdgeRotor(23.45, 31.7, -1, Bend.SHARP, 0.0)),
    "rings": replace(PLAIN, recipe=Rings(18.0, 5)),
    "right angles": replace(
        PLAIN,
        frame=FrameChoice(700.1, group="I"),
        recipe=RightAngleOrbit(
            20.0, (0.6, 0.0, 0.8), "rotor + two-fold", None, 0.612345, (0.1, -0.234567), True
        ),
    ),
    "dihedral": replace(PLAIN, frame=FrameChoice(80.0, group="D17"), recipe=Rings(5.0)),
    "prism": replace(PLAIN, frame=FrameChoice(80.0, solid="antiprism 7")),
    "left": replace(PLAIN, frame=FrameChoice(80.0, solid="snub cube left")),
    "sheet": replace(PLAIN, sheet=Sheet(6.5, "birch-plywood", 0.21, 0.07, True)),
    "delivered": replace(
        PLAIN, sheet=Sheet(2.93, least_thickness=2.8, most_thickness=3.1, coating=0.05)
    ),
    "keys": replace(PLAIN, keying=Keying(Keys.TABS, 4.0, True)),
    "joints": replace(PLAIN, joints=JointSizes(11.1, 2.5, 17.3, 0.4, 0.15, 3.3, 1.2, 0.9)),
    "modules": replace(PLAIN, modules=ModuleChoice("vertices", 0.77, 0.123)),
    "axes": replace(
        PLAIN,
        frame=FrameChoice(80.0, group="I"),
        recipe=Rings(3.0),
        modules=ModuleChoice("axes 5", 0.5, 0.1),
    ),
    "mesh file": replace(PLAIN, frame=FrameChoice(300.0, mesh="rock.obj"), folder="there"),
    "note": replace(PLAIN, note="two\nlines"),
    "own motifs": small_design(),
}


@pytest.mark.parametrize("name", DESIGNS)
def test_design_to_panel_and_back_is_the_same(name: str) -> None:
    design = DESIGNS[name]
    settings = bpy.context.scene.pinwright
    choices.show_design(settings, design)
    assert choices.design_of(settings, design) == design


@pytest.mark.parametrize("name", [name for name in DESIGNS if name != "mesh file"])
def test_what_the_panel_gives_is_a_valid_design_file(name: str) -> None:
    settings = bpy.context.scene.pinwright
    choices.show_design(settings, DESIGNS[name])
    design = choices.design_of(settings, DESIGNS[name])
    assert design_from_dict(design_to_dict(design), design.folder) == design


def test_every_enum_of_the_panel_gives_a_valid_design() -> None:
    settings = bpy.context.scene.pinwright
    for name in ("solid", "material", "pattern", "bend", "hand", "axes"):
        for item in settings.bl_rna.properties[name].enum_items:
            if not item.identifier:
                continue  # a heading
            settings.recipe = "RINGS" if name == "axes" else "RIGHT_ANGLE"
            setattr(settings, name, item.identifier)
            design_from_dict(design_to_dict(choices.design_of(settings)))


def test_other_spellings_of_a_solid_are_understood() -> None:
    settings = bpy.context.scene.pinwright
    choices.show_design(settings, replace(PLAIN, frame=FrameChoice(9.0, solid="Truncated-Cube")))
    assert settings.solid == "TRUNCATED_CUBE"


def test_changing_one_number_keeps_the_rest() -> None:
    design = DESIGNS["right angles"]
    settings = bpy.context.scene.pinwright
    choices.show_design(settings, design)
    settings.thickness = 4.25
    changed = choices.design_of(settings, design)
    assert changed == replace(design, sheet=replace(design.sheet, thickness=4.25))


def test_own_motifs_need_a_design() -> None:
    settings = bpy.context.scene.pinwright
    settings.recipe = "MOTIFS"
    with pytest.raises(DesignError, match="design file"):
        choices.design_of(settings)
