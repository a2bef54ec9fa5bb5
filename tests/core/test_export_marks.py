# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Marks at tabs and slots: true of every copy, clear of every edge, both ends of a joint alike."""

from __future__ import annotations

import io
from dataclasses import replace

import ezdxf
import numpy as np
import numpy.typing as npt
import pytest
from shapely import LineString, MultiLineString, Polygon

from pinwright.core.design.model import Design, Keying
from pinwright.core.export.engraving import EDGE_DISTANCE
from pinwright.core.export.files import build_files
from pinwright.core.export.marks import Label, part_marks, placed_labels
from pinwright.core.results import Build
from tests.builders import small_design
from tests.built import build
from tests.ladder import ladder
from tests.stages import DESIGNS

MARKED: dict[str, Design] = {
    "ladder": ladder(),
    "by hand": small_design(),
    "two rotors": DESIGNS["two rotors"],
    "dodecahedron": DESIGNS["dodecahedron"],
}


def _in_part(build: Build, plate: int, point: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Return a world point in the plate's own plane."""
    inverse = np.linalg.inv(build.plates[plate].world_from_part)
    flat: npt.NDArray[np.float64] = (inverse @ [*point, 1.0])[:2]
    return flat


@pytest.mark.parametrize("name", list(MARKED))
def test_both_ends_of_every_joint_bear_its_number_and_the_partners_mark(name: str) -> None:
    result = build(MARKED[name])
    marks = part_marks(result)
    numbers: dict[str, set[str]] = {}
    found = 0
    for joint in result.joints:
        for own, other in (joint.plates, joint.plates[::-1]):
            plate = result.plates[own]
            at = _in_part(result, own, joint.centre)
            if own == joint.plates[0]:  # the tab's mark stands in front of its shoulder
                at = _in_part(result, own, joint.centre - 11.0 * joint.insertion)
            texts = [
                label.text
                for label in marks[plate.part].labels
                if np.hypot(*(label.near - at)) < 1.0
            ]
            if not texts:
                continue  # copies of the part meet different parts here
            found += 1
            (text,) = texts
            partner = result.parts[result.plates[other].part].mark
            if text == f"TO {partner}":
                continue
            mark, number = text.split("-")
            assert mark == partner
            numbers.setdefault(joint.joint_class, set()).add(number)
    assert all(len(one) == 1 for one in numbers.values())
    assert len({*map(frozenset, numbers.values())}) == len(numbers)
    assert found > 0


def test_where_copies_of_a_part_differ_only_their_partner_is_named() -> None:
    # The two rungs are one part, and the two uprights: four joints at the same places of two parts.
    uprights, rungs = part_marks(build(ladder()))
    assert {label.text for label in rungs.labels} == {"TO A"}
    assert {label.text for label in uprights.labels} == {"TO B"}
    assert len(rungs.labels) == len(uprights.labels) == 2


def test_the_side_that_faces_out_is_named() -> None:
    result = build(DESIGNS["two rotors"])
    (marks,) = part_marks(result)
    for plate in result.plates:
        pose = plate.world_from_part
        # Which way the engraved side looks, seen from the middle of the sculpture.
        outwards = float(pose[:3, 2] @ pose[:3, 3]) > 0
        assert marks.side == ("OUT" if outwards else "IN")
    # Strips on the edges of a solid stand nearly in planes through its middle: they face nowhere.
    assert part_marks(build(DESIGNS["dodecahedron"]))[0].side == ""


@pytest.mark.parametrize("name", list(MARKED))
def test_what_is_engraved_keeps_clear_of_edges_and_of_itself(name: str) -> None:
    design = replace(MARKED[name], keying=Keying(marks=True))
    result = build(design)
    files = build_files(result)
    plain = build_files(replace(result, design=MARKED[name]))
    assert b"MARKS\n" in files["README.txt"]
    assert b"MARKS\n" not in plain["README.txt"]
    for part in result.parts:
        dxf = files[f"cut/{part.mark}.dxf"]
        assert dxf != plain[f"cut/{part.mark}.dxf"]
        document = ezdxf.read(io.StringIO(dxf.decode("utf-8")))
        lines = [
            LineString([point[:2] for point in line.get_points("xy")])
            for line in document.modelspace().query('LWPOLYLINE[layer=="MARK"]')
        ]
        strokes = MultiLineString(lines)
        assert part.outline.contains(strokes)
        assert strokes.distance(part.outline.boundary) >= EDGE_DISTANCE - 1e-6


def test_labels_avoid_each_other_and_tell_when_there_is_no_room() -> None:
    plate = Polygon([(0, 0), (40, 0), (40, 12), (0, 12)])
    near = np.array([15.0, 6.0])
    labels = [Label(f"A-{k}", near) for k in range(1, 9)]
    strokes, warnings = placed_labels(labels, plate, (), "A")
    assert strokes
    assert len(warnings) == 1
    assert "no room" in warnings[0]
    first, _ = placed_labels(labels[:1], plate, (), "A")
    second, _ = placed_labels(labels[1:2], plate, first, "A")
    gap = MultiLineString(list(first)).distance(MultiLineString(list(second)))
    assert gap >= 2 * EDGE_DISTANCE - 1e-6


def test_old_designs_are_cut_as_before() -> None:
    result = build(ladder())
    assert not result.design.keying.marks
    document = build_files(result)["cut/A.dxf"].decode("utf-8")
    marked = build_files(replace(result, design=replace(result.design, keying=Keying(marks=True))))
    assert document.count("MARK") < marked["cut/A.dxf"].decode("utf-8").count("MARK")
