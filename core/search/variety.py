# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Different sculptures, not one with its noise: a signature of what the eye sees, a choice by it.

The signature tells where the strips run, folded into one corner of the symmetry: all places that a
turn of the group or a mirror carries onto each other are one place. At each place it is told how
deep the strips lie there and whether they show their face or their edge to somebody outside. So
mirror twins and other choices of the seed plates have one signature.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ..frame.group import rotation_group
from .shape import Shape

__all__ = ["SAME", "choose", "families", "signature"]

Floats = npt.NDArray[np.float64]

#: Signatures nearer than this look alike. Found by looking at 48 pairs of pictures of 260 finds of
#: the icosahedral group: below 0.4 all look alike, up to 0.46 about half of them, above 0.5 few.
SAME = 0.45
#: Anchors along a side of the corner, and how far each reaches, in steps, by the group's order: the
#: fewer the plates, the coarser the eye. For 12 by looking at 40 finds of the tetrahedral group.
_ANCHORS = {12: (3, 0.9), 24: (4, 0.75), 60: (4, 0.6)}
_DEPTHS = np.array([0.3, 0.55, 0.7, 0.85, 1.0])  # radii
_BROAD = 4.0  # how much the width of the strips counts, in radii


def signature(shape: Shape) -> Floats:
    """Return the signature of a shape: shares (100 or 150) with the sum 1, and the strips' width.

    The shape stands in the group's own frame, as designs with a bare group do.
    """
    seeds = np.unique(shape.colour, return_index=True)[1]
    middle = shape.points.shape[2] // 2
    points = shape.points[seeds, :, middle] / shape.radius  # (M, L, 3)
    depth = np.maximum(np.linalg.norm(points, axis=2), 1e-9)
    ways = points / depth[:, :, None]
    face = np.abs(np.einsum("mli,mi->ml", ways, shape.normals[seeds]))
    # Rows stand evenly along the strips, but the shorter ones repeat their last.
    steps = np.linalg.norm(np.diff(points, axis=1), axis=2)
    length = np.concatenate([steps[:, :1], steps], axis=1).reshape(-1)
    anchors, spread = _anchors(len(shape.colour) // len(seeds))
    far = np.arccos(np.clip((ways.reshape(-1, 3) @ anchors).max(axis=0), -1, 1))  # (n, A)
    place = np.exp(-((far / spread) ** 2)) + 1e-12
    place /= place.sum(axis=1, keepdims=True)
    shares = [
        place,
        _dealt(depth.reshape(-1), _DEPTHS),
        _dealt(face.reshape(-1), np.array([0.15, 0.85])),
    ]
    table = np.einsum("n,na,nd,nf->adf", length, *shares).reshape(-1)
    widths = [motif.width for motif in shape.motifs if motif.width is not None]
    width = float(np.mean(widths)) / shape.radius if widths else 0.0
    return np.concatenate([table / table.sum(), [_BROAD * width]])


def families(signatures: Sequence[Floats], same: float = SAME) -> list[int]:
    """Return for each signature, best first, the position of the one that stands for it.

    Greedy: a design that is like none before it stands for itself. Signatures of different lengths
    (an index of an earlier version holds others) are not alike.
    """
    leaders: list[int] = []
    found: list[int] = []
    for i, one in enumerate(signatures):
        alike = [k for k in leaders if len(signatures[k]) == len(one)]
        if alike:
            gaps = np.abs(np.array([signatures[k] for k in alike]) - one).sum(axis=1)
            nearest = int(np.argmin(gaps))
            if gaps[nearest] < same:
                found.append(alike[nearest])
                continue
        leaders.append(i)
        found.append(i)
    return found


def choose(signatures: Sequence[Floats], count: int) -> list[int]:
    """Return the positions of `count` designs: the best of each family first, then the rest."""
    leader = families(signatures)
    firsts = [i for i, k in enumerate(leader) if i == k]
    rest = [i for i, k in enumerate(leader) if i != k]
    return [*firsts, *rest][:count]


@lru_cache(maxsize=4)
def _anchors(order: int) -> tuple[Floats, float]:
    """Return all images of the anchors, (images, 3, A), and how far each reaches, radians.

    The corner lies between neighbouring axes of three kinds. A mirror of the tetrahedral group and
    its quarter turns carry its sculptures onto others that look the same: it shares the octahedral
    one's corner.
    """
    group = rotation_group("I" if order == 60 else "O")
    side, spread = _ANCHORS[order]
    axes = group.axes()
    most = max(fold for _, fold in axes)
    a = next(axis for axis, fold in axes if fold == most)
    b = _nearest([axis for axis, fold in axes if fold == 3], a)
    c = _nearest([axis for axis, fold in axes if fold == 2], a + b)
    steps = range(side + 1)
    grid = [(i, j, side - i - j) for i in steps for j in steps if i + j <= side]
    anchors = np.array(grid) @ np.array([a, b, c])
    anchors /= np.linalg.norm(anchors, axis=1)[:, None]
    images = np.concatenate([group.matrices, -group.matrices]) @ anchors.T  # (images, 3, A)
    reach = spread * float(np.arccos(a @ b)) / side
    return images, reach


def _nearest(axes: list[Floats], way: Floats) -> Floats:
    ends = np.array([*axes, *(-axis for axis in axes)])
    nearest: Floats = ends[int(np.argmax(ends @ way))]
    return nearest


def _dealt(values: Floats, nodes: Floats) -> Floats:
    """Return shares (n, nodes): each value is dealt to the two nodes beside it, so none jumps."""
    place = np.interp(values, nodes, np.arange(len(nodes)))
    shares: Floats = np.maximum(1 - np.abs(place[:, None] - np.arange(len(nodes))), 0)
    return shares
