# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A motif: one seed plate with its plane and its uncut body; the group carries it round."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree
from shapely import Polygon
from shapely.geometry.polygon import orient

from ..design.model import MotifChoice, StripStyle
from ..design.ring_fault import ring_fault
from ..errors import DesignError
from ..frame.group import Group
from ..tolerance import TOLERANCES
from .path import centre_line
from .planes import world_from_plane
from .widths import Taper, body_of, taper_of

__all__ = ["Motif", "motif_from_choice", "stabiliser"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Motif:
    """A seed plate before its joints are cut.

    normal : (3,) unit vector; offset : of the plane, mm
    world_from_plane : (4, 4) proper rigid transform of the plane's coordinates
    body : outline in the plane, mm; the ends of a strip are cut square at its path's ends
    path : (k, 2) sampled centre line of a strip, mm; None for a plate
    width : of the strip, mm; None for a plate
    stabiliser : elements that carry the plate onto itself, turned over or not; identity first
    taper : how the strip's width changes towards its ends; None: it is even
    style : what else the design says of its shape
    """

    name: str
    normal: Floats
    offset: float
    world_from_plane: Floats
    body: Polygon
    path: Floats | None
    width: float | None
    stabiliser: tuple[int, ...]
    taper: Taper | None = None
    style: StripStyle = field(default_factory=StripStyle)

    @property
    def end_width(self) -> float | None:
        """Width of a strip at the ends of its path, mm; None for a plate."""
        return self.width if self.taper is None else self.taper.end

    @property
    def least_width(self) -> float | None:
        """Width of a strip where it is narrowest, mm; None for a plate."""
        if self.width is None or self.taper is None:
            return self.width
        return min(self.width, self.taper.end)


def motif_from_choice(choice: MotifChoice, group: Group) -> Motif:
    """Make the motif that a table of the design file describes.

    Raises
    ------
    DesignError : the outline crosses itself, a bend does not fit, the x axis is parallel to the
        normal, or neither a path with a width nor an outline is given.
    """
    normal = np.asarray(choice.normal, dtype=float)
    normal = normal / np.linalg.norm(normal)
    plane = world_from_plane(normal, choice.offset, choice.x_axis)
    path, taper, body = _drawn(choice)
    if not body.is_valid:
        raise DesignError(
            f"motifs.{choice.name}",
            ring_fault(body),
            "an outline that does not cross itself",
            "Widen the bends or narrow the strip.",
        )
    for array in (normal, plane) if path is None else (normal, plane, path):
        array.setflags(write=False)
    return Motif(
        name=choice.name,
        normal=normal,
        offset=float(choice.offset),
        world_from_plane=plane,
        body=body,
        path=path,
        width=choice.width if path is not None else None,
        stabiliser=stabiliser(group, plane, body),
        taper=taper,
        style=choice,
    )


def _drawn(choice: MotifChoice) -> tuple[Floats | None, Taper | None, Polygon]:
    """Return the sampled centre line and the taper of a strip (None for a plate), and the body."""
    if choice.path is not None and choice.width is not None:
        path = centre_line(choice.path, choice.bend, choice.bend_radius, choice.name)
        taper = taper_of(choice, path)
        return path, taper, body_of(path, choice.width, taper)
    if choice.outline is not None:
        return None, None, orient(Polygon(choice.outline, choice.holes))
    raise DesignError(f"motifs.{choice.name}", None, "a path with a width, or an outline")


def stabiliser(group: Group, plane: Floats, body: Polygon) -> tuple[int, ...]:
    """Return the elements of the group that carry the plate onto itself, identity first.

    They carry the corners of its body, and the middles of its edges, onto each other.
    plane : its `world_from_plane` (4, 4); body : its outline, mm
    """
    normal = plane[:3, 2]
    turned = group.matrices @ normal
    parallel = np.abs(np.abs(turned @ normal) - 1.0) < TOLERANCES.symmetry
    if not parallel[1:].any():
        return (0,)
    rings = [np.asarray(ring.coords) for ring in (body.exterior, *body.interiors)]
    flat = np.concatenate([half for r in rings for half in (r[:-1], (r[:-1] + r[1:]) / 2)])
    points = flat @ plane[:3, :2].T + plane[:3, 3]
    tolerance = TOLERANCES.symmetry * float(np.abs(points).max())
    tree = cKDTree(points)
    kept = [0]
    for element in np.flatnonzero(parallel)[1:].tolist():
        gaps, _ = tree.query(points @ group.matrices[element].T)
        if gaps.max() < tolerance:
            kept.append(element)
    return group.subgroup(kept)  # closed even if one of them was a hair beyond the tolerance
