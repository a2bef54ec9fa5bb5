# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The fit table told: what is free in the joints with the thickest and with the thinnest sheet."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from rich.console import Console

from ..checks.fit import FitRow, fit_rows
from ..design.model import JointKind
from ..pipeline import sizes_of
from ..results import Build
from .terminal import heading, plain_table

__all__ = ["fit_records", "print_fit"]


def fit_records(build: Build) -> list[dict[str, Any]]:
    """Return the rows of the fit table, JSON-ready."""
    return [asdict(row) for row in _rows(build)]


def print_fit(out: Console, build: Build) -> None:
    """Print the fit table of a build; nothing if it has no joints."""
    rows = _rows(build)
    if not rows:
        return
    sheet = build.design.sheet
    coating = f", each face with {sheet.coating:g} mm of coating" if sheet.coating else ""
    heading(out, "Fit")
    out.print(f"what is left free in the joints, mm{coating}")
    table = plain_table(
        "joint", "angle>", "sheet>", "across>", "along>", "drawn back>", "lock>", "its hole>"
    )
    for row in rows:
        free = (row.across, row.along, row.sideways, row.lock, row.hole)
        table.add_row(
            row.joint,
            f"{row.angle_deg:.1f} deg",
            f"{row.thickness:g} mm",
            *("" if room is None else f"{room:.2f}" for room in free),
        )
    out.print(table)


def _rows(build: Build) -> list[FitRow]:
    """Return the rows of the steepest and the flattest joint of each kind and lock."""
    angles: dict[Any, list[float]] = {}
    for joint in build.joints:
        if joint.kind is JointKind.SPLICE:
            continue  # it lies in one sheet
        angles.setdefault((joint.kind, joint.lock), []).append(round(joint.angle, 6))
    extremes = [
        (kind.value if lock is None else f"{kind.value}, {lock.value}", kind, angle, lock)
        for (kind, lock), found in angles.items()
        for angle in sorted({min(found), max(found)})
    ]
    return fit_rows(extremes, build.design.sheet, sizes_of(build.design))
