# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Inner corners that a router cuts: a round tool of radius R leaves none sharper than itself.

Where a part has to seat in a corner there are two ways out. A dog-bone is a circle of the tool's
radius through the corner's point, its centre on the corner's middle line, in the open: it takes the
corner away and bites by R (1 - 1/sqrt 2) into both walls of a square one. Plain corners keep the
tool's radius; then the slot of a cross-lap is deeper by

    q = R - sqrt(R^2 - (R - c)^2) - c    for a clearance c < R

so that the square edge of the other plate clears the rounded corners of its bottom, and a slot is
longer by R + q at both ends: q for its own corners, R for those at the tab's root that go into it.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..design.model import Corners
from ..errors import DesignError
from ..fit.sizes import Sizes

__all__ = ["lap_deeper", "slot_longer", "tool_fits", "with_tool_corners"]

Floats = npt.NDArray[np.float64]

_SAME = 0.02  # mm; a corner of the outline is one that a joint has made
_LEAST_TURN = np.radians(20.0)  # less belongs to a curve
_CORNERS = 48  # of a whole circle


def slot_longer(sizes: Sizes) -> float:
    """Return by how much a slot is longer at each end than its clearance makes it, mm."""
    return sizes.longer if sizes.corners is Corners.PLAIN else 0.0


def lap_deeper(sizes: Sizes) -> float:
    """Return by how much the open slot of a cross-lap is deeper than its clearance, mm."""
    return sizes.relief if sizes.corners is Corners.PLAIN else 0.0


def tool_fits(width: float, what: str, sizes: Sizes) -> None:
    """Refuse a tool that is wider than what it is to cut, mm."""
    if sizes.tool > width + 1e-9:
        raise DesignError(
            "sheet.tool",
            sizes.tool,
            f"at most {width:.2f} mm, the width of a {what}",
            "Take a thinner tool, thicker sheet or thicker pins.",
        )


def with_tool_corners(outline: Polygon, corners: Iterable[Floats], sizes: Sizes) -> Polygon:
    """Return an outline whose joints' inner corners are as the tool cuts them.

    corners : (2,) each, where a part seats; those that are inner corners of a ring are changed
    """
    wanted = np.array(list(corners)).reshape(-1, 2)
    if sizes.tool <= 0.0 or not len(wanted):
        return outline
    rings = [np.asarray(ring.coords)[:-1] for ring in (outline.exterior, *outline.interiors)]
    dog_bone = sizes.corners is Corners.DOG_BONE
    circles: list[Polygon] = []
    for number, points in enumerate(rings):
        # Walked with the material on the left, inner corners turn to the right.
        turned = _signed_area(points) < 0
        turned = turned if number == 0 else not turned
        ring = points[::-1] if turned else points
        gaps = np.abs(ring[:, None] - wanted[None]).max(axis=2).min(axis=1)
        pieces = []
        for k in range(len(ring)):
            walls = _walls(ring, k) if gaps[k] < _SAME else None
            if walls is None:
                pieces.append(ring[k : k + 1])
            elif dog_bone:
                circles.append(_circle(ring[k], walls, sizes.tool / 2))
                pieces.append(ring[k : k + 1])
            else:
                pieces.append(_rounded(ring[k], walls, sizes.tool / 2))
        rings[number] = np.concatenate(pieces)
    if not dog_bone:
        return Polygon(rings[0], rings[1:])
    if not circles:
        return outline
    left = shapely.get_parts(outline.difference(shapely.union_all(circles)))
    found = max(left, key=shapely.area)
    assert isinstance(found, Polygon)
    return found


def _signed_area(points: Floats) -> float:
    x, y = points.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2


def _walls(ring: Floats, k: int) -> tuple[Floats, Floats] | None:
    """Return the vectors (2,) from an inner corner to its neighbours; None: it is an outer one."""
    before, here, after = ring[k - 1], ring[k], ring[(k + 1) % len(ring)]
    u, v = before - here, after - here
    turn = np.arctan2(-u[0] * v[1] + u[1] * v[0], -float(u @ v))
    return (u, v) if turn < -_LEAST_TURN else None


def _circle(here: Floats, walls: tuple[Floats, Floats], radius: float) -> Polygon:
    """Return the dog-bone's circle through a corner."""
    u, v = (wall / np.linalg.norm(wall) for wall in walls)
    way = (u + v) / np.linalg.norm(u + v)
    centre = here + radius * way
    turns = 2 * np.pi * np.arange(_CORNERS) / _CORNERS + np.arctan2(way[1], way[0])
    return Polygon(centre + radius * np.column_stack([np.cos(turns), np.sin(turns)]))


def _rounded(here: Floats, walls: tuple[Floats, Floats], radius: float) -> Floats:
    """Return the arc (n, 2) that a tool leaves in a corner, from wall to wall."""
    lengths = [float(np.linalg.norm(wall)) for wall in walls]
    u, v = (wall / length for wall, length in zip(walls, lengths, strict=True))
    half = np.arccos(np.clip(float(u @ v), -1.0, 1.0)) / 2
    reach = radius / np.tan(half)
    if reach > min(lengths) + 1e-9:
        raise DesignError(
            "sheet.tool",
            2 * radius,
            f"at most {2 * min(lengths) * np.tan(half):.2f} mm beside a wall of "
            f"{min(lengths):.2f} mm that a part seats on",
            "Take a thinner tool, or corners = 'dog-bone'.",
        )
    way = (u + v) / np.linalg.norm(u + v)
    centre = here + way * radius / np.sin(half)
    first, last = (here + reach * wall - centre for wall in (u, v))
    start = np.arctan2(first[1], first[0])
    sweep = np.arctan2(last[1], last[0]) - start
    sweep = (sweep + np.pi) % (2 * np.pi) - np.pi
    turns = start + sweep * np.linspace(0.0, 1.0, _CORNERS // 4 + 1)
    arc: Floats = centre + radius * np.column_stack([np.cos(turns), np.sin(turns)])
    return arc
