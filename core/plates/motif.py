# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A motif: one seed plate with its plane and its uncut body; the group carries it round."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..design.model import MotifChoice
from ..errors import DesignError
from ..frame.group import Group
from ..tolerance import TOLERANCES
from .path import centre_line, strip_body
from .planes import world_from_plane

__all__ = ["Motif", "motif_from_choice", "stabiliser"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Motif:
    """A seed plate before its joints are cut.

    world_from_plane : (4, 4); body : outline in the plane, mm, strip ends cut square at the path's
    ends; path : (k, 2) sampled centre line of a strip, None for a plate; width : of the strip, mm;
    stabiliser : elements that carry the plate onto itself (turned over or not)
    """

    name: str
    normal: Floats
    offset: float
    world_from_plane: Floats
    body: Polygon
    path: Floats | None
    width: float | None
    stabiliser: tuple[int, ...]


def motif_from_choice(choice: MotifChoice, group: Group) -> Motif:
    """Make the motif that a design file's table describes.

    Raises DesignError when the outline crosses itself or a bend does not fit.
    """
    normal = np.asarray(choice.normal, dtype=float)
    normal = normal / np.linalg.norm(normal)
    plane = world_from_plane(normal, choice.offset, choice.x_axis)
    path = None
    if choice.path is not None and choice.width is not None:
        path = centre_line(choice.path, choice.bend, choice.bend_radius, choice.name)
        body = strip_body(path, choice.width)
    elif choice.outline is not None:
        body = shapely.geometry.polygon.orient(Polygon(choice.outline, choice.holes))
    else:
        raise DesignError(f"motifs.{choice.name}", None, "a path with a width, or an outline")
    if not body.is_valid:
        why = shapely.is_valid_reason(body)
        raise DesignError(
            f"motifs.{choice.name}", why, "an outline that does not cross itself",
            "Widen the bends or narrow the strip.",
        )
    for array in (normal, plane) + (() if path is None else (path,)):
        array.setflags(write=False)
    return Motif(
        choice.name,
        normal,
        float(choice.offset),
        plane,
        body,
        path,
        choice.width,
        stabiliser(group, normal, float(choice.offset), plane, body),
    )


def stabiliser(
    group: Group, normal: Floats, offset: float, plane: Floats, body: Polygon
) -> tuple[int, ...]:
    """Return the elements of the group that carry the plate onto itself, identity first."""
    turned = group.matrices @ normal
    size = max(abs(offset), 1.0)
    same = np.abs(turned - normal).max(axis=1) < TOLERANCES.symmetry
    if abs(offset) < TOLERANCES.symmetry * size:
        same |= np.abs(turned + normal).max(axis=1) < TOLERANCES.symmetry
    found = []
    ring = shapely.get_coordinates(body)
    points = ring @ plane[:3, :2].T + plane[:3, 3]
    scale = float(np.abs(ring).max())
    for element in np.flatnonzero(same):
        moved = (points @ group.matrices[element].T - plane[:3, 3]) @ plane[:3, :2]
        apart = np.linalg.norm(ring[:, None] - moved[None], axis=2).min(axis=1).max()
        if element == 0 or apart < TOLERANCES.symmetry * scale:
            found.append(int(element))
    return tuple(found)
