# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A design file, or the same as a dictionary, becomes a `Design` or is refused with the reason."""

from __future__ import annotations

import dataclasses
import difflib
import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TypeVar

from ..errors import DesignError
from .convert import convert, record, refuse_unknown, table_of
from .fields import allowed_text, shown
from .files import read_text
from .model import (
    AssemblyChoice,
    Design,
    FrameChoice,
    JointClassChoice,
    JointSizes,
    Keying,
    ModuleChoice,
    MotifChoice,
    Recipe,
    Sheet,
)
from .rules import check_rules
from .tables import RECIPES, SCHEMA, TABLE_NAMES, UNITS, top_fields

__all__ = ["design_from_dict", "design_from_text", "read_design"]

Entry = TypeVar("Entry", MotifChoice, JointClassChoice)


def read_design(path: str | Path) -> Design:
    """Read a design file.

    Returns
    -------
    Design : with `folder` set to the folder of the file (absolute)

    Raises
    ------
    DesignError : a field is missing, unknown or out of range, or the text is no TOML.
    PinwrightError : the file cannot be read.
    """
    text = read_text(path)
    return design_from_text(text, Path(path).name, str(Path(path).resolve().parent))


def design_from_text(text: str, title: str = "design", folder: str = "") -> Design:
    """Return a design from the text of a design file.

    title : what to call the text in error messages; folder : where mesh paths start

    Raises
    ------
    DesignError : as for `read_design`.
    """
    try:
        data = tomllib.loads(text)
    except RecursionError:
        raise DesignError(title, "brackets nested too deeply", "a design file in TOML") from None
    except ValueError as error:
        raise _syntax_error(text, title, error) from None
    return design_from_dict(data, folder)


def _syntax_error(text: str, title: str, error: ValueError) -> DesignError:
    """Say where a text is no TOML: the line's number and the line itself."""
    lines = text.splitlines() or [""]
    place = re.search(r"\(at line (\d+), column (\d+)\)", str(error))
    number = int(place[1]) if place else len(lines)
    reason = re.sub(r"\s*\(at [^()]*\)$", "", str(error))
    found = lines[min(number, len(lines)) - 1].strip()
    return DesignError(
        f"{title} line {number}",
        shown(found),
        'TOML, as in name = "text", width = 24.0 or [table]',
        f"{reason}.",
    )


def design_from_dict(data: Mapping[str, object], folder: str = "") -> Design:
    """Return a design from a dictionary with the keys of the design file.

    Raises
    ------
    DesignError : a field is missing, unknown or out of range.
    """
    tops = top_fields()
    known = ["schema", "units", *(field.name for field in tops), *TABLE_NAMES]
    _check_header(data)
    refuse_unknown(data, known, "")
    values = {}
    for field in tops:
        value = data.get(field.name)
        if value is not None:
            values[field.name] = convert(field, value, field.name)
    if "name" not in values:
        raise DesignError("name", None, allowed_text(tops[0]), "Name the sculpture.")
    design = Design(
        sheet=_table(Sheet, data, "sheet", required=True),
        frame=_table(FrameChoice, data, "frame", required=True),
        recipe=_recipe(data),
        motifs=_list(MotifChoice, data, "motifs"),
        joint_classes=_list(JointClassChoice, data, "joint_classes"),
        joints=_table(JointSizes, data, "joints"),
        modules=_table(ModuleChoice, data, "modules"),
        assembly=_table(AssemblyChoice, data, "assembly"),
        keying=_table(Keying, data, "keying"),
        folder=folder,
        **values,
    )
    check_rules(design)
    return design


def _check_header(data: Mapping[str, object]) -> None:
    if data.get("schema") != SCHEMA:
        raise DesignError(
            "schema",
            shown(data.get("schema")),
            repr(SCHEMA),
            f'The first line of a design file is schema = "{SCHEMA}".',
        )
    units = data.get("units")
    if units is None:
        return
    for key, value in table_of(units, "units", 'Write {length = "mm", angle = "deg"}.').items():
        refuse_unknown([key], list(UNITS), "units")
        if value != UNITS[key]:
            remedy = "Convert the numbers; files are always in millimetres and degrees."
            raise DesignError(f"units.{key}", shown(value), repr(UNITS[key]), remedy)


Table = TypeVar("Table", Sheet, FrameChoice, JointSizes, ModuleChoice, AssemblyChoice, Keying)


def _table(
    cls: type[Table], data: Mapping[str, object], name: str, required: bool = False
) -> Table:
    value = data.get(name)
    if value is None:
        if required:
            raise DesignError(name, None, "a table", f"Add a line [{name}] and its fields.")
        value = {}
    return record(cls, table_of(value, name, f"Write [{name}] on a line of its own."), name)


def _recipe(data: Mapping[str, object]) -> Recipe | None:
    value = data.get("recipe")
    if value is None:
        return None
    table = dict(table_of(value, "recipe", "Write [recipe] on a line of its own."))
    kind = table.pop("kind", None)
    if not isinstance(kind, str) or kind not in RECIPES:
        near = difflib.get_close_matches(str(kind).lower(), RECIPES, n=1)
        remedy = f"Did you mean {near[0]}?" if near else 'Write for example kind = "edge rotor".'
        raise DesignError("recipe.kind", shown(kind), "one of " + ", ".join(RECIPES), remedy)
    return record(RECIPES[kind], table, "recipe")


def _list(cls: type[Entry], data: Mapping[str, object], name: str) -> tuple[Entry, ...]:
    value = data.get(name)
    if value is None:
        return ()
    remedy = f"Write [[{name}]] (double brackets) above each."
    if isinstance(value, str) or not isinstance(value, Sequence):
        raise DesignError(name, shown(value), "a list of tables", remedy)
    entries = (
        record(cls, table_of(entry, f"{name}[{count}]", remedy), f"{name}[{count}]")
        for count, entry in enumerate(value, start=1)
    )
    if cls is MotifChoice:
        return tuple(_opened(entry) for entry in entries)
    return tuple(entries)


def _opened(motif: MotifChoice) -> MotifChoice:
    """Drop the repeated first point at the end of a ring: many drawing programs write it."""
    outline = None if motif.outline is None else _open_ring(motif.outline)
    holes = tuple(_open_ring(hole) for hole in motif.holes)
    return dataclasses.replace(motif, outline=outline, holes=holes)


def _open_ring(ring: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    return ring[:-1] if len(ring) > 1 and ring[0] == ring[-1] else ring
