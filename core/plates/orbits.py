# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""The copies of each motif: which plate each group element makes, every plate once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..frame.group import Group
from .motif import Motif

__all__ = ["Orbits", "orbits_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Orbits:
    """All P plates of M motifs, as pairs of a motif and an element.

    motif : (P,) int, rising
    element : (P,) int, the least one that carries the motif to the plate
    plate_of : (M, order) int, the plate that element x makes of motif m
    transforms : (P, 4, 4), world from the motif's plane coordinates, mm
    """

    motif: npt.NDArray[np.intp]
    element: npt.NDArray[np.intp]
    plate_of: npt.NDArray[np.intp]
    transforms: npt.NDArray[np.float64]


def orbits_of(motifs: Sequence[Motif], group: Group) -> Orbits:
    """Carry every motif round by the group; a plate that several elements make is listed once.

    The elements that make one plate are a left coset x S of the motif's stabiliser S.
    """
    plate_of = np.empty((len(motifs), group.order), dtype=np.intp)
    motif_index, elements = [], []
    count = 0
    for m, motif in enumerate(motifs):
        cosets = group.product[:, list(motif.stabiliser)].min(axis=1)
        least, place = np.unique(cosets, return_inverse=True)
        plate_of[m] = count + place.reshape(-1)
        motif_index.append(np.full(len(least), m, dtype=np.intp))
        elements.append(least)
        count += len(least)
    motif_of, element = np.concatenate(motif_index), np.concatenate(elements)
    # Elements are rotations about the world's origin: they turn the axes and the origin alike.
    seeds = np.array([motif.world_from_plane for motif in motifs])[motif_of]
    transforms = seeds.copy()
    transforms[:, :3, :] = group.matrices[element] @ seeds[:, :3, :]
    transforms[:, 3] = (0.0, 0.0, 0.0, 1.0)
    for array in (motif_of, element, plate_of, transforms):
        array.setflags(write=False)
    return Orbits(motif_of, element, plate_of, transforms)
