# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""A strip on edge along every edge of any frame; round each vertex the strips form a rotor.

Near a vertex every strip is moved sideways by the same distance, so that all are tangent to one small
circle: each then runs past the vertex into its neighbour, and the next into it. With phi the angle
between two neighbours (seen along the vertex normal) their planes cross delta * tan(phi/2) beyond the
one's tangent point and as far before the other's.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ...design.model import EdgeRotor, JointClassChoice, JointKind, MotifChoice, Turn
from ...errors import DesignError
from ...fit.sizes import Sizes
from ...frame.frame import Frame
from ..planes import to_plane, world_from_plane
from .recipe import Recipe
from .rotors import Rotors

__all__ = ["edge_rotor"]


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
    rotors = Rotors.of(frame, chosen, sizes)
    seed, element, turned = _seeds(frame, rotors)
    names = {n: f"edge-{k + 1}" for k, n in enumerate(dict.fromkeys(seed.tolist()))}
    motifs, classes = [], []
    for n, name in names.items():
        i, j = (int(v) for v in frame.edges[n])
        plane = world_from_plane(rotors.normals[n], rotors.offsets[n])
        ends = {}
        for v, w in ((i, j), (j, i)):
            joint = rotors.joint(v, w)
            incoming = rotors.joint(v, rotors.preceding[(v, w)])
            ends[v] = to_plane(plane, [joint.place, incoming.place])
            if turned[n] and v == j:
                continue  # a turn swaps the ends: the group makes this joint from the other one
            axis, angle = frame.group.axis_angle_deg(int(element[joint.second]))
            # The copy's normal may point against that of the strip as computed on the spot.
            home = int(seed[joint.second])
            carried = frame.group.matrices[element[joint.second]] @ rotors.normals[home]
            sign = 1.0 if carried @ rotors.normals[joint.second] > 0 else -1.0
            classes.append(
                JointClassChoice(
                    name=f"{name}-at-{v + 1}",
                    motifs=(name, names[home]),
                    kind=JointKind.TENON,
                    at=joint.at * sign,
                    turn=Turn((float(axis[0]), float(axis[1]), float(axis[2])), float(angle)),
                )
            )
        path = (ends[i][0], ends[i][1], ends[j][1], ends[j][0])
        normal = rotors.normals[n]
        motifs.append(
            MotifChoice(
                name=name,
                normal=(float(normal[0]), float(normal[1]), float(normal[2])),
                offset=float(rotors.offsets[n]),
                path=tuple((float(x), float(y)) for x, y in path),
                width=chosen.width,
                bend=chosen.bend,
                bend_radius=chosen.bend_radius,
            )
        )
    return Recipe(tuple(motifs), tuple(classes), frame.group)


def _seeds(
    frame: Frame, rotors: Rotors
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], npt.NDArray[np.bool_]]:
    """For each edge its orbit's seed, an element that carries the seed to it, and end swaps.

    The last says whether some element carries the edge to itself the other way round.
    """
    count = len(frame.edges)
    seed = np.full(count, -1, dtype=np.intp)
    element = np.zeros(count, dtype=np.intp)
    turned = np.zeros(count, dtype=bool)
    images = frame.vertex_images
    for n, (i, j) in enumerate(frame.edges.tolist()):
        turned[n] = bool(((images[:, i] == j) & (images[:, j] == i)).any())
        if seed[n] >= 0:
            continue
        for k in range(frame.group.order):
            image = rotors.edge(int(images[k, i]), int(images[k, j]))
            if seed[image] < 0:
                seed[image], element[image] = n, k
    return seed, element, turned
