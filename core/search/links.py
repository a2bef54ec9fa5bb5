# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Rotors as closed loops, and how often two of them are linked (the Gauss linking number).

The loop of a rotor runs from joint to joint inside its plates. Two loops that pass through each
other without touching have a linking number that is not 0, whatever shape they are bent to.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from ..assembly.linking import linking_numbers
from ..design.model import JointKind
from ..frame.group import Group
from ..joints.classes import JointClass
from ..plates.motif import Motif
from ..plates.planes import to_plane

__all__ = ["linked_rotors", "linking_numbers", "rotor_loops"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


def rotor_loops(
    motifs: Sequence[Motif], classes: Sequence[JointClass], group: Group
) -> list[tuple[Floats, Floats]]:
    """Return for each tenon class of a motif with itself its loops (R, P, 3) and their axes (R, 3).

    A plate's piece of the loop runs along its strip's path from the slot that the plate before it
    enters to its own tab.
    """
    found = []
    for joint in classes:
        motif = motifs[joint.a]
        order = group.element_order(joint.element)
        if (
            joint.kind is not JointKind.TENON
            or joint.a != joint.b
            or motif.path is None
            or order < 3
        ):
            continue
        tab = joint.centre
        slot = group.matrices[joint.element].T @ tab
        piece = _between(motif, slot, tab)
        turn = group.matrices[joint.element]
        # The next plate round is g x this one: its slot lies at this plate's tab.
        loop = np.concatenate([piece @ np.linalg.matrix_power(turn, k).T for k in range(order)])
        ring = [int(k) for k in group.subgroup([joint.element])]
        firsts = [coset[0] for coset in group.left_cosets(ring)]
        axis, _ = group.axis_angle_deg(joint.element)
        matrices = group.matrices[firsts]
        found.append((loop @ matrices.transpose(0, 2, 1), matrices @ axis))
    return found


def linked_rotors(loops: Sequence[tuple[Floats, Floats]]) -> tuple[int, int]:
    """Return the number of linked pairs of loops, and of those on one axis, over all copies."""
    pairs = coaxial = 0
    for i, (first, axes) in enumerate(loops):
        for j in range(i, len(loops)):
            second, others = loops[j]
            numbers = linking_numbers(first[0], second)
            linked = np.abs(np.rint(numbers)) > 0
            if i == j:
                linked[0] = False
            same_axis = np.abs(others @ axes[0]) > 1 - 1e-9
            share = 2 if i == j else 1  # each pair of one class is met from both ends
            pairs += len(first) * int(linked.sum()) // share
            coaxial += len(first) * int((linked & same_axis).sum()) // share
    return pairs, coaxial


def _between(motif: Motif, slot: Floats, tab: Floats) -> Floats:
    """Return points (k, 3) from the slot towards the tab along a motif's path, the tab left out."""
    assert motif.path is not None  # rotor_loops takes strips only
    plane = motif.world_from_plane
    start = int(np.argmin(np.linalg.norm(motif.path - to_plane(plane, slot), axis=1)))
    end = int(np.argmin(np.linalg.norm(motif.path - to_plane(plane, tab), axis=1)))
    inner = np.linspace(start, end, min(abs(end - start) + 1, 12)).round().astype(int)[1:-1]
    points = motif.path[inner] @ plane[:3, :2].T + plane[:3, 3]
    return np.concatenate([slot[None], points])
