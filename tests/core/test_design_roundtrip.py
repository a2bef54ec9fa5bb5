# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Any valid design goes through its file, its dictionary and JSON without losing a digit."""

from __future__ import annotations

import dataclasses
import json
import math
import os
import stat
import tomllib
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from pinwright.core.design.edit import update_design_file, updated_text
from pinwright.core.design.materials import MATERIALS
from pinwright.core.design.model import (
    Bend,
    Design,
    EdgeRotor,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    Keying,
    Keys,
    ModuleChoice,
    MotifChoice,
    RightAngleOrbit,
    Rings,
    Sheet,
    Turn,
)
from pinwright.core.design.read import design_from_dict, design_from_text, read_design
from pinwright.core.design.write import design_to_dict, format_design, write_design
from pinwright.core.errors import OutputError

lengths = st.floats(1e-3, 1e5)
plays = st.floats(0.0, 10.0)
places = st.floats(-1e5, 1e5)
shares = st.floats(-10.0, 10.0)
letters = st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"))
names = st.text(letters, min_size=1, max_size=12).filter(lambda name: name.strip() != "")
notes = st.text(letters | st.sampled_from("\n\t\"'\\#"), max_size=60)


@st.composite
def directions(draw: st.DrawFn) -> tuple[float, float, float]:
    """Unit vectors as a program would compute them: off by a few units in the last place."""
    longitude, height = draw(st.floats(-math.pi, math.pi)), draw(st.floats(-1.0, 1.0))
    radius = math.sqrt(1.0 - height * height)
    return (radius * math.cos(longitude), radius * math.sin(longitude), height)


turns = st.builds(Turn, directions(), st.floats(1.0, 359.0))
frames = st.one_of(
    st.builds(FrameChoice, lengths, solid=names),
    st.builds(FrameChoice, lengths, mesh=names.map(lambda name: name + ".obj")),
    st.builds(FrameChoice, lengths, group=st.sampled_from(["T", "O", "I", "C5", "D120"])),
)
sheets = st.builds(
    Sheet,
    st.floats(0.1, 90.0),
    st.sampled_from(sorted(MATERIALS)),
    plays,
    plays,
    st.booleans(),
    st.none() | st.floats(0.01, 0.1),
    st.none() | st.floats(90.0, 100.0),
    st.floats(0.0, 2.0),
)
sizes = st.builds(
    JointSizes,
    tab_width=st.none(),
    pin_diameter=st.none() | lengths,
    pin_length=st.none() | lengths,
    pin_play=plays,
    hole_play=plays,
    web=st.none() | st.floats(1e-5, 4e-4),
    corner_radius=plays,
    gap=plays,
    rattle=st.none() | st.floats(0.1, 10.0),
)
modules = st.builds(
    ModuleChoice, st.sampled_from(["none", "axes 2", "axes 5"]), plays, st.floats(0.0, 10.0)
)
keyings = st.builds(Keying, st.sampled_from(Keys), st.none() | st.floats(0.1, 100.0), st.booleans())
bends = st.sampled_from(Bend)


def ring(count: int, radius: float, start: float) -> tuple[tuple[float, float], ...]:
    turn = 2.0 * math.pi / count
    return tuple(
        (radius * math.cos(start + k * turn), radius * math.sin(start + k * turn))
        for k in range(count)
    )


@st.composite
def strips(draw: st.DrawFn, name: str) -> MotifChoice:
    xs = draw(st.lists(st.integers(-90_000, 90_000), min_size=2, max_size=7, unique=True))
    path = tuple((x + draw(st.floats(0.0, 0.9)), draw(places)) for x in xs)
    axis = None if draw(st.booleans()) else (0.6, 0.0, 0.8)
    normal = draw(directions()) if axis is None else (0.0, 1.0, 0.0)
    return MotifChoice(
        name, normal, draw(places), axis, path, draw(lengths), draw(bends), draw(plays)
    )


@st.composite
def plates(draw: st.DrawFn, name: str) -> MotifChoice:
    radius, start = draw(st.floats(1.0, 9e4)), draw(st.floats(0.0, 6.0))
    outline = ring(draw(st.integers(3, 9)), radius, start)
    holes = tuple(
        ring(n, 0.2 * radius, start) for n in draw(st.lists(st.integers(3, 5), max_size=1))
    )
    return MotifChoice(name, draw(directions()), draw(places), outline=outline, holes=holes)


@st.composite
def explicit(draw: st.DrawFn) -> dict[str, Any]:
    titles = draw(st.lists(names, min_size=1, max_size=3, unique=True))
    motifs = tuple(draw(strips(title) | plates(title)) for title in titles)
    classes = tuple(
        JointClassChoice(
            title,
            (draw(st.sampled_from(titles)), draw(st.sampled_from(titles))),
            draw(st.sampled_from(JointKind)),
            draw(places),
            draw(turns),
            draw(st.sampled_from([-1, 0, 1])),
            draw(st.floats(0.0, 1.0)),
            draw(st.none() | st.just(1e-4)),
        )
        for title in draw(st.lists(names, max_size=3, unique=True))
    )
    return {"motifs": motifs, "joint_classes": classes}


orbits = st.builds(
    RightAngleOrbit,
    width=lengths,
    normal=st.none() | directions(),
    pattern=st.sampled_from(["rotor + rotor", "rotor + two-fold"]),
    elements=st.none() | st.tuples(turns, turns),
    offset=shares,
    places=st.tuples(shares, shares),
    swap=st.booleans(),
    bend=bends,
    bend_radius=plays,
)
rotors = st.builds(EdgeRotor, lengths, st.none() | lengths, st.sampled_from([1, -1]), bends, plays)
# A ring is narrower than the frame's radius; the least diameter above is 1e-3 mm.
rings = st.builds(Rings, st.floats(1e-5, 4e-4), st.sampled_from([2, 3, 4, 5]))
choices = explicit() | st.fixed_dictionaries({"recipe": orbits | rotors | rings})


@st.composite
def designs(draw: st.DrawFn) -> Design:
    return Design(
        name=draw(names),
        sheet=draw(sheets),
        frame=draw(frames),
        joints=draw(sizes),
        modules=draw(modules),
        keying=draw(keyings),
        note=draw(notes),
        **draw(choices),
    )


@settings(deadline=None, max_examples=40)
@given(designs())
def test_file_gives_the_identical_design(design: Design) -> None:
    assert design_from_text(format_design(design)) == design
    assert design_from_text(format_design(design, guide=True)) == design


@settings(deadline=None, max_examples=40)
@given(designs())
def test_json_gives_the_identical_design(design: Design) -> None:
    text = json.dumps(design_to_dict(design), allow_nan=False)
    assert design_from_dict(json.loads(text)) == design


@settings(deadline=None, max_examples=25)
@given(designs(), designs())
def test_a_file_is_changed_into_any_other_design(old: Design, new: Design) -> None:
    assert design_from_text(updated_text(format_design(old), new)) == new
    assert design_from_text(updated_text(format_design(old, guide=True), new)) == new


# Vectors of awkward length: what is read must be a fixed point of writing and reading.
@settings(deadline=None)
@given(st.tuples(*[st.floats(-1e6, 1e6)] * 3).filter(lambda v: math.hypot(*v) > 1e-6))
def test_normals_are_made_unit_once_and_then_kept(normal: tuple[float, float, float]) -> None:
    motif = MotifChoice("m", normal, 0.0, path=((0.0, 0.0), (9.0, 0.0)), width=3.0)
    raw = Design("d", Sheet(3.0), FrameChoice(9.0, group="T"), motifs=(motif,))
    read = design_from_text(format_design(raw))
    assert math.hypot(*read.motifs[0].normal) == pytest.approx(1.0, abs=1e-12)
    assert design_from_text(format_design(read)) == read


COMMENTED = """\
# Lantern for the stairwell
schema = "pinwright-design/1"
name = "Lantern" # working title

# bought in March
[sheet]
thickness = 2.9 # measured in five places
kerf = 0.2

[frame]
group = "O"
diameter = 400.0

# the long one
[[motifs]]
name = "arm"
normal = [0.0, 0.0, 3.0] # its length does not matter
offset = 20.0
path = [
    [0.0, 0.0], # at the hub
    [90.0, 0.0],
]
width = 30.0

[[motifs]]
name = "leg"
normal = [1.0, 0.0, 0.0]
offset = 10.0 # trial
outline = [[0.0, 0.0], [50.0, 0.0], [50.0, 50.0]]

[[joint_classes]]
name = "hub"
motifs = ["arm", "leg"]
kind = "tenon"
"""


def test_only_what_differs_is_changed() -> None:
    design = design_from_text(COMMENTED)
    arm, leg = design.motifs
    new = dataclasses.replace(
        design,
        sheet=dataclasses.replace(design.sheet, thickness=3.1),
        motifs=(arm, dataclasses.replace(leg, offset=12.5)),
    )
    expected = COMMENTED.replace("thickness = 2.9", "thickness = 3.1").replace(
        "offset = 10.0", "offset = 12.5"
    )
    assert updated_text(COMMENTED, new) == expected


def test_a_note_is_added_and_taken_out_again() -> None:
    design = design_from_text(COMMENTED)
    noted = dataclasses.replace(design, note="hang it low,\nout of the draught")
    text = updated_text(COMMENTED, noted)
    assert design_from_text(text) == noted
    back = updated_text(text, design)
    assert [*filter(None, back.splitlines())] == [*filter(None, COMMENTED.splitlines())]


def test_the_same_design_leaves_the_text_alone() -> None:
    assert updated_text(COMMENTED, design_from_text(COMMENTED)) == COMMENTED


def test_a_motif_keeps_its_comments_when_another_comes_or_goes() -> None:
    design = design_from_text(COMMENTED)
    arm, leg = design.motifs
    foot = dataclasses.replace(leg, name="foot", offset=1.0)
    text = updated_text(COMMENTED, dataclasses.replace(design, motifs=(foot, arm, leg)))
    assert design_from_text(text).motifs == (foot, arm, leg)
    for kept in ("# its length does not matter", "# at the hub", "# trial", "# bought in March"):
        assert kept in text
    alone = dataclasses.replace(design, motifs=(arm,), joint_classes=())
    text = updated_text(COMMENTED, alone)
    assert design_from_text(text) == alone
    assert "# at the hub" in text
    assert "joint_classes" not in text


def test_odd_but_valid_ways_of_writing_are_changed_or_refused_not_spoilt() -> None:
    text = (
        'schema = "pinwright-design/1"\nname = "b"\nsheet.thickness = 3\n'
        'frame = {group = "O", diameter = 400}\n'
        'motifs = [{name = "m", normal = [0, 0, 1], offset = 0, path = [[0, 0], [9, 0]], '
        "width = 5}]\n"
    )
    design = design_from_text(text)
    thicker = dataclasses.replace(design, sheet=Sheet(4.0, kerf=0.3))
    assert design_from_text(updated_text(text, thicker)) == thicker
    wider = dataclasses.replace(design, frame=FrameChoice(500.0, group="O"))
    assert "diameter = 500.0" in updated_text(text, wider)
    two = dataclasses.replace(
        design, motifs=(*design.motifs, dataclasses.replace(design.motifs[0], name="n"))
    )
    with pytest.raises(OutputError, match="save the design as a new file"):
        updated_text(text, two)


def test_files_are_written_whole_and_keep_their_mode(tmp_path: Path) -> None:
    design = design_from_text(COMMENTED)
    file = tmp_path / "lantern.toml"
    write_design(design, file)
    assert dataclasses.replace(read_design(file), folder="") == design
    os.chmod(file, 0o640)
    other = dataclasses.replace(design, name="Säule")
    update_design_file(file, other)
    assert dataclasses.replace(read_design(file), folder="") == other
    if os.name == "posix":
        assert stat.S_IMODE(file.stat().st_mode) == 0o640
    assert [entry.name for entry in tmp_path.iterdir()] == ["lantern.toml"]
    update_design_file(tmp_path / "new.toml", design)
    assert read_design(tmp_path / "new.toml").name == "Lantern"


def test_what_cannot_be_written_is_refused_and_leaves_nothing(tmp_path: Path) -> None:
    design = design_from_text(COMMENTED)
    with pytest.raises(OutputError, match="cannot be written: no such file or directory"):
        write_design(design, tmp_path / "none" / "x.toml")
    with pytest.raises(OutputError, match="is a folder"):
        write_design(design, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_guided_file_lists_every_field_and_each_line_can_be_used() -> None:
    rotor = Design("Star", Sheet(3.0), FrameChoice(500.0, solid="cube"), EdgeRotor(30.0))
    text = format_design(rotor, guide=True)
    # Taking the comment sign off every default must not change the design: it is the default.
    lines = [
        line[2:] if line.startswith("# ") and " =  " not in line.split("#")[1] else line
        for line in text.splitlines()
    ]
    opened = "\n".join(lines)
    assert tomllib.loads(opened)["sheet"]["kerf"] == 0.15
    assert "engagement" in text
    assert design_from_text(opened) == rotor
    assert tomlkit.parse(text).as_string() == text
