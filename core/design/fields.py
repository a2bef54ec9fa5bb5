# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""One field of the design file, declared: what may stand there: its kind, its bounds, its help.

tables.py lists all fields. From that list come the reading, the error texts, the comments in
written files and the reference document, so that the four can never disagree.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, StrEnum

__all__ = ["Field", "Kind", "allowed_text", "shown"]


class Kind(Enum):
    """What kind of value a field holds, as the reference document calls it."""

    NUMBER = "number"
    WHOLE = "whole number"
    FLAG = "true or false"
    TEXT = "text"
    NOTE = "text of one or more lines"
    CHOICE = "one of a list"
    DIRECTION = "[x, y, z]"
    PAIR = "[number, number]"
    NUMBERS = "[number, ...]"
    NAMES = "[name, name]"
    POINTS = "[[x, y], ...]"
    RINGS = "[[[x, y], ...], ...]"
    LISTS = "[[name, ...], ...]"
    CURVES = "[[[x, y, z], ...], ...]"
    TURN = "{axis = [x, y, z], angle = number}"
    TURNS = "[turn, turn]"


@dataclass(frozen=True, slots=True)
class Field:
    """One key of a table.

    above, least, most : bounds of a number (`above` itself is not allowed, the others are)
    choices : the only values allowed; `enum` turns the text into a member
    count : of a list of numbers
    pattern, example : for texts with a syntax: a regular expression and how to say it in words
    unset : what it means when an optional field is left out, for the reference document
    """

    name: str
    kind: Kind
    help: str
    unit: str = ""
    above: float | None = None
    least: float | None = None
    most: float | None = None
    choices: tuple[str | int, ...] = ()
    enum: type[StrEnum] | None = None
    pattern: str = ""
    example: str = ""
    unset: str = ""
    count: int = 0


def shown(value: object) -> object:
    """Return `value`, or a short description when it is too long for an error text."""
    text = repr(value)
    if len(text) <= 60:
        return value
    return value[:57] + "..." if isinstance(value, str) else _Words(text[:57] + "...")


class _Words(str):
    """Text that stands in an error message without quotes."""

    __slots__ = ()

    def __repr__(self) -> str:
        return str(self)


_MANY = 30  # choices, more than which are not listed one by one: they are numbers in a row


def allowed_text(field: Field) -> str:
    """Return in words, with the unit, what may stand in a field."""
    if len(field.choices) > _MANY and field.kind is Kind.WHOLE:
        return f"a whole number from {field.choices[0]} to {field.choices[-1]}"
    if field.choices:
        return "one of " + ", ".join(str(choice) for choice in field.choices)
    if field.kind in (Kind.TEXT, Kind.NAMES) and field.example:
        return field.example
    words = _WORDS[field.kind]
    if field.kind is Kind.NUMBERS:
        words = f"{_COUNTS.get(field.count, field.count)} numbers"
    if field.kind in _NUMERIC:
        bounds = _bounds_text(field)
        words += f" {bounds}" if bounds else ""
        words += f" {field.unit}" if field.unit else ""
    return words


def _bounds_text(field: Field) -> str:
    most = "" if field.most is None else f"{field.most:.10g}"
    if field.above is not None:
        return f"above {field.above:.10g}" + (f" and at most {most}" if most else "")
    if field.least is not None:
        return f"from {field.least:.10g} to {most}" if most else f"of at least {field.least:.10g}"
    return f"of at most {most}" if most else ""


_WORDS = {
    Kind.NUMBER: "a number",
    Kind.WHOLE: "a whole number",
    Kind.FLAG: "true or false",
    Kind.TEXT: "a text of one line, not empty",
    Kind.NOTE: "a text",
    Kind.CHOICE: "a text",
    Kind.DIRECTION: "a direction of three numbers [x, y, z], not all zero",
    Kind.PAIR: "two numbers",
    Kind.NUMBERS: "numbers",
    Kind.NAMES: "two names",
    Kind.POINTS: "a list of points [[x, y], ...], each number",
    Kind.LISTS: "a list of lists of names [[name, ...], ...]",
    Kind.RINGS: "a list of rings [[[x, y], ...], ...], each number",
    Kind.CURVES: "a list of curves [[[x, y, z], ...], ...], each number",
    Kind.TURN: "a turn {axis = [x, y, z], angle = degrees}",
    Kind.TURNS: "two turns [{axis = [x, y, z], angle = degrees}, ...]",
}
_NUMERIC = (Kind.NUMBER, Kind.PAIR, Kind.NUMBERS, Kind.POINTS, Kind.RINGS, Kind.CURVES)
_COUNTS = {2: "two", 3: "three", 4: "four"}
