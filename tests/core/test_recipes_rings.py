# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Great rings: how many, how they cross, and that each goes over and under in turn."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import numpy.typing as npt
import pytest

from pinwright.core.design.model import Design, FrameChoice, Rings, Sheet
from pinwright.core.errors import DesignError
from pinwright.core.frame.frame import frame_from_group
from pinwright.core.outlines.parts import part_shapes
from pinwright.core.plates.planes import world_from_plane
from pinwright.core.plates.recipes.rings import rings
from tests.built import build
from tests.stages import Staged, staged

Floats = npt.NDArray[np.float64]

# Axes of the rotation groups (H. S. M. Coxeter, Regular Polytopes, section 3.4): T has 4 three-fold
# and 3 two-fold; O has 3 four-fold, 4 three-fold and 6 two-fold; I has 6 five-fold, 10 three-fold
# and 15 two-fold; D2 has 3 two-fold.
COUNTS = {
    ("T", 2): 3,
    ("T", 3): 4,
    ("O", 4): 3,
    ("O", 3): 4,
    ("I", 5): 6,
    ("I", 3): 10,
    ("D2", 2): 3,
}


def _stage(group: str, about: int | None, width: float = 25.0) -> Staged:
    frame = FrameChoice(600.0, group=group)
    return staged(Design("rings", Sheet(3.0), frame, Rings(width, about)))


@pytest.fixture(scope="module", params=list(COUNTS), ids=str)
def stage(request: pytest.FixtureRequest) -> Staged:
    return _stage(*request.param)


def _cut_from_outside(stage: Staged) -> dict[tuple[int, int], bool]:
    """Return for each (ring, joint) whether the ring is cut from outside there."""
    found = {}
    for k, j in enumerate(stage.joints.joint_class.tolist()):
        for ring in (int(stage.joints.first[k]), int(stage.joints.second[k])):
            (lap,) = (lap for lap in stage.features[ring].laps if lap.joint == j)
            found[ring, k] = bool(lap.out @ lap.place > 0)
    return found


def test_every_two_rings_cross_twice_opposite_each_other(stage: Staged) -> None:
    count = len(stage.motifs)
    assert count == COUNTS[(stage.frame.group.name, stage.design.recipe.about)]  # type: ignore
    assert len(stage.joints) == count * (count - 1)
    assert not stage.joints.has_pin.any()
    pairs = defaultdict(list)
    for a, b, centre in zip(
        stage.joints.first, stage.joints.second, stage.joints.centre, strict=True
    ):
        pairs[frozenset((int(a), int(b)))].append(centre)
    assert len(pairs) == count * (count - 1) // 2
    for one, two in pairs.values():
        assert one == pytest.approx(-two, abs=1e-9)
        assert np.linalg.norm(one) == pytest.approx(300.0 - 25.0 / 2)


def test_at_each_lap_one_ring_is_cut_from_outside_and_the_other_from_inside(
    stage: Staged,
) -> None:
    outside = _cut_from_outside(stage)
    for k in range(len(stage.joints)):
        rings_here = (int(stage.joints.first[k]), int(stage.joints.second[k]))
        assert outside[rings_here[0], k] != outside[rings_here[1], k]
        # The first moves into the second along `insertion`: its slot opens ahead of it.
        outwards = stage.joints.insertion[k] @ stage.joints.centre[k] > 0
        assert outside[rings_here[0], k] == outwards


def test_round_each_ring_the_laps_alternate(stage: Staged) -> None:
    outside = _cut_from_outside(stage)
    for ring, motif in enumerate(stage.motifs):
        plane = world_from_plane(motif.normal, 0.0)
        laps = [k for r, k in outside if r == ring]
        flat = stage.joints.centre[laps] @ plane[:3, :2]
        order = np.argsort(np.arctan2(flat[:, 1], flat[:, 0]))
        cuts = [outside[ring, laps[k]] for k in order]
        assert cuts == [cuts[0] != (k % 2 == 1) for k in range(len(cuts))]


def test_one_move_opens_both_laps_of_a_pair_when_the_rings_are_even_in_number(
    stage: Staged,
) -> None:
    # Half-way round a ring lie count - 1 more laps: their cuts differ when that is odd.
    ways = defaultdict(list)
    for k in range(len(stage.joints)):
        a, b = int(stage.joints.first[k]), int(stage.joints.second[k])
        way = stage.joints.insertion[k] if a < b else -stage.joints.insertion[k]
        ways[min(a, b), max(a, b)].append(way)
    sense = 1.0 if len(stage.motifs) % 2 == 0 else -1.0
    for one, two in ways.values():
        assert one @ two == pytest.approx(sense)


def test_rings_of_one_kind_are_one_part(stage: Staged) -> None:
    assert len(part_shapes([one.outline for one in stage.finished]).outlines) == 1


def test_rings_lie_in_planes_through_the_centre_with_their_outer_edge_on_the_sphere(
    stage: Staged,
) -> None:
    for motif in stage.motifs:
        assert motif.offset == 0.0
        # One edge, slit through once: a closed ring could not be woven in.
        assert not motif.body.interiors
        reach = np.linalg.norm(np.asarray(motif.body.exterior.coords), axis=1)
        assert (np.isclose(reach, 300.0) | np.isclose(reach, 275.0)).all()
        whole = np.pi * (300.0**2 - 275.0**2)
        assert motif.body.area == pytest.approx(whole - 25.0, rel=2e-3)


def test_every_ring_is_slit_clear_of_its_laps(stage: Staged) -> None:
    for motif, found, features in zip(stage.motifs, stage.finished, stage.features, strict=True):
        edge = np.asarray(motif.body.exterior.coords)
        slit = min(
            (edge[k : k + 2] for k in range(len(edge) - 1)),
            key=lambda ends: abs(np.ptp(np.linalg.norm(ends, axis=1)) - 25.0),
        ).mean(axis=0)
        assert found.outline.is_valid
        for lap in features.laps:
            assert np.linalg.norm(lap.place - slit) > 25.0


@pytest.mark.parametrize(("group", "count"), [("T", 3), ("O", 3), ("I", 6), ("D2", 3)])
def test_left_to_themselves_rings_take_the_fewest_axes_that_will_do(group: str, count: int) -> None:
    assert len(rings(frame_from_group(group, 600.0), Rings(25.0)).motifs) == count
    result = build(Design("rings", Sheet(3.0), FrameChoice(600.0, group=group), Rings(25.0)))
    assert result.ok
    assert result.group.order == 1


@pytest.mark.parametrize(
    ("group", "recipe", "said"),
    [
        ("I", Rings(25.0, 2), r"recipe\.about: found 2,.*three or more meet.*Fit for rings: 3, 5;"),
        ("O", Rings(25.0, 2), r"recipe\.about: found 2,.*Fit for rings: 3, 4; or leave"),
        ("O", Rings(25.0, 5), r"recipe\.about: found 5,.*group O has axes of fold 2, 3, 4\. Fit"),
        (
            "D5",
            Rings(25.0, 5),
            r"recipe\.about: found 5,.*at least two axes.*fold 2, 5\. Choose a more",
        ),
        ("D5", Rings(25.0), r"recipe\.about: found nothing.*no fold of the group D5"),
        ("C1", Rings(25.0), r"recipe\.about: found nothing.*no fold of the group C1"),
        ("C1", Rings(25.0, 2), r"recipe\.about: found 2,.*has axes of fold none"),
        ("O", Rings(200.0), r"recipe\.width: found 200\.0, allowed is at most 180 mm for rings"),
    ],
)
def test_what_makes_no_rings_is_refused(group: str, recipe: Rings, said: str) -> None:
    with pytest.raises(DesignError, match=said):
        rings(frame_from_group(group, 600.0), recipe)


def test_narrow_rings_need_no_room_for_tabs() -> None:
    assert build(Design("thin", Sheet(3.0), FrameChoice(600.0, solid="cube"), Rings(12.0, 4))).ok
