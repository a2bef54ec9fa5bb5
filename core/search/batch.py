# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""One batch of the search: a small piece of work whose finds depend on seed and number alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from ..design.model import Design
from ..errors import PinwrightError
from ..frame.group import Group, rotation_group
from ..pipeline import build
from .drawn import joints_draw_out
from .finds import Find, Wanted, design_of, normals_key
from .geometry import Geometry
from .improve import Goal, improve, quality
from .listing import every_pattern
from .measure import Order, measure
from .normals import one_motif_normals
from .patterns import KINDS, TWO_ROTORS, Pattern, random_pattern, two_rotors
from .rank import Merits, merits_of
from .shape import shape_of
from .solve import newton_normals, two_rotor_normals
from .twine import aim, on_one_axis, twined
from .variety import signature
from .weave import Limits, Woven, weave

__all__ = ["BatchResult", "Proved", "one_motif_choices", "run_batch"]

Floats = npt.NDArray[np.float64]

_PATTERNS = 8  # of one batch
_STARTS = 12  # of Newton's method
_SOLUTIONS = 2  # of one pattern
_ONE_AXIS = 0.35  # share of patterns whose rotors turn about one axis
_AIMED = 12  # draws that put such rotors on one circle
_OFFSETS = 5  # draws of offsets and width for one solution
_LEVELS = (0.15, 0.72)  # of offsets, radii
_NEARBY = 2  # more draws near offsets that gave a design
_ENOUGH = 3  # designs of one set of normals; then others have their turn
_BEST = 3  # candidates of one draw that are improved
_WORTH = 0.25  # quality from which a candidate is worth to be improved
_WORTH_TWINED = -0.5  # the same where rotors pass through each other, which is rare
_WIDTHS = (0.036, 0.075)  # of strips, radii, when the search chooses
_MEASURED = 60  # candidates of one order that are measured at most
# One motif has few patterns and normals, all known, and little to draw: it is looked at closely.
_LEVELS_OF_ONE = (0.05, 0.75)
_LONGEST_OF_ONE = 4.0  # of its strips, radii
_MEASURED_OF_ONE = 200


@dataclass(frozen=True, slots=True, eq=False)
class Proved:
    """A design that passed every check of the pipeline.

    key : of its normals (see `normals_key`); signature : see core/search/variety.py
    """

    name: str
    design: Design
    kind: str
    key: str
    merits: Merits
    signature: Floats


@dataclass(slots=True)
class BatchResult:
    """What one batch did: candidates judged, strips laid, designs built, and the proved ones."""

    batch: int
    judged: int = 0
    laid: int = 0
    improved: int = 0
    built: int = 0
    proved: list[Proved] = field(default_factory=list)


def run_batch(wanted: Wanted, seed: int, batch: int) -> BatchResult:
    """Search one batch.

    Every random number comes from `seed` and `batch`, so it does not matter who runs it and when.
    """
    rng = np.random.Generator(np.random.Philox(np.random.SeedSequence(seed, spawn_key=(batch,))))
    group = rotation_group(wanted.group)
    result = BatchResult(batch)
    for geometry in _geometries(group, wanted.motifs, wanted.linked, rng):
        _explore(geometry, wanted, rng, result)
    return result


def _geometries(
    group: Group, motifs: int, linked: bool, rng: np.random.Generator
) -> Iterator[Geometry]:
    """Yield patterns with normals of all kinds of the number of motifs.

    linked : only such as have rotors of two motifs on one axis
    """
    if motifs == 1:
        known = one_motif_choices(group)
        for row in rng.permutation(len(known))[:_PATTERNS]:
            yield Geometry.of(group, *known[row])
        return
    kinds = [kind for kind in KINDS[motifs] if not linked or two_rotors(kind)]
    often = np.array([KINDS[motifs][kind] for kind in kinds])
    for _ in range(_PATTERNS):
        kind = kinds[int(rng.choice(len(kinds), p=often / often.sum()))]
        yield from geometries_of(group, kind, linked or bool(rng.random() < _ONE_AXIS), rng)


def geometries_of(
    group: Group, kind: str, one_axis: bool, rng: np.random.Generator
) -> Iterator[Geometry]:
    """Draw one pattern of a kind and yield it with some of its normals."""
    pattern = random_pattern(group, kind, rng, one_axis)
    if pattern is None:
        return
    normals = _solutions(group, pattern, rng)
    for row in rng.permutation(len(normals))[:_SOLUTIONS]:
        if _sound(group, normals[row]):
            yield Geometry.of(group, pattern, normals[row])


def _solutions(group: Group, pattern: Pattern, rng: np.random.Generator) -> Floats:
    if pattern.kind == TWO_ROTORS:
        found = two_rotor_normals(group, pattern).normals
        if len(found):
            return found
    return newton_normals(group, pattern, rng, _STARTS).normals


_KNOWN: dict[str, list[tuple[Pattern, Floats]]] = {}  # takes a second for the icosahedral group


def one_motif_choices(group: Group) -> list[tuple[Pattern, Floats]]:
    """Return all patterns of one motif with all their normals (1, 3), those of one line once."""
    if group.name not in _KNOWN:
        lines = [
            line
            for one in one_motif_normals(group)
            for line in _lines(group.matrices @ one.normal)
            if _sound(group, line[None])
        ]
        _KNOWN[group.name] = [
            (pattern, line[None])
            for kind in KINDS[1]
            for pattern in every_pattern(group, kind)
            for line in lines
            if np.abs(group.matrices[[g for _, _, g in pattern.classes]] @ line @ line).max() < 1e-9
        ]
    return _KNOWN[group.name]


def _lines(normals: Floats) -> list[Floats]:
    """Leave out normals that are the opposite of an earlier one, or equal."""
    found: list[Floats] = []
    for normal in normals:
        if all(abs(normal @ other) < 1 - 1e-9 for other in found):
            found.append(normal)
    return found


def _sound(group: Group, normals: Floats) -> bool:
    """Tell whether every plate has a plane of its own: no turn keeps a normal."""
    return all((group.matrices[1:] @ n @ n).max() < 1 - 1e-6 for n in normals)


def _explore(
    geometry: Geometry, wanted: Wanted, rng: np.random.Generator, result: BatchResult
) -> None:
    """Draw offsets; where a design was proved, draw more of them near by."""
    motifs = geometry.pattern.motifs
    pair = on_one_axis(geometry)
    first = len(result.proved)

    def drawn() -> Floats:
        levels = _LEVELS_OF_ONE if motifs == 1 else _LEVELS
        offsets: Floats = rng.uniform(*levels, motifs) * rng.choice([-1.0, 1.0], motifs)
        return offsets

    def full() -> bool:
        return len(result.proved) - first >= _ENOUGH

    for _ in range(_AIMED if pair is not None else 0):
        aimed = None if pair is None or full() else aim(geometry, pair, drawn(), rng)
        if pair is None or aimed is None:
            continue
        found = _search(geometry, aimed[0], wanted, rng, result, (pair, aimed[1]))
        for _ in range(2 * _NEARBY if found else 0):
            if full():
                break
            near = found[0].offsets + rng.uniform(-0.04, 0.04, motifs)
            ranges = found[0].places[:, None] + np.array([-0.08, 0.08])
            _search(geometry, near, wanted, rng, result, (pair, ranges))
    for _ in range(0 if wanted.linked else _OFFSETS):
        offsets = drawn()
        found = _search(geometry, offsets, wanted, rng, result)
        for _ in range(_NEARBY if found else 0):
            if full():
                return
            _search(geometry, offsets + rng.uniform(-0.08, 0.08, motifs), wanted, rng, result)


def _search(
    geometry: Geometry,
    offsets: Floats,
    wanted: Wanted,
    rng: np.random.Generator,
    result: BatchResult,
    twine: tuple[tuple[int, int], Floats] | None = None,
) -> list[Find]:
    """Draw a width, weave, and prove the best; return those that are proved.

    twine : two rotor classes that must pass through each other, and the ranges of places for it
    """
    radius = wanted.diameter / 2
    width = float(rng.uniform(*_WIDTHS))
    if wanted.width is not None:
        width = wanted.width / radius
    # Middle planes keep off by the clearance and the sheet's thickness.
    goal = Goal((wanted.clearance + wanted.thickness) / radius, wanted.width)
    ranges = None if twine is None else twine[1]
    limits = Limits(longest=_LONGEST_OF_ONE) if wanted.motifs == 1 else Limits()
    woven = weave(geometry, offsets, width, limits, rng, ranges)
    result.judged += woven.judged
    result.laid += woven.laid
    pair = None if twine is None else twine[0]
    best = _best(geometry, woven, offsets, width, goal, pair, rng)
    proved = []
    for order, places in best:
        tuned = improve(geometry, order, offsets, places, width, goal, int(rng.integers(2**31)))
        result.improved += 1
        gap = float(tuned.figures.gap[0] / tuned.figures.reach[0])
        if tuned.quality < 0.3 or gap < goal.gap:
            continue
        find = Find(
            geometry.pattern,
            geometry.normals,
            tuned.offsets,
            tuned.places,
            tuned.width,
            order,
            float(tuned.figures.reach[0]),
            gap,
            result.batch,
        )
        if _prove(geometry.group, find, wanted, result):
            proved.append(find)
    return proved


def _best(
    geometry: Geometry,
    woven: Woven,
    offsets: Floats,
    width: float,
    goal: Goal,
    pair: tuple[int, int] | None,
    rng: np.random.Generator,
) -> list[tuple[Order, Floats]]:
    """Return orders and places of the best candidates that are not one another's neighbours."""
    pattern = geometry.pattern
    measured = _MEASURED_OF_ONE if pattern.motifs == 1 else _MEASURED
    found: list[tuple[float, Order, Floats]] = []
    keys = [tuple(map(tuple, order)) for order in woven.orders.tolist()]
    for key in sorted(set(keys)):
        rows = np.array([i for i, other in enumerate(keys) if other == key])[:measured]
        order = tuple(
            tuple(pattern.slots(m)[k] for k in key[m] if k >= 0) for m in range(pattern.motifs)
        )
        if pair is not None:
            rows = rows[twined(geometry, pair, order, offsets, woven.places[rows], width)]
            if len(rows) == 0:
                continue
        places = woven.places[rows]
        widths = np.full(len(rows), width)
        offset_rows = np.repeat(offsets[None], len(rows), axis=0)
        figures = measure(geometry, order, offset_rows, places, widths, 1.6 * goal.gap)
        worth = quality(figures, widths, goal)
        least = _WORTH if pair is None else _WORTH_TWINED
        found += [(float(w), order, p) for w, p in zip(worth, places, strict=True) if w > least]
    found.sort(key=lambda one: -one[0])
    if pattern.motifs == 1:  # the best, and any others: else one family would crowd out the rest
        found[1:] = [found[1 + k] for k in rng.permutation(max(len(found) - 1, 0))]
    chosen: list[tuple[Order, Floats]] = []
    for _, order, place in found:
        # Orders of the slots are as different as sculptures: of one motif each has its turn.
        rivals = [o for o, _ in chosen if pattern.motifs > 1 or o == order]
        if len(rivals) == _BEST:
            continue
        if all(o != order or np.abs(place - p).max() > 0.15 for o, p in chosen):
            chosen.append((order, place))
    return chosen


def _prove(group: Group, find: Find, wanted: Wanted, result: BatchResult) -> bool:
    """Build a find with all its joinery; keep it and return True when every check is passed."""
    name = f"{group.name}{wanted.motifs}-{find.batch:05d}-{len(result.proved) + 1:02d}"
    result.built += 1
    try:
        design = design_of(group, find, wanted, name)
        built = build(design, apart=False)
        over = built.totals.diameter - wanted.diameter
        if built.ok and over > 0:
            # Tabs at the rim stick out farther than most do: made smaller, they have room.
            room = wanted.diameter - 4 * wanted.thickness
            find = replace(find, reach=find.reach * room / (room - 1.05 * over))
            design = design_of(group, find, wanted, name)
            built = build(design, apart=False)
    except PinwrightError:
        return False  # a strip too narrow for its tabs, say: not a design
    if not built.ok or not joints_draw_out(built):
        return False
    shape = shape_of(design, group)
    merits = merits_of(built, shape)
    if wanted.linked and merits.linked_on_axis == 0:
        return False  # it slipped through while it was improved
    result.proved.append(
        Proved(
            name,
            design,
            find.pattern.kind,
            normals_key(group, find),
            merits,
            signature(shape),
        )
    )
    return True
