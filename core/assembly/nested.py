# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Plates as boxes in boxes: large ones to look at first, small ones in them, triangles in those."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from ..checks.ragged import spread
from .bodies import Body
from .passing import Standing

__all__ = ["Boxes", "Cover", "Layout", "prism_gaps"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.intp]
Layout = tuple[Ints, Ints, Floats, Floats]

_FEW = 3  # small boxes that share a large one in any case
_TIGHT = 2.0  # a large box may be so much larger than the sheet in it


@dataclass(frozen=True, slots=True, eq=False)
class Boxes:
    """Boxes of plates: centre (n, 3), axes (n, 3, 3) as rows, half (n, 3), reach (n,).

    plate, zones : (n,) the plate of each, and the bits of its joints' zones that it lies in
    """

    centre: Floats
    axes: Floats
    half: Floats
    reach: Floats
    plate: Ints
    zones: Ints

    @classmethod
    def of(cls, centre: Floats, span: Floats, plate: Ints, zones: Ints) -> Boxes:
        """Make boxes of their half axes, span (n, 3, 3)."""
        half = np.linalg.norm(span, axis=2)
        axes = span / np.maximum(half, 1e-9)[:, :, None]
        return cls(centre, axes, half, np.linalg.norm(half, axis=1), plate, zones)


@dataclass(frozen=True, slots=True, eq=False)
class Cover:
    """Few boxes round the boxes of a plate: large ones to look at first.

    large, small : boxes; the small ones of large box k are rows first[k] to first[k + 1]
    triangles : (t, 3, 3) mm; those of small box k are rows cut[k] to cut[k + 1]; rises : (t, 3)
    """

    large: Boxes
    small: Boxes
    first: Ints
    triangles: Floats
    rises: Floats
    cut: Ints

    @classmethod
    def of(cls, standing: Standing, plates: Sequence[int], known: dict[int, Layout]) -> Cover:
        """Cover some plates at their places; known : layouts of bodies by their id."""
        large: list[tuple[Floats, Floats]] = []
        small: list[tuple[Floats, Floats, Ints]] = []
        counts, owner_large, owner_small = [], [], []
        triangles, rises, cuts = [], [], []
        for p in plates:
            body = standing.bodies[p]
            if id(body) not in known:
                known[id(body)] = _layout(body)
            order, count, centres, spans = known[id(body)]
            turn, shift = standing.turns[p], standing.shifts[p]
            large.append((centres @ turn.T + shift, spans @ turn.T))
            rise = np.broadcast_to(standing.rises[p], (len(order), 1, 3))
            span = np.concatenate([standing.halves[p][order], rise], axis=1)
            small.append((standing.centres[p][order], span, body.box_zones[order]))
            each = np.diff(body.first)[order]
            _, row = spread(body.first[:-1][order], each)
            triangles.append(standing.triangles[p][row])
            rises.append(np.broadcast_to(standing.rises[p], (len(row), 3)))
            cuts.append(each)
            counts.append(count)
            owner_large.append(np.full(len(centres), p))
            owner_small.append(np.full(len(order), p))
        nothing = np.zeros(sum(len(one) for one in owner_large), dtype=np.intp)
        return cls(
            Boxes.of(
                np.concatenate([one[0] for one in large]),
                np.concatenate([one[1] for one in large]),
                np.concatenate(owner_large),
                nothing,
            ),
            Boxes.of(
                np.concatenate([one[0] for one in small]),
                np.concatenate([one[1] for one in small]),
                np.concatenate(owner_small),
                np.concatenate([one[2] for one in small]),
            ),
            np.concatenate([[0], np.cumsum(np.concatenate(counts))]).astype(np.intp),
            np.concatenate(triangles),
            np.concatenate(rises),
            np.concatenate([[0], np.cumsum(np.concatenate(cuts))]).astype(np.intp),
        )


def _layout(body: Body) -> Layout:
    """Gather a body's boxes in large ones: order of the small, how many in each, centres, spans."""
    across = body.halves[:, :, :2]
    signs = np.array([[1, 1], [1, -1], [-1, -1], [-1, 1]], dtype=float)
    corners = body.centres[:, None, :2] + np.einsum("sk,bki->bsi", signs, across)
    flat = body.triangles[:, :, :2]
    one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    area = np.add.reduceat(
        np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]) / 2, body.first[:-1]
    )
    groups: list[tuple[Ints, Floats, Floats]] = []

    def split(rows: Ints) -> None:
        points = corners[rows].reshape(-1, 2)
        ring = shapely.get_coordinates(shapely.oriented_envelope(shapely.MultiPoint(points)))
        along, wide = ring[1] - ring[0], ring[3] - ring[0]
        size = float(np.linalg.norm(along) * np.linalg.norm(wide))
        if len(rows) <= _FEW or size <= _TIGHT * float(area[rows].sum()):
            span = np.zeros((3, 3))
            span[:2, :2] = along / 2, wide / 2
            span[2] = body.rise
            groups.append((rows, np.append(ring[0] + (along + wide) / 2, 0.0), span))
            return
        middles = body.centres[rows, :2]
        axis = along if np.linalg.norm(along) > np.linalg.norm(wide) else wide
        order = rows[np.argsort(middles @ axis, kind="stable")]
        split(order[: len(order) // 2])
        split(order[len(order) // 2 :])

    split(np.arange(len(corners)))
    return (
        np.concatenate([rows for rows, _, _ in groups]),
        np.array([len(rows) for rows, _, _ in groups], dtype=np.intp),
        np.array([centre for _, centre, _ in groups]),
        np.array([span for _, _, span in groups]),
    )


def prism_gaps(
    ours: Floats, rise: Floats, theirs: Floats, other: Floats, enough: float = np.inf
) -> Floats:
    """Return lower bounds of the gaps of prisms, (n,): triangles (n, 3, 3) and half heights.

    enough : bounds above it need not be the best
    """
    first = np.stack([rise, other, theirs.mean(axis=1) - ours.mean(axis=1)], axis=1)
    gap = _apart(first, ours, rise, theirs, other)
    rows = np.flatnonzero(gap < enough)
    if len(rows):
        ours, rise, theirs, other = ours[rows], rise[rows], theirs[rows], other[rows]
        edges_a, edges_b = np.roll(ours, -1, axis=1) - ours, np.roll(theirs, -1, axis=1) - theirs
        spans_a = np.concatenate([edges_a, rise[:, None]], axis=1)
        spans_b = np.concatenate([edges_b, other[:, None]], axis=1)
        axes = np.concatenate(
            [
                _cross(edges_a, rise[:, None]),
                _cross(edges_b, other[:, None]),
                _cross(spans_a[:, :, None], spans_b[:, None]).reshape(len(ours), 16, 3),
            ],
            axis=1,
        )
        gap[rows] = np.maximum(gap[rows], _apart(axes, ours, rise, theirs, other))
    return gap


def _cross(one: Floats, two: Floats) -> Floats:
    """Return cross products; numpy's own does the same in three times the time."""
    x, y, z = (one[..., k] for k in range(3))
    u, v, w = (two[..., k] for k in range(3))
    return np.stack([y * w - z * v, z * u - x * w, x * v - y * u], axis=-1)


def _apart(axes: Floats, ours: Floats, rise: Floats, theirs: Floats, other: Floats) -> Floats:
    """Return how far prisms are apart along the best of their axes (n, k, 3), mm."""
    size = np.sqrt(np.einsum("nki,nki->nk", axes, axes))
    known = size > 1e-6
    axes = (axes / np.where(known, size, 1.0)[:, :, None]).transpose(0, 2, 1)
    of_a, of_b = ours @ axes, theirs @ axes
    reach = np.abs(rise[:, None] @ axes)[:, 0] + np.abs(other[:, None] @ axes)[:, 0]
    apart = (
        np.maximum(of_a.min(axis=1) - of_b.max(axis=1), of_b.min(axis=1) - of_a.max(axis=1)) - reach
    )
    gap: Floats = np.where(known, apart, -np.inf).max(axis=1)
    return gap
