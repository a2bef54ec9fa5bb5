# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""How bodies hang together by their joints: which are needed for it, how far each is away."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order

from .grips import Grips

__all__ = ["layers_from", "needed"]


def needed(count: int, ends: npt.NDArray[np.intp]) -> set[int]:
    """Return the nodes of a graph without which it falls into more pieces (Tarjan, Hopcroft)."""
    neighbours: list[list[int]] = [[] for _ in range(count)]
    for a, b in ends.tolist():
        if a != b:
            neighbours[a].append(b)
            neighbours[b].append(a)
    entered = [-1] * count
    lowest = [0] * count
    found: set[int] = set()
    clock = 0
    for root in range(count):
        if entered[root] >= 0:
            continue
        entered[root] = lowest[root] = clock
        clock += 1
        branches = 0
        stack = [(root, -1, iter(neighbours[root]))]
        while stack:
            node, before, left = stack[-1]
            step = next(left, None)
            if step is None:
                stack.pop()
                if before >= 0:
                    lowest[before] = min(lowest[before], lowest[node])
                    if before != root and lowest[node] >= entered[before]:
                        found.add(before)
            elif entered[step] < 0:
                branches += node == root
                entered[step] = lowest[step] = clock
                clock += 1
                stack.append((step, node, iter(neighbours[step])))
            elif step != before:
                lowest[node] = min(lowest[node], entered[step])
        if branches > 1:
            found.add(root)
    return found


def layers_from(grips: Grips, plates: Sequence[int], start: int) -> dict[int, int]:
    """Return of each plate how many joints away from the start it is; unreachable ones last."""
    count = len(grips.standing.bodies)
    there = np.zeros(count, dtype=bool)
    there[list(plates)] = True
    kept = grips.plates[there[grips.plates].all(axis=1)]
    graph = coo_array((np.ones(len(kept)), (kept[:, 0], kept[:, 1])), shape=(count, count)).tocsr()
    order, before = breadth_first_order(graph, start, directed=False)
    steps = {start: 0}
    for plate in order[1:].tolist():
        steps[plate] = steps[int(before[plate])] + 1
    return {plate: steps.get(plate, count) for plate in plates}
