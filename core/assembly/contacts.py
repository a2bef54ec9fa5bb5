# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where plates that no joint holds touch each other, and which way they may part.

Each outline is cut into triangles, so that a plate is a set of convex prisms. Two prisms that touch
are parted by a plane; its normal is a face's, a wall's, or square to an edge of each. Where exactly
one plane parts them, they may move apart to its far side only. Where several do, they touch at a
corner or along an edge of both: one push either way frees them, no half-space says that, and the
sweep of what moves against what stands has to judge it.

Joints have their own rule, so plates that are joined are left out here.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from ..checks.boxes import near_pairs
from ..checks.distance import pair_distances
from ..checks.overlap import pair_overlaps
from ..checks.solids import PlacedPlates, PlateSolid
from ..results import Build
from ..tolerance import TOLERANCES
from .blocking import Contact
from .directions import distinct

__all__ = ["TOUCHING", "contacts_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Plates nearer than this touch, mm: half the usual clearance of a slot.
TOUCHING = 0.05


def contacts_of(build: Build, reach: float = TOUCHING) -> tuple[Contact, ...]:
    """Find all contacts of plates that are not joined, as normals (see the module).

    reach : plates nearer than this touch, mm. Plates that share volume are a clash, not a contact.
    """
    solids = [PlateSolid.of(part.outline, part.thickness) for part in build.parts]
    placed = PlacedPlates.of(
        [solids[plate.part] for plate in build.plates],
        np.array([plate.world_from_part for plate in build.plates]),
    )
    pairs = near_pairs(placed, reach)
    joined = {tuple(sorted(joint.plates)) for joint in build.joints}
    pairs = pairs[[tuple(pair) not in joined for pair in pairs.tolist()]]
    if len(pairs) == 0:
        return ()
    apart = pair_distances(placed, pairs, reach)
    pairs = pairs[~apart.at_least & (apart.distance <= reach)]
    shared = pair_overlaps(placed, pairs, exact=False).volume
    pairs = pairs[shared < TOLERANCES.clash_volume]
    prisms = [_prisms(part.outline, part.thickness) for part in build.parts]
    found: list[Contact] = []
    for a, b in pairs.tolist():
        found.extend(_of_pair(build, prisms, a, b, reach))
    return tuple(found)


def _of_pair(build: Build, prisms: list[Floats], a: int, b: int, reach: float) -> list[Contact]:
    """Return the contacts of two plates, one for each normal."""
    ours, theirs = (
        prisms[build.plates[plate].part] @ build.plates[plate].world_from_part[:3, :3].T
        + build.plates[plate].world_from_part[:3, 3]
        for plate in (a, b)
    )
    low, high = ours.min(axis=1) - reach, ours.max(axis=1) + reach
    near = (low[:, None] <= theirs.max(axis=1)).all(axis=2)
    near &= (high[:, None] >= theirs.min(axis=1)).all(axis=2)
    normals, points = [], []
    for i, j in np.argwhere(near).tolist():
        normal = _parting(ours[i], theirs[j], reach)
        if normal is not None:
            normals.append(normal)
            points.append(_between(ours[i], theirs[j], normal, reach))
    kinds, rows = distinct(np.array(normals).reshape(-1, 3))
    return [
        Contact((a, b), normal, np.mean([points[row] for row in group], axis=0))
        for normal, group in zip(kinds, rows, strict=True)
    ]


def _prisms(outline: shapely.Polygon, thickness: float) -> Floats:
    """Return the corners (n, 6, 3) of the triangles of an outline: below, then above."""
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(outline))
    flat = np.array([shapely.get_coordinates(one)[:3] for one in triangles])
    corners = np.zeros((len(flat), 6, 3))
    corners[:, :3, :2] = corners[:, 3:, :2] = flat
    corners[:, :3, 2], corners[:, 3:, 2] = -thickness / 2, thickness / 2
    return corners


def _parting(ours: Floats, theirs: Floats, reach: float) -> Floats | None:
    """Return the one unit vector along which prism `ours` may leave `theirs`, or None.

    ours, theirs : (6, 3) corners
    """
    edges_a, edges_b = _edges(ours), _edges(theirs)
    axes = np.concatenate(
        [_faces(edges_a), _faces(edges_b), np.cross(edges_a[:, None], edges_b[None]).reshape(-1, 3)]
    )
    length = np.linalg.norm(axes, axis=1)
    axes = axes[length > 1e-6] / length[length > 1e-6, None]
    axes = np.concatenate([axes, -axes])
    gap = (axes @ ours.T).min(axis=1) - (axes @ theirs.T).max(axis=1)
    if gap.max() > reach:
        return None
    parting = distinct(axes[gap >= -1e-6 - 1e-3 * reach])[0]
    return parting[0] if len(parting) == 1 else None


def _edges(prism: Floats) -> Floats:
    """Return unit vectors (4, 3) along the edges of a prism: its triangle's, then its height."""
    edges = np.concatenate([np.roll(prism[:3], -1, axis=0) - prism[:3], prism[3:4] - prism[:1]])
    unit: Floats = edges / np.linalg.norm(edges, axis=1)[:, None]
    return unit


def _faces(edges: Floats) -> Floats:
    """Return normals (4, 3) of the walls and of the face."""
    return np.concatenate([np.cross(edges[:3], edges[3]), np.cross(edges[:1], edges[1])])


def _between(ours: Floats, theirs: Floats, normal: Floats, reach: float) -> Floats:
    """Return a point (3,) about the middle of where two prisms touch."""
    down, up = ours @ normal, theirs @ normal
    a = ours[down <= down.min() + reach]
    b = theirs[up >= up.max() - reach]
    low = np.maximum(a.min(axis=0), b.min(axis=0))
    high = np.minimum(a.max(axis=0), b.max(axis=0))
    middle: Floats = (low + high) / 2
    return middle
