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


def module_offsets(choice: ModuleChoice, radius: float, centroids: Floats, module: Ints) -> Floats:
    """Return the way of each module at full explosion, (M, 3) mm: straight out from the centre.

    centroids : (P, 3) of the plates
    """
    count = int(module.max()) + 1
    sums = np.zeros((count, 3))
    np.add.at(sums, module, centroids)
    mean = sums / np.bincount(module, minlength=count)[:, None]
    length = np.linalg.norm(mean, axis=1, keepdims=True)
    away = np.where(length > 1e-6 * radius, mean / np.maximum(length, 1e-300), 0.0)
    return choice.explode * radius * away


def plate_offsets(
    choice: ModuleChoice, radius: float, centroids: Floats, module: Ints, joints: JointTable
) -> Floats:
    """Return the way of each plate inside its module at full explosion, (P, 3) mm.

    A plate draws its own tabs out and leaves those of its neighbours: minus the sum of the
    insertion directions of the joints inside its module that it enters, plus half of those that
    enter it.
    Plates on which these cancel move straight away from the centre of their module.
    """
    count = len(module)
    way = np.zeros((count, 3))
    inside = module[joints.first] == module[joints.second]
    np.add.at(way, joints.first[inside], -joints.insertion[inside])
    np.add.at(way, joints.second[inside], 0.5 * joints.insertion[inside])
    length = np.linalg.norm(way, axis=1, keepdims=True)
    modules = int(module.max()) + 1
    sums = np.zeros((modules, 3))
    np.add.at(sums, module, centroids)
    middle = (sums / np.bincount(module, minlength=modules)[:, None])[module]
    radial = centroids - middle
    reach = np.maximum(np.linalg.norm(radial, axis=1, keepdims=True), 1e-300)
    radial = np.where(reach > 1e-6 * radius, radial / reach, 0.0)
    way = np.where(length > 0.1, way / np.maximum(length, 1e-300), radial)
    return choice.explode_plates * radius * way
