# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Esc over a 3D view ends what runs beside Blender. No modal operator: those hold up saving."""

from __future__ import annotations

from collections.abc import Iterable

import bpy
from bpy.props import BoolProperty

__all__ = ["EndedByEsc", "add_keys", "remove_keys"]

_keys: list[tuple[bpy.types.KeyMap, bpy.types.KeyMapItem]] = []


class EndedByEsc:
    """What an operator inherits that Esc calls: the key ends playback too, which comes first."""

    from_key: BoolProperty(options={"HIDDEN", "SKIP_SAVE"})

    def invoke(self, context: bpy.types.Context, event: bpy.types.Event) -> set[str]:
        """Leave the key to others where it means something else."""
        if self.from_key and context.screen.is_animation_playing:
            return {"PASS_THROUGH"}
        return self.execute(context)


def add_keys(operators: Iterable[str]) -> None:
    """Let Esc call the operators of these names, with `from_key` set."""
    settings = bpy.context.window_manager.keyconfigs.addon
    if settings is None:  # no window
        return
    for name in operators:
        keymap = settings.keymaps.new(name="3D View Generic", space_type="VIEW_3D")
        item = keymap.keymap_items.new(name, "ESC", "PRESS")
        item.properties.from_key = True
        _keys.append((keymap, item))


def remove_keys() -> None:
    """Take the keys out again."""
    for keymap, item in _keys:
        keymap.keymap_items.remove(item)
    _keys.clear()
