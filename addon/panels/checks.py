# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Checks of the last build: a tick or a sign, the figure and its limit, and what to look at."""

from __future__ import annotations

import bpy

from ..properties import PinwrightFinding, settings_of
from . import shared

__all__ = ["CLASSES"]


class PINWRIGHT_PT_checks(shared.SidebarPanel, bpy.types.Panel):
    """Figures against limits."""

    bl_label = "Checks"
    bl_parent_id = shared.PARENT
    bl_order = 4

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return settings_of(context)[1] is not None

    def draw_header_preset(self, context: bpy.types.Context) -> None:
        findings = settings_of(context)[0].figures.findings
        failed = sum(1 for finding in findings if not finding.ok)
        row = self.layout.row()
        if failed:
            row.label(text=str(failed), icon="ERROR")
        elif findings:
            row.label(text="", icon="CHECKMARK")

    def draw(self, context: bpy.types.Context) -> None:
        figures = settings_of(context)[0].figures
        column = self.layout.column(align=True)
        for finding in figures.findings:
            _draw_finding(column, context, finding)
        for text in figures.warnings.splitlines():
            box = self.layout.box()
            box.label(text="Note", icon="INFO")
            shared.wrapped(box, context, text)


def _draw_finding(
    layout: bpy.types.UILayout, context: bpy.types.Context, finding: PinwrightFinding
) -> None:
    where = layout if finding.ok else layout.box()
    row = where.split(factor=0.58)
    row.label(text=finding.name.title(), icon="CHECKMARK" if finding.ok else "ERROR")
    right = row.row()
    right.alignment = "RIGHT"
    right.label(text=_told(finding))
    if finding.ok:
        return
    limit = f"limit {_quantity(finding.limit, finding.unit)}"
    message = finding.message[:1].upper() + finding.message[1:].rstrip(".")
    shared.wrapped(where, context, f"{message} ({limit})")
    if finding.where:
        select = where.operator(
            "pinwright.select_pieces", text="Select and Frame", icon="ZOOM_SELECTED"
        )
        select.ids = finding.where
        select.frame = True


def _told(finding: PinwrightFinding) -> str:
    """Return a figure in words: room left, a share of what is allowed, or as it is."""
    if finding.ok and finding.figure < 0 and finding.limit == 0:
        return f"{_quantity(-finding.figure, finding.unit)} Free"
    if not finding.unit and finding.limit == 1.0:
        return f"{100 * finding.figure:.0f} %"
    return _quantity(finding.figure, finding.unit)


def _quantity(value: float, unit: str) -> str:
    """Return a figure with its unit as it is written by hand."""
    if unit == "deg":
        return f"{value:.4g}\u00b0"
    if unit == "pieces":
        return f"{value:.0f} {'piece' if value == 1 else 'pieces'}"
    return f"{value:.4g} {_UNITS.get(unit, unit)}".rstrip()


_UNITS = {"mm2": "mm\u00b2", "mm3": "mm\u00b3"}

CLASSES = (PINWRIGHT_PT_checks,)
