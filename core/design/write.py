# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A `Design` goes back into its file or into a dictionary, to the last digit."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import Item, Table

from .fields import Field, Kind
from .files import write_text
from .model import Design, Recipe, Turn
from .tables import FIELDS, RECIPES, SCHEMA, TABLE_NAMES, UNITS, top_fields

__all__ = ["design_to_dict", "format_design", "recipe_kind", "toml_item", "write_design"]

# Where the explanations of a guided file start, so that they stand in one column.
_COMMENT_COLUMN = 32


def design_to_dict(design: Design) -> dict[str, Any]:
    """Return a design as JSON-ready values with all defaults filled in; None: not set.

    `design_from_dict` makes the same design of it (but for `folder`, which no file holds).
    """
    recipe = None
    if design.recipe is not None:
        recipe = {"kind": recipe_kind(design.recipe), **_plain(design.recipe)}
    return {
        "schema": SCHEMA,
        "units": dict(UNITS),
        "name": design.name,
        "note": design.note,
        "sheet": _plain(design.sheet),
        "frame": _plain(design.frame),
        "recipe": recipe,
        "motifs": _plain(design.motifs),
        "joint_classes": _plain(design.joint_classes),
        "joints": _plain(design.joints),
        "modules": _plain(design.modules),
        "assembly": _plain(design.assembly),
        "keying": _plain(design.keying),
    }


def _plain(value: Any) -> Any:
    """Return a record, tuple or enum member as dict, list or text."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in FIELDS[type(value)]}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return str(value) if isinstance(value, str) else value


def recipe_kind(recipe: Recipe) -> str:
    """Return the name of a recipe as the design file writes it."""
    return next(kind for kind, cls in RECIPES.items() if isinstance(recipe, cls))


def write_design(design: Design, path: str | Path, guide: bool = False) -> None:
    """Write a design file whole, in place of an older one.

    Raises
    ------
    OutputError : it cannot be written; an older file is left as it was.
    """
    write_text(path, format_design(design, guide))


def format_design(design: Design, guide: bool = False) -> str:
    """Return the text of the design file; `read_design` makes the same design of it.

    guide : explain each field, and list those at their defaults as comments, for a file that a
        person is to go on with
    """
    document = tomlkit.document()
    document.add("schema", tomlkit.string(SCHEMA))
    units = tomlkit.inline_table()
    units.update(UNITS)
    document.add("units", units)
    for field in top_fields():
        value = getattr(design, field.name)
        if value:
            document.add(field.name, toml_item(field, value))
    for name in TABLE_NAMES:
        value = getattr(design, name)
        if value is None or value == ():
            continue
        if isinstance(value, tuple):
            document.add(name, _tables(value, guide))
            continue
        table = _table(value, guide)
        if len(table.value.body):
            document.add(tomlkit.nl())
            document.add(name, table)
    return document.as_string().rstrip("\n") + "\n"


def _tables(records: tuple[Any, ...], guide: bool) -> Item:
    array = tomlkit.aot()
    for count, record in enumerate(records):
        table = _table(record, guide and count == 0)
        table.indent(0)
        table.trivia.indent = "\n"
        array.append(table)
    return array


def _table(record: Any, guide: bool) -> Table:
    """Return a TOML table of the fields that are set, the others as comments if `guide`."""
    table = tomlkit.table()
    kinds = [kind for kind, cls in RECIPES.items() if isinstance(record, cls)]
    if kinds:
        table.add("kind", tomlkit.string(kinds[0]))
    for field, value, default in _values(record):
        if value != default:
            item = toml_item(field, value)
            _comment(item, field, guide)
            table.add(field.name, item)
        elif guide and field.kind not in (Kind.POINTS, Kind.RINGS, Kind.CURVES, Kind.LISTS):
            written = "" if default is None else toml_item(field, default).as_string()
            line = f"{field.name} = {written}".ljust(_COMMENT_COLUMN - 2)
            table.add(tomlkit.comment(f"{line} # {_explained(field, default)}"))
    return table


def _values(record: Any) -> Iterator[tuple[Field, Any, Any]]:
    """Yield each field with its value and its default (MISSING when it has none)."""
    slots = {slot.name: slot for slot in dataclasses.fields(record)}
    for field in FIELDS[type(record)]:
        slot = slots[field.name]
        factory = slot.default_factory
        default = slot.default if factory is dataclasses.MISSING else factory()
        yield field, getattr(record, field.name), default


def _comment(item: Item, field: Field, guide: bool) -> None:
    """Put the unit, or the whole explanation, behind a value."""
    text = _explained(field) if guide else field.unit
    if not text:
        return
    item.comment(text)
    if guide:
        width = len(f"{field.name} = {item.as_string()}")
        item.trivia.comment_ws = " " * max(2, _COMMENT_COLUMN + 1 - width)


def _explained(field: Field, default: Any = "") -> str:
    """Return unit, purpose and choices of a field in one line."""
    text = f"{field.unit}; {field.help}" if field.unit else field.help
    if 0 < len(field.choices) <= 5:
        text += f" ({', '.join(str(choice) for choice in field.choices)})"
    elif field.kind is Kind.TEXT and field.example:
        text += f" ({field.example})"
    return text if default is not None or not field.unset else f"{text}; left out: {field.unset}"


def toml_item(field: Field, value: Any) -> Item:
    """Return the value of a field as a piece of a TOML document, floats to the last digit."""
    if field.kind in (Kind.POINTS, Kind.RINGS, Kind.CURVES, Kind.LISTS):
        array = tomlkit.array()
        array.extend(_plain(value))
        long = field.kind is not Kind.POINTS or len(value) > 4
        array.multiline(long)
        return array
    if field.kind is Kind.TURN:
        return _inline_turn(value)
    if field.kind is Kind.TURNS:
        turns = tomlkit.array()
        turns.extend(_inline_turn(turn) for turn in value)
        return turns
    if field.kind is Kind.NOTE and "\n" in value:
        return tomlkit.string(value, multiline=True)
    item: Item = tomlkit.item(_plain(value))
    return item


def _inline_turn(turn: Turn) -> Item:
    table = tomlkit.inline_table()
    table.update({name: _plain(value) for name, value in _turn_fields(turn)})
    return table


def _turn_fields(turn: Turn) -> Iterator[tuple[str, Any]]:
    for field in FIELDS[Turn]:
        yield field.name, getattr(turn, field.name)
