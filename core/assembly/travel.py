# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How far a joint must open along its insertion until its plates are free of each other.

Measured on the outlines as they are cut, so that any shape of tab counts as it is.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from ..design.model import JointKind
from ..fit.tenon import half_band
from ..plates.planes import cut_line
from ..results import Build

__all__ = ["in_part", "outline_ring", "travel_of", "travels"]

Floats = npt.NDArray[np.float64]


def travels(build: Build) -> Floats:
    """Return for each joint (J,) the way along its insertion until it is free, mm.

    A tenon: the tab beyond the line, and the band in which the other plate stands before it. A
    cross-lap: the longer of what each plate has in the other's slot.
    """
    return np.array([travel_of(build, number) for number in range(len(build.joints))])


def travel_of(build: Build, number: int) -> float:
    """Return what `travels` returns, of one joint, mm."""
    joint = build.joints[number]
    if joint.kind is JointKind.SPLICE:  # the key lifts out of its own sheet
        return max(build.parts[build.plates[plate].part].thickness for plate in joint.plates)
    return _of_tab(build, number) if joint.kind is JointKind.TENON else _of_lap(build, number)


def in_part(build: Build, plate: int, point: Floats) -> Floats:
    """Return a point (3,) of the world in the plane (2,) of the plate's part."""
    pose = build.plates[plate].world_from_part
    flat: Floats = (pose[:3, :3].T @ (point - pose[:3, 3]))[:2]
    return flat


def outline_ring(build: Build, plate: int) -> Floats:
    """Return the outer ring (n, 2) of a plate in its part's plane, the first point not repeated."""
    part = build.parts[build.plates[plate].part]
    ring: Floats = shapely.get_coordinates(part.outline.exterior)[:-1]
    return ring


def _of_tab(build: Build, number: int) -> float:
    """Measure the longest of a joint's tabs, each along three rays, so that a slit hides none."""
    joint = build.joints[number]
    plate = joint.plates[0]
    tab, slot = (build.parts[build.plates[one].part] for one in joint.plates)
    _, out, along = _seen(build, number, plate)
    ring = outline_ring(build, plate)
    reach = 0.0
    for middle in joint.tabs if joint.tabs else (joint.centre,):
        centre = in_part(build, plate, middle)
        across = cut_line(ring, centre, along)
        half = min(abs(across)) / 2 if len(across) else 0.0
        for aside in (-half, 0.0, half):
            ahead = cut_line(ring, centre + aside * along, out)
            reach = max([reach, *ahead[ahead > 0][:1].tolist()])
    return reach + half_band(tab.thickness, slot.thickness, joint.angle)


def _of_lap(build: Build, number: int) -> float:
    """Measure the plates along the line and, for the depth of their slots, beside it.

    The first plate's slot opens along the insertion, the second one's against it.
    """
    joint = build.joints[number]
    t, s = (build.parts[build.plates[plate].part].thickness for plate in joint.plates)
    beside = half_band(t, s, joint.angle) + build.design.sheet.clearance + 1.0
    solid, depth = [], []
    for plate, way in zip(joint.plates, (1.0, -1.0), strict=True):
        centre, out, _ = _seen(build, number, plate)
        across = np.array([-out[1], out[0]])
        ring = outline_ring(build, plate)
        runs = cut_line(ring, centre, way * out).reshape(-1, 2)
        low, bottom = runs[np.abs(runs[:, 1]).argmin()]
        solid.append(bottom - low)
        ends = [
            cut_line(ring, centre + side * beside * across, way * out).reshape(-1, 2)
            for side in (1.0, -1.0)
        ]
        open_ends = [run[1] for one in ends for run in one if run[0] <= bottom <= run[1]]
        depth.append(max(open_ends, default=np.inf) - bottom)
    return float(max(min(solid[0], depth[1]), min(solid[1], depth[0])))


def _seen(build: Build, number: int, plate: int) -> tuple[Floats, Floats, Floats]:
    """Return centre, insertion and line (2,) of a joint in the plane of a plate's part."""
    joint = build.joints[number]
    pose = build.plates[plate].world_from_part
    out, along = (pose[:3, :3].T @ np.column_stack([joint.insertion, joint.line]))[:2].T
    return in_part(build, plate, joint.centre), out, along
