# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Modules for a sculpture without symmetry: its graph of plates and joints is cut where it is thin.

Few joints between modules, each module in one piece, none too large or too heavy to be carried.
To find the least cut is hard for large graphs (Garey, Johnson and Stockmeyer, Some simplified
NP-complete graph problems, Theor. Comput. Sci. 1, 1976), so several starts are improved plate by
plate, by the moves of Fiduccia and Mattheyses (A linear-time heuristic for improving network
partitions, 19th Design Automation Conf., 1982): the best plate moves even if that costs a joint, no
plate twice, and the best that was seen on the way is kept.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from scipy.sparse import csgraph, csr_array
from shapely import Polygon

from ..joints.table import JointTable
from ..plates.orbits import Orbits

__all__ = ["Limits", "Pieces", "cut", "partition", "span"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_STARTS = 6  # places from which modules are grown
_PATIENCE = 30  # moves without a gain after which a pass is given up
_ALIKE = 0.9  # cosine between the ways of joints that may open in one move
_UNEVEN = 1.3  # the largest module may have so many times its even share of plates


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """The plates as they are carried.

    ends : (J, 2) int, the two plates of each joint
    centres : (P, 3) mm, and radii : (P,) mm, of a ball round each; mass : (P,) kg
    out : (J, 3) unit vectors, the way that the first plate leaves the second
    """

    ends: Ints
    centres: Floats
    radii: Floats
    mass: Floats
    out: Floats

    def __len__(self) -> int:
        """Return the number of plates."""
        return len(self.mass)

    @classmethod
    def of(
        cls,
        outlines: Sequence[Polygon],
        thickness: float,
        density: float,
        orbits: Orbits,
        joints: JointTable,
    ) -> Pieces:
        """Measure finished outlines, one for each motif; thickness mm, density kg/m3."""
        circles = [shapely.minimum_bounding_circle(outline) for outline in outlines]
        middles = np.array([[*circle.centroid.coords[0], 0.0, 1.0] for circle in circles])
        radii = np.array([shapely.minimum_bounding_radius(outline) for outline in outlines])
        masses = np.array([outline.area for outline in outlines]) * thickness * density * 1e-9
        centres = np.einsum("pij,pj->pi", orbits.transforms, middles[orbits.motif])[:, :3]
        return cls(
            np.column_stack([joints.first, joints.second]).astype(np.intp).reshape(-1, 2),
            centres,
            np.hypot(radii, thickness / 2)[orbits.motif],
            masses[orbits.motif],
            -joints.insertion.reshape(-1, 3),
        )


@dataclass(frozen=True, slots=True)
class Limits:
    """What a module may be.

    least, most : plates; size : mm, diameter of a ball round it; weight : kg
    """

    least: int
    most: int
    size: float = math.inf
    weight: float = math.inf

    @classmethod
    def even(
        cls, plates: int, modules: int, size: float = math.inf, weight: float = math.inf
    ) -> Limits:
        """Return limits that leave a little room about the even share."""
        share = plates / modules
        return cls(max(1, math.floor(share / _UNEVEN)), math.ceil(share * _UNEVEN), size, weight)


def partition(pieces: Pieces, modules: int, limits: Limits) -> Ints | None:
    """Return the module of each plate, (P,) int from 0 without gaps; None if none was found.

    Of the cuts found the one with the fewest joints between modules is taken, then the one whose
    modules can best be moved in along one way, then the most even one. Equal input gives equal
    output.

    modules : how many; where the plates are not all joined there are at least as many as pieces
    """
    loose = csgraph.connected_components(_graph(len(pieces), pieces.ends), directed=False)[0]
    modules = min(max(modules, loose), len(pieces))
    best: tuple[tuple[float, ...], Ints] | None = None
    for start in _starts(pieces, modules, limits):
        found = _improved(pieces, start, modules, limits)
        if found is None:
            continue
        sizes = np.bincount(found, minlength=modules)
        rank = (cut(pieces.ends, found), _crossways(pieces, found), float(sizes.std()))
        if best is None or rank < best[0]:
            best = rank, found
    if best is None:
        return None
    _, compact = np.unique(best[1], return_inverse=True)
    return compact.reshape(-1).astype(np.intp)


def cut(ends: Ints, module: Ints) -> int:
    """Return how many joints lie between modules."""
    return int((module[ends[:, 0]] != module[ends[:, 1]]).sum())


def _graph(count: int, ends: Ints) -> csr_array:
    return csr_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(count, count))


def _crossways(pieces: Pieces, module: Ints) -> float:
    """Return how many joints between modules do not open along the best way out of a module."""
    between = np.flatnonzero(module[pieces.ends[:, 0]] != module[pieces.ends[:, 1]])
    home = module[pieces.ends[between].T.ravel()]
    ways = np.concatenate([pieces.out[between], -pieces.out[between]])
    off = 0
    for m in np.unique(home):
        mine = ways[home == m]
        off += len(mine) - int((mine @ mine.T > _ALIKE).sum(axis=0).max())
    return float(off)


# ---------------------------------------------------------------- starts


def _starts(pieces: Pieces, modules: int, limits: Limits) -> Iterator[Ints]:
    """Yield first partitions: grown from seeds far apart, and one from small ones merged."""
    near = _neighbours(pieces)
    graph = _graph(len(pieces), pieces.ends)
    hops = csgraph.shortest_path(graph, method="D", directed=False, unweighted=True)
    hops[~np.isfinite(hops)] = 10.0 * len(pieces)
    first = np.argsort(-hops.sum(axis=0), kind="stable")
    picks = np.unique(np.linspace(0, len(pieces) - 1, _STARTS).astype(int))
    for seed in first[picks].tolist():
        yield _grown(pieces, near, _far_apart(hops, seed, modules), limits)
    yield _merged(pieces, modules, limits)


def _far_apart(hops: Floats, first: int, count: int) -> list[int]:
    """Return seeds, each as far as can be from those before it (Gonzalez 1985)."""
    seeds = [first]
    distance = hops[first].copy()
    while len(seeds) < count:
        distance[seeds] = -1.0
        seeds.append(int(distance.argmax()))
        distance = np.minimum(distance, hops[seeds[-1]])
    return seeds


def _grown(
    pieces: Pieces, near: list[dict[int, int]], seeds: Sequence[int], limits: Limits
) -> Ints:
    """Let modules grow from seeds, the smallest first, by the plate that it holds most."""
    module = np.full(len(pieces), -1, dtype=np.intp)
    members = [[seed] for seed in seeds]
    module[list(seeds)] = np.arange(len(seeds))
    growing = set(range(len(seeds)))
    while growing:
        m = min(growing, key=lambda one: (len(members[one]), one))
        edge: dict[int, int] = {}
        for p in members[m]:
            for q, joints in near[p].items():
                if module[q] < 0:
                    edge[q] = edge.get(q, 0) + joints
        order = sorted(edge, key=lambda q: (len(near[q]) - 2 * edge[q], q))
        taken = next((q for q in order if _carriable(pieces, [*members[m], q], limits)), None)
        if taken is None:
            growing.discard(m)
            continue
        module[taken] = m
        members[m].append(taken)
    while (module < 0).any():  # the limits left some out: the improvement may still find a way
        for p in np.flatnonzero(module < 0).tolist():
            homes = [int(module[q]) for q in near[p] if module[q] >= 0]
            if homes:
                module[p] = min(homes, key=lambda m: (len(members[m]), m))
                members[module[p]].append(p)
    return module


def _merged(pieces: Pieces, modules: int, limits: Limits) -> Ints:
    """Merge neighbours, those first that hold each other best for their size."""
    near = _neighbours(pieces)
    joints = [dict(one) for one in near]
    members = {p: [p] for p in range(len(pieces))}
    barred: set[tuple[int, int]] = set()
    while len(members) > modules:
        best: tuple[float, int, int] | None = None
        for a in members:
            for b, held in joints[a].items():
                size = len(members[a]) + len(members[b])
                if a > b or (a, b) in barred or size > limits.most:
                    continue
                rank = (held / (len(members[a]) * len(members[b])), -a, -b)
                if best is None or rank > best:
                    best = rank
        if best is None:
            break
        a, b = -best[1], -best[2]
        if not _carriable(pieces, members[a] + members[b], limits):
            barred.add((a, b))
            continue
        members[a] += members.pop(b)
        barred = {pair for pair in barred if a not in pair and b not in pair}
        for c, held in joints[b].items():
            del joints[c][b]
            if c != a:
                joints[a][c] = joints[c][a] = joints[a].get(c, 0) + held
    while len(members) > modules:  # the limits stopped it: break up the smallest
        least = min(members, key=lambda m: (len(members[m]), m))
        if not joints[least]:
            break
        into = max(joints[least], key=lambda m: (joints[least][m], -m))
        members[into] += members.pop(least)
        for c, held in joints[least].items():
            del joints[c][least]
            if c != into:
                joints[into][c] = joints[c][into] = joints[into].get(c, 0) + held
    module = np.zeros(len(pieces), dtype=np.intp)
    for number, plates in enumerate(members.values()):
        module[plates] = number
    return module


def _neighbours(pieces: Pieces) -> list[dict[int, int]]:
    """Return for each plate its neighbours and by how many joints it is held to each."""
    near: list[dict[int, int]] = [{} for _ in range(len(pieces))]
    for a, b in pieces.ends.tolist():
        if a != b:
            near[a][b] = near[a].get(b, 0) + 1
            near[b][a] = near[b].get(a, 0) + 1
    return near


def _carriable(pieces: Pieces, plates: Sequence[int], limits: Limits) -> bool:
    if len(plates) > limits.most or float(pieces.mass[list(plates)].sum()) > limits.weight:
        return False
    return not math.isfinite(limits.size) or span(pieces, plates) <= limits.size


def span(pieces: Pieces, plates: Sequence[int]) -> float:
    """Return the diameter (mm) of a ball round some plates, about the middle of their extent."""
    rows = list(plates)
    balls = pieces.centres[rows]
    middle = (balls.min(axis=0) + balls.max(axis=0)) / 2
    return 2.0 * float((np.linalg.norm(balls - middle, axis=1) + pieces.radii[rows]).max())


# ---------------------------------------------------------------- improvement


def _improved(pieces: Pieces, start: Ints, modules: int, limits: Limits) -> Ints | None:
    """Move plates between modules until no pass helps; None if the limits are not kept."""
    near = _neighbours(pieces)
    module = start.copy()
    kept = _kept(pieces, module, modules, limits)
    while True:
        better = _passed(pieces, near, module, modules, limits, kept)
        if better is None:
            break
        module, kept = better, True
    return module if kept else None


def _passed(
    pieces: Pieces,
    near: list[dict[int, int]],
    start: Ints,
    modules: int,
    limits: Limits,
    kept: bool,
) -> Ints | None:
    """Return a better partition from one pass of moves; None if there is none."""
    module = start.copy()
    held = np.zeros((len(pieces), modules), dtype=np.intp)
    for plate, neighbours in enumerate(near):
        for other, joined in neighbours.items():
            held[plate, module[other]] += joined
    count = np.bincount(module, minlength=modules)
    free = np.ones(len(pieces), dtype=bool)
    rows = np.arange(len(pieces))
    gained, vain = 0, 0
    best = 0.0 if kept else -math.inf
    found: Ints | None = None
    while vain < _PATIENCE:
        gain = held - held[rows, module][:, None]
        # One plate more or less than is allowed, on the way: else modules of fixed sizes are stuck.
        allowed = (held > 0) & free[:, None] & (count[None, :] <= limits.most)
        allowed[rows, module] = False
        allowed &= (count[module] > max(limits.least - 1, 1))[:, None]
        spots = np.argwhere(allowed)
        if not len(spots):
            break
        values = gain[spots[:, 0], spots[:, 1]]
        # Equal gains: from the fullest module into the emptiest.
        uneven = count[module[spots[:, 0]]] - count[spots[:, 1]]
        order = np.lexsort((spots[:, 0], -uneven, -values))
        ranked = [(int(p), int(m)) for p, m in spots[order].tolist()]
        pick = next(
            (spot for spot in ranked if _legal(pieces, near, module, *spot, limits)),
            None,
        )
        if pick is None:
            break
        p, m = pick
        gained += int(gain[p, m])
        old = int(module[p])
        module[p] = m
        count[old], count[m], free[p] = count[old] - 1, count[m] + 1, False
        for q, joints in near[p].items():
            held[q, old] -= joints
            held[q, m] += joints
        vain += 1
        if gained > best and _kept(pieces, module, modules, limits):
            best, found, vain = gained, module.copy(), 0
    return found


def _legal(
    pieces: Pieces, near: list[dict[int, int]], module: Ints, p: int, m: int, limits: Limits
) -> bool:
    """Tell whether a plate may move: its module stays in one piece, the other can be carried."""
    mates = [q for q in near[p] if module[q] == module[p]]
    if not mates:
        return False  # a module's last plate
    seen, queue = {mates[0]}, [mates[0]]
    wanted = set(mates)
    while queue and not wanted <= seen:
        for q in near[queue.pop()]:
            if q != p and q not in seen and module[q] == module[p]:
                seen.add(q)
                queue.append(q)
    if not wanted <= seen:
        return False
    if not (math.isfinite(limits.size) or math.isfinite(limits.weight)):
        return True
    plates = [*np.flatnonzero(module == m).tolist(), p]
    weight = float(pieces.mass[plates].sum())
    return weight <= limits.weight and (
        not math.isfinite(limits.size) or span(pieces, plates) <= limits.size
    )


def _kept(pieces: Pieces, module: Ints, modules: int, limits: Limits) -> bool:
    """Tell whether all modules are within the limits and in one piece."""
    count = np.bincount(module, minlength=modules)
    if len(count) != modules or count.min() < limits.least or count.max() > limits.most:
        return False
    inside = module[pieces.ends[:, 0]] == module[pieces.ends[:, 1]]
    whole = csgraph.connected_components(_graph(len(pieces), pieces.ends[inside]), directed=False)
    if whole[0] != modules:
        return False
    return all(
        _carriable(pieces, np.flatnonzero(module == m).tolist(), limits) for m in range(modules)
    )
