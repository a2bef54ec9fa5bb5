# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A motif's path or outline as an ordinary curve object, which the artist edits by hand.

The curve hangs on the sculpture's root, in the motif's plane, and is known by a custom property.
As long as it is there it is the truth: what is built takes the path from it. What is off the plane
is laid onto it.
"""

from __future__ import annotations

import bpy
import numpy as np
from mathutils import Matrix

from ..core.design.model import Design, MotifChoice
from ..core.errors import PinwrightError
from ..core.frame.frame import Frame, frame_from_choice
from ..core.plates.handwork import Curve, curves_of, redrawn
from ..core.plates.planes import world_from_plane
from . import convert, tags

__all__ = ["add", "curves", "drawn", "motif_of", "refresh"]


def curves(root: bpy.types.Object) -> list[bpy.types.Object]:
    """Return the curves that draw motifs of a sculpture."""
    return [child for child in root.children if tags.PATH in child and child.type == "CURVE"]


def motif_of(obj: bpy.types.Object | None) -> str:
    """Return the name of the motif that a plate or a curve belongs to; empty for other objects."""
    if obj is None:
        return ""
    if tags.PATH in obj:
        return str(obj[tags.PATH])
    if tags.PLATE not in obj:
        return ""
    return str(obj.get(tags.KEY, "")).rpartition(":")[0]


def add(root: bpy.types.Object, design: Design, motif: str) -> bpy.types.Object:
    """Make the curve of a motif, or return the one that is there.

    Raises
    ------
    PinwrightError : there is no such motif.
    """
    known = next((one for one in curves(root) if one[tags.PATH] == motif), None)
    if known is not None:
        return known
    choice = _choice(design, motif)
    data = bpy.data.curves.new(f"{root.name} {motif}", "CURVE")
    obj = bpy.data.objects.new(f"{root.name} {motif}", data)
    obj[tags.PATH] = motif
    obj.show_in_front = True  # it lies in the midst of the plate
    obj.parent = root
    next(iter(root.users_collection), bpy.context.scene.collection).objects.link(obj)
    _write(root, obj, choice)
    return obj


def refresh(root: bpy.types.Object, design: Design) -> None:
    """Draw the curves as a design has them that did not come from them."""
    names = {choice.name for choice in design.motifs}
    for obj in curves(root):
        if obj[tags.PATH] in names:
            _write(root, obj, _choice(design, obj[tags.PATH]))
        else:
            del obj[tags.PATH]  # what it drew is no more; the curve is the artist's


def drawn(root: bpy.types.Object, design: Design, frame: Frame | None) -> Design:
    """Return a design with its motifs as their curves have them.

    Raises
    ------
    PinwrightError : a curve is no path or outline.
    """
    there = curves(root)
    if not there or not design.motifs:
        return design
    group = (frame or frame_from_choice(design.frame, design.folder)).group
    names = {choice.name for choice in design.motifs}
    for obj in there:
        motif = obj[tags.PATH]
        if motif in names:
            design = redrawn(design, motif, _read(root, obj, _choice(design, motif)), group)
    return design


def _choice(design: Design, motif: str) -> MotifChoice:
    choice = next((one for one in design.motifs if one.name == motif), None)
    if choice is None:
        raise PinwrightError(f"The design has no motif '{motif}'.")
    return choice


def _plane(root: bpy.types.Object, choice: MotifChoice) -> Matrix:
    unit = root.get(tags.UNIT, 0.001)
    plane = world_from_plane(choice.normal, choice.offset, choice.x_axis)
    return convert.matrix_from_mm(plane, unit)


def _write(root: bpy.types.Object, obj: bpy.types.Object, choice: MotifChoice) -> None:
    unit = root.get(tags.UNIT, 0.001)
    data = obj.data
    data.dimensions = "2D"
    data.fill_mode = "NONE"
    data.splines.clear()
    for curve in curves_of(choice):
        bezier = curve.knots.ndim == 3
        spline = data.splines.new("BEZIER" if bezier else "POLY")
        points = spline.bezier_points if bezier else spline.points
        points.add(len(curve.knots) - 1)
        if bezier:
            flat = np.zeros((*curve.knots.shape[:2], 3))
            flat[..., :2] = curve.knots * unit
            points.foreach_set("handle_left_type", np.zeros(len(points), dtype=np.int32))  # free
            points.foreach_set("handle_right_type", np.zeros(len(points), dtype=np.int32))
            for column, name in enumerate(("handle_left", "co", "handle_right")):
                points.foreach_set(name, flat[:, column].astype(np.float32).ravel())
            for point in points:
                point.handle_left_type = point.handle_right_type = "ALIGNED"
        else:
            flat = np.zeros((len(curve.knots), 4))
            flat[:, :2] = curve.knots * unit
            flat[:, 3] = 1.0
            points.foreach_set("co", flat.astype(np.float32).ravel())
        spline.use_cyclic_u = curve.closed
    obj.matrix_basis = _plane(root, choice)


def _read(root: bpy.types.Object, obj: bpy.types.Object, choice: MotifChoice) -> tuple[Curve, ...]:
    """Return the splines of a curve in the motif's plane, mm.

    Raises
    ------
    PinwrightError : a spline is of a kind that has no simple points.
    """
    unit = root.get(tags.UNIT, 0.001)
    plane_from_curve = np.array(_plane(root, choice).inverted() @ obj.matrix_basis)
    found = []
    for spline in obj.data.splines:
        if spline.type == "BEZIER":
            points = spline.bezier_points
            flat = [_got(points, name, 3) for name in ("handle_left", "co", "handle_right")]
            knots = np.stack(flat, axis=1)
        elif spline.type == "POLY":
            knots = _got(spline.points, "co", 4)[:, :3]
        else:
            raise PinwrightError(
                f"The curve '{obj.name}' has a NURBS spline: set its type to Bezier or Poly."
            )
        if len(knots) < 2:
            continue
        there = knots @ plane_from_curve[:3, :3].T + plane_from_curve[:3, 3]
        found.append(Curve(there[..., :2] / unit, closed=spline.use_cyclic_u))
    if not found:
        raise PinwrightError(f"The curve '{obj.name}' is empty: draw the motif, or delete it.")
    return tuple(found)


def _got(points: bpy.types.bpy_prop_collection, name: str, size: int) -> np.ndarray:
    values = np.empty(size * len(points), dtype=np.float32)
    points.foreach_get(name, values)
    return values.reshape(-1, size).astype(float)
