# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is translated is what the window says: every key is a text of the code or of a class."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

bpy = pytest.importorskip("bpy")

from pinwright import addon  # noqa: E402
from pinwright.addon import translations  # noqa: E402

ADDON = Path(addon.__file__).parent


def _texts() -> set[str]:
    """Return every text that stands in the add-on's code, its translations left out."""
    found = set()
    for path in ADDON.rglob("*.py"):
        if path.name == "translations.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
    return found


def test_every_translated_word_is_said_somewhere() -> None:
    texts = _texts()
    for words in translations.WORDS.values():
        assert set(words) <= texts, set(words) - texts


def test_every_translated_button_is_an_operator() -> None:
    labels = {c.bl_label for c in addon.CLASSES if issubclass(c, bpy.types.Operator)}
    for words in translations.BUTTONS.values():
        assert set(words) <= labels, set(words) - labels


def test_languages_are_named_as_blender_names_them() -> None:
    # The form of ISO 639 and ISO 3166, as in Blender's list of languages.
    for tables in (translations.WORDS, translations.BUTTONS):
        for language in tables:
            assert language[:2].islower(), language
            assert language[2:3] in ("", "_", "@"), language


def test_tables_come_and_go_twice() -> None:
    for _ in range(2):
        translations.unregister()  # the extension has registered them
        translations.register()
