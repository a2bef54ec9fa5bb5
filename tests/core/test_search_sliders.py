# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Families of right-angle designs: turned planes, square joints; against plain vector algebra."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pinwright.core.cli.main import main
from pinwright.core.design.model import Design
from pinwright.core.design.read import read_design
from pinwright.core.design.write import write_design
from pinwright.core.errors import DesignError
from pinwright.core.export.build_json import build_to_dict
from pinwright.core.frame.group import rotation_group
from pinwright.core.search.batch import run_batch
from pinwright.core.search.finds import Wanted
from pinwright.core.search.sliders import Slider, find_of, sliders, turned
from tests.built import build
from tests.judge import judge


@pytest.fixture(scope="module")
def family() -> Design:
    """Return a proved design with a number to choose, and room to turn."""
    for batch in range(20):
        for proved in run_batch(Wanted("T", 2), 3, batch).proved:
            found = sliders(proved.design)
            if found and found[0].high - found[0].low > 4:
                return proved.design
    raise AssertionError("no family in twenty batches")


@pytest.fixture(scope="module")
def slider(family: Design) -> Slider:
    """Return the family's first slider."""
    return sliders(family)[0]


def off_square_deg(design: Design) -> float:
    """Return how far the worst joint is from the right angle, from the design's numbers alone."""
    group = rotation_group(str(design.frame.group))
    normals = {motif.name: np.array(motif.normal) for motif in design.motifs}
    worst = 0.0
    for choice in design.joint_classes:
        a, b = (normals[name] / np.linalg.norm(normals[name]) for name in choice.motifs)
        turn = group.matrices[group.element(choice.turn.axis, choice.turn.angle, "turn")]
        worst = max(worst, abs(float(np.degrees(np.arcsin(a @ turn @ b)))))
    return worst


def test_a_design_file_gives_its_numbers_back(family: Design) -> None:
    find = find_of(family)
    assert find.pattern.motifs == 2
    assert len(find.pattern.classes) == len(family.joint_classes)
    slots = sorted(c for order in find.order for c in order)
    assert slots == list(range(len(find.pattern.classes)))


def test_turned_designs_stay_square_and_sound_in_the_range(family: Design, slider: Slider) -> None:
    for share in (0.25, 0.5, 0.75):
        by = slider.low + share * (slider.high - slider.low)
        there = turned(family, slider.motif, by)
        assert off_square_deg(there) < 1e-9
        built = build(there)
        assert built.ok, [check.name for check in built.checks if not check.ok]
        verdict = judge(build_to_dict(built), copies=0)
        assert verdict.sound, str(verdict)
        assert verdict.interference == 0.0


def test_the_normal_turns_by_the_angle_and_back(family: Design, slider: Slider) -> None:
    by = 0.6 * (slider.high if slider.high > -slider.low else slider.low)
    there = turned(family, slider.motif, by)
    back = turned(there, slider.motif, -by)
    for old, new, same in zip(family.motifs, there.motifs, back.motifs, strict=True):
        assert np.abs(np.array(old.normal) - np.array(same.normal)).max() < 2e-4
        if old.name == slider.motif:
            angle = np.degrees(np.arccos(np.clip(np.dot(old.normal, new.normal), -1, 1)))
            # A way along a curve is at least as long as the straight turn, and little longer here.
            assert 0.8 * abs(by) < angle < abs(by) + 1e-3


def test_what_has_no_slider_is_refused(family: Design, slider: Slider) -> None:
    with pytest.raises(DesignError, match="motif"):
        turned(family, "nobody", 1.0)
    fixed = next(m.name for m in family.motifs if m.name != slider.motif)
    with pytest.raises(DesignError, match=f"one of {slider.motif}"):
        turned(family, fixed, 1.0)
    bent = replace(family.motifs[0], path=((0.0, 0.0), (50.0, 0.0), (80.0, 40.0)))
    with pytest.raises(DesignError, match="slots once"):
        sliders(replace(family, motifs=(bent, *family.motifs[1:])))


def test_the_command_tells_and_writes(
    family: Design, slider: Slider, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file, out = tmp_path / "a.toml", tmp_path / "b.toml"
    write_design(family, file)
    assert main(["turn", str(file)]) == 0
    assert "can be turned from about" in capsys.readouterr().out
    by = 0.5 * (slider.low + slider.high)
    arguments = ["turn", str(file), "--motif", slider.motif, "--by", f"{by}", "--out", str(out)]
    assert main(arguments) == 0
    assert off_square_deg(read_design(out)) < 1e-9
    assert main(arguments) == 2  # nothing is written over
    assert main(["turn", str(file), "--by", "2"]) == 2
    for by in ("nan", "inf", "1000"):
        assert main(["turn", str(file), f"--by={by}", "--out", str(tmp_path / "c.toml")]) == 2
    assert not (tmp_path / "c.toml").exists()
    assert main(["turn", str(file), "--motif", "nobody"]) == 2
