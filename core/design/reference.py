# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The reference document of the design file, made from the same list of fields that reads it."""

from __future__ import annotations

import dataclasses

from .fields import Field, Kind, allowed_text
from .materials import MATERIALS
from .tables import FIELDS, RECIPES, SCHEMA, TABLE_NAMES, top_fields
from .write import toml_item

__all__ = ["field_reference"]

_HEAD = f"""# The design file

A design is a text file in TOML. Lengths are millimetres, angles are degrees; numbers carry no
unit. The first line names the form of the file. An error names a field by table and name, as
`sheet.thickness`; entries of a list are counted from 1, as `motifs[2].normal`.

This page is made from the list of fields that reads the file; `pinwright fields` prints it.

## Two examples

A recipe needs little. `pinwright new FILE.toml` writes such a file with every field explained.

```toml
schema = "{SCHEMA}"
name = "Small star"

[sheet]
thickness = 3.0
material = "birch-plywood"

[frame]
solid = "dodecahedron"
diameter = 600.0

[recipe]
kind = "right-angle orbit"
width = 27.0
```

Without a recipe, every seed plate (motif) is drawn, and the joints between the motifs and their
turned copies are named.

```toml
schema = "{SCHEMA}"
name = "Crossed bars"

[sheet]
thickness = 4.0

[frame]
group = "D2"
diameter = 300.0

[[motifs]]
name = "bar"
normal = [1.0, 0.0, 1.0]
offset = 0.0
x_axis = [1.0, 0.0, -1.0]
path = [[-120.0, 0.0], [120.0, 0.0]]
width = 40.0

[[joint_classes]]
name = "middle"
motifs = ["bar", "bar"]
kind = "cross-lap"
turn = {{axis = [0.0, 0.0, 1.0], angle = 180.0}}
```
"""

_TITLES = {
    "sheet": "`[sheet]`: the flat stock",
    "frame": "`[frame]`: what everything hangs on. Exactly one of `solid`, `mesh`, `group`",
    "motifs": "`[[motifs]]`: seed plates. Either `path` and `width`, or `outline`",
    "joint_classes": "`[[joint_classes]]`: which plates are joined, and how",
    "joints": "`[joints]`: sizes that all joints share",
    "modules": "`[modules]`: how the plates fall into modules",
    "assembly": "`[assembly]`: in which order it is put together, and how long hands take",
    "keying": "`[keying]`: what keeps hands from putting parts together wrongly",
}


def field_reference() -> str:
    """Return the reference of all tables and fields of the design file, in Markdown."""
    parts = [_HEAD, _top()]
    for name in TABLE_NAMES:
        cls = TABLE_NAMES[name]
        if cls is not None:
            parts.append(_section(f"## {_TITLES[name]}", cls))
            continue
        parts.append("## `[recipe]`: makes the motifs and joint classes. `kind` names it\n")
        for kind, recipe in RECIPES.items():
            parts.append(_section(f'### `kind = "{kind}"`', recipe))
    parts.append(_materials())
    return "\n".join(parts)


def _top() -> str:
    rows = [
        f'| `schema` | `"{SCHEMA}"` | needed | the form of the file |',
        '| `units` | `{length = "mm", angle = "deg"}` | these | for the reader; nothing else |',
    ]
    for field in top_fields():
        default = "needed" if field.name == "name" else "empty"
        rows.append(f"| `{field.name}` | {allowed_text(field)} | {default} | {field.help} |")
    return "\n".join(["## Above all tables", "", *_HEADER, *rows, ""])


_HEADER = ("| field | may be | left out | what it is |", "| --- | --- | --- | --- |")


def _section(title: str, cls: type) -> str:
    slots = {slot.name: slot for slot in dataclasses.fields(cls)}
    rows = [_row(field, slots[field.name]) for field in FIELDS[cls]]
    return "\n".join([title, "", *_HEADER, *rows, ""])


def _row(field: Field, slot: dataclasses.Field[object]) -> str:
    allowed = "a name of the list below" if field.name == "material" else allowed_text(field)
    return f"| `{field.name}` | {allowed} | {_default(field, slot)} | {field.help} |"


def _default(field: Field, slot: dataclasses.Field[object]) -> str:
    if slot.default_factory is not dataclasses.MISSING:
        return f"`{toml_item(field, slot.default_factory()).as_string()}`"
    if slot.default is dataclasses.MISSING:
        return "needed"
    if slot.default is None:
        return field.unset or "not used"
    if field.kind is Kind.RINGS:
        return "none"
    return f"`{toml_item(field, slot.default).as_string()}`"


def _materials() -> str:
    rows = [
        f"| `{m.name}` | {m.title} | {m.density:g} | {m.youngs_modulus_gpa:g} | "
        f"{m.yield_mpa:g} | {m.least_hole:g} | {m.least_web:g} | {m.source} |"
        for m in MATERIALS.values()
    ]
    return "\n".join(
        [
            "## Sheets of the library",
            "",
            "Figures for planning: where a person's safety hangs on one, use the certificate of",
            "your own sheet. Strength is the stress at which metal stays bent and all else breaks.",
            "",
            "The least hole and the least web are shares of the thickness.",
            "",
            "| name | sheet | density kg/m3 | stiffness GPa | strength MPa | hole | web | source |",
            "| --- | --- | --- | --- | --- | --- | --- | --- |",
            *rows,
            "",
        ]
    )
