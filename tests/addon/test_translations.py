# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What is translated is what the window says: every key is a text of the code or of a class."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest

bpy = pytest.importorskip("bpy")

from pinwright import addon  # noqa: E402
from pinwright.addon import translations  # noqa: E402
from pinwright.addon import words as words_module  # noqa: E402
from pinwright.addon.words import worded  # noqa: E402

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


def _told(tree: ast.AST) -> Iterator[ast.expr]:
    """Yield what is given to be read: labels, figures, reports."""
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        if name in ("label", "prop", "operator"):
            yield from (word.value for word in node.keywords if word.arg == "text")
        elif name in ("report", "wrapped", "figure"):
            yield from node.args[1:]


def test_no_words_come_untranslated_with_figures_in_them() -> None:
    """A text made up of words and figures is looked up whole, before the figures are put in."""
    for path in ADDON.rglob("*.py"):
        for node in _told(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.JoinedStr):
                fixed = [part.value for part in node.values if isinstance(part, ast.Constant)]
                said = re.findall(r"[A-Za-z]+", " ".join(fixed))
                told = f"{path.name}, line {node.lineno}: {fixed}"
                assert all(len(word) <= 2 for word in said), told  # units: mm, kg, m, h


def test_figures_are_put_into_translated_words(monkeypatch: pytest.MonkeyPatch) -> None:
    assert worded("{count} Steps", count=3) == "3 Steps"
    assert worded("no {figures} here") == "no {figures} here"
    # Blender as a module knows English only: here stands a table in its translator's place.
    said = {"{count} Steps": "Schritte: {count}"}
    spoken = SimpleNamespace(pgettext_iface=lambda text: said.get(text, text))
    stand_in = SimpleNamespace(app=SimpleNamespace(translations=spoken))
    monkeypatch.setattr(words_module, "bpy", stand_in)
    assert worded("{count} Steps", count=3) == "Schritte: 3"
    assert worded("{count} Plates", count=3) == "3 Plates"


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
