# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rings of plates that are linked like the links of a chain, and the fewest joints to leave open.

A ring runs from joint to joint inside its plates. Two linked rings cannot both be closed before
they meet: one joint of the two at least must wait. To leave the fewest joints waiting is a hitting
set, solved here by integer programming, with a lower bound beside it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from scipy.optimize import Bounds, LinearConstraint, milp
from shapely import Point, Polygon

from ..results import Build
from .linking import linking_numbers

__all__ = ["LeftOpen", "Link", "Ring", "fewest_open", "links_of", "rings_of"]

Floats = npt.NDArray[np.float64]
Routes = dict[tuple[float, ...], Floats]


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A closed ring of plates: the k-th joint holds the k-th plate and the next one.

    points : (n, 3) mm, a closed polygon inside the plates
    """

    plates: tuple[int, ...]
    joints: tuple[int, ...]
    points: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Link:
    """Two rings without a common plate, and how often they are linked (with its sign)."""

    first: Ring
    second: Ring
    number: int


@dataclass(frozen=True, slots=True)
class LeftOpen:
    """Joints that break every link when they wait; no choice has fewer than `bound` of them."""

    joints: tuple[int, ...]
    bound: int


def rings_of(build: Build, plates: Sequence[int], routes: Routes | None = None) -> list[Ring]:
    """Return a basis of the rings that some plates make: short ones first.

    Every other ring is a sum of these, and linking numbers add up with them.
    routes : remembered from call to call where several sets of plates are asked for
    """
    known = {} if routes is None else routes
    inside = set(plates)
    joints = [j for j, one in enumerate(build.joints) if inside.issuperset(one.plates)]
    ends = {j: build.joints[j].plates for j in joints}
    found = {tuple(sorted(ring)): ring for j in joints if (ring := _shortest(ends, j))}
    found |= {tuple(sorted(ring)): ring for ring in _of_tree(ends, plates)}
    basis: dict[int, int] = {}
    rings = []
    for ring in sorted(found.values(), key=len):
        bits = sum(1 << joint for joint in ring)
        while bits and bits.bit_length() in basis:
            bits ^= basis[bits.bit_length()]
        if bits:
            basis[bits.bit_length()] = bits
            rings.append(_ring(build, ring, known))
    return rings


def links_of(build: Build) -> list[Link]:
    """Return all links between rings of different modules, and of rings inside one module."""
    routes: Routes = {}
    rings = [ring for module in build.modules for ring in rings_of(build, module.plates, routes)]
    found = []
    for k, ring in enumerate(rings):
        for other in rings[k + 1 :]:
            if set(ring.plates).isdisjoint(other.plates):
                number = round(float(linking_numbers(ring.points, other.points[None])[0]))
                if number:
                    found.append(Link(ring, other, number))
    return found


def fewest_open(links: Sequence[Link]) -> LeftOpen:
    """Return the fewest joints such that each link has one of them in one of its two rings."""
    joints = sorted({j for link in links for j in (*link.first.joints, *link.second.joints)})
    if not joints:
        return LeftOpen((), 0)
    place = {joint: k for k, joint in enumerate(joints)}
    holds = np.zeros((len(links), len(joints)))
    for row, link in enumerate(links):
        holds[row, [place[j] for j in (*link.first.joints, *link.second.joints)]] = 1.0
    answer = milp(
        np.ones(len(joints)),
        integrality=np.ones(len(joints)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(holds, lb=1.0),
        options={"time_limit": 5.0},
    )
    if answer.x is None:  # out of time before anything was found: all of them will do
        return LeftOpen(tuple(joints), 1)
    taken = tuple(joint for joint, x in zip(joints, answer.x, strict=True) if x > 0.5)
    bound = answer.mip_dual_bound
    return LeftOpen(taken, int(np.ceil(float(bound) - 1e-6)) if bound is not None else 1)


def _shortest(ends: dict[int, tuple[int, int]], joint: int) -> list[int]:
    """Return the joints of a shortest ring through a joint, in order; none if there is none."""
    start, goal = ends[joint]
    before: dict[int, tuple[int, int]] = {start: (-1, -1)}
    queue = deque([start])
    neighbours: dict[int, list[tuple[int, int]]] = {}
    for j, (a, b) in ends.items():
        neighbours.setdefault(a, []).append((j, b))
        neighbours.setdefault(b, []).append((j, a))
    while queue and goal not in before:
        plate = queue.popleft()
        for j, other in neighbours[plate]:
            if j != joint and other not in before:
                before[other] = (j, plate)
                queue.append(other)
    if goal not in before:
        return []
    ring, plate = [joint], goal
    while plate != start:
        j, plate = before[plate]
        ring.append(j)
    return ring


def _of_tree(ends: dict[int, tuple[int, int]], plates: Sequence[int]) -> list[list[int]]:
    """Return the rings that each joint beside a spanning forest closes: they span all rings."""
    parent = {plate: plate for plate in plates}

    def root(plate: int) -> int:
        while parent[plate] != plate:
            plate = parent[plate]
        return plate

    forest: dict[int, tuple[int, int]] = {}
    rings = []
    for joint, (a, b) in ends.items():
        if root(a) != root(b):
            parent[root(a)] = root(b)
            forest[joint] = (a, b)
    for joint, pair in ends.items():
        if joint not in forest:
            rings.append(_shortest({**forest, joint: pair}, joint))
    return rings


def _ring(build: Build, joints: Sequence[int], routes: Routes) -> Ring:
    """Run a polygon from joint to joint inside the plates."""
    plates = []
    for k, joint in enumerate(joints):
        other = build.joints[joints[(k + 1) % len(joints)]].plates
        common = [p for p in build.joints[joint].plates if p in other]
        # Two joints of the same two plates: through one plate there, through the other back.
        plates.append(common[k % 2] if len(common) == 2 else common[0])
    points = []
    for k, joint in enumerate(joints):
        start, end = build.joints[joint].centre, build.joints[joints[(k + 1) % len(joints)]].centre
        points.append(start[None])
        points.append(_route(build, plates[k], start, end, routes))
    return Ring(tuple(plates), tuple(joints), np.concatenate(points))


def _route(build: Build, plate: int, start: Floats, end: Floats, routes: Routes) -> Floats:
    """Return points (n, 3) from one place in a plate to another, inside its outline.

    routes : those known in the planes of parts, by part and ends to 0.1 mm; added to
    """
    world = build.plates[plate].world_from_part
    ends = (np.array([start, end]) - world[:3, 3]) @ world[:3, :2]
    part = build.plates[plate].part
    key = (part, *np.round(ends, 1).ravel().tolist())
    if key not in routes:
        routes[key] = _flat_route(build.parts[part].outline, ends)
    inside: Floats = routes[key] @ world[:3, :2].T + world[:3, 3]
    return inside


def _flat_route(outline: Polygon, ends: Floats) -> Floats:
    """Return points (n, 2) from one place in an outline to another, inside it."""
    # What fills a slot belongs to the ring too, so slots at the joints are no holes for it.
    holes = [
        ring
        for ring in outline.interiors
        if all(Polygon(ring).distance(Point(place)) > 1e-3 for place in ends)
    ]
    sheet = Polygon(outline.exterior, holes)
    triangles = list(shapely.constrained_delaunay_triangles(sheet).geoms)
    first, last = (
        int(np.argmin([triangle.distance(Point(place)) for triangle in triangles]))
        for place in ends
    )
    corners = np.array([np.round(shapely.get_coordinates(t)[:3], 9) for t in triangles])
    shared: dict[frozenset[tuple[float, float]], list[int]] = {}
    for k, triangle in enumerate(corners):
        for side in range(3):
            edge = frozenset((tuple(triangle[side]), tuple(triangle[(side + 1) % 3])))
            shared.setdefault(edge, []).append(k)
    before: dict[int, tuple[int, Floats]] = {first: (-1, np.zeros(2))}
    queue = deque([first])
    sides: dict[int, list[tuple[int, Floats]]] = {}
    for edge, owners in shared.items():
        if len(owners) == 2:
            middle = np.array(list(edge)).mean(axis=0)
            for one, two in (owners, owners[::-1]):
                sides.setdefault(one, []).append((two, middle))
    while queue and last not in before:
        here = queue.popleft()
        for other, middle in sides.get(here, ()):
            if other not in before:
                before[other] = (here, middle)
                queue.append(other)
    route = []
    here = last
    while here in before and here != first:
        here, middle = before[here]
        route.append(middle)
    return np.array(route[::-1]).reshape(-1, 2)
