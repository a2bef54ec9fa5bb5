# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where a leader line ends: on its plate, where the plate is seen best.

Plates are drawn one behind another. What of a plate no nearer plate covers is its seen part; the
leader ends at the middle of the largest circle in it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

__all__ = ["seen_points"]

Floats = npt.NDArray[np.float64]

_FINE = 0.02  # of a plate's extent: how exactly the circle is found
_EDGE_ON = 1e-3  # of the square of its extent: a plate with less area is seen on edge


def seen_points(
    outlines: Sequence[Polygon],
    world_from_plane: Floats,
    axes: Floats,
    eye: Floats | None = None,
) -> tuple[Floats, Floats]:
    """Return for each plate a point of it that is seen, and how large the seen place is.

    outlines : of each plate, in its plane, mm; world_from_plane : (n, 4, 4)
    axes : (3, 3) unit rows: right, up and back (towards the eye) of the view
    eye : (3,) mm, the camera's place; None: it sees in parallel

    Returns
    -------
    points : (n, 3) mm, world, on the plate's middle plane
    room : (n,) radius of the largest circle in what is seen, in the drawing: mm in a parallel view,
        else as a tangent of the angle; 0 for plates that are hidden or seen on edge, whose points
        are only somewhere on them
    """
    count = len(outlines)
    points, room = np.zeros((count, 3)), np.zeros(count)
    flat = [_drawn(o, m, axes, eye) for o, m in zip(outlines, world_from_plane, strict=True)]
    near = [_nearness(pose, axes, eye) for pose in world_from_plane]
    boxes = shapely.STRtree([shape if shape is not None else Polygon() for shape in flat])
    for k, shape in enumerate(flat):
        inner = outlines[k].representative_point()
        points[k] = (
            world_from_plane[k, :3, :3] @ (inner.x, inner.y, 0.0) + world_from_plane[k, :3, 3]
        )
        if shape is None:
            continue
        seen = shape
        for other in boxes.query(shape, predicate="intersects").tolist():
            cover = flat[other]
            if other == k or cover is None:
                continue
            ahead = near[other] - near[k]
            seen = seen.difference(_where_positive(shape.intersection(cover), ahead))
        if seen.is_empty or seen.area <= 0.0:
            continue
        best = max(shapely.get_parts(seen), key=lambda part: _circle(part).length)
        circle = _circle(best)
        room[k] = circle.length
        middle = circle.coords[0]
        points[k] = _lifted(np.array(middle), world_from_plane[k], axes, eye)
    return points, room


def _circle(shape: shapely.Geometry) -> shapely.LineString:
    """Return the radius of the largest circle in a shape, its middle first."""
    if not isinstance(shape, Polygon) or shape.area <= 0.0:
        return shapely.LineString([(0.0, 0.0), (0.0, 0.0)])
    x0, y0, x1, y1 = shape.bounds
    return shapely.maximum_inscribed_circle(shape, tolerance=_FINE * max(x1 - x0, y1 - y0))


def _drawn(outline: Polygon, pose: Floats, axes: Floats, eye: Floats | None) -> Polygon | None:
    """Return a plate's middle plane as it is drawn; None where it is seen on edge."""

    def seen(xy: Floats) -> Floats:
        world = xy @ pose[:3, :2].T + pose[:3, 3]
        return _projected(world, axes, eye)

    shape = shapely.transform(outline, seen)
    if not shape.is_valid:
        return None
    low, high = np.reshape(shape.bounds, (2, 2))
    extent = float(np.linalg.norm(high - low))
    return shape if shape.area > _EDGE_ON * extent**2 else None


def _projected(world: Floats, axes: Floats, eye: Floats | None) -> Floats:
    """Return world points (n, 3) in the drawing, (n, 2)."""
    local = (world if eye is None else world - eye) @ axes.T
    flat: Floats = local[:, :2] if eye is None else local[:, :2] / -local[:, 2:]
    return flat


def _ray(at: Floats, axes: Floats, eye: Floats | None) -> tuple[Floats, Floats]:
    """Return start and direction (3,) of the line of sight through a point of the drawing."""
    if eye is None:
        return at @ axes[:2], -axes[2]
    return eye, at @ axes[:2] - axes[2]


def _lifted(at: Floats, pose: Floats, axes: Floats, eye: Floats | None) -> Floats:
    """Return the point (3,) of a plate's middle plane that is drawn at a place."""
    start, way = _ray(at, axes, eye)
    normal = pose[:3, 2]
    along = float(normal @ way)
    if abs(along) < 1e-12:
        return start
    lifted: Floats = start + way * float(normal @ (pose[:3, 3] - start)) / along
    return lifted


def _nearness(pose: Floats, axes: Floats, eye: Floats | None) -> Floats:
    """Return (a, b, c): a plane drawn at x, y is the nearer to the eye, the more a x + b y + c is.

    In a parallel view that is the height towards the eye, else one over the depth: both are linear
    in the drawing, so where two planes change places is a straight line.
    """
    across, up, back = axes @ pose[:3, 2]
    offset = float(pose[:3, 2] @ (pose[:3, 3] if eye is None else pose[:3, 3] - eye))
    if eye is None:
        back = back if abs(back) > 1e-12 else 1e-12
        return np.array([-across, -up, offset]) / back
    return np.array([across, up, -back]) / (offset if abs(offset) > 1e-12 else 1e-12)


def _where_positive(shape: shapely.Geometry, value: Floats) -> shapely.Geometry:
    """Return the part of a shape where a x + b y + c is above 0."""
    if shape.is_empty:
        return shape
    x0, y0, x1, y1 = shape.bounds
    corners = [np.array(at) for at in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    heights = [float(value[:2] @ at + value[2]) for at in corners]
    kept: list[Floats] = []
    for k, (at, height) in enumerate(zip(corners, heights, strict=True)):
        before = heights[k - 1]
        if (height > 0.0) != (before > 0.0):
            kept.append(corners[k - 1] + before / (before - height) * (at - corners[k - 1]))
        if height > 0.0:
            kept.append(at)
    return shape.intersection(Polygon(kept)) if len(kept) > 2 else Polygon()
