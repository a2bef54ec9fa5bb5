# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A joint sprung in its surroundings: strips as a frame of beams that all give a little.

The beam formula of beams.py clamps the bent strip at the next fastened joint as if in rock. In
truth the plate there gives way too: a thin strip twists and bends more easily than a short lever.
So where the formula asks too much, the strips within some joints of the sprung one are taken as
beams of their section along their paths (Euler and Bernoulli; twist by Saint-Venant), fastened
joints as rigid, and what is farther away as clamped, which makes it stiffer than it is. The two
plates of the sprung joint are pressed apart along the slotted plate's normal until the tab is
clear; the stress is the greatest of all beams (bending both ways, pull and twist, von Mises).

Stiffness matrix of a beam in space: any textbook of matrix methods (Przemieniecki, Theory of Matrix
Structural Analysis, 1968, from memory). Small deflections are assumed; joints have no play.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from ..results import Build

__all__ = ["Strips", "beam_axes", "beam_stiffness", "displacements"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_PIECE = 60.0  # mm; a beam element is not longer than this where a path bends
_POISSON = 0.33  # of metals; wood and plastics twist a little more easily than this makes them
_SAME = 0.5  # mm along a path: nearer stations are one


@dataclass(frozen=True, slots=True, eq=False)
class _Strip:
    """One plate as a chain of beams: points (n, 3) world, mm; station of each of its joints."""

    points: Floats
    station: dict[int, int]
    normal: Floats
    width: float
    thickness: float


class Strips:
    """The plates of a build as chains of beams; made when they are asked for."""

    def __init__(self, build: Build, modulus: float) -> None:
        """Take a build; modulus : Young's, MPa."""
        self.build, self.modulus = build, modulus
        self.of_plate: list[list[int]] = [[] for _ in build.plates]
        for number, joint in enumerate(build.joints):
            for plate in joint.plates:
                self.of_plate[plate].append(number)
        self.known: dict[int, _Strip | None] = {}

    def spring(
        self, joint: int, deflection: float, fastened: Collection[int], hops: int
    ) -> tuple[float, float] | None:
        """Return force (N) and greatest stress (MPa) that part a joint's plates by `deflection`.

        fastened : joints that are closed; hops : joints away from which all is clamped
        None where a plate about the joint is no strip.
        """
        closed = set(fastened) - {joint}
        first, second = self.build.joints[joint].plates
        plates, clamped = self._about(first, second, closed, hops)
        strips = {plate: self._strip(plate) for plate in plates}
        chains = {plate: strip for plate, strip in strips.items() if strip is not None}
        if len(chains) < len(strips):
            return None
        node, count = self._numbered(chains, closed)
        held = {
            node[plate][chains[plate].station[k]]
            for plate in plates
            for k in self.of_plate[plate]
            if k in clamped
        }
        if not held:  # it floats: the forces are in balance, so any one place may be held
            held = {node[second][-1 if chains[second].station[joint] == 0 else 0]}
        ends, local, section = [], [], []
        for plate, strip in chains.items():
            step = np.diff(strip.points, axis=0)
            ends.append(np.column_stack([node[plate][:-1], node[plate][1:]]))
            local.append(beam_axes(step, strip.normal))
            section.append(
                np.column_stack(
                    [
                        np.linalg.norm(step, axis=1),
                        np.full(len(step), strip.width),
                        np.full(len(step), strip.thickness),
                    ]
                )
            )
        elements = np.concatenate(ends)
        axes, sizes = np.concatenate(local), np.concatenate(section)
        stiffness = beam_stiffness(sizes, self.modulus)
        push = chains[second].normal
        load = np.zeros(6 * count)
        at_first = node[first][chains[first].station[joint]]
        at_second = node[second][chains[second].station[joint]]
        load[6 * at_second : 6 * at_second + 3] += push
        load[6 * at_first : 6 * at_first + 3] -= push
        moved = displacements(elements, axes, stiffness, count, held, load)
        if moved is None:
            return None
        apart = float(
            (moved[6 * at_second : 6 * at_second + 3] - moved[6 * at_first : 6 * at_first + 3])
            @ push
        )
        if apart <= 0.0:
            return None
        force = deflection / apart
        return force, force * _stress(elements, axes, stiffness, sizes, moved)

    def near(self, joint: int, fastened: Collection[int], hops: int) -> frozenset[int]:
        """Return those of the fastened joints on which `spring` depends, without the joint."""
        closed = set(fastened) - {joint}
        plates, _ = self._about(*self.build.joints[joint].plates, closed, hops)
        return frozenset(k for plate in plates for k in self.of_plate[plate] if k in closed)

    def _about(
        self, first: int, second: int, closed: set[int], hops: int
    ) -> tuple[list[int], set[int]]:
        """Return the plates within some joints of a joint, and the joints at which they end."""
        inside = {first, second}
        edge = {first, second}
        for _ in range(hops):
            edge = {
                other
                for plate in edge
                for k in self.of_plate[plate]
                if k in closed
                for other in self.build.joints[k].plates
            } - inside
            inside |= edge
        ends = {
            k
            for plate in inside
            for k in self.of_plate[plate]
            if k in closed and not inside.issuperset(self.build.joints[k].plates)
        }
        return sorted(inside), ends

    def _numbered(self, chains: dict[int, _Strip], closed: set[int]) -> tuple[dict[int, Ints], int]:
        """Return the node of each station, and how many there are; a closed joint is one node."""
        first: dict[int, int] = {}
        total = 0
        for plate, strip in chains.items():
            first[plate] = total
            total += len(strip.points)
        tied: dict[int, list[int]] = {}
        for plate, strip in chains.items():
            for k, station in strip.station.items():
                if k in closed:
                    tied.setdefault(k, []).append(first[plate] + station)
        pairs = np.array([two for two in tied.values() if len(two) == 2]).reshape(-1, 2)
        graph = sparse.coo_array(
            (np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(total, total)
        )
        count, label = connected_components(graph, directed=False)
        node = {
            plate: label[first[plate] : first[plate] + len(strip.points)].astype(np.intp)
            for plate, strip in chains.items()
        }
        return node, int(count)

    def _strip(self, plate: int) -> _Strip | None:
        if plate not in self.known:
            self.known[plate] = self._made(plate)
        return self.known[plate]

    def _made(self, plate: int) -> _Strip | None:
        part = self.build.parts[self.build.plates[plate].part]
        if part.path is None or part.width is None:
            return None
        world = self.build.plates[plate].world_from_part
        step = np.diff(part.path, axis=0)
        length = np.linalg.norm(step, axis=1)
        along = np.concatenate([[0.0], np.cumsum(length)])
        places = {k: self._place(plate, k, part.path, step, along) for k in self.of_plate[plate]}
        wanted = np.concatenate([[0.0, along[-1]], np.array(list(places.values()), dtype=float)])
        wanted = np.unique(np.clip(wanted, 0.0, along[-1]))
        kept = [float(wanted[0])]
        for one in wanted[1:].tolist():
            if one - kept[-1] < _SAME:
                continue
            parts = int(np.ceil((one - kept[-1]) / _PIECE))
            kept += np.linspace(kept[-1], one, parts + 1)[1:].tolist()
        at = np.array(kept)
        flat = np.column_stack([np.interp(at, along, part.path[:, i]) for i in range(2)])
        points = flat @ world[:3, :2].T + world[:3, 3]
        station = {k: int(np.abs(at - place).argmin()) for k, place in places.items()}
        return _Strip(points, station, world[:3, 2], part.width, part.thickness)

    def _place(self, plate: int, joint: int, path: Floats, step: Floats, along: Floats) -> float:
        """Return how far along a strip's path a joint sits, mm."""
        world = self.build.plates[plate].world_from_part
        point = (self.build.joints[joint].centre - world[:3, 3]) @ world[:3, :2]
        from_start = point - path[:-1]
        share = np.clip((from_start * step).sum(axis=1) / (step**2).sum(axis=1), 0.0, 1.0)
        apart = np.linalg.norm(from_start - share[:, None] * step, axis=1)
        k = int(apart.argmin())
        return float(along[k] + share[k] * (along[k + 1] - along[k]))


def beam_stiffness(sizes: Floats, modulus: float) -> Floats:
    """Return stiffness matrices (n, 12, 12) of beams in their own axes: x along, z the normal.

    sizes : (n, 3) length, width (along y), thickness (along z), mm; modulus : MPa. Each end has
    three shifts and three turns.
    """
    length, width, thick = sizes.T
    shear = modulus / (2 * (1 + _POISSON))
    area = width * thick
    soft = width * thick**3 / 12  # out of the plane: about y
    stiff = thick * width**3 / 12  # in the plane: about z
    small, large = np.minimum(width, thick), np.maximum(width, thick)
    twist = large * small**3 * (1 - 0.63 * small / large) / 3
    k = np.zeros((len(sizes), 12, 12))
    for first, value in ((0, modulus * area / length), (3, shear * twist / length)):
        k[:, first, first] = k[:, first + 6, first + 6] = value
        k[:, first, first + 6] = k[:, first + 6, first] = -value
    for shift, turn, inertia, sign in ((1, 5, stiff, 1.0), (2, 4, soft, -1.0)):
        a = 12 * modulus * inertia / length**3
        b = sign * 6 * modulus * inertia / length**2
        c = 4 * modulus * inertia / length
        d = 2 * modulus * inertia / length
        rows = (shift, turn, shift + 6, turn + 6)
        block = np.array([[a, b, -a, b], [b, c, -b, d], [-a, -b, a, -b], [b, d, -b, c]])
        for i, row in enumerate(rows):
            for j, column in enumerate(rows):
                k[:, row, column] = block[i, j]
    return k


def beam_axes(steps: Floats, normal: Floats) -> Floats:
    """Return the axes (n, 3, 3) of beams as rows: along, in the plane, the plate's normal."""
    along = steps / np.linalg.norm(steps, axis=1)[:, None]
    up = np.broadcast_to(normal, along.shape)
    return np.stack([along, np.cross(up, along), up], axis=1)


def _spread(axes: Floats) -> Floats:
    """Return (n, 12, 12): both ends' shifts and turns from world axes to the beams' own."""
    full = np.zeros((len(axes), 12, 12))
    for k in range(4):
        full[:, 3 * k : 3 * k + 3, 3 * k : 3 * k + 3] = axes
    return full


def displacements(
    elements: Ints, axes: Floats, stiffness: Floats, count: int, held: set[int], load: Floats
) -> Floats | None:
    """Return how all nodes move, (6 count,); None where the frame falls apart."""
    turn = _spread(axes)
    world = turn.transpose(0, 2, 1) @ stiffness @ turn
    dof = (6 * elements[:, :, None] + np.arange(6)).reshape(len(elements), 12)
    rows = np.repeat(dof, 12, axis=1).ravel()
    columns = np.tile(dof, (1, 12)).ravel()
    matrix = sparse.csc_array((world.ravel(), (rows, columns)), shape=(6 * count, 6 * count))
    free = np.ones(6 * count, dtype=bool)
    for one in held:
        free[6 * one : 6 * one + 6] = False
    kept = np.flatnonzero(free)
    part = sparse.csc_matrix(matrix[kept][:, kept])
    # A billionth of its own stiffness holds what nothing fastens; such chains bear nothing.
    part = part + sparse.diags(1e-9 * part.diagonal())
    try:
        solved = splu(sparse.csc_matrix(part)).solve(load[kept])
    except RuntimeError:
        return None
    moved = np.zeros(6 * count)
    moved[kept] = solved
    return moved if np.isfinite(moved).all() else None


def _stress(elements: Ints, axes: Floats, stiffness: Floats, sizes: Floats, moved: Floats) -> float:
    """Return the greatest stress at any beam's end, MPa, where nodes have moved."""
    dof = (6 * elements[:, :, None] + np.arange(6)).reshape(len(elements), 12)
    own = (_spread(axes) @ moved[dof][:, :, None])[:, :, 0]
    force = np.abs((stiffness @ own[:, :, None])[:, :, 0]).reshape(-1, 2, 6)
    width, thick = sizes[:, 1, None], sizes[:, 2, None]
    normal = (
        force[:, :, 0] / (width * thick)
        + force[:, :, 4] / (width * thick**2 / 6)
        + force[:, :, 5] / (thick * width**2 / 6)
    )
    small, large = np.minimum(width, thick), np.maximum(width, thick)
    shear = force[:, :, 3] / (large * small**2 / 3)
    return float(np.sqrt(normal**2 + 3 * shear**2).max())
