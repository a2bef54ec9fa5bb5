# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A strip on edge along every edge of any frame; round each vertex the strips form a rotor.

Each strip runs past the vertex, a little aside of it, into its neighbour, and the next into it; how
far aside is worked out in rotors.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...design.model import EdgeRotor, JointClassChoice, JointKind, MotifChoice, Turn
from ...errors import DesignError
from ...fit.sizes import Sizes
from ...frame.frame import Frame
from ..planes import to_plane, world_from_plane
from .recipe import Recipe, styled
from .rotors import Rotors

__all__ = ["edge_rotor"]

Ints = npt.NDArray[np.intp]


def edge_rotor(frame: Frame, chosen: EdgeRotor, sizes: Sizes) -> Recipe:
    """Put a strip on every edge, twisted into rotors at the vertices.

    Raises
    ------
    DesignError : the frame has no edges, or neighbouring edges of a vertex stand at an angle that
        leaves less than 30 degrees between their planes.
    """
    if len(frame.vertices) == 0:
        raise DesignError(
            "frame.group",
            frame.group.name,
            "a solid or a mesh: edge rotors need edges",
            "Name a solid of the catalogue instead of a bare group.",
        )
    rotors = Rotors.of(frame, chosen, sizes)
    orbits = _EdgeOrbits.of(frame, rotors)
    names = {n: f"edge-{k + 1}" for k, n in enumerate(dict.fromkeys(orbits.seed.tolist()))}
    motifs, classes = [], []
    for n, name in names.items():
        i, j = (int(v) for v in frame.edges[n])
        motifs.append(_strip(name, n, (i, j), rotors, chosen))
        # Where a turn swaps the ends, the group makes the joint at j from that at i.
        for v, w in ((i, j),) if orbits.turned[n] else ((i, j), (j, i)):
            classes.append(_tenon(name, v, w, rotors, frame, orbits, names))
    return Recipe(tuple(motifs), tuple(classes), frame.group)


def _strip(
    name: str, n: int, ends: tuple[int, int], rotors: Rotors, chosen: EdgeRotor
) -> MotifChoice:
    """Draw the strip of edge n: from tab to slot at one end, and from slot to tab at the other."""
    normal, offset = rotors.normals[n], float(rotors.offsets[n])
    plane = world_from_plane(normal, offset)
    i, j = ends
    places = []
    for v, w in ((i, j), (j, i)):
        tab, slot = rotors.joint(v, w), rotors.joint(v, rotors.preceding[(v, w)])
        places.append(to_plane(plane, [tab.place, slot.place]))
    path = np.concatenate([places[0], places[1][::-1]])
    return MotifChoice(
        name=name,
        normal=(float(normal[0]), float(normal[1]), float(normal[2])),
        offset=offset,
        path=tuple((float(x), float(y)) for x, y in path),
        width=chosen.width,
        bend=chosen.bend,
        bend_radius=chosen.bend_radius,
        **styled(chosen),
    )


def _tenon(
    name: str,
    v: int,
    w: int,
    rotors: Rotors,
    frame: Frame,
    orbits: _EdgeOrbits,
    names: dict[int, str],
) -> JointClassChoice:
    """Say which copy of which seed takes the tab that the strip v-w has at v."""
    joint = rotors.joint(v, w)
    home, element = int(orbits.seed[joint.second]), int(orbits.element[joint.second])
    axis, angle = frame.group.axis_angle_deg(element)
    # A strip carried on from its seed may face the other way than the one laid on the spot: then
    # the line, which runs along the product of the normals, runs the other way too.
    carried = frame.group.matrices[element] @ rotors.normals[home]
    sense = 1.0 if carried @ rotors.normals[joint.second] > 0 else -1.0
    return JointClassChoice(
        name=f"{name}-at-{v + 1}",
        motifs=(name, names[home]),
        kind=JointKind.TENON,
        at=joint.at * sense,
        turn=Turn((float(axis[0]), float(axis[1]), float(axis[2])), float(angle)),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _EdgeOrbits:
    """The edges of a frame, sorted by the group.

    seed : (E,) int, for each edge the first one of its orbit
    element : (E,) int, an element that carries the seed to the edge
    turned : (E,) bool, some element carries the edge to itself the other way round
    """

    seed: Ints
    element: Ints
    turned: npt.NDArray[np.bool_]

    @classmethod
    def of(cls, frame: Frame, rotors: Rotors) -> _EdgeOrbits:
        """Carry each edge round by the group."""
        count = len(frame.edges)
        seed = np.full(count, -1, dtype=np.intp)
        element = np.zeros(count, dtype=np.intp)
        one, two = (frame.vertex_images[:, column] for column in frame.edges.T)  # (order, E)
        turned = ((one == frame.edges[:, 1]) & (two == frame.edges[:, 0])).any(axis=0)
        for n in range(count):
            if seed[n] >= 0:
                continue
            for k in range(frame.group.order):
                image = rotors.edge(int(one[k, n]), int(two[k, n]))
                if seed[image] < 0:
                    seed[image], element[image] = n, k
        return cls(seed, element, turned)
