# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Good candidates made better: offsets, places and width are moved a little by a general optimiser.

The normals stay, so every joint stays square. What is sought is the least of several figures, each
as a share of what is wanted of it, so that no one of them is bought with another.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, differential_evolution

from .geometry import Geometry
from .measure import Figures, Order, measure

__all__ = ["Goal", "Tuned", "improve", "quality"]

Floats = npt.NDArray[np.float64]

# How far the optimiser may move offsets and places, radii, and the width, as a share.
_REACH = 0.07
_WIDER, _NARROWER = 1.3, 0.85
_POPULATION, _ROUNDS, _STAGES = 20, 4, 3
_PROMISING, _ENOUGH = 0.55, 0.95


@dataclass(frozen=True, slots=True)
class Goal:
    """What is wanted.

    gap : distance of middle planes, as a share of the radius of the sculpture; width : of the
        strips, the same, None: wider is better
    """

    gap: float
    width: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Tuned:
    """The best candidate near a given one and its figures (see `measure.Figures`), one row."""

    offsets: Floats
    places: Floats
    width: float
    figures: Figures
    quality: float


def quality(figures: Figures, width: Floats, goal: Goal) -> Floats:
    """Return a number (S,) that is 1 where all that is wanted is there with a margin, less else.

    Below 0 a strip clashes, folds, or has its ports on top of each other.
    """
    gap = figures.gap / figures.reach / (1.6 * goal.gap)
    own = figures.own / figures.reach / (1.6 * goal.gap)
    shares = np.stack([gap, own, figures.bend / 0.5, (figures.apart - 1.2) / 0.5])
    shares = np.clip(shares, -1.0, 1.0)
    room = np.clip(figures.gap / figures.reach / (4 * goal.gap), 0.0, 1.0)
    # Roomier than needed, and sturdier, is better still, but never at the cost of the least share.
    sturdy = np.zeros(len(width)) if goal.width is not None else np.clip(width / 0.1, 0.0, 1.0)
    found: Floats = shares.min(axis=0) + 0.1 * shares.mean(axis=0) + 0.1 * room + 0.2 * sturdy
    return found


def improve(
    geometry: Geometry,
    order: Order,
    offsets: Floats,
    places: Floats,
    width: float,
    goal: Goal,
    seed: int,
) -> Tuned:
    """Improve one candidate with scipy's differential evolution, whole populations at a time.

    offsets : (M,); places : (C,); the result depends on nothing but the arguments
    """
    motifs, free_width = len(offsets), goal.width is None
    start = np.concatenate([offsets, places, [width] if free_width else []])

    def parts(x: Floats) -> tuple[Floats, Floats, Floats]:
        wide = x[:, -1] if free_width else np.full(len(x), width)
        return x[:, :motifs], x[:, motifs : motifs + len(places)], wide

    def cost(x: Floats) -> Floats:
        h, s, w = parts(x.T)
        return -quality(measure(geometry, order, h, s, w, 1.6 * goal.gap), w, goal)

    low, high = start - _REACH, start + _REACH
    fixed = motifs + np.array(geometry.pattern.laps, dtype=np.intp)  # laps lie on their axes
    low[fixed] = high[fixed] = 0.0
    if free_width:
        low[-1], high[-1] = _NARROWER * width, _WIDER * width
    rng = np.random.default_rng(seed)
    # Half of the population starts close by: good candidates lie in narrow places.
    spread = np.where(np.arange(_POPULATION) % 2, 1.0, 0.15)[:, None]
    crowd = start + spread * rng.uniform(-1, 1, (_POPULATION, len(start))) * (high - low) / 2
    crowd[0] = start
    crowd = np.clip(crowd, low, high)
    for _ in range(_STAGES):
        found = differential_evolution(
            cost,
            Bounds(low, high),
            init=crowd,
            maxiter=_ROUNDS,
            polish=False,
            vectorized=True,
            updating="deferred",
            mutation=(0.3, 0.9),
            recombination=0.8,
            tol=0.0,
            seed=rng,
        )
        crowd = found.population
        # What is far from its goal after the first rounds will not come there.
        if not _PROMISING < -found.fun < _ENOUGH:
            break
    best = found.x[None]
    h, s, w = parts(best)
    figures = measure(geometry, order, h, s, w, 1.6 * goal.gap)
    return Tuned(h[0], s[0], float(w[0]), figures, float(-found.fun))
