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


def test_the_demo_is_sixty_equal_plates_all_square(tmp_path: Path) -> None:
    demo = next(path for path in EXAMPLES if path.stem == "demo")
    write_build(build(read_design(demo)), tmp_path)
    record = record_of(tmp_path)
    assert len(record["parts"]) == 1
    assert record["parts"][0]["quantity"] == len(record["plates"]) >= 60
    assert len({plate["flipped"] for plate in record["plates"]}) == 1
    poses = {plate["id"]: np.array(plate["transform"]) for plate in record["plates"]}
    angles = []
    for joint in record["joints"]:
        a, b = (poses[name][:3, 2] for name in joint["plates"])
        angles.append(np.degrees(np.arccos(a @ b)))
        assert joint["angle"] == pytest.approx(90.0, abs=1e-6)
    assert np.abs(np.array(angles) - 90.0).max() < 1e-6
    (clash,) = [check for check in record["checks"] if check["name"] == "clash"]
    assert clash["ok"]
    assert clash["figure"] == 0.0
