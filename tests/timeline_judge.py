# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""An independent judge of assembly films: solids of manifold3d at moments of the film.

Plates are extruded and placed by manifold3d, made slimmer by 0.03 mm on all sides (congruent
outlines are cut as one part when they agree to 0.01 mm). Two plates may share volume only while one
is planned to stand aside for the other, and only inside the zone about that joint.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

import manifold3d
import numpy as np
import numpy.typing as npt
import shapely

from pinwright.core.assembly.timeline import Timeline
from pinwright.core.results import Build, Step

__all__ = ["film_overlaps", "overlaps"]

Floats = npt.NDArray[np.float64]
SLIM = 0.03  # mm
NOISE = 1e-3  # mm3


def film_overlaps(build: Build, film: Timeline, moments: Iterable[float]) -> list[str]:
    """Return what is wrong in a film at these moments, s, in words."""
    marks = {mark.n: mark for mark in film.marks}

    def pose_of(plate: int, moment: float) -> Floats | None:
        track = film.plates[plate]
        if moment < track.times[0]:
            return None
        pose = track.pose(moment)
        pose[:3, 3] += film.lift.at(moment)[0]
        return pose

    def busy(step: int, moment: float) -> bool:
        return marks[step].start <= moment <= marks[step].landed + 1e-9

    return overlaps(build, build.steps, pose_of, busy, moments)


def overlaps(
    build: Build,
    steps: Iterable[Step],
    pose_of: Callable[[int, float], Floats | None],
    busy: Callable[[int, float], bool],
    moments: Iterable[float],
) -> list[str]:
    """Return what is wrong at these moments, in words.

    pose_of : displacement (4, 4) of a plate from its place at a moment; None: not seen
    busy : whether the step of this number is under way at a moment
    """
    solids = [_solid(part.outline, part.thickness) for part in build.parts]
    springs = [(step.n, spring) for step in steps for spring in step.springs]
    found = []
    for moment in moments:
        placed = {}
        for number, plate in enumerate(build.plates):
            pose = pose_of(number, moment)
            if pose is not None:
                world = (pose @ plate.world_from_part)[:3]
                placed[number] = solids[plate.part].transform(world)
        boxes = {k: np.array(solid.bounding_box()) for k, solid in placed.items()}
        allowed = {
            frozenset(build.joints[s.joint].plates): s for n, s in springs if busy(n, moment)
        }
        numbers = sorted(placed)
        low = np.array([boxes[k][:3] for k in numbers])
        high = np.array([boxes[k][3:] for k in numbers])
        for i, a in enumerate(numbers):
            near = (low[i] < high[i + 1 :]).all(axis=1) & (high[i] > low[i + 1 :]).all(axis=1)
            for b in (numbers[i + 1 + k] for k in np.flatnonzero(near)):
                shared = placed[a] ^ placed[b]
                if shared.volume() <= NOISE:
                    continue
                spring = allowed.get(frozenset((a, b)))
                if spring is not None:
                    still = build.joints[spring.joint].plates[1]
                    pose = pose_of(still, moment)
                    assert pose is not None
                    centre = (pose @ np.append(build.joints[spring.joint].centre, 1.0))[:3]
                    zone = manifold3d.Manifold.sphere(spring.zone + 1.0, 64).translate(centre)
                    if (shared - zone).volume() <= NOISE:
                        continue
                names = f"{build.plates[a].id} and {build.plates[b].id}"
                found.append(f"{moment:.3f} s: {names} share {shared.volume():.3g} mm3")
    return found


def _solid(outline: shapely.Polygon, thickness: float) -> manifold3d.Manifold:
    shape = outline.buffer(-SLIM, join_style="mitre")
    pieces = [one for one in shapely.get_parts(shape) if isinstance(one, shapely.Polygon)]
    rings = [
        np.asarray(ring.coords)[:-1]
        for piece in map(shapely.geometry.polygon.orient, pieces)
        for ring in (piece.exterior, *piece.interiors)
    ]
    high = thickness - 2 * SLIM
    solid = manifold3d.CrossSection(rings, manifold3d.FillRule.NonZero).extrude(high)
    return solid.translate([0.0, 0.0, -high / 2])
