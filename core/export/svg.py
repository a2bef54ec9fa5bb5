# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A drawing as SVG: one user unit is one millimetre, y turned to point down.

Size in mm and viewBox in the same numbers, as the SVG recommendation's chapter on coordinate
systems and units asks for. Layers are groups whose ids are the roles' names.
"""

from __future__ import annotations

from typing import Final
from xml.sax.saxutils import escape

import numpy as np
import numpy.typing as npt

from .drawing import Drawing, Ring, Role

__all__ = ["part_svg"]

Floats = npt.NDArray[np.float64]

_MARGIN: Final = 2.0  # mm of empty paper round the part
# Thin enough for the laser drivers that cut hairlines only (0.001 inch and less; common practice,
# no published source).
_HAIRLINE: Final = 0.02
# A screen shows such a line as nothing at all, so browsers are told to draw one pixel.
_SCREEN: Final = (
    "@media screen { g { stroke-width: 1px } g > * { vector-effect: non-scaling-stroke } }"
)
_COLOURS: Final = {Role.MARK: "#008000", Role.CUT_INNER: "#0000ff", Role.CUT_OUTER: "#ff0000"}


def part_svg(drawing: Drawing) -> bytes:
    """Return the SVG file of one part, UTF-8; equal drawings give equal bytes."""
    x0, y0, x1, y1 = drawing.bounds
    shift = np.array([_MARGIN - x0, _MARGIN + y1])
    width, height = _text(x1 - x0 + 2 * _MARGIN), _text(y1 - y0 + 2 * _MARGIN)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" '
        f'height="{height}mm" viewBox="0 0 {width} {height}">',
        f"<title>{_escaped(drawing.title)}</title>",
        f"<desc>{_escaped(f'{drawing.title}. {drawing.kerf_note} Units: mm.')}</desc>",
        f"<style>{_escaped(_SCREEN)}</style>",
    ]
    for role in Role:
        lines += [_group(role), *_shapes(drawing, role, shift), "</g>"]
    return "\n".join([*lines, "</svg>", ""]).encode("utf-8")


def _group(role: Role) -> str:
    return (
        f'<g id="{role}" fill="none" stroke="{_COLOURS[role]}" stroke-width="{_HAIRLINE}" '
        'stroke-linejoin="round" stroke-linecap="round">'
    )


def _shapes(drawing: Drawing, role: Role, shift: Floats) -> list[str]:
    if role is Role.MARK:
        return [f'<path d="{_path(stroke, shift)}"/>' for stroke in drawing.strokes]
    return [_closed(ring, shift) for ring in drawing.rings if ring.role is role]


def _closed(ring: Ring, shift: Floats) -> str:
    circle = ring.circle
    if circle is None:
        return f'<path d="{_path(ring.points, shift)} Z"/>'
    x, y = circle.x + shift[0], shift[1] - circle.y
    return f'<circle cx="{_text(x)}" cy="{_text(y)}" r="{_text(circle.radius)}"/>'


def _path(points: Floats, shift: Floats) -> str:
    placed = points * (1.0, -1.0) + shift
    return "M" + " L".join(f"{_text(x)},{_text(y)}" for x, y in placed.tolist())


def _text(value: float) -> str:
    """Write a length to 0.1 micrometre without idle zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _escaped(text: str) -> str:
    """Escape what XML reserves and drop what it forbids (control signs)."""
    return escape("".join(sign for sign in text if sign.isprintable()))
