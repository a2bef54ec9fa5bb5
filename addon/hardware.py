# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What holds tabs besides pins, as solids to draw: ties, wedges, bent ends, links of round wire."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely import Polygon

from ..core.joints import hardware
from . import prisms

__all__ = ["solid_of"]


def solid_of(kind: str, outline: Polygon, thickness: float) -> prisms.Prism:
    """Return the solid of a fastener in its own axes, mm; see core/joints/hardware.py."""
    if kind == hardware.LINK:
        return _wire(hardware.link_wire(outline))
    solid = prisms.prism(hardware.drawn_outline(kind, outline), thickness)
    if kind == hardware.BENT:
        # Seen from the side it is cut; the sheet's own faces run round the bend.
        lengths = np.diff(np.append(solid.starts, len(solid.corners)))
        is_face = solid.is_side & (lengths == 4)
        return replace(solid, is_side=~is_face)
    return solid


def _wire(wire: hardware.Wire) -> prisms.Prism:
    vertices, faces = wire.mesh()
    sides = len(vertices) // len(wire.centre)
    way = np.linalg.norm(np.roll(wire.centre, -1, axis=0) - wire.centre, axis=1)
    along = np.concatenate(([0.0], np.cumsum(way)))
    step = 2 * np.pi * wire.radius / sides
    n, m = np.divmod(np.arange(len(faces)), sides)
    flat_map = np.empty((len(faces), 4, 2))
    flat_map[:, (0, 3), 0], flat_map[:, (1, 2), 0] = along[n, None], along[n + 1, None]
    flat_map[:, (0, 1), 1], flat_map[:, (2, 3), 1] = step * m[:, None], step * (m + 1)[:, None]
    return prisms.Prism(
        vertices=vertices,
        corners=faces.ravel(),
        starts=4 * np.arange(len(faces)),
        is_side=np.zeros(len(faces), dtype=bool),
        is_smooth=np.ones(len(faces), dtype=bool),
        flat_map=flat_map.reshape(-1, 2),
    )
