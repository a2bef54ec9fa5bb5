# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Lists of unequal length, many at once: flat arrays with an owner beside each item.

A *flat list* is a set of columns of one length and a column `owner` (int, ascending): which of the
k lists each row belongs to. So thousands of plate pairs with few edges each are handled by a few
dozen numpy calls, not by a loop.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt

__all__ = ["batches", "counts_of", "join", "least", "lowest", "spread"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]


def spread(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Return (owner, index) of the ranges first[k] ... first[k] + count[k] - 1, one after another.

    first, count : (k,) int
    Returns: two (sum of count,) int arrays.
    """
    owner = np.arange(len(count)).repeat(count)
    shift = first - (count.cumsum() - count)
    return owner, np.arange(len(owner)) + shift[owner]


def counts_of(owner: Ints, k: int) -> tuple[Ints, Ints]:
    """Return (first row, number of rows) of each of the k owners in an ascending `owner` column."""
    count = np.bincount(owner, minlength=k).astype(np.intp, copy=False)
    return count.cumsum() - count, count


def join(owner_a: Ints, owner_b: Ints, k: int) -> tuple[Ints, Ints]:
    """Return row numbers (i, j) of all pairs of rows with the same owner, ascending in i.

    owner_a, owner_b : ascending int columns with values below k
    """
    first, count = counts_of(owner_b, k)
    return spread(first[owner_a], count[owner_a])


def least(values: Floats, owner: Ints, k: int) -> tuple[Floats, Ints]:
    """Return for each of k owners the least value and its row; (inf, -1) where it has no row.

    values : (n,) float; owner : (n,) ascending int
    """
    best = lowest(values, owner, k)
    row = np.full(k, -1, dtype=np.intp)
    hits = (values <= best[owner]).nonzero()[0][::-1]
    row[owner[hits]] = hits
    return best, row


def lowest(values: Floats, owner: Ints, k: int) -> Floats:
    """Return for each of k owners the least value, inf where it has no row; owner ascending."""
    best = np.full(k, np.inf)
    if len(values):
        new = np.empty(len(owner), dtype=bool)
        new[0] = True
        np.not_equal(owner[1:], owner[:-1], out=new[1:])
        first = new.nonzero()[0]
        best[owner[first]] = np.minimum.reduceat(values, first)
    return best


def batches(sizes: Ints, budget: int) -> list[slice]:
    """Cut 0 ... k-1 into runs whose `sizes` sum to about `budget` at most (at least one each)."""
    if len(sizes) == 0:
        return []
    if sizes.sum() <= budget:
        return [slice(0, len(sizes))]
    step = np.cumsum(sizes) // max(budget, 1)
    cuts = [0, *(np.flatnonzero(np.diff(step)) + 1).tolist(), len(sizes)]
    return [slice(a, b) for a, b in pairwise(cuts)]
