# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Words of the window in other languages, for Blender's own translation to use.

A translator adds a table named as Blender names the language, such as ``fr_FR`` or ``ja_JP``: the
English text as it stands in the code, and what is to be read instead. Buttons are looked up in
Blender's context "Operator", everything else in "*". What is missing stays English.
"""

from __future__ import annotations

import bpy

__all__ = ["BUTTONS", "WORDS", "register", "unregister"]

#: By language: names of panels, settings and figures.
WORDS: dict[str, dict[str, str]] = {
    "de_DE": {
        "Sculpture": "Skulptur",
        "Sheet": "Tafel",
        "Joints": "Verbindungen",
        "Checks": "Prüfungen",
        "Place": "Ort",
        "Files": "Dateien",
        "Animation and Pictures": "Animation und Bilder",
        "Right-Angle Search": "Rechtwinkelsuche",
        "Assembly": "Zusammenbau",
        "Steps": "Schritte",
        "Exploded": "Auseinandergezogen",
        "Thickness": "Dicke",
        "Plates": "Platten",
        "Pins": "Stifte",
        "Mass": "Masse",
    },
}
#: By language: buttons and entries of menus.
BUTTONS: dict[str, dict[str, str]] = {
    "de_DE": {
        "Build Sculpture": "Skulptur bauen",
        "Rebuild Sculpture": "Skulptur neu bauen",
        "Open Design": "Entwurf öffnen",
        "Save Design": "Entwurf speichern",
        "Export Cut Files": "Schneiddateien exportieren",
        "Plan Assembly": "Zusammenbau planen",
        "Animate": "Animieren",
        "Make Picture": "Bild machen",
    },
}


def register() -> None:
    """Give the tables to Blender."""
    tables: dict[str, dict[tuple[str, str], str]] = {}
    for context, languages in (("*", WORDS), ("Operator", BUTTONS)):
        for language, words in languages.items():
            table = tables.setdefault(language, {})
            table.update({(context, english): said for english, said in words.items()})
    bpy.app.translations.register(__name__, tables)  # type: ignore[arg-type]  # a rough stub


def unregister() -> None:
    """Take them out again."""
    bpy.app.translations.unregister(__name__)
