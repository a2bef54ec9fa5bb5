# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where all plates stand while an exploded view opens, and what was found on the way so far."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..results import Build, Snag
from .explode_room import Room

__all__ = ["Moves", "Stage", "lengths", "place_on"]

Floats = npt.NDArray[np.float64]
Pair = tuple[int, int]
#: Bodies that move at the same time, each with its path (k, 3).
Moves = list[tuple[Sequence[int], Floats]]

_PINS = 0.25  # of a body's share of the factor: its pins are drawn before it moves


@dataclass(slots=True)
class Stage:
    """Where everything stands by now, and what was found so far.

    at : (P, 3) mm, displacement of each plate; keys : of each plate, rows [factor, x, y, z]
    """

    build: Build
    room: Room
    reach: float
    at: Floats
    keys: list[list[Floats]]
    snags: dict[Pair, Snag]

    def record(self, rounds: Sequence[Moves], low: float, high: float) -> None:
        """Note rounds of moves between two factors, one round after another; first the pins go.

        rounds : of each the bodies that move at the same time, with their paths (k, 3)
        """
        for number, moves in enumerate(rounds):
            begin, end = _slot(number, len(rounds), low, high)
            for plates, path in moves:
                run = (1.0 - _PINS) * (end - begin) * (1.0 - lengths(path))
                rows = np.column_stack([np.append(begin, end - run), [path[0], *path]])
                for plate in plates:
                    self.keys[plate] += list(rows)

    def go(self, plates: Sequence[int], path: Floats) -> None:
        """Let plates stand at the end of a path."""
        self.at[list(plates)] = path[-1]


def _slot(k: int, count: int, low: float, high: float) -> tuple[float, float]:
    """Return from which factor to which the k-th of so many bodies moves, between two tenths.

    At the tenths, where pictures are taken, all is at rest: no move goes on beyond one.
    """
    tenths = round(10 * (high - low))
    tenth = k * tenths // count
    first, after = (-(-t * count // tenths) for t in (tenth, tenth + 1))
    here = max(after - first, 1)
    begin = low + (tenth + (k - first) / here) / 10
    return begin, begin + 0.1 / here


def lengths(path: Floats) -> Floats:
    """Return the share of its length at which a path reaches each corner, (k,) from 0 to 1."""
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    shares: Floats = run / run[-1] if run[-1] > 0.0 else np.linspace(0.0, 1.0, len(run))
    return shares


def place_on(path: Floats, shares: Floats) -> Floats:
    """Return where a path is at shares of its length, (n, 3)."""
    known = lengths(path)
    return np.column_stack([np.interp(shares, known, path[:, axis]) for axis in range(3)])
