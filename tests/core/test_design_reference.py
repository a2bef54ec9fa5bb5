# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The reference document says what the reader does, and its examples can be used as they are."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from pinwright.core.design.materials import MATERIALS
from pinwright.core.design.read import design_from_text
from pinwright.core.design.reference import field_reference
from pinwright.core.design.tables import FIELDS, RECIPES

DOCUMENT = Path(__file__).parents[2] / "docs" / "design-file.md"


def test_the_document_in_the_repository_is_the_one_that_the_code_makes() -> None:
    assert DOCUMENT.read_text(encoding="utf-8") == field_reference()


@pytest.mark.parametrize("number", [0, 1])
def test_its_examples_are_valid_designs(number: int) -> None:
    examples = re.findall(r"```toml\n(.*?)```", field_reference(), flags=re.DOTALL)
    assert len(examples) == 2
    assert (design_from_text(examples[number]).recipe is None) == (number == 1)


def test_every_field_recipe_and_sheet_has_its_row() -> None:
    text = field_reference()
    for fields in FIELDS.values():
        for field in fields:
            assert f"| `{field.name}` |" in text or field.name in ("axis", "angle")
    assert all(f'kind = "{kind}"' in text for kind in RECIPES)
    assert all(f"| `{name}` |" in text for name in MATERIALS)


def test_rows_have_as_many_cells_as_their_head() -> None:
    for line in field_reference().splitlines():
        if line.startswith("| `") and "kg/m3" not in line:
            cells = line.strip("|").split("|")
            assert len(cells) in (4, 8), line
