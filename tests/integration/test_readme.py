# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What the README shows works: its design is read, built, and every check is ok."""

from __future__ import annotations

import re
from pathlib import Path

from pinwright.core.design.read import design_from_text
from pinwright.core.pipeline import build

README = Path(__file__).resolve().parent.parent.parent / "README.md"


def test_readme_design_builds_and_every_check_is_ok() -> None:
    (text,) = re.findall(r"```toml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    found = build(design_from_text(text))
    assert len(found.plates) == 30  # a dodecahedron has 30 edges (Euclid, Elements XIII.17)
    assert [check for check in found.checks if not check.ok] == []


def test_readme_links_lead_to_files() -> None:
    links = re.findall(r"\]\(([^):]+)\)", README.read_text(encoding="utf-8"))
    assert links
    assert [link for link in links if not (README.parent / link).exists()] == []
