# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Words of the command line become choices of a design."""

from __future__ import annotations

import re

from ..design.convert import convert
from ..design.model import FrameChoice
from ..design.tables import FIELDS

__all__ = ["frame_choice", "number_of"]

_MESH_FILE = re.compile(r".+\.(obj|off|ply|stl)", re.IGNORECASE)


def frame_choice(text: str, diameter: float) -> FrameChoice:
    """Return the frame that a word names: a mesh file by its ending, a group, else a solid."""
    if _MESH_FILE.fullmatch(text):
        return FrameChoice(diameter, mesh=text)
    group = next(field for field in FIELDS[FrameChoice] if field.name == "group")
    if re.fullmatch(group.pattern, text):
        return FrameChoice(diameter, group=text)
    return FrameChoice(diameter, solid=text)


def number_of(cls: type, name: str, value: float, option: str) -> float:
    """Return a number of the command line if the field that it is for allows it.

    Raises
    ------
    DesignError : it does not; the text names the option.
    """
    field = next(field for field in FIELDS[cls] if field.name == name)
    number: float = convert(field, value, option)
    return number
