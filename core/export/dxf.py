# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A drawing as DXF R2010 in millimetres: closed polylines, true circles, one layer for each role.

Title, sheet and kerf stand in the file's comments (group code 999): in words for a reader, and
nothing that a cutter could take for a line. All files share the tables round the entities, and
those take far longer to write than a part does; so they are written once for each process.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from io import StringIO
from typing import Final

import ezdxf
from ezdxf import units
from ezdxf.entities.circle import Circle
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.filemanagement import new
from ezdxf.lldxf.const import DXF2010
from ezdxf.lldxf.encoding import encode
from ezdxf.lldxf.tagwriter import TagWriter

from .drawing import Drawing, Ring, Role

__all__ = ["part_dxf"]

# Colour indices of DXF, group code 62: 3 green, 5 blue, 1 red.
_COLOURS: Final = {Role.MARK: 3, Role.CUT_INNER: 5, Role.CUT_OUTER: 1}
# Handles must be unique in a file: the shared tables stay below the first, and the seed for those
# that other programs add later lies above any part's.
_FIRST_HANDLE: Final = 0x1000
_NEXT_HANDLE: Final = "100000"
_ENTITIES: Final = "  0\nSECTION\n  2\nENTITIES\n"


def part_dxf(drawing: Drawing) -> bytes:
    """Return the DXF file of one part; equal drawings give equal bytes."""
    before, after, owner = _shared()
    stream = StringIO()
    writer = TagWriter(stream, dxfversion=DXF2010)
    for place, entity in enumerate(_entities(drawing)):
        entity.dxf.handle = f"{_FIRST_HANDLE + place:X}"
        entity.dxf.owner = owner
        entity.export_dxf(writer)
    comments = (drawing.title, drawing.kerf_note, "Units: mm")
    head = "".join(f"999\n{_plain(text)}\n" for text in comments)
    return encode(head + before + stream.getvalue() + after, "utf-8")


def _entities(drawing: Drawing) -> Iterator[DXFGraphic]:
    for stroke in drawing.strokes:
        line = LWPolyline.new(dxfattribs={"layer": Role.MARK.value})
        line.set_points(stroke.tolist(), format="xy")
        yield line
    for ring in drawing.rings:
        yield _closed(ring)


def _closed(ring: Ring) -> DXFGraphic:
    layer = {"layer": ring.role.value}
    circle = ring.circle
    if circle is not None:
        centre = (circle.x, circle.y, 0.0)
        return Circle.new(dxfattribs=layer | {"center": centre, "radius": circle.radius})
    line = LWPolyline.new(dxfattribs=layer)
    line.set_points(ring.points.tolist(), format="xy")
    line.closed = True
    return line


@cache
def _shared() -> tuple[str, str, str]:
    """Return the text before and after the entities, and the handle of their owner."""
    with _fixed_meta_data():
        document = new("R2010", units=units.MM)
        document.header["$MEASUREMENT"] = 1  # metric
        for role, colour in _COLOURS.items():
            document.layers.add(role.value, color=colour)
        document.entitydb.handles.reset(_NEXT_HANDLE)
        stream = StringIO()
        document.write(stream)
    before, after = stream.getvalue().split(_ENTITIES)
    return before + _ENTITIES, after, document.modelspace().layout_key


@contextmanager
def _fixed_meta_data() -> Iterator[None]:
    """Let ezdxf write no times and random identifiers: equal parts give equal bytes."""
    options = ezdxf.options  # type: ignore[attr-defined]  # documented, not in ezdxf's __all__
    old = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = old


def _plain(text: str) -> str:
    """Keep a comment on its one line."""
    return "".join(sign if sign.isprintable() else " " for sign in text)
