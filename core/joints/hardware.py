# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""What holds a tab, as it looks: closed solids inside those that the checks judge, and its way out.

The checks judge prisms (fasteners.py): a chain link as a ring of square rod, a cable tie as a loop
with sharp corners. Drawn are a link of round wire and a tie that bends round its corners; each lies
within its prism, so what is drawn is never larger than what was judged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.polygon import orient

__all__ = [
    "BENT", "LINK", "TIE", "TIE_HEAD", "WEDGE", "Wire", "drawn_outline", "link_wire", "way_out",
]  # fmt: skip

Floats = npt.NDArray[np.float64]

LINK: Final = "chain link"
TIE: Final = "cable tie"
TIE_HEAD: Final = "head of the cable tie"
WEDGE: Final = "wedge"
BENT: Final = "bent end"

_PULL: Final = 1.2  # of its own length, the way on which a solid is drawn clear of its tab
_TIE_PULL: Final = 18.0  # the same of a tie with its head, mm
_LIFT: Final = 8.0  # the same of a plate that lies on others, in its thickness
_ARC: Final = 6  # chords of a quarter of a rounded corner


@dataclass(frozen=True, slots=True, eq=False)
class Wire:
    """A round wire bent to a closed ring: centre line (n, 2) in the fastener's x, y; radius, mm."""

    centre: Floats
    radius: float

    def mesh(self, sides: int = 16) -> tuple[Floats, npt.NDArray[np.intp]]:
        """Return vertices (n * sides, 3), mm, and faces (n * sides, 4), anticlockwise from outside.

        Each section stands on the bisector of the centre line's corner, so that the wire keeps its
        width; vertex k * sides + m is the m-th of the section at the k-th corner.
        """
        before, after = np.roll(self.centre, 1, axis=0), np.roll(self.centre, -1, axis=0)
        into, out = _unit(self.centre - before), _unit(after - self.centre)
        outward = _unit(np.stack([into[:, 1] + out[:, 1], -into[:, 0] - out[:, 0]], axis=1))
        stretch = 1.0 / np.einsum("ij,ij->i", outward, np.stack([out[:, 1], -out[:, 0]], axis=1))
        angle = 2 * np.pi * np.arange(sides) / sides
        n = len(self.centre)
        vertices = np.empty((n, sides, 3))
        aside = self.radius * np.cos(angle) * stretch[:, None]
        vertices[:, :, :2] = self.centre[:, None] + aside[:, :, None] * outward[:, None]
        vertices[:, :, 2] = self.radius * np.sin(angle)
        corner = np.arange(n * sides).reshape(n, sides)
        ahead = np.roll(corner, -1, axis=0)
        faces = np.stack(
            [corner, ahead, np.roll(ahead, -1, axis=1), np.roll(corner, -1, axis=1)], axis=2
        )
        return vertices.reshape(-1, 3), faces.reshape(-1, 4)


def link_wire(outline: Polygon) -> Wire:
    """Return the wire of a chain link from the ring that is judged: half way between its rims.

    outline : one hole; both rims are drawn round one line, corner for corner
    """
    ring = orient(outline)
    outer = shapely.get_coordinates(ring.exterior)[:-1]
    inner = shapely.get_coordinates(ring.interiors[0])[:-1]
    apart = np.linalg.norm(outer[:, None] - inner[None], axis=2)
    partner = inner[apart.argmin(axis=1)]
    return Wire((outer + partner) / 2, float(apart.min()) / 2)


def drawn_outline(kind: str, outline: Polygon) -> Polygon:
    """Return the outline of a solid as it is drawn: a tie and its head with rounded corners."""
    if kind not in (TIE, TIE_HEAD):
        return outline
    low_x, low_y, high_x, high_y = outline.bounds
    if kind == TIE_HEAD:
        return _rounded(outline, 0.2 * min(high_x - low_x, high_y - low_y))
    # The strap lies sharply round the tab, and keeps its thickness round the corners.
    strap = outline.interiors[0].bounds[0] - low_x
    return Polygon(_rounded(Polygon(outline.exterior), strap).exterior, outline.interiors)


def way_out(kind: str, outline: Polygon, thickness: float, world: Floats) -> Floats:
    """Return the way (3,) on which a solid that is no pin leaves its tab, mm, world; for pictures.

    A wedge goes back, thick end first; a tie and a link are shown beyond the tab's end; what lies
    on the plates is lifted off, away from the middle. What is bent stays with its plate.
    """
    low_x, _, high_x, _ = outline.bounds
    if kind == BENT:
        own = np.zeros(3)
    elif kind == WEDGE:
        ring = shapely.get_coordinates(outline.exterior)[:-1]
        side = np.roll(ring, -1, axis=0) - ring
        thin = int(np.linalg.norm(side, axis=1).argmin())  # of four sides; the thick end is across
        middle = ring + side / 2
        own = np.append(_PULL * (middle[(thin + 2) % 4] - middle[thin]), 0.0)
    elif kind == LINK:
        own = np.array([_PULL * (high_x - low_x), 0.0, 0.0])
    elif kind in (TIE, TIE_HEAD):  # both go together
        own = np.array([_TIE_PULL, 0.0, 0.0])
    else:
        outward = 1.0 if float(world[:3, 2] @ world[:3, 3]) >= 0 else -1.0
        own = np.array([0.0, 0.0, outward * _LIFT * thickness])
    way: Floats = world[:3, :3] @ own
    return way


def _rounded(shape: Polygon, radius: float) -> Polygon:
    """Return a convex shape with its corners rounded."""
    return shape.buffer(-radius, join_style="mitre").buffer(radius, quad_segs=_ARC)


def _unit(vectors: Floats) -> Floats:
    unit: Floats = vectors / np.linalg.norm(vectors, axis=1)[:, None]
    return unit
