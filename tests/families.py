# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""All designs of one motif on a fine grid, and which of their families a find lies in.

A field is one pattern with one of its normals and one order of the slots along the strip: all that
is left is the offset h of the plane and the place of each rotor's joint. A grid is laid over these,
for strips of one width; cells that keep clear and bend no tighter than they may are feasible, and
what hangs together of them is a family. Lengths have no scale but the strip's width: a find of any
size falls on the grid when it is scaled to that width. A mirror image has h and places negated, so
half of the offsets are enough, and a find with h below 0 is looked at in the mirror.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import permutations

import numpy as np
from scipy import ndimage

from pinwright.core.design.model import Design
from pinwright.core.errors import PinwrightError
from pinwright.core.frame.group import Group, rotation_group
from pinwright.core.results import Build
from pinwright.core.search.finds import Find, Wanted, design_of
from pinwright.core.search.geometry import Geometry
from pinwright.core.search.improve import Goal, quality
from pinwright.core.search.listing import every_pattern, symmetries
from pinwright.core.search.measure import Order, measure, paths_of
from pinwright.core.search.normals import one_motif_normals
from pinwright.core.search.patterns import KINDS, Pattern
from pinwright.core.search.routes import course, squares
from tests.built import build

__all__ = [
    "Family",
    "Field",
    "Grid",
    "built_of",
    "design_at",
    "families",
    "fields",
    "hits",
    "places_of",
    "row_of",
    "shaped",
]

CHUNK = 4000


@dataclass(frozen=True)
class Grid:
    """Cells of `step` radii for strips of `width` radii; the wishes are the search's own."""

    wanted: Wanted
    width: float = 0.045
    step: float = 0.02

    @property
    def goal(self) -> Goal:
        radius = self.wanted.diameter / 2
        return Goal((self.wanted.clearance + self.wanted.thickness) / radius, None)

    @property
    def offsets(self) -> np.ndarray:
        return (np.arange(int(0.96 / self.step)) + 0.5) * self.step

    @property
    def places(self) -> np.ndarray:
        half = int(0.96 / self.step)
        return np.arange(-half, half + 1) * self.step


@dataclass(frozen=True)
class Field:
    """One pattern, normal and order of the slots.

    turns : ways (sign of h, place of each class) in which the field is carried onto itself
    """

    geometry: Geometry
    order: Order
    turns: tuple[tuple[float, tuple[int, ...]], ...]

    @property
    def drawn(self) -> tuple[int, ...]:
        return self.geometry.pattern.drawn(0)


@dataclass
class Family:
    """Cells (k, 1 + rotors) that hang together, best first; hit : by finds of these batches."""

    field: Field
    cells: np.ndarray
    worth: np.ndarray
    built: bool = False
    hit: list[int] = field(default_factory=list)


def fields(group: Group) -> Iterator[Field]:
    """Yield all fields of one motif, equal ones once."""
    for kind in KINDS[1]:
        for pattern in every_pattern(group, kind):
            for normal in square_lines(group, pattern):
                geometry = Geometry.of(group, pattern, normal[None])
                turns = [(sign, places) for sign, places in carried(group, pattern, normal, normal)]
                done = set()
                for slots in permutations(pattern.slots(0)):
                    if slots in done:
                        continue
                    done |= {renamed(pattern, places, slots) for _, places in turns}
                    same = [
                        (sign, places)
                        for sign, places in turns
                        if renamed(pattern, places, slots) == slots
                    ]
                    yield Field(geometry, (slots,), tuple(same))


def renamed(pattern: Pattern, places: Sequence[int], slots: Sequence[int]) -> tuple[int, ...]:
    """Return the order of the slots from the first tab on, when class c is called places[c]."""
    order = tuple(places[c] for c in slots)
    tabs = [places[c] for c in pattern.tabs(0)]
    return order if tabs == sorted(tabs) else order[::-1]


def square_lines(group: Group, pattern: Pattern) -> list[np.ndarray]:
    """Return the normals that are square for a pattern and keep no plate in its own plane."""
    elements = [g for _, _, g in pattern.classes]
    found: list[np.ndarray] = []
    for one in one_motif_normals(group):
        if one.plates_in_plane > 1:
            continue
        for normal in group.matrices @ one.normal:
            if np.abs(group.matrices[elements] @ normal @ normal).max() < 1e-9 and not any(
                list(carried(group, pattern, normal, other)) for other in found
            ):
                found.append(normal)
    return found


def carried(
    group: Group, pattern: Pattern, normal: np.ndarray, onto: np.ndarray
) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Yield (sign, places) of the turns that carry a pattern to itself and a normal to +- onto."""
    yield from _carried(group, pattern, normal, pattern, onto)


def _carried(
    group: Group, one: Pattern, normal: np.ndarray, other: Pattern, onto: np.ndarray
) -> Iterator[tuple[float, tuple[int, ...]]]:
    along = group.matrices @ normal @ onto
    for x in np.flatnonzero(np.abs(along) > 1 - 1e-9):
        turned = group.product[group.product[x, [g for _, _, g in one.classes]], group.inverse[x]]
        for _, places in symmetries(one.kind):
            # A half-turn is its own inverse, so laps need no second look.
            if all(other.classes[p][2] == g for p, g in zip(places, turned, strict=True)):
                yield float(np.sign(along[x])), places


def families(grid: Grid, one: Field) -> list[Family]:
    """Return what hangs together of the feasible cells of a field, largest first."""
    rotors = len(one.drawn)
    axes = [grid.offsets, *[grid.places] * rotors]
    shape = tuple(map(len, axes))
    worth = np.full(shape, -np.inf)
    flat = worth.reshape(-1)
    for begin in range(0, flat.size, 25 * CHUNK):
        cells = np.arange(begin, min(begin + 25 * CHUNK, flat.size))
        rows = np.column_stack(
            [axis[k] for axis, k in zip(axes, np.unravel_index(cells, shape), strict=True)]
        )
        kept = shaped(grid, one, rows)
        for part in range(0, len(kept), CHUNK):
            chosen = kept[part : part + CHUNK]
            flat[cells[chosen]] = judged(grid, one, rows[chosen])
    labels, count = ndimage.label(np.isfinite(worth), np.ones((3,) * worth.ndim))
    found = []
    for number in range(1, count + 1):
        cells = np.argwhere(labels == number)
        values = worth[tuple(cells.T)]
        found.append(Family(one, cells[np.argsort(-values)], np.sort(values)[::-1]))
    return sorted(_once(grid, one, found), key=lambda family: -len(family.cells))


def judged(grid: Grid, one: Field, rows: np.ndarray) -> np.ndarray:
    """Return the search's own measure of quality of cells (k, 1 + rotors); -inf: not feasible."""
    width = np.full(len(rows), grid.width)
    figures = measure(
        one.geometry, one.order, rows[:, :1], places_of(one, rows), width, 1.6 * grid.goal.gap
    )
    least = grid.goal.gap * figures.reach
    good = (figures.gap >= least) & (figures.own >= least) & (figures.reach <= 1)
    good &= (figures.bend >= 0.1) & (figures.apart >= 1.25)
    return np.where(good, quality(figures, width, grid.goal), -np.inf)


def shaped(grid: Grid, one: Field, rows: np.ndarray) -> np.ndarray:
    """Return the rows whose strips have ports apart, stay in the sphere, and do not fold."""
    geometry, width = one.geometry, grid.width
    level, places = rows[:, :1], places_of(one, rows)
    tabs = geometry.pattern.tabs(0)
    ports = [geometry.tab_port(tabs[0], level, places)]
    ports += [geometry.slot_port(c, level, places) for c in one.order[0]]
    ports += [geometry.tab_port(c, level, places) for c in tabs[1:]]
    strip = np.stack(ports, axis=1)
    steps = np.sqrt(squares(np.diff(strip, axis=1))).min(axis=1)
    far = squares(strip).max(axis=1) + level[:, 0] ** 2
    kept = np.flatnonzero((steps > 1.2 * width) & (far < 1))
    laid = course(
        *paths_of(geometry, 0, one.order, level[kept], places[kept], np.full(len(kept), width)), 8
    )
    far = squares(laid.points).max(axis=1) + level[kept, 0] ** 2
    return kept[(far < 1) & (laid.curvature.max(axis=1) * width < 1.9)]


def places_of(one: Field, rows: np.ndarray) -> np.ndarray:
    places = np.zeros((len(rows), len(one.geometry.pattern.classes)))
    places[:, list(one.drawn)] = rows[:, 1:]
    return places


def _images(one: Field, rows: np.ndarray) -> list[np.ndarray]:
    """Return the rows (k, 1 + rotors) that are the same designs or their mirror images."""
    found = []
    for sign, places in one.turns:
        moved = np.empty((len(rows), len(places)))
        moved[:, list(places)] = places_of(one, rows)
        level = sign * rows[:, 0]
        mirror = np.sign(level)
        moved = moved[:, list(one.drawn)]
        found.append(np.column_stack([level * mirror, moved * mirror[:, None]]))
    return found


def _cells(grid: Grid, rows: np.ndarray) -> np.ndarray:
    """Return the cells (k, 1 + rotors) in which rows lie."""
    level = np.floor(rows[:, :1] / grid.step)
    place = np.rint(rows[:, 1:] / grid.step) + (len(grid.places) - 1) // 2
    return np.concatenate([level, place], axis=1).astype(int)


def row_of(grid: Grid, cell: np.ndarray) -> np.ndarray:
    """Return offset and places in the middle of a cell."""
    return np.array([grid.offsets[cell[0]], *(grid.places[k] for k in cell[1:])])


def _once(grid: Grid, one: Field, found: list[Family]) -> list[Family]:
    """Leave out families that a turn or a mirror carries onto an earlier one."""
    kept: list[Family] = []
    taken: list[set[tuple[int, ...]]] = []
    for family in found:
        rows = np.array([row_of(grid, cell) for cell in family.cells[:40]])
        images = {tuple(cell) for image in _images(one, rows) for cell in _cells(grid, image)}
        if not any(images & cells for cells in taken):
            kept.append(family)
            taken.append({tuple(cell) for cell in family.cells})
    return kept


def design_at(grid: Grid, one: Field, row: np.ndarray) -> Design:
    """Return the design of a row (1 + rotors,)."""
    width = np.array([grid.width])
    places = places_of(one, row[None])
    figures = measure(one.geometry, one.order, row[None, :1], places, width, 0.05)
    find = Find(
        one.geometry.pattern, one.geometry.normals, row[:1], places[0], grid.width, one.order,
        float(figures.reach[0]), float(figures.gap[0]), 0,
    )  # fmt: skip
    return design_of(one.geometry.group, find, grid.wanted, "cell")


def built_of(grid: Grid, family: Family, tries: int = 6) -> Build | None:
    """Return the first of the best cells that passes every check of a full build."""
    for k in np.unique(np.linspace(0, min(len(family.cells), 40) - 1, tries).astype(int)):
        try:
            built = build(design_at(grid, family.field, row_of(grid, family.cells[k])))
        except PinwrightError:
            continue
        if built.ok:
            return built
    return None


def hits(grid: Grid, every: Sequence[Family], design: Design, batch: int) -> int:
    """Tell the families that a find lies in, or in a cell beside; return how many."""
    motif = design.motifs[0]
    group = rotation_group(str(design.frame.group))
    width = motif.width
    assert width is not None
    scale = grid.width / width
    turns = [joint.turn for joint in design.joint_classes]
    elements = [group.element(turn.axis, turn.angle) for turn in turns]
    at = np.array([joint.at for joint in design.joint_classes]) * scale
    normal = np.array(motif.normal)
    found = 0
    for family in every:
        one = family.field
        pattern = one.geometry.pattern
        if len(elements) != len(pattern.classes) or len(one.drawn) != sum(
            group.element_order(g) > 2 for g in elements
        ):
            continue
        mine = Pattern(1, pattern.kind, tuple((0, 0, g) for g in elements), pattern.laps)
        for sign, places in _carried(group, mine, normal, pattern, one.geometry.normals[0]):
            moved = np.empty(len(at))
            moved[list(places)] = at
            level = sign * motif.offset * scale
            row = np.array([level, *moved[list(one.drawn)]]) * (1 if level > 0 else -1)
            order = _order_of(Geometry.of(group, mine, normal[None]), design, at / scale)
            if renamed(pattern, places, order) != one.order[0]:
                continue
            if any(_beside(family, _cells(grid, image)[0]) for image in _images(one, row[None])):
                family.hit.append(batch)
                found += 1
                break
    return found


def _beside(family: Family, cell: np.ndarray) -> bool:
    return bool((np.abs(family.cells - cell).max(axis=1) <= 1).any())


def _order_of(geometry: Geometry, design: Design, at: np.ndarray) -> tuple[int, ...]:
    """Return the classes of the slots in their order along the path of a design."""
    motif = design.motifs[0]
    path = np.array(motif.path)[2:-2]
    slots = geometry.pattern.slots(0)
    level = np.array([[motif.offset]])
    ports = np.array([geometry.slot_port(c, level, at[None])[0] for c in slots])
    apart = np.linalg.norm(path[:, None] - ports, axis=2)
    order = tuple(slots[k] for k in apart.argmin(axis=1))
    assert apart.min(axis=1).max() < 1e-6
    assert len(set(order)) == len(slots)
    return order
