# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The build file, judged by the jsonschema library (JSON Schema draft 2020-12) and by geometry."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from shapely import Polygon

from pinwright.core.errors import OutputError, PinwrightError
from pinwright.core.export.build_json import (
    build_json,
    build_schema,
    build_to_dict,
    read_build_json,
)
from tests.builders import small_build

Record = dict[str, Any]


@pytest.fixture
def record() -> Record:
    return json.loads(build_json(small_build()))


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(build_schema())


def test_a_build_satisfies_it(record: Record) -> None:
    Draft202012Validator(build_schema()).validate(record)


def test_a_joint_without_pin_and_a_step_satisfy_it(record: Record) -> None:
    record["joints"][0] |= {"kind": "cross-lap", "pin": None}
    spring = {
        "joint": "J003",
        "plate": "A02",
        "deflection": 9.0,
        "force": 4.1,
        "stress_ratio": 0.2,
        "zone": 25.0,
    }
    record["steps"] = [
        {
            "n": 1,
            "module": None,
            "add": ["A01"],
            "direction": [1, 0, 0],
            "way": [[-300, 0, 0], [0, 0, 0]],
            "turns": [[0, 0, 0, 1], [0, 0, 0, 1]],
            "pivot": [0, 0, 0],
            "free": True,
            "why": "",
            "close": ["J001"],
            "pin": ["J001"],
            "spring": [spring],
            "leave_open": [],
            "minutes": 2.5,
            "people": 1,
            "after": [],
            "say": "Push A01 into B01.",
        }
    ]
    Draft202012Validator(build_schema()).validate(record)


BREAKS: dict[str, Callable[[Record], object]] = {
    "other schema": lambda r: r.update(schema="pinwright-build/2"),
    "inches": lambda r: r["units"].update(length="in"),
    "no totals": lambda r: r.pop("totals"),
    "a key too many": lambda r: r["plates"][0].update(colour="red"),
    "no parts": lambda r: r.update(parts=[]),
    "no quantity": lambda r: r["parts"][0].pop("quantity"),
    "quantity zero": lambda r: r["parts"][0].update(quantity=0),
    "quantity half": lambda r: r["parts"][0].update(quantity=1.5),
    "thickness zero": lambda r: r["parts"][0].update(thickness=0.0),
    "two corners": lambda r: r["parts"][0]["outline"].update(exterior=[[0, 0], [1, 0]]),
    "corner in space": lambda r: r["parts"][0]["outline"]["exterior"][0].append(0.0),
    "three rows": lambda r: r["plates"][0]["transform"].pop(),
    "scaled": lambda r: r["plates"][0]["transform"][0].__setitem__(0, 1000.0),
    "sheared": lambda r: r["plates"][0]["transform"][3].__setitem__(0, 1.0),
    "flipped as text": lambda r: r["plates"][0].update(flipped="no"),
    "glue": lambda r: r["joints"][0].update(kind="glue"),
    "three plates": lambda r: r["joints"][0]["plates"].append("A02"),
    "angle of 120": lambda r: r["joints"][0].update(angle=120.0),
    "long direction": lambda r: r["joints"][0].update(insertion=[2.0, 0.0, 0.0]),
    "pin of nothing": lambda r: r["joints"][0]["pin"].update(diameter=0.0),
    "no pin key": lambda r: r["joints"][0].pop("pin"),
    "later": lambda r: r["joints"][0].update(stage="later"),
    "plate twice": lambda r: r["modules"][0]["plates"].append("A01"),
    "flat vector": lambda r: r["modules"][0].update(explode=[0.0, 0.0]),
    "no figure": lambda r: r["checks"][0].update(figure=None),
    "group of no name": lambda r: r["group"].update(name="Q8"),
    "step 0": lambda r: r.update(steps=[{"n": 0}]),
}


@pytest.mark.parametrize("name", BREAKS)
def test_a_broken_build_is_refused(record: Record, name: str) -> None:
    BREAKS[name](record)
    assert not Draft202012Validator(build_schema()).is_valid(record)


def test_every_key_is_described_and_none_may_be_added() -> None:
    for where, node in _nodes(build_schema(), ""):
        if "properties" in node:
            assert node["additionalProperties"] is False, where
            assert set(node["required"]) == set(node["properties"]), where
            for key, value in node["properties"].items():
                assert value.get("description") or "const" in value, f"{where}.{key}"


def _nodes(node: Any, where: str) -> Iterator[tuple[str, Record]]:
    if isinstance(node, dict):
        yield where, node
        for key, value in node.items():
            yield from _nodes(value, f"{where}.{key}")
    elif isinstance(node, list):
        for place, value in enumerate(node):
            yield from _nodes(value, f"{where}[{place}]")


def test_the_sculpture_can_be_rebuilt_from_the_file(record: Record) -> None:
    build = small_build()
    parts = {part["mark"]: part for part in record["parts"]}
    for plate, saved in zip(build.plates, record["plates"], strict=True):
        part, outline = build.parts[plate.part], parts[saved["part"]]["outline"]
        again = Polygon(outline["exterior"], outline["interiors"])
        assert again.equals(part.outline)  # to the last digit
        assert again.exterior.is_ccw
        assert outline["exterior"][0] != outline["exterior"][-1]
        assert np.array_equal(saved["transform"], plate.world_from_part)
        assert np.linalg.det(np.array(saved["transform"])) == pytest.approx(1.0)
    for joint, saved in zip(build.joints, record["joints"], strict=True):
        assert [build.plates[index].id for index in joint.plates] == saved["plates"]
        assert joint.pin is not None
        assert np.array_equal(saved["pin"]["centre"], joint.pin.centre)
        # The tab's plate stands in its mid-plane's distance 0 from the pin's centre.
        pose = np.array(record["plates"][joint.plates[0]]["transform"])
        local = pose[:3, :3].T @ (np.array(saved["pin"]["centre"]) - pose[:3, 3])
        assert local[2] == pytest.approx(0.0, abs=1e-12)


def test_modules_stages_and_references_hang_together(record: Record) -> None:
    ids = [plate["id"] for plate in record["plates"]]
    inside = [name for module in record["modules"] for name in module["plates"]]
    assert sorted(inside) == sorted(ids)
    within = {name for module in record["modules"] for name in module["joints"]}
    for joint in record["joints"]:
        assert (joint["stage"] == "module") == (joint["id"] in within)
        assert joint["hang_point"] is False


def test_zero_has_no_sign_and_bytes_repeat() -> None:
    build = small_build()
    check = replace(build.checks[0], figure=-0.0)
    module = replace(build.modules[0], explode=np.array([-0.0, 0.0, -0.0]))
    signed = replace(build, checks=(check,), modules=(module, *build.modules[1:]))
    record = build_to_dict(signed)
    assert record["modules"][0]["explode"] == [0.0, 0.0, 0.0]
    zeros = [value for value in _numbers(record) if value == 0]
    assert zeros
    assert all(math.copysign(1.0, value) == 1.0 for value in zeros)
    assert build_json(signed) == build_json(replace(small_build(), checks=(check,)))


def _numbers(node: Any) -> Iterator[float]:
    if isinstance(node, dict):
        node = list(node.values())
    if isinstance(node, list):
        for value in node:
            yield from _numbers(value)
    elif isinstance(node, float):
        yield node


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_number_that_is_none_is_refused_by_name(bad: float) -> None:
    build = small_build()
    totals = replace(build.totals, mass=bad)
    with pytest.raises(OutputError, match=r"totals\.mass is"):
        build_json(replace(build, totals=totals))
    pose = build.plates[1].world_from_part.copy()
    pose[0, 3] = bad
    plates = (build.plates[0], replace(build.plates[1], world_from_part=pose), *build.plates[2:])
    with pytest.raises(OutputError, match=r"plates\[1\]\.transform is"):
        build_json(replace(build, plates=plates))


def test_reading_gives_the_record_back(tmp_path: Path) -> None:
    path = tmp_path / "build.json"
    path.write_bytes(build_json(small_build()))
    assert read_build_json(path) == build_to_dict(small_build())
    assert read_build_json(str(path)) == build_to_dict(small_build())


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"{", "is not JSON"),
        (b"\xff\xfe", "is not JSON"),
        (b'{"schema": NaN}', "NaN is no JSON number"),
        (b"[]", "schema is None"),
        (b'{"schema": "pinwright-build/9"}', "schema is 'pinwright-build/9'"),
        (b'{"schema": "pinwright-build/1"}', "units, generator, design"),
    ],
)
def test_what_is_no_build_file_is_refused(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "other.json"
    path.write_bytes(content)
    with pytest.raises(PinwrightError, match=r"other\.json") as caught:
        read_build_json(path)
    assert words in str(caught.value)


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    with pytest.raises(PinwrightError, match="cannot be read"):
        read_build_json(tmp_path / "none.json")
