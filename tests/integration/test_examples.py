# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every example design is built, written and judged from its files by independent libraries."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from shapely import Polygon

from pinwright.core.design.read import read_design
from pinwright.core.export.files import write_build
from pinwright.core.pipeline import build
from pinwright.core.search.links import linked_rotors, rotor_loops
from pinwright.core.search.shape import shape_of
from tests.judge import judge_file

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.toml"))
# kg/m3. Aluminium 5052-H32: ASM data sheet ma5052h32. Cast acrylic: PMMA data sheets. Birch
# plywood: Handbook of Finnish Plywood, from memory. Greyboard: from memory.
DENSITY = {
    "aluminium-5052": 2680.0,
    "acrylic-cast": 1190.0,
    "birch-plywood": 680.0,
    "greyboard": 650.0,
}
#: The right-angle designs that are shown, with their numbers of plates.
FOUND = {
    "harbour-lantern": 60,
    "demo": 120,
    "arch-globe": 120,
    "sail-frames": 120,
    "copper-rose": 120,
    "linked-triangles": 120,
    "tide-whirl": 180,
    "four-petals": 48,
    "first-knot": 24,
}
Record = dict[str, Any]


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def written(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of one example's files."""
    folder = tmp_path_factory.mktemp(request.param.stem)
    write_build(build(read_design(request.param)), folder)
    return folder


def record_of(folder: Path) -> Record:
    record: Record = json.loads((folder / "build.json").read_text(encoding="utf-8"))
    return record


def test_there_are_examples() -> None:
    assert {path.stem for path in EXAMPLES} >= {"demo", "card-rings", "edge-rotor", "pebble"}
    assert {path.stem for path in EXAMPLES} >= FOUND.keys()


def test_an_example_fits_together(written: Path) -> None:
    record = record_of(written)
    verdict = judge_file(written / "build.json", DENSITY[record["sheet"]["material"]])
    assert verdict.interference < 0.5, str(verdict)
    assert verdict.sound, str(verdict)
    assert verdict.pairs > len(record["plates"])
    assert verdict.joints >= len({joint["class"] for joint in record["joints"]})


def test_its_own_checks_agree(written: Path) -> None:
    failed = [check for check in record_of(written)["checks"] if not check["ok"]]
    assert not failed


def test_cut_files_have_the_area_and_holes_of_their_parts(written: Path) -> None:
    for part in record_of(written)["parts"]:
        drawing = ezdxf.readfile(written / "cut" / f"{part['mark']}.dxf")
        rings = [
            Polygon([(x, y) for x, y, *_ in line.get_points()])
            for line in drawing.modelspace().query("LWPOLYLINE")
            if line.closed and line.dxf.layer.upper().startswith("CUT")
        ]
        circles = [circle.dxf.radius for circle in drawing.modelspace().query("CIRCLE")]
        outer = max(rings, key=lambda ring: ring.area)
        holes = [ring.area for ring in rings if ring is not outer]
        holes += [np.pi * radius**2 for radius in circles]
        outline = part["outline"]
        assert len(holes) == len(outline["interiors"])
        wanted = sum(area_of_hole(ring) for ring in outline["interiors"])
        whole = Polygon(outline["exterior"]).area - wanted
        assert outer.area - sum(holes) == pytest.approx(whole, rel=1e-6)


def area_of_hole(ring: list[list[float]]) -> float:
    """Area of a hole; of the circle through its corners if they are many and on one."""
    points = np.array(ring)
    reach = np.linalg.norm(points - points.mean(axis=0), axis=1)
    if len(ring) >= 16 and np.ptp(reach) < 1e-6:
        return float(np.pi * reach.mean() ** 2)
    return float(Polygon(ring).area)


def test_found_designs_are_all_square_and_nothing_clashes(written: Path) -> None:
    record = record_of(written)
    count = FOUND.get(written.name.rstrip("0123456789"))
    if count is None:
        return  # drawn by a recipe, not found
    assert len(record["plates"]) == count
    normals = {plate["id"]: np.array(plate["transform"])[:3, 2] for plate in record["plates"]}
    for joint in record["joints"]:
        a, b = (normals[name] for name in joint["plates"])
        assert abs(np.degrees(np.arcsin(a @ b))) < 1e-6
        assert joint["angle"] == pytest.approx(90.0, abs=1e-6)
    checks = {check["name"]: check for check in record["checks"]}
    assert all(check["ok"] for check in checks.values())
    assert checks["clash"]["figure"] == 0.0
    assert checks["clearance"]["figure"] >= 10.0
    if count == 60:
        assert len(record["parts"]) == 1
        assert len({plate["flipped"] for plate in record["plates"]}) == 1


def test_the_linked_triangles_are_linked() -> None:
    """On each of the ten three-fold axes two triangles pass through each other at either end."""
    design = read_design(EXAMPLES[0].parent / "linked-triangles.toml")
    built = build(design)
    shape = shape_of(design, built.group)
    pairs, on_axis = linked_rotors(rotor_loops(shape.motifs, shape.classes, built.group))
    assert on_axis == 20
    assert pairs >= on_axis
