# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Fields that many tables have alike, and short ways to declare the others."""

from __future__ import annotations

from .fields import Field, Kind
from .kinds import Bend, CutOut, Lock

__all__ = [
    "BEND_RADIUS",
    "NAME",
    "SHEET",
    "SIZE",
    "STYLE",
    "WIDTH",
    "bend",
    "length",
    "lock",
    "minutes",
    "place",
    "play",
    "share",
    "shares",
]

# Bounds that catch a slip of the unit, not a bold design: a sculpture of 100 m, sheet of 100 mm.
SIZE = 100_000.0
SHEET = 100.0


def length(name: str, help: str, most: float = SIZE, unset: str = "") -> Field:
    """Return a field for a length above 0, mm."""
    return Field(name, Kind.NUMBER, help, "mm", above=0.0, most=most, unset=unset)


def play(name: str, help: str, most: float = SIZE) -> Field:
    """Return a field for a length of 0 or more, mm."""
    return Field(name, Kind.NUMBER, help, "mm", least=0.0, most=most)


def place(name: str, help: str) -> Field:
    """Return a field for a place, mm, on either side of 0."""
    return Field(name, Kind.NUMBER, help, "mm", least=-SIZE, most=SIZE)


def minutes(name: str, help: str) -> Field:
    """Return a field for a time."""
    return Field(name, Kind.NUMBER, help, "min", least=0.0, most=1440.0)


def share(name: str, help: str, least: float = -10.0, most: float = 10.0) -> Field:
    """Return a field for a plain number."""
    return Field(name, Kind.NUMBER, help, least=least, most=most)


def bend(help: str = "how the centre path goes round its corners") -> Field:
    """Return the field that says how a path is bent."""
    choices = tuple(one.value for one in Bend)
    return Field("bend", Kind.CHOICE, help, choices=choices, enum=Bend)


def lock(help: str, unset: str = "") -> Field:
    """Return the field that names what locks a tab."""
    choices = tuple(one.value for one in Lock)
    return Field("lock", Kind.CHOICE, help, choices=choices, enum=Lock, unset=unset)


NAME = Field("name", Kind.TEXT, "a name of your own")
WIDTH = length("width", "width of the strips")
BEND_RADIUS = play("bend_radius", "radius of the rounded corners of a path; for bend round")


def shares(name: str, count: int, help: str) -> Field:
    """Return a field for several shares of the frame's radius."""
    return Field(
        name, Kind.NUMBERS, help, least=-10.0, most=10.0, count=count, unset="as suits the group"
    )


STYLE = (
    length("end_width", "of the strip at both ends of its path", unset="`width`"),
    length(
        "taper",
        "length along the path over which the width changes",
        unset="three times the wider of the two, or half of a shorter path",
    ),
    Field(
        "cut_out",
        Kind.CHOICE,
        "holes along the path that make the strip lighter",
        choices=tuple(one.value for one in CutOut),
        enum=CutOut,
    ),
    length("cut_size", "of cut-outs, across the strip", unset="what two webs leave"),
    length("cut_length", "of slotted cut-outs, along the path", unset="three times their width"),
    length(
        "cut_web",
        "least material beside and between cut-outs",
        unset="a quarter of the strip's width",
    ),
)
