# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Finite rotation groups as tables: elements are small integers, element 0 is the identity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Group"]


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """A finite group of rotations about the origin.

    name : ``C5``, ``D3``, ``T``, ``O``, ``I`` (``C1`` for none)
    matrices : (n, 3, 3) float, element k carries x to matrices[k] @ x
    product : (n, n) int, product[a, b] is the element of matrices[a] @ matrices[b]
    inverse : (n,) int
    """

    name: str
    matrices: npt.NDArray[np.float64]
    product: npt.NDArray[np.intp]
    inverse: npt.NDArray[np.intp]

    @property
    def order(self) -> int:
        """Number of elements."""
        return len(self.matrices)
