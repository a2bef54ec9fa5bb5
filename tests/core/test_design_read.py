# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A design file is read whole, or refused in words that say what stood there and what may."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from pinwright.core.design.model import Bend, EdgeRotor, JointKind, Turn
from pinwright.core.design.read import design_from_dict, design_from_text, read_design
from pinwright.core.design.tables import FIELDS
from pinwright.core.errors import DesignError, PinwrightError


def recipe_data() -> dict[str, Any]:
    return {
        "schema": "pinwright-design/1",
        "name": "Reed basket",
        "sheet": {"thickness": 3},
        "frame": {"solid": "icosahedron", "diameter": 500},
        "recipe": {"kind": "edge rotor", "width": 30},
    }


def motif_data() -> dict[str, Any]:
    data = recipe_data()
    del data["recipe"]
    data["motifs"] = [
        {"name": "arm", "normal": [0, 0, 2], "offset": -5, "path": [[0, 0], [9, 0]], "width": 30},
        {
            "name": "web",
            "normal": [0, 1, 0],
            "offset": 0,
            "outline": [[0, 0], [40, 0], [40, 40], [0, 40], [0, 0]],
            "holes": [[[5, 5], [9, 5], [9, 9]]],
        },
    ]
    data["joint_classes"] = [{"name": "j", "motifs": ["arm", "web"], "kind": "tenon"}]
    return data


def test_whole_numbers_become_lengths_and_defaults_fill_in() -> None:
    design = design_from_dict(recipe_data())
    assert design.recipe == EdgeRotor(width=30.0, bend=Bend.ROUND)
    assert design.sheet.thickness == 3.0
    assert isinstance(design.sheet.thickness, float)
    assert design.sheet.material == "aluminium-5052"
    assert design.joints.gap == 2.0


def test_motifs_are_read_with_unit_normals_and_open_rings() -> None:
    design = design_from_dict(motif_data())
    arm, web = design.motifs
    assert arm.normal == (0.0, 0.0, 1.0)
    assert arm.offset == -5.0
    assert web.outline is not None
    assert len(web.outline) == 4
    assert design.joint_classes[0].kind is JointKind.TENON
    assert design.joint_classes[0].turn == Turn()


def test_units_may_be_said() -> None:
    units = {"length": "mm", "angle": "deg"}
    assert design_from_dict({**recipe_data(), "units": units}) == design_from_dict(recipe_data())


def test_folder_is_where_the_file_lies(tmp_path: Path) -> None:
    file = tmp_path / "basket.toml"
    file.write_text(
        'schema = "pinwright-design/1"\nname = "b"\nsheet = {thickness = 3}\n'
        'frame = {mesh = "cage.obj", diameter = 400}\nrecipe = {kind = "rings", width = 20}\n'
    )
    assert read_design(file).folder == str(tmp_path.resolve())


# Every fault: where in the data, what is put there (DROP: taken out), and what the error must
# name: field, found (part of its repr), allowed (part).
DROP = object()
LENGTH = "above 0 and at most 100000 mm"
RECIPE_FAULTS = [
    (("schema",), DROP, "schema", "None", "pinwright-design/1"),
    (("schema",), "pinwright-design/9", "schema", "/9", "pinwright-design/1"),
    (("units",), {"length": "cm"}, "units.length", "cm", "mm"),
    (("units",), {"mass": "kg"}, "units.mass", "unknown", "length, angle"),
    (("units",), "mm", "units", "mm", "a table"),
    (("name",), DROP, "name", "None", "a text"),
    (("name",), "  ", "name", "  ", "not empty"),
    (("name",), "two\nlines", "name", "two", "one line"),
    (("note",), "bell\x07", "note", "x07", "a text"),
    (("colour",), "red", "colour", "unknown", "frame"),
    (("sheet",), DROP, "sheet", "None", "a table"),
    (("sheet",), 3, "sheet", "3", "a table"),
    (("sheet", "thickness"), DROP, "sheet.thickness", "None", "above 0 and at most 100 mm"),
    (("sheet", "thickness"), 0, "sheet.thickness", "0", "above 0"),
    (("sheet", "thickness"), -3.0, "sheet.thickness", "-3.0", "above 0"),
    (("sheet", "thickness"), True, "sheet.thickness", "True", "a number"),
    (("sheet", "thickness"), "3 mm", "sheet.thickness", "3 mm", "a number"),
    (("sheet", "thickness"), math.nan, "sheet.thickness", "nan", "a number"),
    (("sheet", "thickness"), math.inf, "sheet.thickness", "inf", "a number"),
    (("sheet", "thickness"), 10**400, "sheet.thickness", "1000", "at most 100 mm"),
    (("sheet", "kerf"), -0.1, "sheet.kerf", "-0.1", "from 0 to 10 mm"),
    (("sheet", "one_sided"), 1, "sheet.one_sided", "1", "true or false"),
    (("sheet", "material"), "brich-plywood", "sheet.material", "brich", "birch-plywood"),
    (("sheet", "material"), 7, "sheet.material", "7", "birch-plywood"),
    (("frame", "solid"), DROP, "frame", "None", "exactly one of solid, mesh, group"),
    (("frame", "group"), "I", "frame", "solid and group", "exactly one"),
    (("frame",), {"group": "Q7", "diameter": 9}, "frame.group", "Q7", "D2 to D120"),
    (("frame",), {"group": "C0", "diameter": 9}, "frame.group", "C0", "C1 to C120"),
    (("frame",), {"group": "D1", "diameter": 9}, "frame.group", "D1", "D2 to D120"),
    (("frame",), {"mesh": "cage.step", "diameter": 9}, "frame.mesh", "step", ".obj"),
    (("frame", "diameter"), 2e6, "frame.diameter", "2000000.0", LENGTH),
    (("recipe",), DROP, "recipe", "None", "either a recipe or motifs"),
    (("recipe", "kind"), DROP, "recipe.kind", "None", "edge rotor"),
    (("recipe", "kind"), "spiral", "recipe.kind", "spiral", "rings"),
    (("recipe", "widht"), 5, "recipe.widht", "unknown", "width"),
    (("recipe", "width"), DROP, "recipe.width", "None", LENGTH),
    (("recipe", "hand"), 2, "recipe.hand", "2", "1, -1"),
    (("recipe", "hand"), 1.0, "recipe.hand", "1.0", "1, -1"),
    (("recipe", "bend"), "crooked", "recipe.bend", "crooked", "sharp, round, smooth"),
    (("recipe",), {"kind": "rings", "width": 250}, "recipe.width", "250", "radius, 250 mm"),
    (("recipe",), {"kind": "rings", "width": 9, "about": 7}, "recipe.about", "7", "2, 3, 4, 5"),
    (("joints",), {"tab_width": 31}, "joints.tab_width", "31", "at most 30 mm"),
    (("joints",), {"tab_width": 25, "web": 4}, "joints.tab_width", "25", "at most 22 mm"),
    (("modules",), {"about": "corners"}, "modules.about", "corners", "vertices"),
    (("modules",), {"explode": -1}, "modules.explode", "-1", "from 0"),
    (
        ("joint_classes",),
        [{"name": "j", "motifs": ["a", "b"], "kind": "tenon"}],
        "joint_classes",
        "1 beside",
        "none beside a recipe",
    ),
    (("motifs",), [motif_data()["motifs"][0]], "recipe", "both", "either a recipe or motifs"),
]
ARM = ("motifs", 0)
WEB = ("motifs", 1)
JOINT = ("joint_classes", 0)
MOTIF_FAULTS = [
    (("motifs",), {"name": "arm"}, "motifs", "arm", "a list of tables"),
    (("motifs",), [3], "motifs[1]", "3", "a table"),
    ((*ARM, "normal"), [0, 0, 0], "motifs[1].normal", "0, 0", "not all zero"),
    ((*ARM, "normal"), [0, 1], "motifs[1].normal", "[0, 1]", "three numbers"),
    ((*ARM, "normal"), "z", "motifs[1].normal", "z", "three numbers"),
    ((*ARM, "normal"), [0, 0, math.inf], "motifs[1].normal", "inf", "three numbers"),
    ((*ARM, "offset"), math.nan, "motifs[1].offset", "nan", "a number"),
    ((*ARM, "x_axis"), [0, 0, -3], "motifs[1].x_axis", "-1.0", "not along the normal"),
    ((*ARM, "path"), [[0, 0]], "motifs[1].path", "1 points", "at least 2"),
    ((*ARM, "path"), [[0, 0], [5, 5], [0, 0]], "motifs[1].path[3]", "[0.0, 0.0]", "point 1"),
    ((*ARM, "path"), [[0, 0], [5, "5"]], "motifs[1].path[2]", "5", "each number"),
    ((*ARM, "path"), [[0, 0, 0], [5, 5, 5]], "motifs[1].path[1]", "[0, 0, 0]", "points"),
    ((*ARM, "width"), DROP, "motifs[1].width", "None", "above 0"),
    ((*ARM, "holes"), [[[0, 0], [1, 0], [1, 1]]], "motifs[1].holes", "1 beside", "outline"),
    ((*ARM, "outline"), [[0, 0], [1, 0], [1, 1]], "motifs[1]", "path and outline", "either"),
    ((*ARM, "path"), DROP, "motifs[1]", "None", "either path and width or outline"),
    ((*WEB, "width"), 3, "motifs[2].width", "3", "nothing beside an outline"),
    (
        (*WEB, "outline"),
        [[0, 0], [9, 9], [9, 0], [0, 9]],
        "motifs[2].outline",
        "it crosses itself at (4.5, 4.5)",
        "does not cross",
    ),
    ((*WEB, "outline"), [[0, 0], [9, 9]], "motifs[2].outline", "2 points", "at least 3"),
    (
        (*WEB, "outline"),
        [[0, 0], [4, 0], [9, 0]],
        "motifs[2].outline",
        "it crosses itself",
        "does not cross",
    ),
    ((*WEB, "holes"), [[[50, 0], [60, 0], [60, 9]]], "motifs[2].holes", "outside", "inside"),
    (
        (*WEB, "holes"),
        [[[5, 5], [9, 9], [9, 5], [5, 9]]],
        "motifs[2].holes[1]",
        "it crosses itself",
        "does not cross",
    ),
    ((*WEB, "name"), "arm", "motifs[2].name", "arm", "no other"),
    ((*JOINT, "motifs"), ["arm", "wep"], "joint_classes[1].motifs", "wep", "arm, web"),
    ((*JOINT, "motifs"), ["arm"], "joint_classes[1].motifs", "arm", "two names"),
    ((*JOINT, "motifs"), ["arm", "arm"], "joint_classes[1].turn", "Turn", "with an angle"),
    ((*JOINT, "kind"), "glue", "joint_classes[1].kind", "glue", "tenon, cross-lap"),
    ((*JOINT, "split"), 1.2, "joint_classes[1].split", "1.2", "from 0 to 1"),
    ((*JOINT, "outward"), 2, "joint_classes[1].outward", "2", "-1, 0, 1"),
    ((*JOINT, "turn"), {"axis": [0, 0, 0]}, "joint_classes[1].turn.axis", "0, 0", "not all zero"),
    ((*JOINT, "turn"), {"angle": 400}, "joint_classes[1].turn.angle", "400", "-360 to 360 deg"),
    ((*JOINT, "turn"), {"angel": 72}, "joint_classes[1].turn.angel", "unknown", "axis, angle"),
    ((*JOINT, "turn"), 72, "joint_classes[1].turn", "72", "axis"),
    ((*JOINT, "tab_width"), 30.5, "joint_classes[1].tab_width", "30.5", "at most 30 mm"),
    (("joints",), {"tab_width": 40}, "joints.tab_width", "40", "motif 'arm' is 30 mm wide"),
]


def spoilt(data: dict[str, Any], where: tuple[Any, ...], value: object) -> dict[str, Any]:
    place: Any = data
    for key in where[:-1]:
        place = place[key]
    if value is DROP:
        del place[where[-1]]
    else:
        place[where[-1]] = value
    return data


@pytest.mark.parametrize(
    ("data", "fault"),
    [(recipe_data, fault) for fault in RECIPE_FAULTS]
    + [(motif_data, fault) for fault in MOTIF_FAULTS],
    ids=lambda item: ".".join(map(str, item[0])) if isinstance(item, tuple) else "",
)
def test_each_fault_is_refused_in_plain_words(data: Any, fault: tuple[Any, ...]) -> None:
    where, value, field, found, allowed = fault
    with pytest.raises(DesignError) as caught:
        design_from_dict(spoilt(data(), where, value))
    error = caught.value
    assert error.field == field
    assert found in repr(error.found)
    assert allowed in error.allowed
    assert str(error).startswith(f"{field}: found ")
    assert len(str(error)) < 500


def test_modules_about_vertices_need_a_polyhedron() -> None:
    data = {**motif_data(), "frame": {"group": "T", "diameter": 400}}
    assert design_from_dict(data).frame.group == "T"
    with pytest.raises(DesignError, match=r"modules\.about: found 'vertices'.*bare group"):
        design_from_dict({**data, "modules": {"about": "vertices"}})


@pytest.mark.parametrize(
    ("typed", "meant"), [("widht", "width"), ("Width", "width"), ("hnad", "hand")]
)
def test_misspelt_keys_get_a_suggestion(typed: str, meant: str) -> None:
    data = recipe_data()
    data["recipe"][typed] = 1
    with pytest.raises(DesignError, match=f"Did you mean {meant}\\?"):
        design_from_dict(data)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[sheet\nthickness = 3", "line 1"),
        ('name = "a"\nname = "b"', "line 2"),
        ("x = 1\ny = \nz = 2", "line 2"),
        ('x = 1\nname = """never closed\n\n', "line 3"),
        ("x = " + "9" * 5000, "line 1"),
    ],
)
def test_what_is_no_toml_is_refused_with_its_line(text: str, line: str) -> None:
    with pytest.raises(DesignError) as caught:
        design_from_text(text, "reed.toml")
    assert caught.value.field == f"reed.toml {line}"


def test_brackets_without_end_are_refused() -> None:
    with pytest.raises(DesignError, match="TOML"):
        design_from_text("x = " + "[" * 20_000)


def test_unreadable_files_are_refused_in_plain_words(tmp_path: Path) -> None:
    with pytest.raises(PinwrightError, match="there is no such file"):
        read_design(tmp_path / "none.toml")
    with pytest.raises(PinwrightError, match="is a folder"):
        read_design(tmp_path)
    latin = tmp_path / "latin.toml"
    latin.write_bytes('schema = "pinwright-design/1"\nname = "Säule"'.encode("latin-1"))
    with pytest.raises(PinwrightError, match=r"not UTF-8 text \(line 2\)"):
        read_design(latin)
    with pytest.raises(PinwrightError, match="cannot be read"):
        read_design("a\0b")


def test_byte_order_mark_and_windows_line_ends_are_read(tmp_path: Path) -> None:
    file = tmp_path / "dos.toml"
    text = 'schema = "pinwright-design/1"\nname = "b"\nsheet = {thickness = 3}\n' + (
        'frame = {group = "O", diameter = 400}\nrecipe = {kind = "rings", width = 20}\n'
    )
    file.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert read_design(file).name == "b"


def test_every_field_of_every_record_is_declared_once() -> None:
    for cls, fields in FIELDS.items():
        names = [field.name for field in fields]
        assert sorted(names) == sorted(cls.__dataclass_fields__), cls
        assert all(field.help for field in fields)
