# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How far all must spread to stand apart: modules, and a crowd of unequal plates in one module.

Two convex bodies that are apart stay apart when each goes out from a point in proportion to its
distance from there: the plane that parts them parts their ways too. Bodies that reach through each
other, as a tab does through its slot, come apart once the spread is large enough.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from .bodies import body_of
from .explode_trial import Scattered
from .passing import Standing, overlapping

__all__ = ["modules_apart", "spread_ways"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_STEP = 1.1  # from one spread to the next one that is tried
_MOST = 30  # spreads that are tried
_SAME = 1e-6  # mm, that carried ways may differ by rounding


def spread_ways(plates: Scattered, turned: Floats, length: float) -> Floats:
    """Return the way (P, 3) mm of each plate, straight away from the middle of its module.

    All plates of a module keep the proportions of their places. The spread is the least, from that
    where plates go `length` mm on average, at which boxes round the plates of a module are apart.
    turned : (P, 3, 3), what turns the way of each motif's seed into the plate's
    """
    module, seeds = plates.module, plates.orbits.plate_of[:, 0]
    homes = np.array([plates.centroids[module == k].mean(axis=0) for k in range(module.max() + 1)])
    seed_ways = (plates.centroids - homes[module])[seeds]
    out: Floats = np.einsum("pij,pj->pi", turned, seed_ways[plates.orbits.motif])
    boxes = _Boxes.of(plates)
    i, k = np.triu_indices(len(module), 1)
    i, k = i[module[i] == module[k]], k[module[i] == module[k]]
    share = length / max(float(np.linalg.norm(out, axis=1).mean()), 1e-9)
    for _ in range(_MOST):
        if not len(boxes.meeting(i, k, share * (out[i] - out[k]), np.zeros((len(i), 3)))):
            break
        share *= _STEP
    return share * out


def modules_apart(plates: Scattered, away: Floats, own: Floats) -> float:
    """Return the least of some factors of `away` at which plates of unlike modules never meet.

    Each plate can go from its module to its own place while those of other modules are in either:
    so modules may be taken apart in any order.
    away : (M, 3) mm, the way of each module; own : (P, 3) mm, of each plate inside its module
    """
    module = plates.module
    boxes = _Boxes.of(plates)
    # Where equal plates go equally, one of each motif speaks for all.
    alike = _carried(plates, away[module]) and _carried(plates, own)
    first = plates.orbits.plate_of[:, 0] if alike else np.arange(len(module))
    i, k = np.nonzero(module[first][:, None] != module)
    i = first[i]
    standing: Standing | None = None
    times = 1.0
    for _ in range(_MOST):
        whole = times * away[module]
        hit = False
        for other in (whole, whole + own):
            start = whole[i] - other[k]
            rows = boxes.meeting(i, k, start, own[i])
            for row in rows[_unlike(plates, i[rows], k[rows], start[rows], own[i[rows]])].tolist():
                standing = _standing(plates) if standing is None else standing
                a, b = int(i[row]), int(k[row])
                if standing.blocker([a], [b], start[row], start[row] + own[a]) is not None:
                    hit = True
                    break
            if hit:
                break
        else:
            return times
        times *= _STEP
    return 1.0


def _carried(plates: Scattered, ways: Floats) -> bool:
    """Tell whether the ways (P, 3) of all plates are those of their seeds, turned as they are."""
    turns, seeds = plates.orbits.transforms[:, :3, :3], plates.orbits.plate_of[:, 0]
    own = np.einsum("pji,pj->pi", turns, ways)
    return bool(np.abs(own - own[seeds][plates.orbits.motif]).max(initial=0.0) < _SAME)


def _unlike(plates: Scattered, i: Ints, k: Ints, start: Floats, way: Floats) -> Ints:
    """Return one row of each kind: pairs of equal plates, placed alike, that move alike."""
    motif, poses = plates.orbits.motif, plates.orbits.transforms
    back = poses[i, :3, :3].transpose(0, 2, 1)
    shift = np.stack([poses[k, :3, 3] - poses[i, :3, 3], start, way], axis=2)
    seen = np.concatenate([back @ poses[k, :3, :3], back @ shift], axis=2).reshape(len(i), 18)
    names = np.column_stack([motif[i], motif[k], np.round(seen, 3) + 0.0])  # zeros lose their sign
    return np.sort(np.unique(names, axis=0, return_index=True)[1])


def _standing(plates: Scattered) -> Standing:
    bare = np.zeros((0, 2))
    bodies = [body_of(outline, plates.thickness, bare, ()) for outline in plates.outlines]
    return Standing.of([bodies[m] for m in plates.orbits.motif], plates.orbits.transforms)


@dataclass(frozen=True, slots=True, eq=False)
class _Boxes:
    """A box round each plate. middles : (P, 3) mm; halves : (P, 3, 3) half axes; reach : (P,)."""

    middles: Floats
    halves: Floats
    reach: Floats

    @classmethod
    def of(cls, plates: Scattered) -> _Boxes:
        """Lay a rectangle round each motif's outline and carry it to all plates."""
        centres, axes = [], []
        for outline in plates.outlines:
            ring = shapely.get_coordinates(shapely.oriented_envelope(outline))
            along, across = (ring[1] - ring[0]) / 2, (ring[3] - ring[0]) / 2
            centres.append([*(ring[0] + along + across), 0.0])
            axes.append([[*along, 0.0], [*across, 0.0], [0.0, 0.0, plates.thickness / 2]])
        motif, poses = plates.orbits.motif, plates.orbits.transforms
        turns = poses[:, :3, :3]
        middles = np.einsum("pij,pj->pi", turns, np.array(centres)[motif]) + poses[:, :3, 3]
        halves = np.einsum("pij,pkj->pki", turns, np.array(axes)[motif])
        return cls(middles, halves, np.sqrt((halves**2).sum(axis=(1, 2))))

    def meeting(self, i: Ints, k: Ints, start: Floats, way: Floats) -> Ints:
        """Return the rows of pairs whose boxes meet while i, moved by start, goes along way.

        start, way : (n, 3) mm, as k sees it
        """
        gap = self.middles[i] + start - self.middles[k]
        near = np.linalg.norm(gap + way / 2, axis=1) - np.linalg.norm(way, axis=1) / 2
        rows = np.flatnonzero(near < self.reach[i] + self.reach[k])
        gap = gap[rows]
        meet = overlapping(
            gap[:, None],
            self.halves[i[rows]],
            np.zeros_like(gap)[:, None],
            self.halves[k[rows]],
            way[rows],
        )
        return rows[meet]
