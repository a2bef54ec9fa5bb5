# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the README shows works: its design is read and built, every check is ok, its plan proved."""

from __future__ import annotations

import re
from pathlib import Path

from pinwright.core.assembly.plan import planned
from pinwright.core.design.read import design_from_text
from pinwright.core.pipeline import build

README = Path(__file__).resolve().parent.parent.parent / "README.md"


def test_readme_design_builds_and_every_check_is_ok() -> None:
    (text,) = re.findall(r"```toml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    found = build(design_from_text(text))
    # One for each rotation of the dodecahedron: 60 (Klein, Lectures on the Icosahedron, I.1).
    assert len(found.plates) == 60
    assert [check for check in found.checks if not check.ok] == []
    steps = planned(found).steps
    assert all(step.free for step in steps)
    assert max(spring.stress_ratio for step in steps for spring in step.springs) < 1.0


def test_readme_links_lead_to_files() -> None:
    links = re.findall(r"\]\(([^):]+)\)", README.read_text(encoding="utf-8"))
    assert links
    assert [link for link in links if not (README.parent / link).exists()] == []
