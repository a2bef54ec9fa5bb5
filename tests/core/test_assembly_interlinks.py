# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Linking numbers of known links, and a sculpture of two rings linked like a chain."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import chain, combinations
from typing import Any

import networkx
import numpy as np
import numpy.typing as npt
import pytest

from pinwright.core.assembly.interlinks import Link, Ring, fewest_open, links_of, rings_of
from pinwright.core.assembly.linking import linking_numbers
from pinwright.core.assembly.plan import planned
from pinwright.core.export.build_json import build_json
from pinwright.core.frame.group import rotation_group
from pinwright.core.results import Build, Module
from tests.built import build
from tests.interlocks import boarded_box, rotor
from tests.plan_judge import replay

Floats = npt.NDArray[np.float64]
SQUARE = ((-2, -2, 0), (2, -2, 0), (2, 2, 0), (-2, 2, 0))
# Closed polygons of our own; SnapPy, a program for knots, named each from its crossings.
# The numbers are those of the textbooks: Hopf 1, Solomon 2, Whitehead 0, Borromean 0 in pairs.
HOPF = (
    ((-1, -1, 0), (1, -1, 0), (1, 1, 0), (-1, 1, 0)),
    ((0, 0, -1), (2, 0, -1), (2, 0, 1), (0, 0, 1)),
)
SOLOMON = (
    SQUARE,
    (
        (0, -1, -2),
        (0, -1, 1),
        (4, -1, 1),
        (4, -1, -1),
        (0, 1, -1),
        (0, 1, 1),
        (4, 1, 1),
        (4, 1, -2),
    ),
)
WHITEHEAD = (
    ((-4, -4, 0), (4, -4, 0), (4, 4, 0), (-4, 4, 0)),
    (
        *((-8, -2, -1), (-4, -1, -1), (0, 0, 1), (4, 1, -1), (8, 2, -1)),
        *((8, -2, 1), (4, -1, 1), (0, 0, -1), (-4, 1, 1), (-8, 2, 1)),
    ),
)
BORROMEAN = (
    ((-4, -2, 0), (4, -2, 0), (4, 2, 0), (-4, 2, 0)),
    ((0, -4, -2), (0, 4, -2), (0, 4, 2), (0, -4, 2)),
    ((-2, 0, -4), (-2, 0, 4), (2, 0, 4), (2, 0, -4)),
)


@pytest.mark.parametrize(
    ("loops", "number"),
    [(HOPF, 1), (SOLOMON, 2), (WHITEHEAD, 0), (BORROMEAN, 0)],
    ids=["Hopf", "Solomon", "Whitehead", "Borromean"],
)
def test_linking_numbers_of_known_links(loops: tuple[Any, ...], number: int) -> None:
    for one, two in combinations([np.array(loop, float) for loop in loops], 2):
        found = linking_numbers(one, two[None])[0]
        assert abs(found) == pytest.approx(number, abs=1e-9)
        assert linking_numbers(one[::-1], two[None])[0] == pytest.approx(-found, abs=1e-9)


def chained(shift: float) -> Build:
    """Return two square rings of four boards; the second lies across, `shift` mm aside.

    At 150 mm, half a ring, its board stands in the middle of the first ring: a chain of two links.
    """
    one = build(rotor(4, 0.0))
    turn = np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]])
    move = np.eye(4)
    move[:3, :3], move[0, 3] = turn, shift
    count, still = len(one.plates), np.zeros(3)
    assert count == len(one.joints) == 4
    plates = [replace(p, module=0, element=0) for p in one.plates]
    plates += [
        replace(
            p, id=f"B{k + 1:02d}", module=1, element=0, world_from_part=move @ p.world_from_part
        )
        for k, p in enumerate(one.plates)
    ]
    joints = [replace(j, within_module=True) for j in one.joints]
    for k, j in enumerate(one.joints):
        assert j.pin is not None
        pin = replace(j.pin, centre=turn @ j.pin.centre + move[:3, 3], axis=turn @ j.pin.axis)
        joints.append(
            replace(
                j,
                id=f"J{count + k + 1:03d}",
                plates=(j.plates[0] + count, j.plates[1] + count),
                centre=turn @ j.centre + move[:3, 3],
                line=turn @ j.line,
                insertion=turn @ j.insertion,
                tabs=tuple(turn @ tab + move[:3, 3] for tab in j.tabs),
                pin=pin,
                within_module=True,
            )
        )
    modules = tuple(
        Module(f"M0{m + 1}", tuple(range(4 * m, 4 * m + 4)), tuple(range(4 * m, 4 * m + 4)), still)
        for m in (0, 1)
    )
    part = replace(one.parts[0], quantity=2 * count)
    return replace(
        one,
        group=rotation_group("C1"),
        parts=(part,),
        plates=tuple(plates),
        joints=tuple(joints),
        modules=modules,
    )


def test_rings_of_a_chain_are_found_linked() -> None:
    (link,) = links_of(chained(150.0))
    assert abs(link.number) == 1
    assert len(link.first.joints) == len(link.second.joints) == 4
    assert links_of(chained(500.0)) == []


def test_rings_are_a_basis_of_all_rings() -> None:
    box = build(boarded_box())
    rings = rings_of(box, range(len(box.plates)))
    graph = networkx.MultiGraph([joint.plates for joint in box.joints])
    assert len(rings) == graph.number_of_edges() - graph.number_of_nodes() + 1
    for ring in rings:
        for k, joint in enumerate(ring.joints):
            ends = set(box.joints[joint].plates)
            assert {ring.plates[k - 1], ring.plates[k]} == ends


def test_a_plan_of_a_chain_leaves_a_joint_open() -> None:
    result = planned(chained(150.0))
    record = json.loads(build_json(result))
    verdict = replay(record)
    assert verdict.sound, verdict.failures
    assert not verdict.unproved
    left_open = {j for step in result.steps for j in step.leave_open}
    (link,) = links_of(result)
    assert left_open & {*link.first.joints, *link.second.joints}
    assert fewest_open([link]).bound == 1
    # Closed early, the ring cannot be brought in any more: solids say so.
    late = next(step for step in record["steps"] if step["module"] is None and step["close"])
    joined = next(s for s in record["steps"] if s["module"] is None and s["leave_open"])
    early = record["steps"]
    early.remove(late)
    early.insert(early.index(joined), {**late, "module": record["plates"][4]["module"]})
    plate = next(p for p in record["plates"] if p["id"] == late["add"][0])
    early[early.index(joined) - 1]["module"] = plate["module"]
    joined["add"] = sorted({*joined["add"], *late["add"]})
    for n, step in enumerate(early, 1):
        step["n"], step["after"] = n, []
    assert {"sweep", "open"} <= replay(record).failures.keys()


def test_unlinked_rings_need_no_open_joint() -> None:
    result = planned(chained(500.0))
    assert not any(step.leave_open for step in result.steps)
    assert replay(json.loads(build_json(result))).sound


@pytest.mark.parametrize("seed", range(20))
def test_the_fewest_open_joints_against_trying_all(seed: int) -> None:
    random = np.random.default_rng(seed)
    rings = [
        Ring(
            (k,),
            tuple(sorted(random.choice(9, random.integers(1, 4), False).tolist())),
            np.zeros((1, 3)),
        )
        for k in range(6)
    ]
    pairs = [p for p in combinations(rings, 2) if random.random() < 0.6]
    links = [Link(one, two, 1) for one, two in pairs]
    sets = [{*one.joints, *two.joints} for one, two in pairs]
    every = chain.from_iterable(combinations(range(9), k) for k in range(10))
    least = next(c for c in every if all(s & set(c) for s in sets))
    found = fewest_open(links)
    assert len(found.joints) == found.bound == len(least)
    assert all(s & set(found.joints) for s in sets)
