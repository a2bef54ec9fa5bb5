# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The recipe of a build: the explicit form is the general one, and nothing depends on luck."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pytest
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from pinwright.core.design.model import (
    Bend,
    Design,
    EdgeRotor,
    FrameChoice,
    JointKind,
    JointSizes,
    ModuleChoice,
    MotifChoice,
    RightAngleOrbit,
    Rings,
    Sheet,
)
from pinwright.core.design.read import design_from_dict, design_from_text
from pinwright.core.design.write import design_to_dict, format_design
from pinwright.core.errors import DesignError
from pinwright.core.frame.frame import frame_from_solid
from pinwright.core.pipeline import build, sizes_of
from pinwright.core.plates.recipes import blamed_on_recipe
from pinwright.core.results import Build
from tests.builders import small_build
from tests.stages import DESIGNS, explicit, written_out

Floats = npt.NDArray[np.float64]

TURN = Rotation.from_euler("xyz", (25.0, -40.0, 70.0), degrees=True).as_matrix()


@lru_cache(maxsize=32)
def _built(name: str) -> Build:
    return build(DESIGNS[name])


@lru_cache(maxsize=32)
def _long(name: str) -> Build:
    """Return the build of a design whose symmetry is written out."""
    return build(written_out(DESIGNS[name]))


def _corners(result: Build, turn: Floats | None = None) -> Floats:
    """Return the corners (n, 3) of all plates in the world, in the order of the plates."""
    found = []
    for plate in result.plates:
        flat = np.asarray(result.parts[plate.part].outline.exterior.coords)
        pose = plate.world_from_part
        found.append(flat @ pose[:3, :2].T + pose[:3, 3])
    corners = np.concatenate(found)
    return corners if turn is None else corners @ turn.T


def _same_verdicts(one: Build, two: Build) -> None:
    for a, b in zip(one.checks, two.checks, strict=True):
        assert (a.name, a.ok, a.unit, a.limit) == (b.name, b.ok, b.unit, b.limit)
        assert a.figure == pytest.approx(b.figure, rel=1e-6, abs=1e-5)


def _same_totals(one: Build, two: Build) -> None:
    a, b = one.totals, two.totals
    assert (a.plates, a.joints, a.pins) == (b.plates, b.joints, b.pins)
    for name in ("mass", "sheet_area", "cut_length", "diameter"):
        assert getattr(a, name) == pytest.approx(getattr(b, name), rel=1e-9)


def _identical(one: Build, two: Build) -> None:
    """Compare every number of two builds but the design that they came from."""
    assert [p.id for p in one.plates] == [p.id for p in two.plates]
    for a, b in zip(one.plates, two.plates, strict=True):
        assert (a.part, a.flipped, a.motif, a.element, a.module) == (
            b.part,
            b.flipped,
            b.motif,
            b.element,
            b.module,
        )
        assert a.world_from_part.tolist() == b.world_from_part.tolist()
        assert a.explode.tolist() == b.explode.tolist()
    for p, q in zip(one.parts, two.parts, strict=True):
        assert p.outline.equals_exact(q.outline, 0.0)
        assert (p.mark, p.quantity, p.mass) == (q.mark, q.quantity, q.mass)
    for j, k in zip(one.joints, two.joints, strict=True):
        assert (j.id, j.kind, j.joint_class, j.plates, j.within_module) == (
            k.id,
            k.kind,
            k.joint_class,
            k.plates,
            k.within_module,
        )
        assert j.centre.tolist() == k.centre.tolist()
    assert one.checks == two.checks
    assert [(m.id, m.plates, m.joints, m.explode.tolist()) for m in one.modules] == [
        (m.id, m.plates, m.joints, m.explode.tolist()) for m in two.modules
    ]
    assert one.totals.mass == two.totals.mass


@pytest.mark.parametrize("name", list(DESIGNS))
def test_a_build_is_the_same_every_time(name: str) -> None:
    _identical(build(DESIGNS[name]), _built(name))


@pytest.mark.parametrize("name", list(DESIGNS))
def test_what_a_recipe_makes_can_be_written_to_a_file_and_read_back(name: str) -> None:
    design = explicit(DESIGNS[name])
    assert design.recipe is None
    again = design_from_text(format_design(design))
    assert again.motifs == design.motifs
    assert again.joint_classes == design.joint_classes
    assert design_from_dict(design_to_dict(design)) == again
    _identical(build(design), _built(name))
    _identical(build(again), _built(name))


@pytest.mark.parametrize("name", list(DESIGNS))
def test_symmetry_is_only_a_short_way_of_writing(name: str) -> None:
    # Every plate a motif of its own, every joint a class, no group: the same sculpture.
    short, long = _built(name), _long(name)
    assert len(short.parts) == len(long.parts)
    _same_verdicts(short, long)
    _same_totals(short, long)
    gaps, _ = cKDTree(_corners(long)).query(_corners(short))
    assert gaps.max() < 0.02
    assert {kind for kind in JointKind if any(j.kind is kind for j in short.joints)} == {
        j.kind for j in long.joints
    }
    centres = cKDTree(np.array([joint.centre for joint in long.joints]))
    assert centres.query(np.array([joint.centre for joint in short.joints]))[0].max() < 1e-6


@pytest.mark.parametrize("name", list(DESIGNS))
def test_turning_the_whole_changes_no_finding(name: str) -> None:
    straight = _long(name)
    turned = build(written_out(DESIGNS[name], TURN))
    assert len(straight.parts) == len(turned.parts)
    _same_verdicts(straight, turned)
    _same_totals(straight, turned)
    gaps, _ = cKDTree(_corners(turned)).query(_corners(straight, TURN))
    assert gaps.max() < 0.02
    gravity = TURN @ straight.totals.centre_of_gravity
    assert turned.totals.centre_of_gravity == pytest.approx(gravity, abs=1e-4)


def test_findings_of_an_unsound_design_turn_along_too() -> None:
    design = replace(
        DESIGNS["rotor and laps"],
        recipe=RightAngleOrbit(
            30.0, pattern="rotor + two-fold", offset=0.4, places=(0.1, 0.0), swap=True
        ),
    )
    whole = build(design)
    assert not whole.ok
    straight, turned = build(written_out(design)), build(written_out(design, TURN))
    _same_verdicts(whole, straight)
    _same_verdicts(straight, turned)


def test_a_sculpture_made_by_hand_comes_out_as_made_by_hand() -> None:
    result, by_hand = build(DESIGNS["by hand"]), small_build()
    assert result.totals.plates == by_hand.totals.plates
    assert result.totals.pins == by_hand.totals.pins
    assert result.totals.mass == pytest.approx(by_hand.totals.mass, rel=1e-4)
    assert result.totals.diameter == pytest.approx(by_hand.totals.diameter)
    assert result.totals.centre_of_gravity == pytest.approx([0, 0, 0], abs=1e-6)
    assert [(p.mark, p.quantity) for p in result.parts] == [("A", 4), ("B", 1)]
    assert sorted(p.id for p in result.plates) == sorted(p.id for p in by_hand.plates)
    assert sum(plate.flipped for plate in result.plates) == 2
    wanted = cKDTree(np.array([joint.pin.centre for joint in by_hand.joints if joint.pin]))
    assert wanted.query([joint.pin.centre for joint in result.joints if joint.pin])[0].max() < 1e-9
    gaps, _ = cKDTree(_corners(by_hand)).query(_corners(result))
    assert gaps.max() < 1e-6


@pytest.mark.parametrize("name", list(DESIGNS))
def test_records_agree_with_each_other(name: str) -> None:
    result = build(replace(DESIGNS[name], modules=ModuleChoice("none", 0.5)))
    ids = [plate.id for plate in result.plates]
    assert len(set(ids)) == len(ids)
    assert len({joint.id for joint in result.joints}) == len(result.joints)
    assert len({part.mark for part in result.parts}) == len(result.parts)
    for p, part in enumerate(result.parts):
        mine = [plate.id for plate in result.plates if plate.part == p]
        assert len(mine) == part.quantity
        assert all(name.startswith(part.mark) for name in mine)
    members = [k for module in result.modules for k in module.plates]
    assert sorted(members) == list(range(len(result.plates)))
    for m, module in enumerate(result.modules):
        assert {result.plates[k].module for k in module.plates} == {m}
        for k in module.joints:
            assert result.joints[k].within_module
    for plate in result.plates:
        rotation = plate.world_from_part[:3, :3]
        assert np.linalg.det(rotation) == pytest.approx(1.0)
        assert not plate.world_from_part.flags.writeable
    for joint in result.joints:
        assert (joint.pin is None) == (joint.kind is JointKind.CROSS_LAP)
    mass = sum(part.mass * part.quantity for part in result.parts)
    assert result.totals.mass == pytest.approx(mass)
    assert result.totals.diameter == pytest.approx(
        2 * _farthest(result, result.design.sheet.thickness)
    )


def _farthest(result: Build, thickness: float) -> float:
    reach = 0.0
    for plate in result.plates:
        flat = np.asarray(result.parts[plate.part].outline.exterior.coords)
        for side in (-thickness / 2, thickness / 2):
            solid = np.column_stack([flat, np.full(len(flat), side), np.ones(len(flat))])
            reach = max(
                reach, float(np.linalg.norm((solid @ plate.world_from_part.T)[:, :3], axis=1).max())
            )
    return reach


def test_more_than_26_parts_and_more_than_99_plates_have_ids_of_their_own() -> None:
    squares = tuple(
        MotifChoice(
            f"m{k}",
            (0.0, 0.0, 1.0),
            10.0 * k,
            outline=((0.0, 0.0), (20.0 + k, 0.0), (20.0 + k, 30.0), (0.0, 30.0)),
        )
        for k in range(60)
    )
    many = build(Design("many", Sheet(3.0), FrameChoice(900.0, group="C1"), motifs=squares))
    assert [part.mark for part in many.parts][24:29] == ["Y", "Z", "AA", "AB", "AC"]
    ids = [plate.id for plate in many.plates]
    assert len(set(ids)) == 60
    assert ids[0] == "A01"
    assert ids[26] == "AA01"
    one = replace(squares[0], normal=(0.3, 0.2, 0.9), offset=200.0)
    wheel = build(Design("wheel", Sheet(3.0), FrameChoice(900.0, group="C120"), motifs=(one,)))
    assert [plate.id for plate in wheel.plates][::60] == ["A001", "A061"]
    assert len({plate.id for plate in wheel.plates}) == 120


def test_a_build_says_what_it_is_at() -> None:
    said: list[tuple[str, float]] = []
    build(DESIGNS["three rings"], lambda stage, share: said.append((stage, share)))
    assert [share for _, share in said] == sorted(share for _, share in said)
    assert said[0] == ("frame", 0.0)
    assert said[-1] == ("done", 1.0)
    assert {"plates", "joints", "outlines", "modules", "checks"} < {stage for stage, _ in said}


def test_a_frame_can_take_the_place_of_the_one_named() -> None:
    design = DESIGNS["dodecahedron"]
    result = build(design, frame=frame_from_solid("cube", 500.0))
    assert len(result.plates) == 12
    assert result.group.name == "O"
    assert result.design is design


def test_tabs_are_sized_by_the_strips_that_have_them() -> None:
    assert sizes_of(DESIGNS["two rotors"]).tab_width == pytest.approx(18.0)
    narrow = Design("n", Sheet(3.0), FrameChoice(600.0, solid="cube"), Rings(8.0, 4))
    assert sizes_of(narrow).tab_width == pytest.approx(18.0)
    wide = replace(DESIGNS["dodecahedron"], recipe=EdgeRotor(25.0))
    assert sizes_of(wide).tab_width == pytest.approx(0.55 * 25.0)
    hand = DESIGNS["by hand"]
    slim = MotifChoice("slim", (0, 0, 1.0), 0.0, path=((0.0, 0.0), (9.0, 0.0)), width=2.0)
    assert sizes_of(replace(hand, motifs=(*hand.motifs, slim))).tab_width == 20.0


def _with_recipe(**changes: object) -> Design:
    design = DESIGNS["two rotors"]
    assert design.recipe is not None
    return replace(design, recipe=replace(design.recipe, **changes))


@pytest.mark.parametrize(
    ("design", "said"),
    [
        (
            replace(DESIGNS["by hand"], motifs=(), joint_classes=()),
            r"recipe: found nothing, allowed is",
        ),
        (
            _with_recipe(bend=Bend.ROUND, bend_radius=400.0),
            r"^recipe\.bend_radius: found 400\.0.*\(The recipe made motifs\.strip\.bend_radius\.\)",
        ),
        (
            replace(DESIGNS["three rings"], joints=JointSizes(tab_width=3.0)),
            r"joints\.tab_width: found 3\.0",
        ),
        (
            replace(DESIGNS["dodecahedron"], modules=ModuleChoice("axes 7")),
            r"modules\.about: found",
        ),
        (
            replace(DESIGNS["by hand"], sheet=Sheet(3.0, "unobtainium")),
            r"sheet\.material: found 'unobtainium'",
        ),
    ],
)
def test_what_cannot_be_built_is_refused_in_the_user_s_words(design: Design, said: str) -> None:
    with pytest.raises(DesignError, match=said):
        build(design)


def test_errors_about_what_a_recipe_made_name_the_recipe() -> None:
    made = DesignError("motifs.strip", "2 pieces", "one piece", "Widen it.")
    with pytest.raises(DesignError) as info, blamed_on_recipe(DESIGNS["two rotors"]):
        raise made
    assert info.value.field == "recipe"
    assert info.value.remedy == "Widen it. (The recipe made motifs.strip.)"
    own = DESIGNS["by hand"]
    for design, error in ((own, made), (DESIGNS["two rotors"], DesignError("frame", 1, "two"))):
        with pytest.raises(DesignError) as info, blamed_on_recipe(design):
            raise error
        assert info.value is error
