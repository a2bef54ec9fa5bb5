# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Small sculptures of our own that come apart in a known way, or not at all, and their judge.

The judge knows nothing of joints: it pushes solids (manifold3d) a little and looks whether they run
into each other. Slots have no clearance, so that the least push along a way that is blocked shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import manifold3d
import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation
from shapely import Polygon, box

from pinwright.core.design.model import (
    Design,
    FrameChoice,
    JointClassChoice,
    JointKind,
    JointSizes,
    MotifChoice,
    Sheet,
    Turn,
)
from pinwright.core.results import Build
from tests.judges import as_manifold, shared_volume

__all__ = [
    "AXES",
    "PUSH",
    "SHARED",
    "TRIAD",
    "boarded_box",
    "keyed_box",
    "least_groups",
    "rotor",
    "shared_when_pushed",
    "solids_of",
    "three_planks",
    "worlds_of",
]

Floats = npt.NDArray[np.float64]

SHEET = Sheet(4.0, clearance=0.0)
X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)
AXES = (X, Y, Z, (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))
#: Tilt of the normals of three boards round an axis that are square to each other (tan^2 = 1/2).
TRIAD = float(np.degrees(np.arctan(np.sqrt(0.5))))
NO_GROUP = FrameChoice(300.0, group="C1")
PUSH = 0.2  # mm; far less than any gap between plates that are not joined
SHARED = 1e-3  # mm3; a push into a wall of a square millimetre makes 200 times as much


def _ring(shape: Polygon) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in shape.exterior.coords[:-1])


def _standing(
    name: str, normal: tuple[float, float, float], at: float, ring: Polygon
) -> MotifChoice:
    """Return a plate drawn in world coordinates: (y, z), (x, z) or (x, y), as its normal asks."""
    if normal == Y:  # its plane's y axis is normal x X = -Z
        ring = Polygon([(x, -y) for x, y in ring.exterior.coords])
    return MotifChoice(name, normal, at, Y if normal == X else X, outline=_ring(ring))


def _lap(name: str, first: str, second: str, at: float, outward: int) -> JointClassChoice:
    return JointClassChoice(name, (first, second), JointKind.CROSS_LAP, at=at, outward=outward)


def _boards() -> tuple[tuple[MotifChoice, ...], tuple[JointClassChoice, ...]]:
    side = box(-80.0, -40.0, 80.0, 40.0)
    motifs = (
        _standing("left", X, -100.0, side),
        _standing("right", X, 100.0, side),
        MotifChoice("front", Y, -50.0, X, path=((-100.0, 0.0), (100.0, 0.0)), width=50.0),
        MotifChoice("back", Y, 50.0, X, path=((-100.0, 0.0), (100.0, 0.0)), width=50.0),
    )
    joints = tuple(
        JointClassChoice(f"{board} {side}", (board, side), JointKind.TENON)
        for board in ("front", "back")
        for side in ("left", "right")
    )
    return motifs, joints


def boarded_box() -> Design:
    """Two boards with a tab at each end, all four along x: either side can be drawn off."""
    motifs, joints = _boards()
    return Design("boarded box", SHEET, NO_GROUP, motifs=motifs, joint_classes=joints)


def keyed_box(crossed: bool) -> Design:
    """Tie the box's sides by a key lapped over them from above, its boards by one from below.

    The two keys are lapped into each other as well. Either the upper key's slot is open below, and
    it comes out upwards first; or (crossed) it is open above, and each key holds the other in.
    """
    motifs, joints = _boards()
    upper = box(-130.0, 20.0, 130.0, 60.0).union(box(-30.0, -40.0, 30.0, 60.0))
    keys = (
        _standing("upper key", Y, 0.0, upper),
        _standing("lower key", X, 0.0, box(-80.0, -60.0, 80.0, -10.0)),
    )
    # Lines: Y x X = -z for the upper key's laps, X x Y = z for the lower key's.
    laps = (
        _lap("left lap", "upper key", "left", -30.0, 1),
        _lap("right lap", "upper key", "right", -30.0, 1),
        _lap("front lap", "lower key", "front", -17.5, 1),
        _lap("back lap", "lower key", "back", -17.5, 1),
        _lap("key lap", "upper key", "lower key", 25.0, -1 if crossed else 1),
    )
    return Design(
        "keyed box", SHEET, NO_GROUP, motifs=(*motifs, *keys), joint_classes=(*joints, *laps)
    )


def three_planks() -> Design:
    """Three L-shaped planks square to each other, lapped along z, along x and along y."""
    bent = box(-100.0, 40.0, 50.0, 100.0).union(box(-100.0, -10.0, -40.0, 100.0))
    low = box(-100.0, -100.0, 50.0, -40.0).union(box(-100.0, -100.0, -40.0, 50.0))
    motifs = (
        _standing("x", X, 20.0, bent),
        _standing("y", Y, 20.0, bent),
        _standing("z", Z, 20.0, low),
    )
    laps = (
        _lap("xy", "x", "y", 70.0, 1),
        _lap("yz", "y", "z", -70.0, 1),
        _lap("zx", "z", "x", -70.0, 1),
    )
    return Design("three planks", SHEET, NO_GROUP, motifs=motifs, joint_classes=laps)


def rotor(fold: int, tilt_deg: float, long: float = 300.0, sheet: Sheet | None = None) -> Design:
    """Straight boards round an axis, each with its tab in the next.

    tilt_deg : of their normals above the plane square to the axis; atan(1/sqrt 2) makes three of
        them square to each other
    long : mm from slot to tab along each board
    """
    turn = Rotation.from_euler("z", 360.0 / fold, degrees=True).as_matrix()
    tilt = np.radians(tilt_deg)
    normal = np.array([np.cos(tilt), 0.0, np.sin(tilt)])
    line = np.cross(normal, turn @ normal)
    line /= np.linalg.norm(line)
    rows = np.array([normal, turn @ normal, line])
    x_axis = np.array([0.0, 1.0, 0.0])
    axes = np.column_stack([x_axis, np.cross(normal, x_axis)])

    def ends(offset: float) -> tuple[Floats, Floats]:
        foot = np.linalg.solve(rows, [offset, offset, 0.0])
        return foot @ axes, (turn.T @ foot) @ axes

    tab, slot = ends(1.0)
    offset = long / float(np.linalg.norm(tab - slot))
    tab, slot = ends(offset)
    start = slot + (slot - tab) / long * 40.0
    motif = MotifChoice(
        "board",
        tuple(normal.tolist()),
        offset,
        tuple(x_axis.tolist()),
        path=(tuple(start.tolist()), tuple(tab.tolist())),
        width=40.0,
    )
    return Design(
        "rotor",
        Sheet(3.0) if sheet is None else sheet,
        FrameChoice(2.0 * long, group=f"C{fold}"),
        motifs=(motif,),
        joint_classes=(
            JointClassChoice(
                "next", ("board", "board"), JointKind.TENON, turn=Turn(Z, 360.0 / fold)
            ),
        ),
        joints=JointSizes(tab_width=20.0, pin_diameter=3.0, pin_play=0.5, hole_play=0.2, web=3.0),
    )


def shared_when_pushed(build: Build, shifts: Floats) -> float:
    """Return the volume that plates share, mm3, when each is moved by its row of shifts (P, 3)."""
    solids, worlds = solids_of(build), worlds_of(build)
    worlds[:, :3, 3] += shifts
    pairs = combinations(range(len(solids)), 2)
    return sum(shared_volume(solids[i], worlds[i], solids[j], worlds[j]) for i, j in pairs)


def solids_of(build: Build) -> list[manifold3d.Manifold]:
    parts = [as_manifold(part.outline, part.thickness) for part in build.parts]
    return [parts[plate.part] for plate in build.plates]


def worlds_of(build: Build) -> Floats:
    return np.array([plate.world_from_part for plate in build.plates])


def least_groups(
    build: Build, ways: Sequence[Sequence[float]]
) -> set[tuple[frozenset[int], tuple[float, ...]]]:
    """Return all least groups of plates that can be pushed along a way, the others standing.

    Found by trying all groups of all plates, with nothing but solids.
    """
    solids, worlds = solids_of(build), worlds_of(build)
    count = len(solids)
    found: set[tuple[frozenset[int], tuple[float, ...]]] = set()
    for way in ways:
        blocked = np.zeros((count, count), dtype=bool)
        for i in range(count):
            pushed = worlds[i].copy()
            pushed[:3, 3] += PUSH * np.asarray(way)
            for j in range(count):
                if i != j:
                    shared = shared_volume(solids[i], pushed, solids[j], worlds[j])
                    blocked[i, j] = shared > SHARED
        free: list[frozenset[int]] = []
        for size in range(1, count):
            for group in combinations(range(count), size):
                rest = [k for k in range(count) if k not in group]
                if not blocked[np.ix_(group, rest)].any():
                    free.append(frozenset(group))
        found |= {(g, tuple(way)) for g in free if not any(one < g for one in free)}
    return found
