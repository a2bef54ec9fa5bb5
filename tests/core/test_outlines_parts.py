# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Parts: congruent outlines found again after any turn, shift, flip and a hair's breadth."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import affine_transform, rotate, scale

from pinwright.core.outlines.parts import PartShapes, part_mark, part_shapes
from pinwright.core.tolerance import TOLERANCES
from tests.outlines import plates_with_holes
from tests.stages import DESIGNS, staged_by_name

Floats = npt.NDArray[np.float64]

turns = st.floats(0, 360)
shifts = st.tuples(st.floats(-900, 900), st.floats(-900, 900))


@st.composite
def chiral_plates(draw: st.DrawFn) -> Polygon:
    """Draw a plate that no turn carries onto its mirror image: it has an uneven hook."""
    plate = draw(plates_with_holes())
    hook = shapely.box(0, 0, 160, 12).union(shapely.box(140, 0, 160, 47))
    centre = plate.centroid
    placed = affine_transform(hook, (1, 0, 0, 1, centre.x, centre.y))
    joined = Polygon(plate.exterior).union(placed)
    assume(isinstance(joined, Polygon))
    holes = [ring for ring in plate.interiors if not placed.intersects(Polygon(ring))]
    found = Polygon(joined.exterior, holes)
    assume(
        found.is_valid
        and np.linalg.norm(np.diff(found.exterior.coords, axis=0), axis=1).min() > 0.5
    )
    return found


def _carried(shapes: PartShapes, k: int) -> Polygon:
    """Return the part of outline k, carried to where that outline lies."""
    matrix = shapes.plane_from_part[k]
    return affine_transform(
        shapes.outlines[shapes.part[k]],
        (matrix[0, 0], matrix[0, 1], matrix[1, 0], matrix[1, 1], matrix[0, 3], matrix[1, 3]),
    )


def _agree(one: Polygon, two: Polygon, tolerance: float) -> bool:
    here, there = shapely.get_coordinates(one), shapely.get_coordinates(two)
    gaps = np.linalg.norm(here[:, None] - there[None], axis=2)
    return bool(gaps.min(axis=0).max() < tolerance and gaps.min(axis=1).max() < tolerance)


def _jittered(outline: Polygon, size: float, seed: int) -> Polygon:
    rng = np.random.default_rng(seed)

    def moved(ring: shapely.LinearRing) -> Floats:
        corners = np.asarray(ring.coords)[:-1]
        angle = rng.uniform(0, 2 * np.pi, len(corners))
        shift: Floats = size * np.column_stack([np.cos(angle), np.sin(angle)])
        return corners + shift

    return Polygon(moved(outline.exterior), [moved(ring) for ring in outline.interiors])


def _checked(shapes: PartShapes, outlines: list[Polygon], tolerance: float) -> None:
    for k, outline in enumerate(outlines):
        matrix = shapes.plane_from_part[k]
        assert np.linalg.det(matrix[:3, :3]) == pytest.approx(1.0)
        assert matrix[:3, :3] @ matrix[:3, :3].T == pytest.approx(np.eye(3), abs=1e-12)
        assert matrix[2].tolist() == [0, 0, -1.0 if shapes.flipped[k] else 1.0, 0]
        assert _agree(_carried(shapes, k), outline, tolerance)


@settings(max_examples=40)
@given(chiral_plates(), turns, shifts, st.integers(0, 40))
def test_a_plate_is_found_again_wherever_it_lies(
    plate: Polygon, turn: float, shift: tuple[float, float], start: int
) -> None:
    ring = np.roll(np.asarray(plate.exterior.coords)[:-1], start, axis=0)
    other = rotate(Polygon(ring, plate.interiors), turn, origin=(0, 0))
    other = affine_transform(other, (1, 0, 0, 1, *shift))
    shapes = part_shapes([plate, other])
    assert shapes.part.tolist() == [0, 0]
    assert shapes.flipped.tolist() == [False, False]
    _checked(shapes, [plate, other], 1e-6)


@settings(max_examples=40)
@given(chiral_plates(), turns, shifts)
def test_a_mirror_image_is_the_part_turned_over(
    plate: Polygon, turn: float, shift: tuple[float, float]
) -> None:
    other = rotate(scale(plate, -1.0, 1.0, origin=(0, 0)), turn, origin=(0, 0))
    other = affine_transform(other, (1, 0, 0, 1, *shift))
    shapes = part_shapes([plate, other])
    assert shapes.part.tolist() == [0, 0]
    assert shapes.flipped.tolist() == [False, True]
    _checked(shapes, [plate, other], 1e-6)


@settings(max_examples=40)
@given(chiral_plates(), turns)
def test_one_sided_sheet_keeps_mirror_twins_apart(plate: Polygon, turn: float) -> None:
    twin = rotate(scale(plate, 1.0, -1.0, origin=(0, 0)), turn)
    again = rotate(plate, 2 * turn)
    shapes = part_shapes([plate, twin, again], one_sided=True)
    assert shapes.part.tolist() == [0, 1, 0]
    assert not shapes.flipped.any()
    _checked(shapes, [plate, twin, again], 1e-6)


@settings(max_examples=40)
@given(chiral_plates(), turns, st.booleans(), st.integers(0, 2**31))
def test_a_hundredth_of_a_millimetre_divides(
    plate: Polygon, turn: float, mirror: bool, seed: int
) -> None:
    other = rotate(scale(plate, -1.0, 1.0) if mirror else plate, turn)
    near = part_shapes([plate, _jittered(other, 0.001, seed)])
    assert near.part.tolist() == [0, 0]
    assert near.flipped.tolist() == [False, mirror]
    _checked(near, [plate, _jittered(other, 0.001, seed)], 2 * TOLERANCES.same_part)
    far = part_shapes([plate, _jittered(other, 0.1, seed)])
    assert far.part.tolist() == [0, 1]


def test_a_hole_in_another_place_makes_another_part() -> None:
    outer = [(0, 0), (90, 0), (90, 50), (0, 50)]
    one = Polygon(outer, [[(10, 10), (20, 10), (20, 15)]])
    moved = Polygon(outer, [[(10.05, 10), (20.05, 10), (20.05, 15)]])
    without = Polygon(outer)
    assert part_shapes([one, moved, without, one]).part.tolist() == [0, 1, 2, 0]


def test_an_outline_that_is_its_own_mirror_image_is_never_flipped() -> None:
    square = Polygon([(0, 0), (50, 0), (50, 50), (0, 50)])
    shapes = part_shapes([square, rotate(square, 33.0), scale(square, -1.0, 1.0)])
    assert shapes.part.tolist() == [0, 0, 0]
    assert not shapes.flipped.any()


@settings(max_examples=40)
@given(chiral_plates(), turns)
def test_a_part_lies_along_x_with_its_corner_at_the_origin(plate: Polygon, turn: float) -> None:
    (part,) = part_shapes([rotate(plate, turn)]).outlines
    x0, y0, x1, y1 = part.bounds
    assert (x0, y0) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert x1 >= y1 - 1e-9
    # No rectangle round it is smaller (shapely's rotating callipers).
    assert x1 * y1 == pytest.approx(shapely.minimum_rotated_rectangle(part).area, rel=1e-6)
    assert part.area == pytest.approx(plate.area)


@pytest.mark.parametrize("name", list(DESIGNS))
def test_transforms_carry_parts_onto_the_outlines_of_a_design(name: str) -> None:
    outlines = [one.outline for one in staged_by_name(name).finished]
    _checked(part_shapes(outlines), outlines, TOLERANCES.same_part)


def test_marks_go_on_after_z() -> None:
    # As columns of a spreadsheet are lettered.
    assert [part_mark(k) for k in (0, 1, 25, 26, 27, 51, 52, 701, 702)] == [
        "A",
        "B",
        "Z",
        "AA",
        "AB",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]
    assert len({part_mark(k) for k in range(5000)}) == 5000
