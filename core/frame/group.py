# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Finite rotation groups as tables: elements are small integers, element 0 is the identity."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.spatial.distance import cdist
from scipy.spatial.transform import Rotation

from ..errors import DesignError, FrameError
from ..tolerance import TOLERANCES

__all__ = ["LARGEST_FOLD", "Group", "group_from_matrices", "name_of", "rotation_group"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

# Cn and Dn are offered up to this n: more plates round one axis than anyone will hang.
LARGEST_FOLD = 120


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """A finite group of rotations about the origin.

    name : ``C5``, ``D3``, ``T``, ``O``, ``I`` (``C1`` for none)
    matrices : (n, 3, 3) float, element k carries x to matrices[k] @ x
    product : (n, n) int, product[a, b] is the element of matrices[a] @ matrices[b]
    inverse : (n,) int
    """

    name: str
    matrices: Floats
    product: Ints
    inverse: Ints

    @property
    def order(self) -> int:
        """Number of elements."""
        return len(self.matrices)

    def axis_angle_deg(self, k: int) -> tuple[Floats, float]:
        """Return the unit axis (3,) and the angle of element k, 0 <= angle <= 180 deg.

        The identity has the z axis and angle 0; a half-turn's axis points up (see `axes`).
        """
        vector = Rotation.from_matrix(self.matrices[k]).as_rotvec()
        angle = float(np.linalg.norm(vector))
        if angle < TOLERANCES.symmetry:
            return np.array([0.0, 0.0, 1.0]), 0.0
        axis = vector / angle
        if np.pi - angle < TOLERANCES.symmetry:
            return _pointing_up(axis), 180.0
        return axis, float(np.degrees(angle))

    def element(self, axis: Sequence[float], angle_deg: float, field: str = "turn") -> int:
        """Return the element that turns by `angle_deg` (right-handed) about `axis`.

        Parameters
        ----------
        axis : three numbers, any length but 0; not looked at when the angle is a full turn or 0
        angle_deg : degrees
        field : dotted name for the error's text

        Raises
        ------
        DesignError : no element agrees; its text names the axes and angles of the group.
        """
        vector = np.asarray(axis, dtype=float)
        length = float(np.linalg.norm(vector))
        if abs((angle_deg + 180.0) % 360.0 - 180.0) < np.degrees(TOLERANCES.symmetry):
            return 0
        if not (np.isfinite(length) and length > 0.0 and np.isfinite(angle_deg)):
            found = f"axis {list(axis)}, angle {angle_deg:g}"
            raise DesignError(field, found, "an axis of non-zero length and a finite angle (deg)")
        unit = vector / length
        turned = Rotation.from_rotvec(unit * np.radians(angle_deg)).as_matrix()
        # |A - B| (Frobenius) = sqrt(2) x the angle between them, when that is small; an axis that
        # is off by d tilts the rotation by up to 2 d.
        gaps = np.linalg.norm(self.matrices - turned, axis=(1, 2)) / np.sqrt(2.0)
        best = int(np.argmin(gaps))
        if gaps[best] > 2.0 * TOLERANCES.symmetry:
            raise _no_such_turn(self, unit, angle_deg, field)
        return best

    def element_order(self, k: int) -> int:
        """Return the least m >= 1 for which element k taken m times is the identity."""
        order, power = 1, k
        while power != 0:
            power = int(self.product[power, k])
            order += 1
        return order

    def axes(self) -> list[tuple[Floats, int]]:
        """Return (unit axis (3,), fold) of every rotation axis, once each, highest fold first.

        Of its two directions the one is given that points up (z > 0; if level y > 0, then x > 0).
        """
        return list(_axes(self))

    def classes(self) -> tuple[tuple[int, ...], ...]:
        """Return the conjugacy classes, each sorted, in order of their least element."""
        everyone = np.arange(self.order)
        images = self.product[self.product, self.inverse[:, None]]  # [x, g] -> x g x^-1
        unique = {tuple(sorted(set(images[:, g].tolist()))) for g in everyone}
        return tuple(sorted(unique))

    def subgroup(self, generators: Iterable[int]) -> tuple[int, ...]:
        """Return the elements, sorted, of the least subgroup that holds the generators."""
        steps = self.product[:, sorted(set(generators))].tolist()  # in a finite group these suffice
        members, waiting = {0}, [0]
        while waiting:
            for reached in steps[waiting.pop()]:
                if reached not in members:
                    members.add(reached)
                    waiting.append(reached)
        return tuple(sorted(members))

    def left_cosets(self, subgroup: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """Return the cosets x H by their least x, which comes first in each if H begins with 0."""
        return self._cosets(self.product[:, list(subgroup)])

    def right_cosets(self, subgroup: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """Return the cosets H x by their least x, which comes first in each if H begins with 0."""
        return self._cosets(self.product[list(subgroup), :].T)

    def _cosets(self, rows: Ints) -> tuple[tuple[int, ...], ...]:
        seen: set[int] = set()
        cosets = []
        for x in range(self.order):
            if x not in seen:
                coset = tuple(rows[x].tolist())
                seen.update(coset)
                cosets.append(coset)
        return tuple(cosets)

    def stabiliser(self, points: npt.ArrayLike, tol: float = TOLERANCES.point) -> tuple[int, ...]:
        """Return the elements that carry the set of points to itself.

        points : (k, 3) or one point (3,); tol : largest distance, same unit as the points
        """
        here = np.atleast_2d(np.asarray(points, dtype=float))
        moved = here @ self.matrices.transpose(0, 2, 1)  # (n, k, 3)
        gaps = cdist(moved.reshape(-1, 3), here).reshape(self.order, len(here), len(here))
        onto = (gaps.min(axis=2).max(axis=1) <= tol) & (gaps.min(axis=1).max(axis=1) <= tol)
        return tuple(np.flatnonzero(onto).tolist())

    def orbit(self, vector: npt.ArrayLike, tol: float = TOLERANCES.point) -> Floats:
        """Return the distinct images (m, 3) of a point (3,), one for each left coset in order.

        The first is the point itself; m times the size of the stabiliser is the group's order.
        """
        cosets = self.left_cosets(self.stabiliser(vector, tol))
        representatives = [coset[0] for coset in cosets]
        images: Floats = self.matrices[representatives] @ np.asarray(vector, dtype=float)
        return images


@lru_cache(maxsize=64)  # asked for again and again of one group while a number is dragged
def _axes(group: Group) -> tuple[tuple[Floats, int], ...]:
    """Work out `Group.axes`; the arrays are read-only."""
    found: list[tuple[Floats, int]] = []
    orders = [group.element_order(k) for k in range(group.order)]
    for k in sorted(range(1, group.order), key=lambda k: -orders[k]):
        axis = _pointing_up(group.axis_angle_deg(k)[0])
        if not any(abs(axis @ other) > 1.0 - TOLERANCES.symmetry**2 for other, _ in found):
            axis.setflags(write=False)
            found.append((axis, orders[k]))
    return tuple(found)


@lru_cache(maxsize=64)
def rotation_group(name: str) -> Group:
    """Return a group by name, oriented as scipy's ``Rotation.create_group`` orients it.

    Cn turns about z; Dn has its main axis on z and a two-fold axis on x; T, O and I have two-fold
    (or four-fold) axes on x, y and z. The identity is moved to index 0.

    Raises
    ------
    DesignError : the name is none of C1 to C120, D2 to D120, T, O, I.
    """
    wanted = name.strip().upper()
    match = re.fullmatch(r"[TOI]|([CD])([1-9]\d*)", wanted)
    least = 2 if wanted.startswith("D") else 1
    if not match or (match[2] and not least <= int(match[2]) <= LARGEST_FOLD):
        allowed = f"C1 to C{LARGEST_FOLD}, D2 to D{LARGEST_FOLD}, T, O or I"
        raise DesignError("frame.group", name, allowed)
    matrices = _snapped(Rotation.create_group(wanted, axis="Z").as_matrix())
    return group_from_matrices(wanted, matrices)


def group_from_matrices(name: str, matrices: npt.ArrayLike) -> Group:
    """Return the group of the given rotations (n, 3, 3), identity first, with its tables.

    Raises
    ------
    FrameError : a matrix is no rotation, two are equal, or the set is not closed.
    """
    given = np.asarray(matrices, dtype=float).reshape(-1, 3, 3)
    unit_gap = np.abs(given @ given.transpose(0, 2, 1) - np.eye(3)).max()
    if unit_gap > TOLERANCES.symmetry or np.linalg.det(given).min() < 0.0:
        raise FrameError(f"group {name}: not all matrices are rotations.")
    identity = int(np.argmax(np.trace(given, axis1=1, axis2=2)))
    order = [identity, *(k for k in range(len(given)) if k != identity)]
    ordered = given[order]
    product = _lookup(name, ordered, ordered[:, None] @ ordered[None, :])
    inverse = _lookup(name, ordered, ordered.transpose(0, 2, 1))
    if any(len(set(row)) < len(ordered) for row in product.tolist()):
        raise FrameError(f"group {name}: two of its elements are equal.")
    for array in (ordered, product, inverse):
        array.setflags(write=False)
    return Group(name, ordered, product, inverse)


def name_of(matrices: npt.ArrayLike) -> str:
    """Return the type of a closed set of rotations (n, 3, 3): ``C4``, ``D3``, ``T``, ``O``, ``I``.

    The finite rotation groups of space differ in their order n and highest fold m (the smallest
    turn is 360/m): (12, 3) T, (24, 4) O, (60, 5) I, m = n cyclic, 2 m = n dihedral.

    Raises
    ------
    FrameError : the order and the smallest turn are of no finite rotation group.
    """
    given = np.asarray(matrices, dtype=float).reshape(-1, 3, 3)
    order = len(given)
    if order == 1:
        return "C1"
    angles = np.sort(Rotation.from_matrix(given).magnitude())
    fold = round(2.0 * np.pi / float(angles[1]))
    names = {(12, 3): "T", (24, 4): "O", (60, 5): "I", (fold, fold): f"C{fold}"}
    if (order, fold) in names:
        return names[order, fold]
    if order == 2 * fold:
        return f"D{fold}"
    raise FrameError(f"{order} rotations with a highest fold of {fold} are no finite group.")


def _lookup(name: str, elements: Floats, wanted: Floats) -> Ints:
    """Return the index of each wanted matrix (..., 3, 3) among the elements (n, 3, 3)."""
    # The trace of A^T B is greatest (3) for A = B, and is the dot product of their entries.
    dots = wanted.reshape(-1, 9) @ elements.reshape(-1, 9).T
    index = np.argmax(dots, axis=1)
    gap = np.abs(elements.reshape(-1, 9)[index] - wanted.reshape(-1, 9)).max()
    if gap > TOLERANCES.symmetry:
        raise FrameError(f"group {name}: the product of two elements is not in it.")
    numbers: Ints = index.reshape(wanted.shape[:-2]).astype(np.intp)
    return numbers


def _snapped(matrices: Floats) -> Floats:
    """Return the matrices with entries that are known exactly put right in their last digits."""
    golden = (1.0 + np.sqrt(5.0)) / 2.0
    known = np.array([0.0, 0.5, 1.0, golden / 2.0, (golden - 1.0) / 2.0])
    index = np.argmin(np.abs(np.abs(matrices)[..., None] - known), axis=-1)
    exact = np.copysign(known[index], matrices) + 0.0
    snapped: Floats = np.where(np.abs(exact - matrices) < 1e-14, exact, matrices) + 0.0
    return snapped


def _pointing_up(axis: Floats) -> Floats:
    """Return axis or its opposite: the one whose last component that is not 0 is positive."""
    last = next(c for c in axis[::-1] if abs(c) > TOLERANCES.symmetry)
    up: Floats = axis * np.sign(last) + 0.0
    return up


def _no_such_turn(group: Group, unit: Floats, angle_deg: float, field: str) -> DesignError:
    found = f"{angle_deg:g} deg about ({', '.join(f'{c:.5g}' for c in unit)})"
    axes = group.axes()
    for axis, fold in axes:
        if np.linalg.norm(np.cross(axis, unit)) <= 2.0 * TOLERANCES.symmetry:
            angles = ", ".join(f"{360.0 * k / fold:g}" for k in range(fold))
            return DesignError(field, found, f"about this {fold}-fold axis {angles} deg")
    if not axes:
        return DesignError(field, found, "the identity only (the frame has no symmetry): angle 0")
    axis, fold = max(axes, key=lambda pair: abs(float(pair[0] @ unit)))
    nearest = ", ".join(f"{c:.9g}" for c in axis * np.sign(axis @ unit or 1.0))
    folds = sorted({fold for _, fold in axes})
    kinds = ", ".join(f"{sum(f == fold for _, f in axes)} {fold}-fold" for fold in folds)
    allowed = f"an axis of group {group.name} ({kinds})"
    return DesignError(field, found, allowed, f"The nearest is {fold}-fold: ({nearest}).")
