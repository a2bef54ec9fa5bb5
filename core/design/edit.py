# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Change a design file in place: only what differs is touched, comments and order stay."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import AoT, Item, Table

from ..errors import DesignError, OutputError
from .files import read_text, write_text
from .model import Design
from .read import design_from_text
from .tables import FIELDS, TABLE_NAMES, top_fields
from .write import format_design, toml_item, write_design

__all__ = ["update_design_file", "updated_text"]


def update_design_file(path: str | Path, design: Design) -> None:
    """Make the design file at `path` say `design`; a file that does not exist is written new.

    Raises
    ------
    DesignError : the file there is no valid design, so that nothing can be compared.
    OutputError : the file cannot be written; the older one is left as it was.
    """
    if not Path(path).exists():
        write_design(design, path)
        return
    text = read_text(path)
    new = updated_text(text, design, Path(path).name)
    if new != text:
        write_text(path, new)


def updated_text(text: str, design: Design, title: str = "design") -> str:
    """Return the text of a design file changed to say `design`.

    Raises
    ------
    DesignError : `text` is no valid design.
    OutputError : the text has a form that cannot be changed in place.
    """
    old = design_from_text(text, title)
    if _same(old, design):
        return text
    document = tomlkit.parse(text)
    fresh = tomlkit.parse(format_design(design))
    for field in top_fields():
        _set(document, field.name, getattr(old, field.name), getattr(design, field.name), fresh)
    for name in TABLE_NAMES:
        before, after = getattr(old, name), getattr(design, name)
        if before == after:
            continue
        if isinstance(after, tuple):
            _edit_list(document, name, before, after, fresh)
        elif type(before) is type(after) and name in document:
            _edit_table(document[name], before, after)
        else:
            _set(document, name, before, after, fresh)
    return _proved(document.as_string(), design, title)


def _proved(text: str, design: Design, title: str) -> str:
    """Return `text` if it reads as `design`: a file must not be spoilt by an odd way of writing."""
    try:
        sound = _same(design_from_text(text, title), design)
    except DesignError:
        sound = False
    if not sound:
        raise OutputError(f"{title} cannot be changed in place; save the design as a new file.")
    return text


def _same(a: Design, b: Design) -> bool:
    return dataclasses.replace(a, folder="") == dataclasses.replace(b, folder="")


def _set(document: Any, name: str, before: Any, after: Any, fresh: Any) -> None:
    """Set, replace or take out one key of the file, with the item of a freshly written one."""
    if before == after:
        return
    if name not in fresh:
        document.pop(name, None)
    elif name in document:
        document[name] = fresh[name]
    else:
        document.add(name, fresh[name])  # a plain value goes above the first table by itself


def _edit_table(table: Any, before: Any, after: Any) -> None:
    """Change the fields of one table that differ between two records of one type."""
    for field in FIELDS[type(after)]:
        old, new = getattr(before, field.name), getattr(after, field.name)
        if old == new:
            continue
        if new is None or new == ():
            table.pop(field.name, None)
            continue
        item = toml_item(field, new)
        if field.name in table:
            _keep_trivia(table[field.name], item)
        elif field.unit and isinstance(table, Table):
            item.comment(field.unit)
        table[field.name] = item


def _keep_trivia(old: Any, new: Item) -> None:
    if isinstance(old, Item):
        new.trivia.comment_ws = old.trivia.comment_ws
        new.trivia.comment = old.trivia.comment
        new.trivia.trail = old.trivia.trail


def _edit_list(
    document: Any, name: str, before: tuple[Any, ...], after: tuple[Any, ...], fresh: Any
) -> None:
    """Change a list of tables: entries are known by name, so that each keeps its comments."""
    if [entry.name for entry in before] == [entry.name for entry in after]:
        for table, old, new in zip(document[name], before, after, strict=True):
            _edit_table(table, old, new)
        return
    if not after:
        document.pop(name, None)
        return
    array = tomlkit.aot()
    if not isinstance(document.get(name, array), AoT):
        raise OutputError(
            f"{name} is written in one line, to which no entry can be added or taken from; "
            f"write [[{name}]] above each, or save the design as a new file."
        )
    kept: dict[str, tuple[Any, Any]] = {
        entry.name: (table, entry)
        for table, entry in zip(document.get(name, ()), before, strict=True)
    }
    for entry, written in zip(after, fresh[name], strict=True):
        table, old = kept.get(entry.name, (written, entry))
        _edit_table(table, old, entry)
        array.append(table)
    document[name] = array
