# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Two planes that cross anywhere in space, for tests of single joints; the judge's word on them.

Plates are drawn in coordinates of their own: the way across the line in which the planes cross, and
the place along it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from pinwright.core.design.model import MotifChoice
from pinwright.core.export.build_json import build_json
from pinwright.core.results import Build
from tests.judge import judge

__all__ = ["Crossing", "assert_sound", "least_tab"]

Floats = npt.NDArray[np.float64]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Crossing:
    """Two planes n . x = h and m . x = k that cross at an angle, turned and moved at random.

    across : unit vectors in the two planes, square to the line; feet : (2,) mm, where the line's
    point nearest to the origin lies along them
    """

    normals: tuple[Floats, Floats]
    offsets: tuple[float, float]
    line: Floats
    across: tuple[Floats, Floats]
    feet: tuple[float, float]

    @classmethod
    def of(cls, angle: float, seed: int) -> Crossing:
        rng = np.random.default_rng(seed)
        turn = Rotation.random(random_state=seed).as_matrix()
        tilt = np.radians(angle if rng.random() < 0.5 else 180.0 - angle)
        n, m = turn[:, 2], turn @ np.array([np.sin(tilt), 0.0, np.cos(tilt)])
        h, k = rng.uniform(-80.0, 80.0, 2)
        line = np.cross(n, m) / np.linalg.norm(np.cross(n, m))
        point = np.linalg.solve(np.array([n, m, line]), [h, k, 0.0])
        across = (np.cross(line, n), np.cross(m, line))
        return cls((n, m), (h, k), line, across, (point @ across[0], point @ across[1]))

    def motif(self, which: int, name: str, corners: list[Point], **more: object) -> MotifChoice:
        """Return a motif; corners count from the line: (across it, along it) mm."""
        normal, foot = self.normals[which], self.feet[which]
        # x across, y = normal x across: along the line in the first plane, against it in the other.
        sense = 1.0 if which == 0 else -1.0
        points = tuple((float(foot + x), float(sense * y)) for x, y in corners)
        key = "path" if "width" in more else "outline"
        return MotifChoice(
            name,
            (float(normal[0]), float(normal[1]), float(normal[2])),
            float(self.offsets[which]),
            tuple(self.across[which].tolist()),
            **{key: points},
            **more,
        )


def assert_sound(built: Build, copies: int = 2, classes: int | None = None) -> None:
    """All of the build's own checks pass, and so does the judge."""
    failed = [(check.name, check.figure, check.where[:3]) for check in built.checks if not check.ok]
    assert not failed
    verdict = judge(json.loads(build_json(built)), copies=copies, classes=classes)
    assert verdict.sound, str(verdict)
    assert verdict.interference < 0.01, str(verdict)
    assert verdict.joints > 0


def least_tab(thickness: float) -> float:
    """Room for the pin's hole and a web on each side, at default sizes."""
    return min(max(thickness, 2.0), 8.0) + 0.2 + 2 * max(thickness, 2.0)
