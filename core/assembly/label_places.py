# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Where labels stand beside a picture: in two columns, none over another, no leaders crossing.

Labels at the sides of a drawing, each led to its point by a straight line. In a column the labels
stand in the order that makes the lines shortest: two lines that cross become shorter when their
labels change places, so no lines cross in the end (Bekos, Kaufmann, Symvonis and Wolff, Boundary
labeling: models and efficient algorithms for rectangular maps, Comput. Geom. 36, 2007).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.optimize import linear_sum_assignment

__all__ = ["beside"]

Floats = npt.NDArray[np.float64]


def beside(
    points: Floats, sizes: Floats, frame: tuple[float, float, float, float], gap: float
) -> tuple[Floats, Floats]:
    """Place labels in columns at the left and right edge of a frame.

    points : (n, 2) what is labelled, y up; sizes : (n, 2) width and height of the labels
    frame : x and y of the lower left corner, then of the upper right one
    gap : least distance between labels one above another

    Returns
    -------
    corners : (n, 2) lower left corner of each label
    ends : (n, 2) where its leader starts, on the label's side towards the middle

    Labels that do not fit between the lower and the upper edge go beyond it evenly.
    """
    count = len(points)
    corners, ends = np.zeros((count, 2)), np.zeros((count, 2))
    if not count:
        return corners, ends
    x0, y0, x1, y1 = frame
    left = np.zeros(count, dtype=bool)
    # Half of them each side, as nearly as their sides ask for and the height allows.
    order = np.argsort(points[:, 0], kind="stable")
    split = int((points[:, 0] < (x0 + x1) / 2).sum())
    most = max(1, int((y1 - y0) // (float(sizes[:, 1].max()) + gap)))
    split = min(max(split, count - most), most) if count <= 2 * most else count // 2
    left[order[:split]] = True
    for side in (True, False):
        rows = np.flatnonzero(left == side)
        if not len(rows):
            continue
        height = float(sizes[rows, 1].max())
        middles = _spread(np.sort(points[rows, 1]), height + gap, y0 + height / 2, y1 - height / 2)
        x = x0 + float(sizes[rows, 0].max()) if side else x1 - float(sizes[rows, 0].max())
        slots = np.column_stack([np.full(len(rows), x), middles])
        length = np.linalg.norm(points[rows][:, None] - slots[None], axis=2)
        _, slot = linear_sum_assignment(length)
        ends[rows] = slots[slot]
        corners[rows, 0] = x - sizes[rows, 0] if side else x
        corners[rows, 1] = middles[slot] - sizes[rows, 1] / 2
    return corners, ends


def _spread(wanted: Floats, step: float, low: float, high: float) -> Floats:
    """Return places (n,), at least `step` apart and within bounds, as near as can be to `wanted`.

    wanted : (n,) rising. Least squares: neighbours that push each other share their mean.
    """
    count = len(wanted)
    base = step * np.arange(count)
    blocks: list[list[float]] = []  # sum of wanted - base, number
    for value in (wanted - base).tolist():
        blocks.append([value, 1.0])
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] >= blocks[-1][0] / blocks[-1][1]:
            total, number = blocks.pop()
            blocks[-1][0] += total
            blocks[-1][1] += number
    level = np.concatenate([np.full(int(number), total / number) for total, number in blocks])
    room = high - low - base[-1]
    level = np.clip(level, low, low + room) if room >= 0.0 else np.full(count, low + room / 2)
    spread: Floats = level + base
    return spread
