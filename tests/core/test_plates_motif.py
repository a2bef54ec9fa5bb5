# SPDX-FileCopyrightText: 2026 Pinwright authors
# SPDX-License-Identifier: GPL-3.0-or-later
"""Motifs: their stabilisers against elementary symmetry, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pytest
from shapely import Point

from pinwright.core.design.model import Bend, MotifChoice
from pinwright.core.errors import DesignError
from pinwright.core.frame.group import Group, rotation_group
from pinwright.core.plates.motif import motif_from_choice, stabiliser
from pinwright.core.plates.planes import default_x_axis

Floats = npt.NDArray[np.float64]
Vector = tuple[float, float, float]
Ring = tuple[tuple[float, float], ...]


def _polygon(sides: int, radius: float = 40.0) -> Ring:
    angle = 2 * np.pi * np.arange(sides) / sides
    return tuple(
        zip((radius * np.cos(angle)).tolist(), (radius * np.sin(angle)).tolist(), strict=True)
    )


def _across(group: Group, axis: Floats) -> Vector:
    """Return a two-fold axis square to another axis: a flat plate on both has both symmetries."""
    for other, fold in group.axes():
        if fold % 2 == 0 and abs(float(other @ axis)) < 1e-9:
            return _vector(other)
    return _vector(default_x_axis(axis))


def _vector(values: Floats) -> Vector:
    return (float(values[0]), float(values[1]), float(values[2]))


# A regular n-gon whose middle lies on an n-fold axis is kept by n turns; in a plane through the
# centre the half-turns about the n axes square to it keep it too, and turn it over (the groups of
# a pyramid and of a prism).
@pytest.mark.parametrize(
    ("name", "fold", "sides", "offset", "order"),
    [
        ("O", 4, 4, 70.0, 4),
        ("O", 4, 8, 0.0, 8),
        ("O", 3, 3, 70.0, 3),
        ("O", 3, 6, 0.0, 6),
        ("O", 4, 6, 70.0, 2),
        ("I", 5, 5, -70.0, 5),
        ("I", 5, 10, 0.0, 10),
        ("I", 3, 6, 0.0, 6),
        ("I", 3, 4, 70.0, 1),
        ("T", 3, 12, 0.0, 3),
        ("T", 2, 4, 0.0, 4),
        ("D7", 7, 14, 0.0, 14),
        ("C9", 9, 9, 5.0, 9),
        ("C9", 9, 6, 5.0, 3),
        ("C1", 1, 6, 5.0, 1),
    ],
)
def test_a_regular_plate_on_an_axis_is_kept_by_the_turns_it_shares(
    name: str, fold: int, sides: int, offset: float, order: int
) -> None:
    group = rotation_group(name)
    axis = next((axis for axis, k in group.axes() if k == fold), np.array([0.0, 0.0, 1.0]))
    x_axis = _across(group, axis)
    choice = MotifChoice("n-gon", _vector(axis), offset, x_axis, outline=_polygon(sides))
    kept = motif_from_choice(choice, group).stabiliser
    assert len(kept) == order
    assert kept == group.subgroup(kept)
    assert kept[0] == 0


def test_a_plate_off_the_axis_or_with_an_odd_hole_is_kept_by_nothing() -> None:
    group = rotation_group("O")
    square = MotifChoice("square", (0.0, 0.0, 1.0), 70.0, (1.0, 0.0, 0.0), outline=_polygon(4))
    assert len(motif_from_choice(square, group).stabiliser) == 4
    moved = replace(square, outline=tuple((x + 3, y) for x, y in _polygon(4)))
    assert motif_from_choice(moved, group).stabiliser == (0,)
    pierced = replace(square, holes=(((5.0, 5.0), (9.0, 5.0), (5.0, 9.0)),))
    assert motif_from_choice(pierced, group).stabiliser == (0,)
    windowed = replace(square, holes=(_polygon(4, 10.0),))
    assert len(motif_from_choice(windowed, group).stabiliser) == 4


def test_corners_alone_do_not_make_a_symmetry() -> None:
    # The same eight corners, joined once as a four-pointed star and once as a square with a notch.
    star = ((20, 20), (0, 10), (-20, 20), (-10, 0), (-20, -20), (0, -10), (20, -20), (10, 0))
    notch = ((20, 20), (-20, 20), (-20, -20), (20, -20), (10, 0), (0, -10), (-10, 0), (0, 10))
    group = rotation_group("C4")
    choice = MotifChoice("star", (0.0, 0.0, 1.0), 5.0, (1.0, 0.0, 0.0), outline=star)
    assert len(motif_from_choice(choice, group).stabiliser) == 4
    assert motif_from_choice(replace(choice, outline=notch), group).stabiliser == (0,)


def test_a_strip_square_to_a_two_fold_axis_is_turned_end_for_end() -> None:
    group = rotation_group("D3")
    strip = MotifChoice(
        "strip",
        (1.0, 0.0, 0.0),
        50.0,
        (0.0, 1.0, 0.0),
        path=((-60.0, 0.0), (60.0, 0.0)),
        width=20.0,
    )
    kept = motif_from_choice(strip, group).stabiliser
    assert [group.axis_angle_deg(k)[1] for k in kept] == [0.0, 180.0]
    bent = replace(strip, path=((-60.0, 0.0), (0.0, 15.0), (60.0, 0.0)))
    assert len(motif_from_choice(bent, group).stabiliser) == 1
    wave = replace(strip, path=((-60.0, -9.0), (0.0, 0.0), (60.0, 9.0)), bend=Bend.SMOOTH)
    assert len(motif_from_choice(wave, group).stabiliser) == 2


def test_a_normal_typed_with_five_digits_has_the_exact_one_s_symmetry() -> None:
    group = rotation_group("I")
    axis = next(axis for axis, fold in group.axes() if fold == 5)
    typed = (round(float(axis[0]), 5), round(float(axis[1]), 5), round(float(axis[2]), 5))
    choice = MotifChoice("pentagon", typed, 200.0, _across(group, axis), outline=_polygon(5))
    assert len(motif_from_choice(choice, group).stabiliser) == 5


def test_the_record_holds_what_was_chosen() -> None:
    group = rotation_group("C2")
    motif = motif_from_choice(
        MotifChoice("arm", (0.0, 3.0, 4.0), 9.0, path=((0.0, 0.0), (50.0, 0.0)), width=10.0), group
    )
    assert motif.normal.tolist() == [0.0, 0.6, 0.8]
    assert motif.body.area == pytest.approx(500.0)
    assert motif.world_from_plane[:3, 3] == pytest.approx([0, 5.4, 7.2])
    for array in (motif.normal, motif.world_from_plane, motif.path):
        assert array is not None
        assert not array.flags.writeable
    clockwise = MotifChoice("plate", (0.0, 0.0, 1.0), 9.0, outline=_polygon(5)[::-1])
    plate = motif_from_choice(clockwise, group)
    assert plate.body.exterior.is_ccw
    assert plate.path is None
    assert plate.width is None
    assert plate.body.contains(Point(0, 0))
    assert stabiliser(group, plate.world_from_plane, plate.body) == plate.stabiliser


PLAIN = MotifChoice("m", (0.0, 0.0, 1.0), 0.0)


@pytest.mark.parametrize(
    ("choice", "said"),
    [
        (PLAIN, r"motifs\.m: found nothing, allowed is a path with a width, or an outline"),
        (replace(PLAIN, path=((0.0, 0.0), (9.0, 0.0))), "a path with a width"),
        (
            replace(PLAIN, outline=((0.0, 0.0), (9.0, 9.0), (9.0, 0.0), (0.0, 9.0))),
            r"motifs\.m: found 'it crosses itself at \(4\.5, 4\.5\)'.*that does not cross itself",
        ),
        (
            replace(PLAIN, x_axis=(0.0, 0.0, -2.0), outline=_polygon(3)),
            r"motifs\.x_axis.*not parallel",
        ),
        (
            replace(
                PLAIN,
                path=((0.0, 0.0), (9.0, 0.0), (9.0, 9.0)),
                width=2.0,
                bend=Bend.ROUND,
                bend_radius=10.0,
            ),
            r"motifs\.m\.bend_radius: found 10\.0.*corner 2",
        ),
    ],
)
def test_what_is_no_plate_is_refused(choice: MotifChoice, said: str) -> None:
    with pytest.raises(DesignError, match=said):
        motif_from_choice(choice, rotation_group("C1"))
