# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The judge is judged: a sculpture made by hand passes, and each way of spoiling it is noticed."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    MotifChoice,
    Sheet,
)
from pinwright.core.export.build_json import build_json
from pinwright.core.pipeline import build
from tests.builders import DENSITY, small_build
from tests.judge import judge

Record = dict[str, Any]


@pytest.fixture(scope="module")
def square() -> Record:
    """Five plates that were drawn by hand: four tenons at 90 deg."""
    record: Record = json.loads(build_json(small_build()))
    return record


@pytest.fixture(scope="module")
def oblique() -> Record:
    """One strip through another at 50 deg."""
    tilt = np.radians(50.0)
    design = Design(
        name="oblique",
        sheet=Sheet(thickness=4.0, clearance=0.1),
        frame=FrameChoice(diameter=300.0, group="C1"),
        motifs=(
            MotifChoice("a", (0, 0, 1), 0.0, (1, 0, 0), path=((-90, 0), (0, 0)), width=44.0),
            MotifChoice(
                "b", (np.sin(tilt), 0, np.cos(tilt)), 0.0, (0, 1, 0),
                path=((-60, 0), (60, 0)), width=60.0,
            ),
        ),
        joint_classes=(JointClassChoice("one", ("a", "b"), JointKind.TENON),),
        joints=JointSizes(tab_width=20.0),
    )  # fmt: skip
    record: Record = json.loads(build_json(build(design)))
    return record


@pytest.fixture(scope="module")
def lapped() -> Record:
    """Two strips laid over each other at 60 deg, each slotted half way."""
    tilt = np.radians(60.0)
    bar = ((-80.0, 0.0), (80.0, 0.0))
    design = Design(
        name="lapped",
        sheet=Sheet(thickness=3.0, clearance=0.15),
        frame=FrameChoice(diameter=300.0, group="C1"),
        motifs=(
            MotifChoice("a", (0, 0, 1), 0.0, (1, 0, 0), path=bar, width=40.0),
            MotifChoice(
                "b", (np.sin(tilt), 0, np.cos(tilt)), 0.0, (np.cos(tilt), 0, -np.sin(tilt)),
                path=bar, width=40.0,
            ),
        ),
        joint_classes=(JointClassChoice("one", ("a", "b"), JointKind.CROSS_LAP),),
    )  # fmt: skip
    record: Record = json.loads(build_json(build(design)))
    return record


def test_what_is_right_passes(square: Record, oblique: Record, lapped: Record) -> None:
    for record in (square, oblique, lapped):
        verdict = judge(record, DENSITY * 1e9)
        assert verdict.sound, str(verdict)
        assert verdict.interference < 1e-6, str(verdict)
        assert verdict.joints == len(record["joints"])


def stretch(ring: list[list[float]], along: float, across: float) -> None:
    """Lengthen a rectangular slot by mm, longer side and shorter side."""
    points = np.array(ring)
    middle = points.mean(axis=0)
    sides = np.diff(points, axis=0)[:2]
    lengths = np.linalg.norm(sides, axis=1)
    for side, length in zip(sides, lengths, strict=True):
        extra = along if length == lengths.max() else across
        way = side / length
        points += np.sign((points - middle) @ way)[:, None] * way * extra / 2
    ring[:] = points.tolist()


def part_of(record: Record, plate: int) -> Record:
    mark = next(
        p["part"] for p in record["plates"] if p["id"] == record["joints"][0]["plates"][plate]
    )
    found: Record = next(p for p in record["parts"] if p["mark"] == mark)
    return found


def slot(along: float, across: float) -> Callable[[Record], None]:
    def spoil(record: Record) -> None:
        for ring in part_of(record, 1)["outline"]["interiors"]:
            stretch(ring, along, across)

    return spoil


def move_plate(plate: int, way: str, by: float) -> Callable[[Record], None]:
    def spoil(record: Record) -> None:
        joint = record["joints"][0]
        found = next(p for p in record["plates"] if p["id"] == joint["plates"][plate])
        pose = np.array(found["transform"])
        step = pose[:3, 2] if way == "normal" else np.array(joint[way])
        pose[:3, 3] += by * step
        found["transform"] = pose.tolist()

    return spoil


def move_pin(way: str, by: float) -> Callable[[Record], None]:
    def spoil(record: Record) -> None:
        joint = record["joints"][0]
        pin = joint["pins"][0]
        step = pin["axis"] if way == "axis" else joint[way]
        pin["centre"] = (np.array(pin["centre"]) + by * np.array(step)).tolist()

    return spoil


def mirror(record: Record) -> None:
    pose = np.array(record["plates"][0]["transform"])
    pose[:3, 2] *= -1
    record["plates"][0]["transform"] = pose.tolist()


def fill_holes(plate: int) -> Callable[[Record], None]:
    def spoil(record: Record) -> None:
        part_of(record, plate)["outline"]["interiors"] = []

    return spoil


def set_to(path: str, value: object) -> Callable[[Record], None]:
    def spoil(record: Record) -> None:
        *way, last = path.split("/")
        place: Any = record
        for step in way:
            place = place[int(step) if step.isdigit() else step]
        place[last] = value

    return spoil


def add_to(path: str, amount: float) -> Callable[[Record], None]:
    def spoil(record: Record) -> None:
        *way, last = path.split("/")
        place: Any = record
        for step in way:
            place = place[int(step) if step.isdigit() else step]
        place[int(last) if last.isdigit() else last] += amount

    return spoil


def drop(kind: str, index: int) -> Callable[[Record], None]:
    def spoil(record: Record) -> None:
        del record[kind][index]

    return spoil


def thin_tab(record: Record) -> None:
    """Draw the tab of the first joint's plate as wide as its strip: nothing seats it."""
    outline = part_of(record, 0)["outline"]
    ring = np.array(outline["exterior"])
    ring[:, 1] = np.clip(ring[:, 1], -10.0, 10.0)
    keep = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) > 1e-9
    outline["exterior"] = ring[keep].tolist()


TENON = {
    "slot 0.12 mm too long": (slot(0.12, 0.0), "loose"),
    "slot 0.12 mm too wide": (slot(0.0, 0.12), "loose"),
    "slot 0.05 mm too short": (slot(-0.05, 0.0), "tight"),
    "slot 0.05 mm too narrow": (slot(0.0, -0.05), "tight"),
    "slot 0.3 mm too narrow": (slot(0.0, -0.3), "fit"),
    "no slot": (fill_holes(1), "slot"),
    "no pin hole": (fill_holes(0), "pin"),
    "pushed in by 0.1 mm": (move_plate(0, "insertion", 0.1), "fit"),
    "not pushed in by 0.2 mm": (move_plate(0, "insertion", -0.2), "shoulder"),
    "aside by 0.3 mm": (move_plate(0, "line", 0.3), "fit"),
    "off its plane by 0.2 mm": (move_plate(0, "normal", 0.2), "direction"),
    "pin too near": (move_pin("insertion", -0.15), "pin"),
    "pin too far": (move_pin("insertion", 0.15), "pin"),
    "pin not centred": (move_pin("axis", 0.5), "pin"),
    "pin too thick": (add_to("joints/0/pins/0/diameter", 0.3), "pin"),
    "pin too thin": (add_to("joints/0/pins/0/diameter", -0.1), "pin"),
    "wrong angle": (add_to("joints/0/angle", -1e-5), "angle"),
    "wrong line": (add_to("joints/0/line/0", 1e-6), "direction"),
    "mirrored transform": (mirror, "transform"),
    "joint twice": (lambda r: r["joints"].append({**r["joints"][0], "id": "J999"}), "ids"),
    "wrong quantity": (add_to("parts/0/quantity", 1), "counts"),
    "wrong mass": (add_to("parts/0/mass", 1e-3), "mass"),
    "wrong sum": (add_to("totals/mass", 1e-3), "totals"),
    "wrong diameter": (add_to("totals/diameter", 0.5), "totals"),
    "wrong centre": (add_to("totals/centre_of_gravity/2", 1.0), "totals"),
    "unknown key": (set_to("colour", "green"), "schema"),
}  # fmt: skip


@pytest.mark.parametrize("name", TENON)
@pytest.mark.parametrize("which", ["square", "oblique"])
def test_a_spoilt_tenon_is_noticed(name: str, which: str, request: pytest.FixtureRequest) -> None:
    record = copy.deepcopy(request.getfixturevalue(which))
    spoil, kind = TENON[name]
    spoil(record)
    verdict = judge(record, DENSITY * 1e9)
    assert kind in verdict.failures, str(verdict)


def test_a_tab_without_shoulders_is_noticed(square: Record) -> None:
    record = copy.deepcopy(square)
    thin_tab(record)
    assert "shoulder" in judge(record).failures


def test_a_plate_that_hangs_loose_is_noticed(square: Record) -> None:
    record = copy.deepcopy(square)
    drop("joints", 0)(record)
    assert "connected" in judge(record).failures


def deepen(by: float) -> Callable[[Record], None]:
    """Make the slot of the first plate's part deeper."""

    def spoil(record: Record) -> None:
        outline = part_of(record, 0)["outline"]
        ring = np.array(outline["exterior"])
        middle = (ring.max(axis=0) + ring.min(axis=0)) / 2
        inner = np.abs(ring[:, 1] - middle[1]) < 5.0
        inner &= np.abs(ring[:, 0] - middle[0]) < 20.0
        edge = np.delete(ring, np.flatnonzero(inner), axis=0)
        near = np.abs(edge[:, 0] - middle[0]) < 20.0
        ring[inner, 1] -= np.sign(edge[near, 1].mean() - middle[1]) * by
        outline["exterior"] = ring.tolist()

    return spoil


def widen(by: float) -> Callable[[Record], None]:
    """Make the slots of the first plate's part wider."""

    def spoil(record: Record) -> None:
        outline = part_of(record, 0)["outline"]
        ring = np.array(outline["exterior"])
        middle = (ring.max(axis=0) + ring.min(axis=0)) / 2
        near = np.abs(ring[:, 0] - middle[0]) < 20.0
        ring[near, 0] += np.sign(ring[near, 0] - middle[0]) * by / 2
        outline["exterior"] = ring.tolist()

    return spoil


LAP = {
    "slots 0.12 mm too wide": (widen(0.12), "loose"),
    "slots 0.05 mm too narrow": (widen(-0.05), "tight"),
    "slot 0.1 mm too deep": (deepen(0.1), "loose"),
    "slot 0.4 mm too shallow": (deepen(-0.4), "fit"),
    "pushed in by 0.4 mm": (move_plate(0, "insertion", 0.4), "fit"),
    "off its plane by 0.2 mm": (move_plate(0, "normal", 0.2), "direction"),
    "wrong way in": (
        lambda r: r["joints"][0].update(insertion=[-x for x in r["joints"][0]["insertion"]]),
        "through",
    ),
}


@pytest.mark.parametrize("name", LAP)
def test_a_spoilt_lap_is_noticed(name: str, lapped: Record) -> None:
    record = copy.deepcopy(lapped)
    spoil, kind = LAP[name]
    spoil(record)
    verdict = judge(record)
    assert kind in verdict.failures, str(verdict)
