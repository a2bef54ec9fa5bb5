# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A strip on edge along every edge of any frame; round each vertex the strips form a rotor.

Near a vertex every strip is moved sideways by the same distance, so that all are tangent to one small
circle: each then runs past the vertex into its neighbour, and the next into it. With phi the angle
between two neighbours (seen along the vertex normal) their planes cross delta * tan(phi/2) beyond the
one's tangent point and as far before the other's.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...design.model import EdgeRotor, JointClassChoice, JointKind, MotifChoice, Turn
from ...errors import DesignError
from ...frame.frame import Frame
from ...fit.sizes import LEAST_ANGLE_DEG, Sizes
from ...fit.tenon import half_band, slot_width
from ..planes import SectionLine, section_line, to_plane, world_from_plane
from .recipe import Recipe

__all__ = ["edge_rotor"]

Floats = npt.NDArray[np.float64]
HalfEdge = tuple[int, int]  # (vertex, the vertex at the other end)


@dataclass(frozen=True, slots=True, eq=False)
class _Strip:
    """Plane of the strip on one edge (i, j), i < j."""

    normal: Floats
    offset: float


def edge_rotor(frame: Frame, chosen: EdgeRotor, sizes: Sizes) -> Recipe:
    """Put a strip on every edge, twisted into rotors at the vertices.

    Raises DesignError when the frame has no edges, or neighbours at a vertex stand at an angle that
    leaves less than 30 degrees between their planes.
    """
    if len(frame.vertices) == 0:
        raise DesignError(
            "frame.group", frame.group.name, "a solid or a mesh: edge rotors need edges",
            "Name a solid of the catalogue instead of a bare group.",
        )
    following = _following(frame, chosen.hand)
    shift = _shifts(frame, following, chosen, sizes)
    strips = _strips(frame, shift, chosen.hand)
    edges = [(int(i), int(j)) for i, j in frame.edges]
    index = {edge: n for n, edge in enumerate(edges)}
    seed, element = _seeds(frame, index)
    seeds = sorted(set(seed.tolist()))
    names = {n: f"edge-{k + 1}" for k, n in enumerate(seeds)}

    motifs, classes = [], []
    for n in seeds:
        i, j = edges[n]
        strip = strips[n]
        plane = world_from_plane(strip.normal, strip.offset)
        places = []
        for v, w in ((i, j), (j, i)):
            into = following[(v, w)]  # my tab at v goes into this neighbour's strip
            other = index[_sorted(v, into)]
            line, at = _joint(frame, strips, n, other, v)
            before = index[_sorted(v, _preceding(following, v, w))]
            slot_line, slot_at = _joint(frame, strips, before, n, v)
            places.append(
                (
                    to_plane(plane, line.point + at * line.direction),
                    to_plane(plane, slot_line.point + slot_at * slot_line.direction),
                )
            )
            axis, angle = frame.group.axis_angle_deg(int(element[other]))
            # The copy's normal may point against that of the strip as computed on the spot.
            carried = frame.group.matrices[element[other]] @ strips[seed[other]].normal
            sign = 1.0 if carried @ strips[other].normal > 0 else -1.0
            classes.append(
                JointClassChoice(
                    name=f"{names[n]}-at-{v + 1}",
                    motifs=(names[n], names[int(seed[other])]),
                    kind=JointKind.TENON,
                    at=float(at * sign),
                    turn=Turn((float(axis[0]), float(axis[1]), float(axis[2])), float(angle)),
                )
            )
        path = (places[0][0], places[0][1], places[1][1], places[1][0])
        motifs.append(
            MotifChoice(
                name=names[n],
                normal=(float(strip.normal[0]), float(strip.normal[1]), float(strip.normal[2])),
                offset=float(strip.offset),
                path=tuple((float(x), float(y)) for x, y in path),
                width=chosen.width,
                bend=chosen.bend,
                bend_radius=chosen.bend_radius,
            )
        )
    return Recipe(tuple(motifs), tuple(classes), frame.group)


def _sorted(i: int, j: int) -> tuple[int, int]:
    return (i, j) if i < j else (j, i)


def _following(frame: Frame, hand: int) -> dict[HalfEdge, int]:
    """For each half edge (v, w): the neighbour of v whose strip takes the tab of v-w."""
    following = {}
    for v, around in enumerate(frame.vertex_neighbours):
        for k, w in enumerate(around):
            following[(v, int(w))] = int(around[(k + hand) % len(around)])
    return following


def _preceding(following: dict[HalfEdge, int], v: int, w: int) -> int:
    """The neighbour of v whose tab comes into the strip v-w."""
    around = w
    while following[(v, around)] != w:
        around = following[(v, around)]
    return around


def _bearing(frame: Frame, v: int, w: int) -> Floats:
    """Unit vector from v towards w, laid into the plane square to v's normal."""
    normal = frame.vertex_normals[v]
    way = frame.vertices[w] - frame.vertices[v]
    way = way - normal * (way @ normal)
    return way / np.linalg.norm(way)


def _shifts(
    frame: Frame, following: dict[HalfEdge, int], chosen: EdgeRotor, sizes: Sizes
) -> Floats:
    """Sideways shift at each vertex, (V,) mm: the least that leaves every engagement its room."""
    shift = np.zeros(len(frame.vertices))
    t = sizes.thickness
    for v, around in enumerate(frame.vertex_neighbours):
        turn = {}
        for w in around:
            one, two = _bearing(frame, v, int(w)), _bearing(frame, v, following[(v, int(w))])
            angle = np.degrees(
                np.arctan2(np.cross(one, two) @ frame.vertex_normals[v] * chosen.hand, one @ two)
            )
            turn[int(w)] = float(angle % 360.0)
        for w in around:
            incoming = turn[_preceding(following, v, int(w))]
            own = turn[int(w)]
            for angle in (incoming, own):
                if not LEAST_ANGLE_DEG - 2 <= angle <= 182 - LEAST_ANGLE_DEG:
                    raise DesignError(
                        f"frame.vertices[{v + 1}]",
                        f"neighbouring edges {angle:.1f} deg apart",
                        f"{LEAST_ANGLE_DEG:g} to {180 - LEAST_ANGLE_DEG:g} deg between neighbouring "
                        "edges of a vertex, seen along its normal",
                        "Take another frame, or move this vertex.",
                    )
            planes = [max(min(a, 180 - a), LEAST_ANGLE_DEG) for a in (incoming, own)]
            # Neighbouring planes lean a little towards each other off the vertex; 2 mm cover it.
            room = (
                slot_width(t, t, planes[0], sizes.clearance) / 2
                + sizes.web
                + half_band(t, t, planes[1])
                + 2.0
            )
            if chosen.engagement is not None:
                room = chosen.engagement + half_band(t, t, planes[1])
            spread = np.tan(np.radians(incoming / 2)) + np.tan(np.radians(own / 2))
            shift[v] = max(shift[v], room / spread)
    return shift


def _strips(frame: Frame, shift: Floats, hand: int) -> list[_Strip]:
    """The plane of every edge's strip: through both shifted ends, along the edge's normal."""
    strips = []
    for n, (i, j) in enumerate(frame.edges):
        ends = []
        for v, w in ((int(i), int(j)), (int(j), int(i))):
            inward = -_bearing(frame, v, w)
            right = np.cross(inward, frame.vertex_normals[v])
            ends.append(frame.vertices[v] + hand * shift[v] * right)
        normal = np.cross(frame.edge_normals[n], ends[1] - ends[0])
        normal = normal / np.linalg.norm(normal)
        strips.append(_Strip(normal, float(normal @ ends[0])))
    return strips


def _joint(
    frame: Frame, strips: list[_Strip], first: int, second: int, v: int
) -> tuple[SectionLine, float]:
    """Section line of two strips at vertex v and the joint's place on it: level with the vertex."""
    a, b = strips[first], strips[second]
    line = section_line(a.normal, a.offset, b.normal, b.offset)
    normal = frame.vertex_normals[v]
    steep = 0.0 if line is None else float(line.direction @ normal)
    if line is None or abs(steep) < 0.2:
        raise DesignError(
            f"frame.vertices[{v + 1}]", "strips that hardly cross", "edges that spread round the vertex"
        )
    return line, float((frame.vertices[v] - line.point) @ normal) / steep


def _seeds(
    frame: Frame, index: dict[tuple[int, int], int]
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """For each edge its orbit's seed edge and an element that carries the seed to it."""
    count = len(frame.edges)
    seed = np.full(count, -1, dtype=np.intp)
    element = np.zeros(count, dtype=np.intp)
    for n, (i, j) in enumerate(frame.edges):
        if seed[n] >= 0:
            continue
        for k in range(frame.group.order):
            image = index[_sorted(int(frame.vertex_images[k, i]), int(frame.vertex_images[k, j]))]
            if seed[image] < 0:
                seed[image], element[image] = n, k
    return seed, element
