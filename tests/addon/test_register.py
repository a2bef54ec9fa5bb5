# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The extension comes and goes without a trace, and names nothing that Blender does not have."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

bpy = pytest.importorskip("bpy")

import pinwright  # noqa: E402
from pinwright import addon  # noqa: E402
from pinwright.addon import properties  # noqa: E402

ADDON = Path(addon.__file__).parent
MAKER = Path(__file__).resolve().parents[2] / "tools" / "make_extension.py"


def registered() -> set[str]:
    return {name for name in dir(bpy.types) if name.startswith(("PINWRIGHT_", "Pinwright"))}


def test_register_and_unregister_twice_leave_nothing() -> None:
    menus = {menu: len(getattr(bpy.types, menu)._dyn_ui_initialize()) for menu, _ in addon._MENUS}
    assert len(registered()) >= len([c for c in addon.CLASSES if hasattr(c, "bl_idname")])
    for _ in range(2):
        pinwright.unregister()
        assert registered() == set()
        assert not hasattr(bpy.types.Scene, "pinwright")
        assert not hasattr(bpy.types.Object, "pinwright")
        for menu, count in menus.items():
            assert len(getattr(bpy.types, menu)._dyn_ui_initialize()) == count - 1
        pinwright.register()
    assert hasattr(bpy.types.Scene, "pinwright")


def test_nothing_is_used_that_the_zip_leaves_out() -> None:
    assert '"cli"' in _line(MAKER, "LEFT_OUT = ")  # the command line has no place in Blender
    for path in (*ADDON.rglob("*.py"), *(ADDON.parent / "core").rglob("*.py")):
        if "cli" in path.relative_to(ADDON.parent).parts:
            continue
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\bcore\.cli\b|\"cli\.|from \.+cli\b|import cli\b", text), path


def _line(path: Path, start: str) -> str:
    lines = path.read_text(encoding="utf-8").splitlines()
    return next(line for line in lines if line.startswith(start))


def test_every_icon_is_known_to_this_blender() -> None:
    parameters = bpy.types.UILayout.bl_rna.functions["prop"].parameters
    known = {item.identifier for item in parameters["icon"].enum_items}
    used = set()
    for path in ADDON.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        used.update(re.findall(r'icon="(\w+)"', text))
        for first, second in re.findall(r'icon="(\w+)" if [^,)]* else "(\w+)"', text):
            used.update((first, second))
    assert len(used) > 5
    assert used <= known


def test_operators_have_title_labels_and_tooltips_without_full_stop() -> None:
    # Blender's human interface guidelines: labels in title case, no full stop after a tooltip.
    for cls in addon.CLASSES:
        if not issubclass(cls, bpy.types.Operator):
            continue
        first, *words = cls.bl_label.split()
        # Short words stay small, as in Blender's own "Snap to Grid".
        titled = [word for word in words if word not in ("as", "from", "into", "on", "to")]
        assert all(word[0].isupper() for word in (first, *titled)), cls.bl_label
        assert cls.__doc__, cls
        assert not cls.__doc__.endswith("."), cls
        for name, prop in cls.bl_rna.properties.items():
            assert not prop.description.endswith("."), (cls, name)


def test_settings_have_names_and_descriptions() -> None:
    quiet = {"stale", "figures", "clearances", "measured_at", "name", "rna_type"}
    for name, prop in properties.PinwrightSettings.bl_rna.properties.items():
        if name not in quiet:
            assert prop.name, name
            assert prop.description, name
            assert not prop.description.endswith("."), name


def test_sidebar_has_one_tab() -> None:
    tabs = {cls.bl_category for cls in addon.CLASSES if issubclass(cls, bpy.types.Panel)}
    assert tabs == {"Pinwright"}
