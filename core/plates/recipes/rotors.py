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
from ...fit.tenon import half_band, slot_width, tenon_sizes
from ...frame.frame import Frame
from ..planes import section_line

__all__ = ["RotorJoint", "Rotors"]

Floats = npt.NDArray[np.float64]
HalfEdge = tuple[int, int]  # (vertex, the vertex at the other end)

#: Rounds of growing; each scales delta by what is missing, so a few come within 0.1 %.
_ROUNDS = 8


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


class Rotors:
    """The planes of all strips, and their joints by half edge.

    normals : (E, 3) unit vectors; offsets : (E,) of the planes, mm
    following : for each half edge (v, w) the neighbour of v whose strip takes its tab
    preceding : for each half edge (v, w) the neighbour of v whose tab its strip takes
    """

    def __init__(self, frame: Frame, hand: int) -> None:
        self._frame, self._hand = frame, hand
        self._number = {(int(i), int(j)): n for n, (i, j) in enumerate(frame.edges)}
        self.following: dict[HalfEdge, int] = {}
        self.preceding: dict[HalfEdge, int] = {}
        for v, around in enumerate(frame.vertex_neighbours):
            for k, w in enumerate(around):
                after = int(around[(k + hand) % len(around)])
                self.following[(v, int(w))] = after
                self.preceding[(v, after)] = int(w)
        self._aside = self._sideways()
        self.normals = np.zeros((len(frame.edges), 3))
        self.offsets = np.zeros(len(frame.edges))
        self._joints: dict[HalfEdge, RotorJoint] = {}

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
        found = self._joints.get((v, w))
        if found is not None:
            return found
        a, b = self.edge(v, w), self.edge(v, self.following[(v, w)])
        line = section_line(self.normals[a], self.offsets[a], self.normals[b], self.offsets[b])
        normal = self._frame.vertex_normals[v]
        steep = 0.0 if line is None else float(line.direction @ normal)
        if line is None or abs(steep) < 0.2:
            raise DesignError(
                f"frame.vertices[{v + 1}]",
                "strips that hardly cross",
                "edges that spread round the vertex",
                "Take another frame, or move this vertex.",
            )
        at = float((self._frame.vertices[v] - line.point) @ normal) / steep
        place = line.point + at * line.direction
        found = RotorJoint(b, line.angle_deg, at, place, line.direction)
        self._joints[(v, w)] = found
        return found

    def _sideways(self) -> dict[HalfEdge, tuple[Floats, Floats]]:
        """For each half edge: bearing away from v and, square to it, the way its strip moves."""
        frame, aside = self._frame, {}
        for v, w in self.following:
            normal = frame.vertex_normals[v]
            way = frame.vertices[w] - frame.vertices[v]
            way = way - normal * (way @ normal)
            way = way / np.linalg.norm(way)
            aside[(v, w)] = way, self._hand * np.cross(normal, way)
        return aside

    def _turn_deg(self, v: int, w: int, after: int) -> float:
        """Angle from the edge v-w on to v-after in the sense of the hand, 0 to 360."""
        one, two = self._aside[(v, w)], self._aside[(v, after)][0]
        return float(np.degrees(np.arctan2(two @ one[1], two @ one[0])) % 360.0)

    def _first_shifts(self, chosen: EdgeRotor, sizes: Sizes) -> Floats:
        """Sideways shift at each vertex, (V,) mm, by the plane formula."""
        shift = np.zeros(len(self._frame.vertices))
        for (v, w), after in self.following.items():
            own = self._turn_deg(v, w, after)
            if not LEAST_ANGLE_DEG - 2 <= own <= 182 - LEAST_ANGLE_DEG:
                raise DesignError(
                    f"frame.vertices[{v + 1}]",
                    f"neighbouring edges {own:.1f} deg apart",
                    f"{LEAST_ANGLE_DEG:g} to {180 - LEAST_ANGLE_DEG:g} deg between neighbouring "
                    "edges of a vertex, seen along its normal",
                    "Take another frame, or move this vertex.",
                )
            before = self._turn_deg(v, self.preceding[(v, w)], w)
            angles = [max(min(a, 180 - a), LEAST_ANGLE_DEG) for a in (before, own)]
            spread = np.tan(np.radians(before / 2)) + np.tan(np.radians(own / 2))
            shift[v] = max(shift[v], _room(chosen, sizes, angles[0], angles[1]) / spread)
        return shift

    def _lay(self, shift: Floats) -> None:
        """Lay every strip's plane through its shifted ends, along its edge's normal."""
        frame = self._frame
        ends = frame.edges.tolist()
        one = np.array([frame.vertices[i] + shift[i] * self._aside[(i, j)][1] for i, j in ends])
        two = np.array([frame.vertices[j] + shift[j] * self._aside[(j, i)][1] for i, j in ends])
        normals = np.cross(frame.edge_normals, two - one)
        self.normals = normals / np.linalg.norm(normals, axis=1, keepdims=True)
        self.offsets = np.einsum("ij,ij->i", self.normals, one)
        self._joints = {}

    def _lacking(self, chosen: EdgeRotor, sizes: Sizes) -> Floats:
        """By which factor each vertex's shift is too small, (V,); 1 and less is enough."""
        lack = np.zeros(len(self._frame.vertices))
        for (v, w), after in self.following.items():
            own, incoming = self.joint(v, w), self.joint(v, self.preceding[(v, w)])
            # Square to the shoulder; a slot that leans towards it comes nearer with one corner.
            apart = own.place - incoming.place
            there = float(np.linalg.norm(np.cross(apart, own.line)))
            lean = float(np.linalg.norm(np.cross(incoming.line, own.line)))
            needed = _room(chosen, sizes, incoming.angle_deg, own.angle_deg)
            if chosen.engagement is None:
                needed += (sizes.tab_width / 2 + sizes.clearance + sizes.longer) * lean
            lack[v] = max(lack[v], needed / there, self._pin_lacks(v, w, own, sizes))
            beyond = self.following[(v, after)]
            if beyond not in (w, self.preceding[(v, w)]):
                # A strip that meets its line aslant reaches farther along it with one corner.
                back = float(np.linalg.norm(apart))
                wide = chosen.width if chosen.end_width is None else chosen.end_width
                body = (wide / max(there / back, 0.3), back)
                lack[v] = max(lack[v], self._tab_lacks(v, w, beyond, own, body, sizes))
        return lack

    def _outwards(self, v: int, w: int, own: RotorJoint) -> Floats:
        """Return the unit vector (3,) in which the tab of v-w points, past v."""
        out = np.cross(own.line, self.normals[self.edge(v, w)])
        return -out if out @ self._aside[(v, w)][0] > 0 else out

    def _pin_lacks(self, v: int, w: int, own: RotorJoint, sizes: Sizes) -> float:
        """Reach of the pin of v-w towards the strip whose tab v-w takes, over the room between.

        Where those two cross obliquely, the pin's end comes near it on the side to which it leans.
        """
        mine, other = self.edge(v, w), self.edge(v, self.preceding[(v, w)])
        normal, plane = self.normals[mine], self.normals[other]
        room = float(plane @ own.place - self.offsets[other])
        tenon = tenon_sizes(sizes, max(own.angle_deg, LEAST_ANGLE_DEG), sizes.tab_width, "recipe")
        out = self._outwards(v, w, own)
        away = float(np.sign(room) * (plane @ out)) * tenon.pin_centre
        tilt = abs(float(plane @ normal))
        sine = float(np.linalg.norm(np.cross(plane, normal)))
        reach = tenon.lock.reach * tilt + tenon.lock.half * sine
        return (reach + sizes.thickness / 2 + sizes.pin_play - away) / abs(room)

    def _tab_lacks(
        self,
        v: int,
        w: int,
        beyond: int,
        own: RotorJoint,
        body: tuple[float, float],
        sizes: Sizes,
    ) -> float:
        """Reach of the tab of v-w, and of its pin, over the room before the strip after next.

        body : width of the strip's end along its line, and length of its straight end, mm
        """
        mine, other = self.edge(v, w), self.edge(v, beyond)
        normal, plane = self.normals[mine], self.normals[other]
        out = self._outwards(v, w, own)
        room = float(plane @ own.place - self.offsets[other])
        closing = -float(np.sign(room) * (plane @ out))
        if closing < -0.2:
            return 0.0  # the two run apart
        parting = max(-closing, 0.0)
        if closing > 0.2:
            hit = own.place + out * abs(room) / closing
            theirs = self.joint(v, beyond)
            if float((hit - theirs.place) @ self._aside[(v, beyond)][0]) < -sizes.thickness:
                return 0.0  # it passes beyond that strip's end
        closing = max(closing, 0.0)
        tenon = tenon_sizes(sizes, max(own.angle_deg, LEAST_ANGLE_DEG), sizes.tab_width, "recipe")
        tilt, slope = abs(float(plane @ normal)), abs(float(plane @ own.line))
        half = sizes.thickness / 2
        reaches = (
            # The body, if the two run side by side: where they part, its straight end is nearest.
            half * tilt + body[0] / 2 * slope + body[1] * parting,
            tenon.tab_end * closing + half * tilt + tenon.tab_width / 2 * slope,
            (tenon.pin_centre + tenon.lock.half) * closing
            + tenon.lock.reach * tilt
            + tenon.lock.wide * slope,
        )
        return (max(reaches) + half + 1.01 * sizes.gap) / abs(room)


def _room(chosen: EdgeRotor, sizes: Sizes, slot_angle: float, own_angle: float) -> float:
    """Distance along a strip from the middle of its slot to its own section line, mm."""
    t = sizes.thickness
    own = half_band(t, t, max(own_angle, 1.0))
    if chosen.engagement is not None:
        return chosen.engagement + own
    slot = slot_width(t, t, max(slot_angle, 1.0), sizes.clearance) / 2 + sizes.relief
    return slot + sizes.web + own + sizes.relief
