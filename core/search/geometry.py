# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""All that a pattern's normals fix before offsets and places are drawn: ways, lines, views.

Lengths in the search are shares of the radius of the sphere that holds the sculpture. The joint of
class (a, b, g) lies on the line of the planes n_a . x = h_a and (g n_b) . x = h_b. They are square
to each other, so in a's plane the place s of the line is h_b w + s l, with w the projection of g
n_b and l that of n_a x g n_b: linear in offsets and places.

A view is the line in which one other plane cuts a motif's plane, with a direction. Where two plates
are compared, both views carry the same coordinate along the common line.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..frame.group import Group
from ..plates.planes import default_x_axis
from .patterns import Pattern

__all__ = ["Encounter", "Geometry", "Views"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

_PARALLEL = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Views:
    """V section lines in one motif's plane: points X with across . X = (h_other - cosine h) / sine.

    across, along : (V, 2) unit vectors; the coordinate on the line is along . X
    cosine, sine : (V,) of the angle between the normals; other : the motif whose plane cuts
    """

    across: Floats
    along: Floats
    cosine: Floats
    sine: Floats
    own: int
    other: int

    def level(self, offsets: Floats) -> Floats:
        """Return where the lines lie, (..., V), for offsets (..., M)."""
        h, k = offsets[..., self.own, None], offsets[..., self.other, None]
        level: Floats = (k - self.cosine * h) / self.sine
        return level

    def of(self, part: slice) -> Views:
        """Return some of the views."""
        return Views(
            self.across[part], self.along[part], self.cosine[part], self.sine[part],
            self.own, self.other,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Encounter:
    """The plates of motif a that are compared with those of b: view by view, `first` with `second`.

    elements : (V,) the g of each compared pair (seed of a, g seed of b)
    joint : (V,) the class that joins the pair, -1: none; sense : (V,) 1 or -1, the coordinate on
        the common line is sense times the class's place; lapped : (V,) bool, it is a cross-lap
    parallel : (k,) cosines +1 or -1 of those copies of b whose planes are parallel to a's
    """

    first: Views
    second: Views
    elements: Ints
    joint: Ints
    sense: Floats
    lapped: npt.NDArray[np.bool_]
    parallel: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Geometry:
    """A pattern with its normals.

    axes : (M, 2, 3) of the motifs' planes; way, line : (C, 2) of each class in a's plane (see the
        module); slot_way, slot_line : the same in b's plane
    encounters : all pairs of motifs, each with itself first
    """

    group: Group
    pattern: Pattern
    normals: Floats
    axes: Floats
    way: Floats
    line: Floats
    slot_way: Floats
    slot_line: Floats
    encounters: tuple[Encounter, ...]

    @classmethod
    def of(cls, group: Group, pattern: Pattern, normals: Floats) -> Geometry:
        """Work the geometry out; normals : (M, 3) unit vectors that make every class square."""
        x_axes = np.array([default_x_axis(n) for n in normals])
        axes = np.stack([x_axes, np.cross(normals, x_axes)], axis=1)
        ways = []
        for a, b, g in pattern.classes:
            matrix = group.matrices[g]
            other = matrix @ normals[b]
            line = np.cross(normals[a], other)
            back = matrix.T
            ways.append(
                (
                    axes[a] @ other,
                    axes[a] @ line,
                    axes[b] @ back @ normals[a],
                    axes[b] @ back @ line,
                )
            )
        way, line, slot_way, slot_line = (np.array(column) for column in zip(*ways, strict=True))
        pairs = [(a, b) for a in range(pattern.motifs) for b in range(a, pattern.motifs)]
        encounters = tuple(_encounter(group, pattern, normals, axes, a, b) for a, b in pairs)
        return cls(group, pattern, normals, axes, way, line, slot_way, slot_line, encounters)

    def tab_port(self, joint: int, offsets: Floats, places: Floats) -> Floats:
        """Return where the tab of a class crosses its line, (..., 2), in the plane of its motif."""
        _, b, _ = self.pattern.classes[joint]
        h, s = offsets[..., b, None], places[..., joint, None]
        port: Floats = h * self.way[joint] + s * self.line[joint]
        return port

    def slot_port(self, joint: int, offsets: Floats, places: Floats) -> Floats:
        """Return the middle of the slot of a class, (..., 2), in the plane of its motif."""
        a, _, _ = self.pattern.classes[joint]
        h, s = offsets[..., a, None], places[..., joint, None]
        port: Floats = h * self.slot_way[joint] + s * self.slot_line[joint]
        return port

    def levels_apart(self, offsets: Floats) -> float:
        """Return the least distance of two parallel planes; inf: no two are, 0: one plane twice."""
        least = np.inf
        for encounter in self.encounters:
            h, k = offsets[encounter.first.own], offsets[encounter.first.other]
            for cosine in encounter.parallel:
                least = min(least, abs(h - cosine * k))
        return float(least)


def _encounter(
    group: Group, pattern: Pattern, normals: Floats, axes: Floats, a: int, b: int
) -> Encounter:
    """Compare the seed of a with all copies of b; with itself each pair g, g^-1 once."""
    elements = np.arange(group.order)
    if a == b:
        elements = elements[(elements > 0) & (elements <= group.inverse)]
    others = group.matrices[elements] @ normals[b]
    cosine = others @ normals[a]
    parallel = np.abs(cosine) > 1 - _PARALLEL
    kept = elements[~parallel]
    inverse = group.inverse[kept]
    first = _views(axes[a], normals[a], group.matrices[kept] @ normals[b], 1.0, a, b)
    # Seen from the other plate the line runs the other way.
    second = _views(axes[b], normals[b], group.matrices[inverse] @ normals[a], -1.0, b, a)
    # The line of a class runs along n_a x g n_b; seen from b it runs the other way.
    numbered = list(enumerate(pattern.classes))
    known = {(q, p, int(group.inverse[g])): (c, -1.0) for c, (p, q, g) in numbered}
    known |= {joint: (c, 1.0) for c, joint in numbered}
    met = [known.get((a, b, int(g)), (-1, 1.0)) for g in kept]
    joint = np.array([c for c, _ in met], dtype=np.intp)
    sense = np.array([way for _, way in met])
    lapped = np.isin(joint, pattern.laps)
    return Encounter(first, second, kept, joint, sense, lapped, np.sign(cosine[parallel]))


def _views(
    axes: Floats, normal: Floats, others: Floats, sense: float, own: int, other: int
) -> Views:
    cosine = others @ normal
    across = others @ axes.T
    sine = np.linalg.norm(across, axis=1)
    along = sense * np.cross(normal, others) @ axes.T / sine[:, None]
    return Views(across / sine[:, None], along, cosine, sine, own, other)
