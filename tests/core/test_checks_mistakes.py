# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The list of wrong placements against brute force over all rigid motions, and keys against both.

The judge (tests/placing_judge.py) knows plates and pins as solids of an independent library, and
neither tabs nor slots.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from pinwright.core.checks.mates import JointSizeTable
from pinwright.core.checks.mistakes import still_goes_in
from pinwright.core.design.model import Design, JointKind, Keying, Keys
from pinwright.core.results import Build, Check
from tests.builders import small_design
from tests.built import build
from tests.judges import as_manifold
from tests.ladder import ladder
from tests.placing_judge import brute_force, same_room
from tests.stages import DESIGNS, staged
from tests.wrong import laid, mistakes_of

SMALL_MODULES: dict[str, Design] = {
    "rungs": ladder(),
    "rungs and uprights": ladder(notched="rungs uprights"),
    "uneven": ladder((-40.0, 55.0), "uprights"),
    "leaning": ladder(angle_deg=60.0),
    "thin, leaning far": ladder(notched="rungs uprights", angle_deg=45.0, thickness=2.0),
}


def _check(result: Build) -> Check:
    (found,) = (check for check in result.checks if check.name == "mistakes")
    return found


@pytest.mark.parametrize("name", list(SMALL_MODULES))
def test_brute_force_finds_the_same_wrong_placements(name: str) -> None:
    design = SMALL_MODULES[name]
    result = build(design)
    found, whole = mistakes_of(design)
    told = [laid(mistake, whole, result) for mistake in found]
    judged = brute_force(result)
    solids = [as_manifold(part.outline, part.thickness) for part in result.parts]
    assert judged
    for one in judged:
        assert any(same_room(solids, one, other) for other in told)
    for one in told:
        assert any(same_room(solids, one, other) for other in judged)
    assert len(told) == len(judged)


def test_symmetric_places_are_told_once() -> None:
    # Four places of two kinds under the half-turn (tests/builders.py): each part can be turned over
    # about its tab, put in from the other side, and both.
    design = small_design()
    found, whole = mistakes_of(design)
    assert len(found) == 6
    assert len(brute_force(build(design))) == 12
    assert {mistake.site.places for mistake in found} == {2}
    assert sorted(len(mistake.matches) for mistake in found) == [1] * 6
    assert whole.module_sites() == []


def test_mistakes_are_told_in_words_with_their_joints() -> None:
    check = _check(build(ladder(), mistakes=True))
    assert check.ok  # told, not refused: no keys were asked for
    assert check.figure == 6.0
    assert check.where[0] == (
        "B01 (part B) turned over: its tab for rung 1 left in the slot of J001, "
        "its tab for rung 1 right in the slot of J002"
    )
    assert any("end for end" in line for line in check.where)
    assert "told only" in check.message


def test_parts_of_one_shape_in_each_others_places_are_no_mistake() -> None:
    # Rungs that are their own mirror images, in uprights that are: whatever goes in is right.
    found, _ = mistakes_of(ladder(notched=""))
    assert found == []


def test_a_part_of_another_shape_in_slots_of_equal_size_is_told() -> None:
    # One rung with a notch, one without: each goes in where the other belongs.
    design = ladder(notched="rungs")
    plain = ladder(notched="")
    motifs = (*design.motifs[:3], plain.motifs[3])
    mixed = Design(
        design.name, design.sheet, design.frame, motifs=motifs,
        joint_classes=design.joint_classes, joints=design.joints,
    )  # fmt: skip
    check = _check(build(mixed, mistakes=True))
    swapped = [line for line in check.where if line.startswith("a part")]
    # The notched one lies four ways in the place of the plain one, which has only one.
    assert len(swapped) == 5
    assert len(brute_force(build(mixed))) == int(check.figure)


@pytest.mark.parametrize("name", ["two rotors", "dodecahedron", "four rings", "prism"])
def test_a_part_in_its_own_place_is_no_mistake(name: str) -> None:
    # The drawing's own placement always goes in; a list that had it would show it as unmoved.
    found, whole = mistakes_of(DESIGNS[name])
    for mistake in found:
        if mistake.part >= 0 and len(mistake.home) == 1:
            (plate,) = mistake.site.plates.tolist()
            if plate == mistake.home[0]:
                assert np.abs(mistake.pose - np.eye(4)).max() > 1e-3
    assert all(len(site.own) == len(site.open_) for site in whole.part_sites())


def test_keys_keep_all_wrong_placements_out() -> None:
    result = build(ladder(notched="rungs uprights", keys=Keys.TABS))
    check = _check(result)
    assert (check.ok, check.figure, check.limit) == (True, 0.0, 0.0)
    assert check.where == ()
    assert [one.message for one in result.checks if not one.ok] == []
    assert check.message == "no wrong placement goes in; 2 tab sizes (22, 19 mm)"
    # The judge measures the same: two widths of slots, 0.2 mm longer than their tabs.
    lengths = {
        round(float(np.ptp(np.asarray(ring.coords), axis=0).max()), 3)
        for part in result.parts
        for ring in part.outline.interiors
        if len(ring.coords) == 5
    }
    assert lengths == {22.2, 19.2}
    assert brute_force(result) == []


def test_what_no_key_keeps_out_is_left_and_refused() -> None:
    # A plate on a single tab can always be turned by half about its joint's line: flat sheets are
    # cut alike from both sides.
    check = _check(build(replace(small_design(), keying=Keying(Keys.TABS, step=6.0))))
    assert not check.ok
    assert check.figure > 0
    assert all(len(line.split(": ")[1].split(", ")) == 1 for line in check.where)


def test_a_module_goes_in_turned_and_as_its_mirror_image() -> None:
    # The right upright stands; the rest of the ladder is a module, held by two tabs in its slots.
    # The slots look the same under all eight changes of sign of x, y, z about their middle. One of
    # these leaves the notched module as it is, three turn it, four make its mirror image of it;
    # whatever is not the module itself goes in wrongly, as nothing else stands in the way.
    found, whole = mistakes_of(ladder(notched="rungs uprights"), modules=[0, 1, 0, 0])
    modules = [mistake for mistake in found if mistake.part < 0]
    assert [mistake.way for mistake in modules].count("turned in its place") == 3
    assert [mistake.way for mistake in modules].count("built as its mirror image") == 4
    assert len(modules) == 7
    for mistake in modules:
        turned = np.linalg.det(mistake.pose[:3, :3]) > 0
        assert turned == (mistake.way == "turned in its place")
        # Flat parts do as mirror images: each lies somewhere as a piece that can be cut.
        assert np.linalg.det(mistake.placed[:, :3, :3]) == pytest.approx(np.ones(3))
    # A module that is its own mirror image, and the same turned about the tabs, has fewer.
    plain, _ = mistakes_of(ladder(notched=""), modules=[0, 1, 0, 0])
    ways = [mistake.way for mistake in plain if mistake.part < 0]
    assert ways == ["turned in its place"]  # from the other side of the upright
    assert whole.module_sites()[0].places == 1


def test_laps_are_listed_and_have_no_keys() -> None:
    found, whole = mistakes_of(DESIGNS["six rings"])
    assert found
    assert all(one.kind is JointKind.CROSS_LAP for one in whole.classes)


def test_a_wider_tab_stays_out_and_a_narrower_one_does_not() -> None:
    found, whole = mistakes_of(ladder())
    ended = next(one for one in found if one.way == "end for end")
    sizes = JointSizeTable.of(whole.classes, staged(ladder()).sizes)
    assert still_goes_in(ended, sizes)
    sizes.tab_width[0] = 24.0  # into the slot of the rung's other end, made for 22 mm
    assert not still_goes_in(ended, sizes)
    sizes.tab_width[0] = 20.0
    assert still_goes_in(ended, sizes)
