# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Many convex polygons at once: cut them by half-planes, integrate over them, exactly.

A polygon is a row of each of several tables (n, v): x and y of its corners in order, and further
columns, linear functions of the place, that are carried along. Corners may repeat, so polygons
with fewer corners than v stand in the same tables.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

__all__ = ["clip", "integrals", "positive_integrals"]

Floats = npt.NDArray[np.float64]


def clip(columns: Sequence[Floats], values: Floats) -> list[Floats]:
    """Cut convex polygons by half-planes.

    columns : tables (n, v) at the corners, x and y among them
    values : (n, v), a linear function at the corners; what is not negative stays
    Returns: the columns, (n, v + 1); where nothing stays all corners of a polygon are equal.
    """
    keep = values >= 0.0
    rows = np.flatnonzero(~keep.all(axis=1))
    clipped = [np.concatenate([column, column[:, -1:]], axis=1) for column in columns]
    if len(rows):
        parts = _cut([column[rows] for column in columns], values[rows], keep[rows])
        for column, part in zip(clipped, parts, strict=True):
            column[rows] = part
    return clipped


def _cut(columns: Sequence[Floats], values: Floats, keep: npt.NDArray[np.bool_]) -> list[Floats]:
    """Cut polygons of which at least one corner goes."""
    n, v = values.shape
    stay = np.count_nonzero(keep, axis=1)
    # Turn each polygon so that the corners that stay come first; then follow the two cuts.
    entry = np.argmax(keep & ~np.roll(keep, 1, axis=1), axis=1)
    base = np.arange(n) * v
    order = (entry[:, None] + np.arange(v + 1)) % v + base[:, None]
    last_in, first_out = base + (entry + stay - 1) % v, base + (entry + stay) % v
    last_out, first_in = base + (entry - 1) % v, base + entry
    flat = values.ravel()
    share_out = _share(flat[last_in], flat[first_out], stay > 0)
    share_in = _share(flat[first_in], flat[last_out], stay > 0)
    slot = np.arange(v + 1)
    is_out, is_in = slot == stay[:, None], slot > stay[:, None]
    parts = []
    for column in columns:
        at = column.ravel()
        out = at[last_in] + share_out * (at[first_out] - at[last_in])
        into = at[first_in] + share_in * (at[last_out] - at[first_in])
        part = np.where(is_out, out[:, None], at[order])
        parts.append(np.where(is_in, into[:, None], part))
    return parts


def _share(inner: Floats, outer: Floats, cut: npt.NDArray[np.bool_]) -> Floats:
    """Return where the value falls to 0 on the way from an inner corner to an outer one."""
    share: Floats = np.where(cut, inner / np.where(cut, inner - outer, 1.0), 0.0)
    return share


def integrals(x: Floats, y: Floats, f: Floats, weights: Sequence[Floats] = ()) -> Floats:
    """Return the integrals of f, and of f w for each of m linear functions w: (n, 1 + m).

    x, y, f, weights : tables (n, v); polygons anticlockwise
    """
    dx, dy = x[:, 1:] - x[:, :1], y[:, 1:] - y[:, :1]
    twice = dx[:, :-1] * dy[:, 1:] - dx[:, 1:] * dy[:, :-1]
    total = f[:, :1] + f[:, 1:-1] + f[:, 2:]
    found = [np.einsum("nv,nv->n", twice, total) / 6.0]
    for w in weights:
        # Over a triangle of area T the integral of f w is T/12 (sum f_i w_i + sum f_i sum w_i).
        inner = f[:, :1] * w[:, :1] + f[:, 1:-1] * w[:, 1:-1] + f[:, 2:] * w[:, 2:]
        inner += total * (w[:, :1] + w[:, 1:-1] + w[:, 2:])
        found.append(np.einsum("nv,nv->n", twice, inner) / 24.0)
    return np.stack(found, axis=1)


def positive_integrals(x: Floats, y: Floats, f: Floats, weights: Sequence[Floats] = ()) -> Floats:
    """Return the same with max(0, f) in place of f."""
    result = np.zeros((len(x), 1 + len(weights)))
    most, least = f.max(axis=1), f.min(axis=1)
    whole = np.flatnonzero((least >= 0.0) & (most > 0.0))
    result[whole] = integrals(x[whole], y[whole], f[whole], [w[whole] for w in weights])
    some = np.flatnonzero((least < 0.0) & (most > 0.0))
    if len(some):
        columns = [column[some] for column in (x, y, f, *weights)]
        cut = clip(columns, columns[2])
        result[some] = integrals(cut[0], cut[1], cut[2], cut[3:])
    return result
