# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Exploded offsets: where modules and plates stand at full explosion.

Modules move away from the centre. Inside a module equal plates go equally far, along ways that are
chosen once for each motif and carried round by the group: of the directions in which joints open,
those that keep the plates out of each other's way.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..design.model import ModuleChoice
from .explode_spread import modules_apart, spread_ways
from .explode_trial import HALTED, Scattered, Trial

__all__ = [
    "SPLIT",
    "Scattered",
    "clear_module_offsets",
    "module_offsets",
    "plate_offsets",
    "straight_ways",
]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: The factor at which the modules stand apart, whole; beyond it their plates part.
SPLIT = 0.6
#: Sums of unit vectors shorter than this point nowhere in particular.
_CANCELLED = 0.1
_ALIKE = 0.999  # cosine of two directions that are not worth trying both
_LENGTHS = (1.0, 1.5, 2.0, 3.0)  # times the chosen length, tried until no plates are stuck
_SOME = 12  # motifs in a module that are still tried; beyond, all spread out from the middle
_FAR = (1.0, 2.0, 3.0, 5.0, 8.0, 11.0, 14.0)  # times the chosen length
_MOST = 4  # motifs in a module: beyond, each plate's own joints say its way, only lengths are tried


def module_offsets(choice: ModuleChoice, radius: float, centroids: Floats, module: Ints) -> Floats:
    """Return the way of each module at full explosion, (M, 3) mm: straight out from the centre.

    The only module stays where it is.
    radius : of the frame, mm; centroids : (P, 3) of the plates, mm; module : (P,) of each plate
    """
    if not module.any():
        return np.zeros((1, 3))
    return choice.explode * radius * _unit(_middles(centroids, module), 1e-6 * radius)


def clear_module_offsets(
    choice: ModuleChoice, radius: float, plates: Scattered, own: Floats
) -> Floats:
    """Return the way of each module, (M, 3) mm: longer than was chosen where modules would meet.

    own : (P, 3) mm, the way of each plate inside its module (see `plate_offsets`)
    """
    away = module_offsets(choice, radius, plates.centroids, plates.module)
    return modules_apart(plates, away, own) * away if away.any() else away


def plate_offsets(choice: ModuleChoice, radius: float, plates: Scattered) -> Floats:
    """Return the way of each plate inside its module at full explosion, (P, 3) mm.

    Of a motif's plate that stands in a module the directions are tried in which its joints there
    open, alone and two together, its normal, and the way from the module's middle. A choice costs
    something for each pair of plates that would share room while all plates of the module move at
    once, straight; it is made motif by motif, the others held, until none changes. All ways are
    equally long, so equal plates end at equal distances. Where many motifs share a module, all
    spread out from its middle instead.
    radius : of the frame, mm
    """
    length = choice.explode_plates * radius
    seeds = plates.orbits.plate_of[:, 0]
    carrier = _carriers(plates)
    crowd = max(len(set(plates.orbits.motif[plates.module == k])) for k in plates.module[seeds])
    turned = plates.group.matrices[carrier]
    if length > 0.0 and crowd > _SOME:
        return spread_ways(plates, turned, length)
    directions = [_directions(plates, m, int(seed), radius) for m, seed in enumerate(seeds)]
    seed_ways = _tried(plates, carrier, directions, length, crowd)
    ways: Floats = np.einsum("pij,pj->pi", turned, seed_ways[plates.orbits.motif])
    return ways


def _tried(
    plates: Scattered, carrier: Ints, directions: list[Floats], length: float, crowd: int
) -> Floats:
    """Return the way (M, 3) mm of each motif's seed along one of its directions."""
    chosen = np.zeros(len(directions), dtype=np.intp)
    if length > 0.0:
        if crowd <= _MOST:
            trial, tried = Trial(plates, carrier, directions), []
            for times in _LENGTHS:
                chosen, cost = trial.best(times * length)
                tried.append((cost, times, chosen))
                if cost < HALTED:
                    break
            _, times, chosen = min(tried, key=lambda one: one[:2])
            length *= times
        else:
            trial = Trial(plates, carrier, [one[:1] for one in directions])
            tries = ((times, waiting) for waiting in (True, False) for times in _FAR)
            length *= next((t for t, waiting in tries if trial.clear(t * length, waiting)), 1.0)
    ways: Floats = length * np.array([directions[m][c] for m, c in enumerate(chosen)])
    return ways


def straight_ways(away: Floats, own: Floats, split: float | None = SPLIT) -> Floats:
    """Return rows [factor, x, y, z] of plates (P, k, 4): modules first, then plates, all at once.

    away, own : (P, 3) mm, the ways of each plate's module, and its own
    split : the factor between the two; None: both at once, there is one module
    """
    factors = [0.0, 1.0] if split is None else [0.0, split, 1.0]
    ways = np.zeros((len(own), len(factors), 4))
    ways[:, :, 0] = factors
    ways[:, -1, 1:] = away + own
    if split is not None:
        ways[:, 1, 1:] = away
    return ways


def _carriers(plates: Scattered) -> Ints:
    """Return the element (P,) that carries each motif's seed to the plate, its module along.

    Several elements carry a seed to a plate that a turn carries onto itself; they may carry the
    module of the seed to different ones.
    """
    orbits, group, module = plates.orbits, plates.group, plates.module
    carrier = orbits.element.copy()
    for plate_of in orbits.plate_of:
        if len(np.unique(plate_of)) == group.order:
            continue
        home = np.flatnonzero(module == module[plate_of[0]])
        single = [p for p in home if (orbits.plate_of[orbits.motif[p]] == p).sum() == 1]
        home = np.array(single if single else home)
        image = orbits.plate_of[orbits.motif[home], group.product[:, orbits.element[home]]]
        for p in np.unique(plate_of).tolist():
            elements = np.flatnonzero(plate_of == p)
            along = (module[image[elements]] == module[p]).mean(axis=1)
            carrier[p] = elements[int(along.argmax())]
    return carrier


def _directions(plates: Scattered, motif: int, seed: int, radius: float) -> Floats:
    """Return unit vectors (c, 3) to try for the seed plate of a motif, the likeliest first."""
    joints, module = plates.joints, plates.module
    inside = module[joints.first] == module[joints.second]
    own = joints.insertion[inside & (joints.first == seed)]
    others = joints.insertion[inside & (joints.second == seed)]
    home = plates.centroids[module == module[seed]].mean(axis=0)
    off_middle = plates.centroids[seed] - home
    normal = plates.orbits.transforms[seed, :3, 2]
    # The plate draws its own tabs out, and lets go of those of its neighbors.
    wanted = [-own.sum(axis=0) + 0.5 * others.sum(axis=0), -own.sum(axis=0), others.sum(axis=0)]
    wanted += [*-own, *others]
    opening = [*-own, *others]
    wanted += [a + b for k, a in enumerate(opening) for b in opening[:k]]
    wanted += [off_middle, normal, -normal, off_middle + radius * 0.3 * _unit(home[None], 1e-9)[0]]
    fixed = _fixing(plates, motif, seed)
    found: list[Floats] = []
    for way in wanted:
        way = fixed @ way
        size = float(np.linalg.norm(way))
        if size < (_CANCELLED if way is not off_middle else 1e-6 * radius):
            continue
        if all(way @ other < _ALIKE * size for other in found):
            found.append(way / size)
    return np.array(found or [np.zeros(3)])


def _fixing(plates: Scattered, motif: int, seed: int) -> Floats:
    """Return the projection (3, 3) on the ways that stay when a turn carries plate and module."""
    orbits, group, module = plates.orbits, plates.group, plates.module
    elements = np.flatnonzero(orbits.plate_of[motif] == seed)
    home = np.flatnonzero(module == module[seed])
    image = orbits.plate_of[orbits.motif[home], group.product[elements][:, orbits.element[home]]]
    kept = elements[(module[image] == module[seed]).all(axis=1)]
    projection: Floats = group.matrices[kept].mean(axis=0)
    return projection


def _middles(centroids: Floats, module: Ints) -> Floats:
    """Return the mean (M, 3) of the plates' centroids in each module."""
    sums = np.zeros((int(module.max()) + 1, 3))
    np.add.at(sums, module, centroids)
    mean: Floats = sums / np.bincount(module)[:, None]
    return mean


def _unit(vectors: Floats, least: float) -> Floats:
    """Return rows (n, 3) at unit length; 0 for those that are not longer than `least`."""
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.where(length > least, vectors / np.maximum(length, 1e-300), 0.0)
