# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Inner corners in which parts seat: of slots, as a beam or a tool cuts them, roots, sockets."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from ..design.model import Corners
from ..errors import DesignError
from ..fit.sizes import Sizes
from ..fit.splice import SpliceSizes
from ..fit.tenon import TenonSizes
from ..joints.classes import JointClass
from ..joints.features import MotifFeatures, Slot
from .tool_corners import lap_deeper, slot_longer, tool_fits, with_tool_corners

__all__ = ["rectangle", "seats", "slot_rings"]

Floats = npt.NDArray[np.float64]


def rectangle(origin: Floats, x: Floats, y: Floats, box: tuple[float, ...]) -> Floats:
    """Return the corners (4, 2) of the box (x0, y0, x1, y1) in axes x, y at `origin`."""
    corners = np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]])
    placed: Floats = origin + corners[:, :1] * x + corners[:, 1:] * y
    return placed


def slot_rings(slot: Slot, tenon: TenonSizes, sizes: Sizes) -> list[Floats]:
    """Return the rings (n, 2) of a joint's slots, mm.

    Raises DesignError when the tool is wider than a slot.
    """
    across = np.array([-slot.along[1], slot.along[0]])
    a, b = tenon.slot_length / 2 + slot_longer(sizes), tenon.slot_width / 2
    rings = [rectangle(slot.place, slot.along, across, (x - a, -b, x + a, b)) for x in tenon.places]
    if sizes.tool <= 0:
        return rings
    tool_fits(tenon.slot_width, "slot", sizes)
    return [_tooled(ring, sizes) for ring in rings]


def _tooled(ring: Floats, sizes: Sizes) -> Floats:
    """Return the ring (n, 2) of a slot as a round tool cuts it."""
    # As the hole of a plate, in which the slot's corners are inner ones.
    low, high = ring.min(axis=0) - 2 * sizes.tool, ring.max(axis=0) + 2 * sizes.tool
    plate = Polygon(shapely.box(*low, *high).exterior, [ring])
    (cut,) = with_tool_corners(plate, ring, sizes).interiors
    found: Floats = np.asarray(cut.coords)[:-1]
    return found


def seats(features: MotifFeatures, classes: Sequence[JointClass], sizes: Sizes) -> list[Floats]:
    """Return the corners (2,) of tabs' roots, of laps' bottoms, of keys and sockets, mm.

    Raises DesignError when the tool is wider than a lap, or its plain corners leave a key no seat.
    """
    found: list[Floats] = []
    for tab in features.tabs:
        tenon = classes[tab.joint].tenon
        assert tenon is not None
        sides = [x + side * tenon.tab_width / 2 for x in tenon.places for side in (-1, 1)]
        found += [tab.place + x * tab.along - tenon.shoulder * tab.out for x in sides]
    for lap in features.laps:
        across = np.array([-lap.out[1], lap.out[0]]) * classes[lap.joint].lap_width / 2
        tool_fits(classes[lap.joint].lap_width, "cross-lap's slot", sizes)
        bottom = lap.place + (lap.bottom - sizes.clearance - lap_deeper(sizes)) * lap.out
        found += [bottom - across, bottom + across]
    for key in features.keys:
        splice = classes[key.joint].splice
        if not isinstance(splice, SpliceSizes):
            continue
        if sizes.corners is Corners.PLAIN:
            raise DesignError(
                "sheet.corners",
                Corners.PLAIN.value,
                "dog-bone beside a splice by a dovetail key, whose corners seat in its socket",
                "Take dog-bones, or a splice by a fish plate.",
            )
        shape = splice.socket() if key.socket else splice.key(0.0)
        axes = np.array([key.along, key.out])
        found += list(np.asarray(shape.exterior.coords) @ axes + key.place)
    return found
