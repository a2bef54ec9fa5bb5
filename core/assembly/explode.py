# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Exploded offsets: modules move away from the centre, plates draw their tabs out of the slots."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from ..design.model import ModuleChoice
from ..joints.table import JointTable

__all__ = ["module_offsets", "plate_offsets"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]

#: Sums of unit vectors shorter than this point nowhere in particular.
_CANCELLED = 0.1
# A ring's slit moves its centroid a little off the centre that it surrounds (share of the radius).
_ROUND_MIDDLE = 0.05


def module_offsets(choice: ModuleChoice, radius: float, centroids: Floats, module: Ints) -> Floats:
    """Return the way of each module at full explosion, (M, 3) mm: straight out from the centre.

    radius : of the frame, mm; centroids : (P, 3) of the plates, mm; module : (P,) of each plate
    """
    return choice.explode * radius * _unit(_middles(centroids, module), 1e-6 * radius)


def plate_offsets(
    choice: ModuleChoice,
    radius: float,
    centroids: Floats,
    normals: Floats,
    module: Ints,
    joints: JointTable,
) -> Floats:
    """Return the way of each plate inside its module at full explosion, (P, 3) mm.

    A plate draws its own tabs out and leaves those of its neighbours: minus the sum of the
    insertion directions of the joints inside its module that it enters, plus half of those that
    enter it; the plates of a cross-lap enter each other alike. Plates on which these cancel move
    straight away from the centre of their module, or, held by cross-laps alone round that centre
    as great rings are, along their own normals.
    radius : of the frame, mm; centroids : (P, 3) of the plates, mm; normals : (P, 3) unit vectors;
    module : (P,) of each plate
    """
    way = np.zeros((len(module), 3))
    inside = np.flatnonzero(module[joints.first] == module[joints.second])
    insertion = joints.insertion[inside]
    yielding = np.where(joints.has_pin[inside], 0.5, 1.0)[:, None]
    np.add.at(way, joints.first[inside], -insertion)
    np.add.at(way, joints.second[inside], yielding * insertion)
    off_middle = centroids - _middles(centroids, module)[module]
    radial = _unit(off_middle, 1e-6 * radius)
    tenoned = np.zeros(len(module), dtype=bool)
    tenoned[joints.first[joints.has_pin]] = tenoned[joints.second[joints.has_pin]] = True
    lapped = np.zeros(len(module), dtype=bool)
    lapped[joints.first[inside]] = lapped[joints.second[inside]] = True
    stuck = lapped & ~tenoned & (np.linalg.norm(off_middle, axis=1) < _ROUND_MIDDLE * radius)
    radial = np.where(stuck[:, None], normals, radial)
    cancelled = np.linalg.norm(way, axis=1, keepdims=True) < _CANCELLED
    return choice.explode_plates * radius * np.where(cancelled, radial, _unit(way, _CANCELLED))


def _middles(centroids: Floats, module: Ints) -> Floats:
    """Return the mean (M, 3) of the plates' centroids in each module."""
    sums = np.zeros((int(module.max()) + 1, 3))
    np.add.at(sums, module, centroids)
    mean: Floats = sums / np.bincount(module)[:, None]
    return mean


def _unit(vectors: Floats, least: float) -> Floats:
    """Return rows (n, 3) at unit length; 0 for those that are not longer than `least`."""
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.where(length > least, vectors / np.maximum(length, 1e-300), 0.0)
