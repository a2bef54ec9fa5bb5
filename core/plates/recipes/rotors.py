# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rotors at the vertices of a frame: how far each strip is moved aside so that its joints fit.

Near a vertex every strip is moved sideways by the same distance delta, so that all are tangent to
one small circle. With phi the angle between two neighbours (seen along the vertex normal) their
planes cross delta * tan(phi/2) beyond the one's tangent point and as far before the other's. Delta
starts from that formula and grows until, in the true planes, every slot keeps its web to the next
shoulder and every tab with its pin ends short of the strip after next.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...design.model import EdgeRotor
from ...errors import DesignError
from ...fit.sizes import LEAST_ANGLE_DEG, Sizes
from ...frame.frame import Frame
from .rotor_sizes import ManyTenons, rooms

__all__ = ["RotorJoint", "Rotors"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
HalfEdge = tuple[int, int]  # (vertex, the vertex at the other end)

#: Rounds of growing; each scales delta by what is missing, so a few come within 0.1 %.
_ROUNDS = 8
#: A distance that is divided by, mm: what lacks so much room is far from fitting.
_LEAST = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class RotorJoint:
    """The tab of one strip in the next at a vertex.

    second : edge number of the strip with the slot
    angle_deg : between the two planes
    at : place on the section line, mm
    place : (3,) the same in the world, mm
    line : (3,) unit vector along the section line
    """

    second: int
    angle_deg: float
    at: float
    place: Floats
    line: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Where the strip of each half edge meets the next one at its vertex.

    line : (H, 3) unit vectors along the section lines; angle_deg : (H,) between the planes
    at : (H,) mm along the line; place : (H, 3) mm, level with the vertex
    hardly : (H,) bool, the two strips hardly cross: their other figures mean nothing
    """

    line: Floats
    angle_deg: Floats
    at: Floats
    place: Floats
    hardly: npt.NDArray[np.bool_]


class Rotors:
    """The planes of all strips, and their joints by half edge.

    normals : (E, 3) unit vectors; offsets : (E,) of the planes, mm
    preceding : for each half edge (v, w) the neighbour of v whose tab its strip takes

    Half edges are numbered in the order of their vertices and, at each, of its neighbours. Arrays
    over them: `_v`, `_edge` (numbers of vertex and edge), `_next` (the half edge of v whose strip
    takes its tab) and `_before` (the one whose tab its strip takes).
    """

    def __init__(self, frame: Frame, hand: int) -> None:
        self._frame = frame
        self._number = {(int(i), int(j)): n for n, (i, j) in enumerate(frame.edges)}
        self.preceding: dict[HalfEdge, int] = {}
        self._half: dict[HalfEdge, int] = {}
        following: list[HalfEdge] = []
        for v, around in enumerate(frame.vertex_neighbours):
            for k, w in enumerate(around):
                after = int(around[(k + hand) % len(around)])
                self._half[(v, int(w))] = len(following)
                following.append((v, after))
                self.preceding[(v, after)] = int(w)
        ends = np.array(list(self._half), dtype=np.intp).reshape(-1, 2)
        self._v = ends[:, 0]
        self._edge = np.array([self.edge(v, w) for v, w in self._half], dtype=np.intp)
        self._next = np.array([self._half[pair] for pair in following], dtype=np.intp)
        self._before = np.argsort(self._next)
        # Bearing away from v and, square to it, the way in which the strip moves.
        normals = frame.vertex_normals[self._v]
        way = frame.vertices[ends[:, 1]] - frame.vertices[self._v]
        self._way = _unit(way - normals * _dot(way, normals)[:, None])
        self._aside: Floats = float(hand) * np.cross(normals, self._way)
        self.normals = np.zeros((len(frame.edges), 3))
        self.offsets = np.zeros(len(frame.edges))
        self._lines: _Lines | None = None

    @classmethod
    def of(cls, frame: Frame, chosen: EdgeRotor, sizes: Sizes) -> Rotors:
        """Find the least shifts that give every joint its room.

        On a frame too small for its strips they are not found: the checks then tell what collides.

        Raises
        ------
        DesignError : edges at a vertex are too close or too straight for 30 degrees, or the strips
            hardly cross.
        """
        rotors = cls(frame, chosen.hand)
        shift = rotors._first_shifts(chosen, sizes)
        for _ in range(_ROUNDS):
            rotors._lay(shift)
            lack = rotors._lacking(chosen, sizes)
            if lack.max() < 1.0 + 1e-4:
                break
            shift = shift * np.maximum(lack * 1.001, 1.0)
        return rotors

    def edge(self, i: int, j: int) -> int:
        """Return the number of the edge between two vertices."""
        return self._number[(i, j) if i < j else (j, i)]

    def joint(self, v: int, w: int) -> RotorJoint:
        """Return the joint of the tab that the strip v-w has at v: level with the vertex.

        Raises
        ------
        DesignError : the strip and the next hardly cross.
        """
        half, lines = self._half[(v, w)], self._all_lines()
        if lines.hardly[half]:
            raise _hardly_cross(v)
        return RotorJoint(
            int(self._edge[self._next[half]]),
            float(lines.angle_deg[half]),
            float(lines.at[half]),
            lines.place[half],
            lines.line[half],
        )

    def _first_shifts(self, chosen: EdgeRotor, sizes: Sizes) -> Floats:
        """Sideways shift at each vertex, (V,) mm, by the plane formula."""
        # From each edge on to the next in the sense of the hand, 0 to 360 deg.
        onto = self._way[self._next]
        own = np.degrees(np.arctan2(_dot(onto, self._aside), _dot(onto, self._way))) % 360.0
        bad = (own < LEAST_ANGLE_DEG - 2) | (own > 182 - LEAST_ANGLE_DEG)
        if bad.any():
            half = int(np.argmax(bad))
            raise DesignError(
                f"frame.vertices[{self._v[half] + 1}]",
                f"neighbouring edges {own[half]:.1f} deg apart",
                f"{LEAST_ANGLE_DEG:g} to {180 - LEAST_ANGLE_DEG:g} deg between neighbouring "
                "edges of a vertex, seen along its normal",
                "Take another frame, or move this vertex.",
            )
        before = own[self._before]
        acute = np.maximum(np.minimum(own, 180 - own), LEAST_ANGLE_DEG)
        spread = np.tan(np.radians(before / 2)) + np.tan(np.radians(own / 2))
        room = rooms(chosen, sizes, acute[self._before], acute)
        return self._most_by_vertex(room / spread)

    def _most_by_vertex(self, figures: Floats) -> Floats:
        """Return of one figure (H,) for each half edge the greatest at each vertex, 0 or more."""
        most = np.zeros(len(self._frame.vertices))
        np.maximum.at(most, self._v, figures)
        return most

    def _lay(self, shift: Floats) -> None:
        """Lay every strip's plane through its shifted ends, along its edge's normal."""
        frame = self._frame
        moved = frame.vertices[self._v] + shift[self._v, None] * self._aside
        ends = [[self._half[(i, j)], self._half[(j, i)]] for i, j in frame.edges.tolist()]
        one, two = moved[[row[0] for row in ends]], moved[[row[1] for row in ends]]
        self.normals = _unit(np.cross(frame.edge_normals, two - one))
        self.offsets = _dot(self.normals, one)
        self._lines = None

    def _all_lines(self) -> _Lines:
        """Return all section lines of the planes as they lie now; see `planes.section_line`."""
        if self._lines is not None:
            return self._lines
        a, b = self._edge, self._edge[self._next]
        n, m, h, k = self.normals[a], self.normals[b], self.offsets[a], self.offsets[b]
        cosine, cross = _dot(n, m), np.cross(n, m)
        sine = np.linalg.norm(cross, axis=1)
        parallel = sine < 1e-9
        safe = np.where(parallel, 1.0, sine)
        point = ((h - k * cosine) / safe**2)[:, None] * n + ((k - h * cosine) / safe**2)[
            :, None
        ] * m
        line = cross / safe[:, None]
        normal = self._frame.vertex_normals[self._v]
        steep = _dot(line, normal)
        hardly = parallel | (np.abs(steep) < 0.2)
        up = _dot(self._frame.vertices[self._v] - point, normal)
        at = up / np.where(hardly, 1.0, steep)
        angle = np.degrees(np.arctan2(sine, np.abs(cosine)))
        self._lines = _Lines(line, angle, at, point + at[:, None] * line, hardly)
        return self._lines

    def _lacking(self, chosen: EdgeRotor, sizes: Sizes) -> Floats:
        """By which factor each vertex's shift is too small, (V,); 1 and less is enough.

        Raises
        ------
        DesignError : strips hardly cross.
        """
        lines, before = self._all_lines(), self._before
        if lines.hardly.any():
            raise _hardly_cross(int(self._v[int(np.argmax(lines.hardly))]))
        # Square to the shoulder; a slot that leans towards it comes nearer with one corner.
        apart = lines.place - lines.place[before]
        there = np.maximum(np.linalg.norm(np.cross(apart, lines.line), axis=1), _LEAST)
        lean = np.linalg.norm(np.cross(lines.line[before], lines.line), axis=1)
        needed = rooms(chosen, sizes, lines.angle_deg[before], lines.angle_deg)
        if chosen.engagement is None:
            needed = needed + (sizes.tab_width / 2 + sizes.clearance + sizes.longer) * lean
        out = np.cross(lines.line, self.normals[self._edge])  # the way of the tabs, past v
        out = np.where((_dot(out, self._way) > 0)[:, None], -out, out)
        tenons = ManyTenons.of(sizes, lines.angle_deg)
        lack = np.maximum(needed / there, self._pins_lack(lines, out, tenons, sizes))
        # A strip that meets its line aslant reaches farther along it with one corner.
        back = np.linalg.norm(apart, axis=1)
        wide = chosen.width if chosen.end_width is None else chosen.end_width
        body = (wide / np.maximum(there / np.maximum(back, _LEAST), 0.3), back)
        lack = np.maximum(lack, self._tabs_lack(lines, out, tenons, body, sizes))
        return self._most_by_vertex(lack)

    def _pins_lack(self, lines: _Lines, out: Floats, tenons: ManyTenons, sizes: Sizes) -> Floats:
        """Reach of each pin towards the strip whose tab its own takes, over the room between, (H,).

        Where those two cross obliquely, the pin's end comes near it on the side to which it leans.
        """
        other = self._edge[self._before]
        normal, plane = self.normals[self._edge], self.normals[other]
        room = _dot(plane, lines.place) - self.offsets[other]
        away = np.sign(room) * _dot(plane, out) * tenons.pin_centre
        tilt = np.abs(_dot(plane, normal))
        sine = np.linalg.norm(np.cross(plane, normal), axis=1)
        reach = tenons.reach * tilt + tenons.half * sine
        lack: Floats = (reach + sizes.thickness / 2 + sizes.pin_play - away) / _least(room)
        return lack

    def _tabs_lack(
        self,
        lines: _Lines,
        out: Floats,
        tenons: ManyTenons,
        body: tuple[Floats, Floats],
        sizes: Sizes,
    ) -> Floats:
        """Reach of each tab, and of its pin, over the room before the strip after next, (H,).

        body : width of the strip's end along its line, and length of its straight end, (H,) mm
        """
        beyond = self._next[self._next]
        other = self._edge[beyond]
        normal, plane = self.normals[self._edge], self.normals[other]
        room = _dot(plane, lines.place) - self.offsets[other]
        closing = -np.sign(room) * _dot(plane, out)
        # No room is needed where the strip after next is its own or the one before, where the two
        # run apart, and where the tab passes beyond the other's end.
        free = (beyond == np.arange(len(beyond))) | (beyond == self._before) | (closing < -0.2)
        meets = closing > 0.2
        far = np.abs(room) / np.where(meets, closing, 1.0)
        hit = lines.place + out * far[:, None]
        free |= meets & (_dot(hit - lines.place[beyond], self._way[beyond]) < -sizes.thickness)
        parting, closing = np.maximum(-closing, 0.0), np.maximum(closing, 0.0)
        tilt, slope = np.abs(_dot(plane, normal)), np.abs(_dot(plane, lines.line))
        half = sizes.thickness / 2
        reaches = (
            # The body, if the two run side by side: where they part, its straight end is nearest.
            half * tilt + body[0] / 2 * slope + body[1] * parting,
            tenons.tab_end * closing + half * tilt + tenons.tab_width / 2 * slope,
            (tenons.pin_centre + tenons.half) * closing + tenons.reach * tilt + tenons.wide * slope,
        )
        reach = np.max(reaches, axis=0)
        return np.where(free, 0.0, (reach + half + 1.01 * sizes.gap) / _least(room))


def _hardly_cross(v: int) -> DesignError:
    return DesignError(
        f"frame.vertices[{v + 1}]",
        "strips that hardly cross",
        "edges that spread round the vertex",
        "Take another frame, or move this vertex.",
    )


def _dot(a: Floats, b: Floats) -> Floats:
    """Return the products (n,) of the rows of two arrays (n, 3)."""
    product: Floats = np.einsum("ij,ij->i", a, b)
    return product


def _unit(vectors: Floats) -> Floats:
    unit: Floats = vectors / np.linalg.norm(vectors, axis=1, keepdims=True)
    return unit


def _least(room: Floats) -> Floats:
    """Return distances without their sign, kept off 0."""
    return np.maximum(np.abs(room), _LEAST)
