# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A strip bent out of its plane over a tab: how far, how hard, and how near to its yield.

A sprung tenon goes home when the plate with the slot is bent back, square to its plane, until it
clears the tab's end: by

    deflection = (tab beyond the line + half band) x sin(angle between the planes)

which at 90 deg is the tab's engaged length, from its shoulder to its end. The plate with the tab
cannot help: the tab moves along its own plane, in which a sheet does not bend.

The strip is taken as a straight beam of its path's length, built in where it is fastened next:

    one side (cantilever):   F = 3 E I d / L^3             s = 3 E t d / (2 L^2)
    both sides (built in):   F = 3 E I d (a + b)^3 / (a b)^3    s = 3 E t d (a + b) / (2 a^2 b)

with I = w t^3 / 12, a <= b. Source: beam tables (Roark's, table 8.1, cases 1a and 1d, from memory);
the second turns into the first for b -> infinity. Left out, and why: holes and slots weaken the
strip at a place, curved strips twist, joints give a little. The first two make the sheet softer and
its stress higher by some tens of percent at most; the last lowers both.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from ..design.materials import material
from ..design.model import JointKind
from ..results import Build, Part
from .travel import in_part, travels

__all__ = ["HAND", "Beams", "Spring", "bent"]

Floats = npt.NDArray[np.float64]

#: What one hand presses for a few seconds without strain, N (common practice, no published source).
HAND = 50.0


@dataclass(frozen=True, slots=True)
class Spring:
    """One tenon closed by bending the plate with its slot.

    joint, plate : indices; the plate is the one that bends
    deflection : square to the plate, at the slot, mm
    lever, beyond : along the strip to the nearest fastened joint, and to the nearest on the other
        side (None: free there), mm
    from_joint : the nearest fastened joint; None: the plate is held in the hand at its far end
    force : at the slot, N; stress : at the clamped end, MPa; stress_ratio : to the sheet's yield
    hands : that press
    """

    joint: int
    plate: int
    deflection: float
    lever: float
    beyond: float | None
    from_joint: int | None
    force: float
    stress: float
    stress_ratio: float
    hands: int


def bent(
    modulus: float,
    width: float,
    thickness: float,
    deflection: float,
    lever: float,
    beyond: float | None = None,
) -> tuple[float, float]:
    """Return the force, N, and the greatest stress, MPa, of a beam bent at one place.

    modulus : Young's, MPa; lengths in mm; lever : to the clamped end; beyond : to a second one
    """
    inertia = width * thickness**3 / 12
    if beyond is None:
        return (
            3 * modulus * inertia * deflection / lever**3,
            3 * modulus * thickness * deflection / (2 * lever**2),
        )
    a, b = min(lever, beyond), max(lever, beyond)
    return (
        3 * modulus * inertia * deflection * (a + b) ** 3 / (a * b) ** 3,
        3 * modulus * thickness * deflection * (a + b) / (2 * a**2 * b),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Beams:
    """The plates of a build as beams: where their joints sit along them.

    at : for each plate its joints and their places: on a strip (1,) mm along its path; on another
        plate (2,) in the part's plane
    ends : for each part the places of its far ends, like `at`
    travel : (J,) along its insertion until each joint is free, mm
    deflection : (J,) that springs each joint, mm; nan for a cross-lap, which no bending opens: it
        slides along its line, which lies in both planes
    """

    build: Build
    modulus: float
    limit: float
    at: tuple[dict[int, Floats], ...]
    ends: tuple[Floats, ...]
    travel: Floats
    deflection: Floats

    @classmethod
    def of(cls, build: Build) -> Beams:
        """Measure all joints along their plates."""
        stock = material(build.design.sheet.material)
        at: tuple[dict[int, Floats], ...] = tuple({} for _ in build.plates)
        for number, joint in enumerate(build.joints):
            for plate in joint.plates:
                part = build.parts[build.plates[plate].part]
                at[plate][number] = _along(part, in_part(build, plate, joint.centre))
        travel = travels(build)
        angle = np.radians([joint.angle for joint in build.joints])
        tenon = np.array([joint.kind is JointKind.TENON for joint in build.joints], dtype=bool)
        return cls(
            build,
            stock.youngs_modulus_gpa * 1000.0,
            stock.yield_mpa,
            at,
            tuple(_ends(part) for part in build.parts),
            travel,
            np.where(tenon, travel * np.sin(angle), np.nan),
        )

    def spring(self, joint: int, fastened: Collection[int]) -> Spring | None:
        """Return what springing a tenon takes; None for a cross-lap.

        fastened : joints that are closed (the joint itself may be among them)
        """
        if np.isnan(self.deflection[joint]):
            return None
        plate = self.build.joints[joint].plates[1]
        part = self.build.parts[self.build.plates[plate].part]
        lever, beyond, nearest = self._lever(joint, plate, fastened)
        width = part.width if part.width is not None else _mean_width(part)
        deflection = float(self.deflection[joint])
        force, stress = bent(self.modulus, width, part.thickness, deflection, lever, beyond)
        hands = max(1, int(np.ceil(force / HAND)))
        return Spring(
            joint, plate, deflection, lever, beyond, nearest,
            force, stress, stress / self.limit, hands,
        )  # fmt: skip

    def _lever(
        self, joint: int, plate: int, fastened: Collection[int]
    ) -> tuple[float, float | None, int | None]:
        """Return the lever, the distance of the fastened joint on the other side, the nearest."""
        places = self.at[plate]
        here = places[joint]
        clamps = [k for k in places if k != joint and k in fastened]
        if not clamps:
            far = self.ends[self.build.plates[plate].part] - here
            return float(np.linalg.norm(far, axis=1).max()), None, None
        away = np.array([places[k] for k in clamps]) - here
        distance = np.maximum(np.linalg.norm(away, axis=1), 1e-6)
        nearest = int(distance.argmin())
        opposite = away @ away[nearest] < -0.5 * distance * distance[nearest]
        beyond = float(distance[opposite].min()) if opposite.any() else None
        return float(distance[nearest]), beyond, clamps[nearest]


def _along(part: Part, point: Floats) -> Floats:
    """Return the place of a point (2,) along a strip's path, (1,) mm; on other plates the point."""
    if part.path is None:
        return point
    start, step = part.path[:-1], np.diff(part.path, axis=0)
    length = np.linalg.norm(step, axis=1)
    share = np.clip(np.einsum("ij,ij->i", point - start, step) / length**2, 0.0, 1.0)
    off = np.linalg.norm(start + share[:, None] * step - point, axis=1)
    nearest = int(off.argmin())
    return np.array([length[:nearest].sum() + share[nearest] * length[nearest]])


def _ends(part: Part) -> Floats:
    """Return the two ends (2, 1) of a strip's path; of other plates the outline's corners."""
    if part.path is None:
        corners: Floats = shapely.get_coordinates(part.outline.exterior)
        return corners
    return np.array([[0.0], [np.linalg.norm(np.diff(part.path, axis=0), axis=1).sum()]])


def _mean_width(part: Part) -> float:
    """Return the area over the greatest length of a plate that is no strip, mm."""
    corners = shapely.get_coordinates(part.outline.convex_hull)
    apart = np.linalg.norm(corners[:, None] - corners[None], axis=2)
    return float(part.outline.area / apart.max())
