# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The Blender layer: it draws what core computes. Classes register in order, and out in reverse."""

from __future__ import annotations

import bpy
from bpy.props import PointerProperty

from . import (
    clearance_lines,
    collector,
    esc_key,
    film_settings,
    labels,
    live,
    operators,
    panels,
    plan_run,
    plan_settings,
    properties,
    search_finds,
    search_run,
    search_settings,
    section_lines,
    translations,
    watching,
)
from .operators.build import PINWRIGHT_OT_stop_building
from .operators.plan import PINWRIGHT_OT_stop_planning
from .operators.search import PINWRIGHT_OT_stop_search

__all__ = ["CLASSES", "register", "unregister"]

CLASSES = (
    *properties.CLASSES,
    *search_settings.CLASSES,
    *plan_settings.CLASSES,
    *film_settings.CLASSES,
    *operators.CLASSES,
    *panels.CLASSES,
)
_command: list[object] = []  # the handle of the command line's sub-command, while it is registered


def register() -> None:
    """Register classes, settings, menu entries and the command."""
    for cls in CLASSES:
        bpy.utils.register_class(cls)
    bpy.types.Scene.pinwright = PointerProperty(type=properties.PinwrightSettings)
    bpy.types.Object.pinwright = PointerProperty(type=properties.PinwrightSettings)
    bpy.types.Object.pinwright_plan = PointerProperty(type=plan_settings.PinwrightPlan)
    bpy.types.Scene.pinwright_film = PointerProperty(type=film_settings.PinwrightFilm)
    bpy.types.Scene.pinwright_search = PointerProperty(type=search_settings.PinwrightSearch)
    bpy.types.WindowManager.pinwright_finds = PointerProperty(type=search_settings.PinwrightFinds)
    for menu, draw in _MENUS:
        getattr(bpy.types, menu).append(draw)
    stops = (PINWRIGHT_OT_stop_search, PINWRIGHT_OT_stop_planning, PINWRIGHT_OT_stop_building)
    esc_key.add_keys(operator.bl_idname for operator in stops)
    labels.start()
    live.register()
    watching.register()
    section_lines.register()
    clearance_lines.register()
    translations.register()
    _command.append(bpy.utils.register_cli_command("pinwright", _run_command))


def unregister() -> None:
    """Take all of it out again, in reverse order."""
    bpy.utils.unregister_cli_command(_command.pop())
    translations.unregister()
    clearance_lines.unregister()
    section_lines.unregister()
    watching.unregister()
    live.unregister()
    collector.give_back()
    labels.end()
    plan_run.end()
    search_run.end()
    search_finds.close()
    esc_key.remove_keys()
    for menu, draw in reversed(_MENUS):
        getattr(bpy.types, menu).remove(draw)
    del bpy.types.WindowManager.pinwright_finds
    del bpy.types.Scene.pinwright_search
    del bpy.types.Scene.pinwright_film
    del bpy.types.Object.pinwright_plan
    del bpy.types.Object.pinwright
    del bpy.types.Scene.pinwright
    for cls in reversed(CLASSES):
        bpy.utils.unregister_class(cls)


def _run_command(arguments: list[str]) -> int:
    """Run ``blender --command pinwright ...``."""
    from . import headless  # late, so that it can be a program of its own too

    return headless.run(arguments)


def _draw_add(self: bpy.types.Menu, context: bpy.types.Context) -> None:
    self.layout.separator()
    self.layout.menu("PINWRIGHT_MT_add", icon="MESH_ICOSPHERE")


def _draw_import(self: bpy.types.Menu, context: bpy.types.Context) -> None:
    self.layout.operator("pinwright.open_design", text="Sculpture Design (.toml)")


def _draw_export(self: bpy.types.Menu, context: bpy.types.Context) -> None:
    self.layout.operator("pinwright.save_design", text="Sculpture Design (.toml)")
    self.layout.operator("pinwright.export_cut_files", text="Sculpture Cut Files")


_MENUS = (
    ("VIEW3D_MT_add", _draw_add),
    ("TOPBAR_MT_file_import", _draw_import),
    ("TOPBAR_MT_file_export", _draw_export),
)
