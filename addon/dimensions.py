# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Dimension lines beside a sculpture: line, ticks, extension lines and a number, as objects.

Drawn as ISO 129-1 asks (from memory): the line a little off the body, extension lines that stand
over it, oblique strokes at its ends, the number above the middle of the line.
"""

from __future__ import annotations

import bpy
import numpy as np
from mathutils import Matrix, Vector

from . import nodes, studio

__all__ = ["DIMENSION", "about", "add_dimension", "length_text"]

DIMENSION = "pinwright_dimension"
_INK = (0.02, 0.02, 0.02)
_LINE = 0.004  # thickness, share of the length that everything is scaled to
_TICK = 0.028
_LETTERS = 0.062


def add_dimension(
    collection: bpy.types.Collection,
    ends: tuple[Vector, Vector],
    off: Vector,
    toward: Vector,
    text: str,
    scale: float,
) -> bpy.types.Object:
    """Draw one dimension; returns its mesh, to which the number is parented.

    ends : the two places that are measured, world, scene units
    off : from these to the line, square to it; toward : unit vector to whom shall read it
    scale : scene units; letters are 0.062 of it high
    """
    a, b = ends[0] + off, ends[1] + off
    along = (b - a).normalized()
    out = off.normalized()
    over = out * (0.5 * _TICK * scale)
    strokes = [(a, b), (ends[0] + over, a + over), (ends[1] + over, b + over)]
    slant = (along + out).normalized() * (_TICK * scale / 2)
    strokes += [(end - slant, end + slant) for end in (a, b)]
    mesh = _bars(strokes, toward, _LINE * scale)
    mesh.materials.append(nodes.matt("Dimension Ink", _INK))
    line = bpy.data.objects.new(f"Dimension {text}", mesh)
    line[DIMENSION] = True
    collection.objects.link(line)
    curve = bpy.data.curves.new("Dimension", "FONT")
    curve.body, curve.size = text, _LETTERS * scale
    curve.align_x, curve.align_y = "CENTER", "BOTTOM"
    curve.materials.append(nodes.matt("Dimension Ink", _INK))
    number = bpy.data.objects.new(f"Dimension {text} Number", curve)
    number[DIMENSION] = True
    right = along if along.dot(_reader_right(toward)) >= -1e-6 else -along
    up = toward.cross(right)
    rows = [[way.x, way.y, way.z] for way in (right, Vector(up), toward)]  # type: ignore[arg-type]
    turn = Matrix(rows).transposed().to_4x4()
    place = (a + b) / 2 + up * (0.25 * _LETTERS * scale)
    number.matrix_world = Matrix.Translation(place) @ turn
    number.parent = line
    collection.objects.link(number)
    return line


def about(
    root: bpy.types.Object, collection: bpy.types.Collection, unit: float, metric: bool
) -> list[bpy.types.Object]:
    """Draw breadth and height of a sculpture as it stands, to be read from the front (-y).

    unit : scene units in one mm
    """
    points = studio.points_of(root)
    low, high = points.min(axis=0), points.max(axis=0)
    y = float(low[1] + high[1]) / 2
    scale = 0.9 * float(max(high[0] - low[0], high[2] - low[2]))
    made = []
    for ends, off in (
        (((low[0], low[2]), (high[0], low[2])), (0.0, 0.0, -0.14 * scale)),
        (((high[0], low[2]), (high[0], high[2])), (0.14 * scale, 0.0, 0.0)),
    ):
        a, b = (Vector((float(x), y, float(z))) for x, z in ends)
        text = length_text((b - a).length / unit, metric)
        toward = Vector((0.0, -1.0, 0.0))
        made.append(add_dimension(collection, (a, b), Vector(off), toward, text, scale))
    return made


def length_text(mm: float, metric: bool = True) -> str:
    """Return a length as a drawing says it: mm below 1 m, else m; or feet and inches."""
    if not metric:
        inches = round(mm / 25.4)
        return f"{inches // 12}' {inches % 12}\"" if inches >= 12 else f'{inches}"'
    return f"{mm:.0f} mm" if mm < 999.5 else f"{mm / 1000:.2f} m"


def _reader_right(toward: Vector) -> Vector:
    """Return what is to the right for someone whom `toward` points at; lines read upward."""
    right = Vector((0.0, 0.0, 1.0)).cross(toward)
    right = right.normalized() if right.length > 1e-6 else Vector((1.0, 0.0, 0.0))
    return (right + Vector((0.0, 0.0, 1e-3))).normalized()


def _bars(strokes: list[tuple[Vector, Vector]], toward: Vector, thick: float) -> bpy.types.Mesh:
    """Return a mesh of thin square bars."""
    vertices: list[Vector] = []
    faces: list[list[int]] = []
    for a, b in strokes:
        along = (b - a).normalized()
        side = along.cross(toward).normalized() * (thick / 2)
        rise = toward.normalized() * (thick / 2)
        first = len(vertices)
        for end in (a, b):
            vertices += [end + s * side + r * rise for s, r in ((1, 1), (-1, 1), (-1, -1), (1, -1))]
        quads = np.array(
            [[0, 1, 2, 3], [7, 6, 5, 4], [0, 4, 5, 1], [1, 5, 6, 2], [2, 6, 7, 3], [3, 7, 4, 0]]
        )
        faces += (quads + first).tolist()
    mesh = bpy.data.meshes.new("Dimension")
    mesh.from_pydata([(one.x, one.y, one.z) for one in vertices], [], faces)
    return mesh
