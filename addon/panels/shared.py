# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What all panels of the sidebar share: their place, and small helpers for rows."""

from __future__ import annotations

import textwrap

import bpy

from ..words import worded

__all__ = ["PARENT", "SidebarPanel", "figure", "named", "optional", "settings_layout", "wrapped"]

PARENT = "PINWRIGHT_PT_sculpture"
_PIXELS_PER_LETTER = 6.4  # of the default font at a resolution scale of 1


class SidebarPanel:
    """A panel in the sidebar of the 3D view, under the one tab of this extension."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Pinwright"


def settings_layout(panel: bpy.types.Panel) -> bpy.types.UILayout:
    """Return the panel's layout with names in a column of their own."""
    layout = panel.layout
    layout.use_property_split = True
    layout.use_property_decorate = False
    return layout


def optional(layout: bpy.types.UILayout, settings: bpy.types.PropertyGroup, name: str) -> None:
    """Draw a number that the sheet's rules give unless its box is ticked."""
    title = settings.bl_rna.properties[name].name
    row = layout.row(heading=title)
    row.prop(settings, f"use_{name}", text="")
    sub = row.row()
    sub.active = getattr(settings, f"use_{name}")
    sub.prop(settings, name, text="")


def named(layout: bpy.types.UILayout, name: str) -> bpy.types.UILayout:
    """Draw a name in the column that properties have theirs in; returns where its value goes."""
    row = layout.split(factor=0.4)
    left = row.row()
    left.alignment = "RIGHT"
    left.label(text=name)
    return row


def figure(layout: bpy.types.UILayout, name: str, text: str) -> None:
    """Draw a name and a figure."""
    named(layout, name).label(text=text)


def wrapped(layout: bpy.types.UILayout, context: bpy.types.Context, text: str) -> None:
    """Draw a long text, translated, in as many lines as the sidebar's width asks for."""
    scale = context.preferences.system.ui_scale
    letters = max(20, int((context.region.width - 60 * scale) / (_PIXELS_PER_LETTER * scale)))
    column = layout.column(align=True)
    column.scale_y = 0.8
    for line in textwrap.wrap(worded(text), letters):
        column.label(text=line, translate=False)
