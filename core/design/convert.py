# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Values from a file become the fields of a record, or are refused with the reason.

Each kind of field has one small converter; `record` runs them over a whole table.
"""

from __future__ import annotations

import dataclasses
import difflib
import math
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from numbers import Integral, Real
from typing import Any, TypeVar

from ..errors import DesignError
from .fields import Field, Kind, allowed_text, shown
from .model import Turn
from .tables import FIELDS

__all__ = ["convert", "record", "refuse_unknown", "table_of"]

# A direction this close to unit length is kept to the last digit, so that files round-trip;
# division leaves a length within 4e-16 of 1.
_UNIT = 1e-12

Record = TypeVar("Record")


def record(cls: type[Record], table: Mapping[str, object], where: str) -> Record:
    """Return a record from one table of the file; a value of None counts as left out.

    where : dotted name of the table, for the error texts

    Raises
    ------
    DesignError : an unknown, missing or bad field.
    """
    fields = FIELDS[cls]
    refuse_unknown(table, [field.name for field in fields], where)
    required = {
        slot.name
        for slot in dataclasses.fields(cls)  # type: ignore[arg-type]
        if slot.default is dataclasses.MISSING and slot.default_factory is dataclasses.MISSING
    }
    values = {}
    for field in fields:
        value, name = table.get(field.name), f"{where}.{field.name}"
        if value is not None:
            values[field.name] = convert(field, value, name)
        elif field.name in required:
            remedy = f"Add a line {field.name} = ... to {where}."
            raise DesignError(name, None, allowed_text(field), remedy)
    return cls(**values)


def table_of(value: object, where: str, remedy: str) -> Mapping[str, object]:
    """Return `value` when it is a table, else refuse it."""
    if not isinstance(value, Mapping):
        raise DesignError(where, shown(value), "a table", remedy)
    return value


def refuse_unknown(table: Iterable[str], known: Sequence[str], where: str) -> None:
    """Raise DesignError for the first key that is not known, with the nearest that is."""
    for key in table:
        if key in known:
            continue
        near = difflib.get_close_matches(str(key).lower(), known, n=1)
        remedy = f"Did you mean {near[0]}?" if near else "Take it out, or put it in its own table."
        name = f"{where}.{key}" if where else str(key)
        raise DesignError(name, "an unknown key", "one of " + ", ".join(known), remedy)


def convert(field: Field, value: object, where: str) -> Any:
    """Return the value of a field as its record holds it.

    where : the field's dotted name, for the error text

    Raises
    ------
    DesignError : the value is of the wrong kind or out of range.
    """
    return _CONVERTERS[field.kind](field, value, where)


def _refuse(field: Field, value: object, where: str, remedy: str = "") -> DesignError:
    return DesignError(where, shown(value), allowed_text(field), remedy)


def _number(field: Field, value: object, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, Real):
        quoted = isinstance(value, str) and _looks_like_number(value)
        remedy = "Write it without quotes and without a unit." if quoted else ""
        raise _refuse(field, value, where, remedy)
    try:
        number = float(value)
    except OverflowError:  # a whole number of more than 300 digits
        number = math.inf
    if not math.isfinite(number):
        raise _refuse(field, value, where, "Numbers without end cannot be cut.")
    if not _within(field, number):
        raise _refuse(field, value, where)
    return number


def _looks_like_number(text: str) -> bool:
    return re.match(r"\s*[-+]?\d+([.,]\d+)?\s*(mm|cm|m|in|deg)?\s*$", text) is not None


def _within(field: Field, number: float) -> bool:
    if field.above is not None and not number > field.above:
        return False
    if field.least is not None and not number >= field.least:
        return False
    return field.most is None or number <= field.most


def _whole(field: Field, value: object, where: str) -> int:
    # Every whole number of the file is a choice; a list of them is a better help than bounds.
    if isinstance(value, bool) or not isinstance(value, Integral) or value not in field.choices:
        raise _refuse(field, value, where)
    return int(value)


def _flag(field: Field, value: object, where: str) -> bool:
    if not isinstance(value, bool):
        raise _refuse(field, value, where)
    return value


def _text(field: Field, value: object, where: str) -> str:
    if not isinstance(value, str) or not value.strip() or "\n" in value or _unprintable(value):
        raise _refuse(field, value, where)
    if field.pattern and re.fullmatch(field.pattern, value) is None:
        raise _refuse(field, value, where)
    return value


def _note(field: Field, value: object, where: str) -> str:
    if not isinstance(value, str) or _unprintable(value):
        raise _refuse(field, value, where, "Leave out control characters.")
    return value


def _unprintable(text: str) -> bool:
    """Return whether a text has characters that no TOML file can keep as they are."""
    bad = {"Cc", "Cs", "Zl", "Zp"}
    return any(unicodedata.category(char) in bad and char not in "\n\t" for char in text)


def _choice(field: Field, value: object, where: str) -> str:
    if not isinstance(value, str):
        raise _refuse(field, value, where)
    if value not in field.choices:
        near = difflib.get_close_matches(value.lower(), [str(c) for c in field.choices], n=1)
        raise _refuse(field, value, where, f"Did you mean {near[0]}?" if near else "")
    return value if field.enum is None else field.enum(value)


def _items(field: Field, value: object, where: str, count: int | None = None) -> Sequence[object]:
    if isinstance(value, str) or not isinstance(value, Sequence):
        raise _refuse(field, value, where)
    if count is not None and len(value) != count:
        raise _refuse(field, value, where, f"There must be {count}, here are {len(value)}.")
    return value


def _unit(values: Sequence[float]) -> tuple[float, ...] | None:
    """Return a vector at unit length, untouched when it has that; None if it has no length."""
    length = math.hypot(*values)
    if not _UNIT < length < math.inf:
        return None
    if abs(length - 1.0) <= _UNIT:
        return tuple(values)
    return tuple(value / length for value in values)


def _direction(field: Field, value: object, where: str) -> tuple[float, ...]:
    numbers = [_number(field, item, where) for item in _items(field, value, where, 3)]
    unit = _unit(numbers)
    if unit is None:
        raise _refuse(field, value, where, "Only its direction counts, not its length.")
    return unit


def _pair(field: Field, value: object, where: str) -> tuple[float, ...]:
    return tuple(_number(field, item, where) for item in _items(field, value, where, 2))


def _numbers(field: Field, value: object, where: str) -> tuple[float, ...]:
    return tuple(_number(field, item, where) for item in _items(field, value, where, field.count))


def _names(field: Field, value: object, where: str) -> tuple[str, ...]:
    return tuple(_text(field, item, where) for item in _items(field, value, where, 2))


def _points(field: Field, value: object, where: str) -> tuple[tuple[float, ...], ...]:
    points = _items(field, value, where)
    return tuple(
        _pair(field, point, f"{where}[{count}]") for count, point in enumerate(points, start=1)
    )


def _rings(field: Field, value: object, where: str) -> tuple[tuple[tuple[float, ...], ...], ...]:
    rings = _items(field, value, where)
    return tuple(
        _points(field, ring, f"{where}[{count}]") for count, ring in enumerate(rings, start=1)
    )


def _curves(field: Field, value: object, where: str) -> tuple[tuple[tuple[float, ...], ...], ...]:
    return tuple(
        tuple(
            tuple(_number(field, x, place) for x in _items(field, point, place, 3))
            for n, point in enumerate(_items(field, curve, f"{where}[{count}]"), start=1)
            for place in [f"{where}[{count}][{n}]"]
        )
        for count, curve in enumerate(_items(field, value, where), start=1)
    )


def _lists(field: Field, value: object, where: str) -> tuple[tuple[str, ...], ...]:
    found = []
    for count, names in enumerate(_items(field, value, where), start=1):
        name = f"{where}[{count}]"
        found.append(tuple(_text(field, item, name) for item in _items(field, names, name)))
        if not found[-1]:
            raise _refuse(field, names, name, "A module has at least one plate.")
    return tuple(found)


def _turn(field: Field, value: object, where: str) -> Turn:
    if not isinstance(value, Mapping):
        raise _refuse(field, value, where)
    return record(Turn, value, where)


def _turns(field: Field, value: object, where: str) -> tuple[Turn, ...]:
    turns = _items(field, value, where, 2)
    return tuple(
        _turn(field, turn, f"{where}[{count}]") for count, turn in enumerate(turns, start=1)
    )


_CONVERTERS: dict[Kind, Callable[[Field, object, str], Any]] = {
    Kind.NUMBER: _number,
    Kind.WHOLE: _whole,
    Kind.FLAG: _flag,
    Kind.TEXT: _text,
    Kind.NOTE: _note,
    Kind.CHOICE: _choice,
    Kind.DIRECTION: _direction,
    Kind.PAIR: _pair,
    Kind.NUMBERS: _numbers,
    Kind.NAMES: _names,
    Kind.POINTS: _points,
    Kind.RINGS: _rings,
    Kind.LISTS: _lists,
    Kind.CURVES: _curves,
    Kind.TURN: _turn,
    Kind.TURNS: _turns,
}
